//! Curves as lines of chords that lie within a tolerance of them.

use std::f64::consts::{PI, TAU};

use super::entity::Spline;
use crate::Xy;

/// Most chords of one curve.
const MOST_CHORDS: f64 = 1_000.0;
/// Least chords of a whole turn.
const LEAST_CHORDS: f64 = 8.0;

/// How many chords an arc of a radius and angle takes: one of angle `a` lies r·(1 − cos(a/2)) off.
fn chords(radius: f64, angle: f64, tolerance: f64) -> usize {
    let share = (1.0 - tolerance / radius).clamp(-1.0, 1.0);
    let step = (2.0 * share.acos()).clamp(TAU / MOST_CHORDS, TAU / LEAST_CHORDS);
    (angle.abs() / step).ceil().clamp(1.0, MOST_CHORDS) as usize
}

/// The places of an arc after its first, over an angle from a start.
fn turn(
    centre: Xy,
    radius: f64,
    start: f64,
    angle: f64,
    tolerance: f64,
) -> impl Iterator<Item = Xy> {
    let count = chords(radius, angle, tolerance);
    (1..=count).map(move |n| {
        let (sin, cos) = (start + angle * n as f64 / count as f64).sin_cos();
        (centre.0 + radius * cos, centre.1 + radius * sin)
    })
}

/// A circle, first place = last.
pub(crate) fn circle(centre: Xy, radius: f64, tolerance: f64) -> Vec<Xy> {
    let mut places = vec![(centre.0 + radius, centre.1)];
    places.extend(turn(centre, radius, 0.0, TAU, tolerance));
    let first = places[0];
    if let Some(last) = places.last_mut() {
        *last = first;
    }
    places
}

/// From one angle anticlockwise to another.
fn span((from, to): (f64, f64)) -> f64 {
    let angle = (to - from).rem_euclid(TAU);
    if angle < 1e-9 { TAU } else { angle }
}

/// An arc from one angle anticlockwise to another.
pub(crate) fn arc(centre: Xy, radius: f64, angles: (f64, f64), tolerance: f64) -> Vec<Xy> {
    let (sin, cos) = angles.0.sin_cos();
    let mut places = vec![(centre.0 + radius * cos, centre.1 + radius * sin)];
    places.extend(turn(centre, radius, angles.0, span(angles), tolerance));
    places
}

/// An ellipse or a part of one, and whether it is whole.
pub(crate) fn ellipse(
    centre: Xy,
    axis: Xy,
    ratio: f64,
    angles: (f64, f64),
    tolerance: f64,
) -> (Vec<Xy>, bool) {
    let angle = span(angles);
    let radius = axis.0.hypot(axis.1);
    let count = chords(radius, angle, tolerance);
    let at = |n: usize| {
        let (sin, cos) = (angles.0 + angle * n as f64 / count as f64).sin_cos();
        let (x, y) = (
            axis.0 * cos - axis.1 * ratio * sin,
            axis.1 * cos + axis.0 * ratio * sin,
        );
        (centre.0 + x, centre.1 + y)
    };
    let mut places: Vec<Xy> = (0..=count).map(at).collect();
    let whole = angle >= TAU - 1e-6;
    if whole {
        places[count] = places[0];
    }
    (places, whole)
}

/// A line whose ways may bulge: the bulge is the tangent of a quarter of the arc's angle, to the left of the
/// chord where it is negative.
pub(crate) fn polyline(places: &[(Xy, f64)], closed: bool, tolerance: f64) -> Vec<Xy> {
    let Some(&(first, _)) = places.first() else {
        return Vec::new();
    };
    let mut line = vec![first];
    let ways = places.len() - usize::from(!closed);
    for n in 0..ways {
        let (from, bulge) = places[n];
        let to = places[(n + 1) % places.len()].0;
        bulged(&mut line, from, to, bulge, tolerance);
    }
    line
}

fn bulged(line: &mut Vec<Xy>, from: Xy, to: Xy, bulge: f64, tolerance: f64) {
    let chord = (to.0 - from.0).hypot(to.1 - from.1);
    if bulge.abs() > 1e-9 && chord > 0.0 && chord.is_finite() {
        let angle = 4.0 * bulge.atan();
        // From the middle of the chord to the centre, to the left of the way where the arc turns left.
        let reach = chord * (1.0 - bulge * bulge) / (4.0 * bulge);
        let middle = (f64::midpoint(from.0, to.0), f64::midpoint(from.1, to.1));
        let centre = (
            middle.0 - reach * (to.1 - from.1) / chord,
            middle.1 + reach * (to.0 - from.0) / chord,
        );
        let radius = (from.0 - centre.0).hypot(from.1 - centre.1);
        let start = (from.1 - centre.1).atan2(from.0 - centre.0);
        if radius.is_finite() && angle.abs() < 2.0 * PI {
            let count = line.len();
            line.extend(turn(centre, radius, start, angle, tolerance));
            if line.len() > count {
                line.pop();
            }
        }
    }
    line.push(to);
}

/// Highest degree of a spline that is read; drawing programs make three.
const HIGHEST_DEGREE: usize = 11;
/// How often a piece of a spline is halved at most.
const HALVINGS: u32 = 8;
/// Most control points of one spline.
const MOST_CONTROL: usize = 20_000;

/// A spline by its control points, or the line through its fit points; nothing if it is no spline.
pub(crate) fn spline(spline: &Spline, tolerance: f64) -> Option<Vec<Xy>> {
    let count = spline.control.len();
    if count == 0 {
        let mut line = spline.fit.clone();
        if spline.closed && line.len() > 2 {
            line.push(line[0]);
        }
        return (line.len() > 1).then_some(line);
    }
    let degree = spline.degree;
    let rising = spline.knots.windows(2).all(|pair| pair[0] <= pair[1]);
    let fits = (1..=HIGHEST_DEGREE).contains(&degree)
        && count > degree
        && count <= MOST_CONTROL
        && spline.knots.len() == count + degree + 1
        && rising
        && (spline.weights.is_empty() || spline.weights.len() == count)
        && spline.weights.iter().all(|weight| *weight > 0.0);
    if !fits {
        return None;
    }
    let mut line = vec![at(spline, degree, spline.knots[degree])?];
    for piece in degree..count {
        let (from, to) = (spline.knots[piece], spline.knots[piece + 1]);
        if from < to {
            let start = at(spline, piece, from)?;
            let end = at(spline, piece, to)?;
            halve(
                spline,
                piece,
                (from, start),
                (to, end),
                tolerance,
                HALVINGS,
                &mut line,
            )?;
        }
    }
    Some(line)
}

/// Adds the places after the first of a piece, halving it until its middle and quarters lie near the chord.
fn halve(
    spline: &Spline,
    piece: usize,
    (from, start): (f64, Xy),
    (to, end): (f64, Xy),
    tolerance: f64,
    left: u32,
    line: &mut Vec<Xy>,
) -> Option<()> {
    let middle = f64::midpoint(from, to);
    let place = at(spline, piece, middle)?;
    let quarter = at(spline, piece, f64::midpoint(from, middle))?;
    let three = at(spline, piece, f64::midpoint(middle, to))?;
    let flat = [place, quarter, three]
        .iter()
        .all(|at| off(*at, start, end) <= tolerance);
    if flat || left == 0 {
        line.push(end);
        return Some(());
    }
    halve(
        spline,
        piece,
        (from, start),
        (middle, place),
        tolerance,
        left - 1,
        line,
    )?;
    halve(
        spline,
        piece,
        (middle, place),
        (to, end),
        tolerance,
        left - 1,
        line,
    )
}

fn off(at: Xy, from: Xy, to: Xy) -> f64 {
    let way = (to.0 - from.0, to.1 - from.1);
    let square = way.0 * way.0 + way.1 * way.1;
    let share = ((at.0 - from.0) * way.0 + (at.1 - from.1) * way.1) / square;
    let share = if share.is_finite() {
        share.clamp(0.0, 1.0)
    } else {
        0.0
    };
    (at.0 - from.0 - share * way.0).hypot(at.1 - from.1 - share * way.1)
}

/// The place of a parameter in the piece that begins at a knot, by de Boor's algorithm with weights.
fn at(spline: &Spline, piece: usize, parameter: f64) -> Option<Xy> {
    let degree = spline.degree;
    let weight = |n: usize| spline.weights.get(n).copied().unwrap_or(1.0);
    let mut work = [(0.0, 0.0, 0.0); HIGHEST_DEGREE + 1];
    for (n, slot) in work.iter_mut().enumerate().take(degree + 1) {
        let from = piece - degree + n;
        let (control, weight) = (spline.control.get(from)?, weight(from));
        *slot = (control.0 * weight, control.1 * weight, weight);
    }
    for round in 1..=degree {
        for n in (round..=degree).rev() {
            let low = spline.knots[piece - degree + n];
            let high = spline.knots[piece + 1 + n - round];
            let share = if high > low {
                (parameter - low) / (high - low)
            } else {
                0.0
            };
            let mix = |a: f64, b: f64| a * (1.0 - share) + b * share;
            let (before, after) = (work[n - 1], work[n]);
            work[n] = (
                mix(before.0, after.0),
                mix(before.1, after.1),
                mix(before.2, after.2),
            );
        }
    }
    let (x, y, weight) = work[degree];
    let place = (x / weight, y / weight);
    (place.0.is_finite() && place.1.is_finite()).then_some(place)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn chords_lie_within_the_tolerance() {
        for (radius, tolerance) in [(1.0, 0.01), (30.0, 0.01), (0.004, 0.01)] {
            let places = circle((5.0, 5.0), radius, tolerance);
            for pair in places.windows(2) {
                let middle = (
                    f64::midpoint(pair[0].0, pair[1].0),
                    f64::midpoint(pair[0].1, pair[1].1),
                );
                let off = radius - (middle.0 - 5.0).hypot(middle.1 - 5.0);
                assert!(off <= tolerance * 1.001, "{radius} {off}");
            }
            assert_eq!(places.first(), places.last());
        }
    }

    #[test]
    fn a_bulge_of_one_is_half_a_circle_to_the_right_of_the_chord() {
        let line = polyline(&[((0.0, 0.0), 1.0), ((2.0, 0.0), 0.0)], false, 0.001);
        let lowest = line.iter().map(|at| at.1).fold(f64::INFINITY, f64::min);
        assert!((lowest + 1.0).abs() < 0.001, "{lowest}");
        assert_eq!((line[0], line[line.len() - 1]), ((0.0, 0.0), (2.0, 0.0)));
    }

    #[test]
    fn a_rational_spline_of_degree_two_is_a_quarter_circle() {
        let weight = std::f64::consts::FRAC_1_SQRT_2;
        let quarter = Spline {
            degree: 2,
            closed: false,
            knots: vec![0.0, 0.0, 0.0, 1.0, 1.0, 1.0],
            control: vec![(1.0, 0.0), (1.0, 1.0), (0.0, 1.0)],
            weights: vec![1.0, weight, 1.0],
            fit: vec![],
        };
        let line = spline(&quarter, 0.0005).unwrap();
        assert!(line.len() > 4 && line.iter().all(|at| (at.0.hypot(at.1) - 1.0).abs() < 1e-9));
        let broken = Spline {
            knots: vec![0.0; 3],
            ..quarter
        };
        assert!(spline(&broken, 0.01).is_none());
    }
}
