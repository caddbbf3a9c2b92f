/** Two known places of a picture, from which the server works out how it lies. */
import type { Place } from "../api/contract";

/** From the distance between two marks: the first lies at `at`, the picture stays upright. */
export function knownByDistance(marks: [Place, Place], distance: number, at: Place): string | null {
  const [a, b] = marks;
  const pixels = Math.hypot(b[0] - a[0], b[1] - a[1]);
  if (!(distance > 0) || pixels < 1) return null;
  const scale = distance / pixels;
  // Pixels count downwards, places upwards.
  const second: Place = [at[0] + (b[0] - a[0]) * scale, at[1] - (b[1] - a[1]) * scale];
  return knownByPlaces(marks, [at, second]);
}

export function knownByPlaces(marks: [Place, Place], places: [Place, Place]): string | null {
  const numbers = [...marks, ...places].flat();
  const apart = (pair: [Place, Place]) => Math.hypot(pair[1][0] - pair[0][0], pair[1][1] - pair[0][1]) > 1e-6;
  if (!numbers.every(Number.isFinite) || !apart(marks) || !apart(places)) return null;
  return marks.map((mark, index) => [...mark, ...(places[index] ?? [])].map((one) => Number(one.toFixed(6))).join(",")).join(";");
}
