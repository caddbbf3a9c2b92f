/** Talks to the server that served the page. */
import type * as C from "./contract";

const token = () => document.querySelector<HTMLMetaElement>('meta[name="token"]')?.content ?? "";

/** What the server refused, in its words. */
export class Refused extends Error {
  constructor(readonly status: number, readonly problem: C.Problem) {
    super(problem.what);
  }
}

async function answer<T>(response: Response): Promise<T> {
  if (response.status === 204) return null as T;
  const text = await response.text();
  if (response.ok) return JSON.parse(text) as T;
  let problem: C.Problem = { what: `The program answered ${response.status}`, mend: "reload the page", findings: [] };
  try {
    problem = JSON.parse(text) as C.Problem;
  } catch {
    // Something between the page and the program answered; the words above stand.
  }
  throw new Refused(response.status, problem);
}

export async function get<T>(path: string, query: Record<string, string> = {}, signal?: AbortSignal): Promise<T> {
  const asked = new URLSearchParams(query).toString();
  return answer<T>(await fetch(`api/${path}${asked ? `?${asked}` : ""}`, { signal: signal ?? null, credentials: "same-origin" }));
}

export async function post<T>(path: string, body: unknown): Promise<T> {
  return answer<T>(
    await fetch(`api/${path}`, {
      method: "POST",
      credentials: "same-origin",
      headers: { "content-type": "application/json", "x-spadework": token() },
      body: JSON.stringify(body),
    }),
  );
}

export async function send<T>(path: string, query: Record<string, string>, bytes: Blob): Promise<T> {
  return answer<T>(
    await fetch(`api/${path}?${new URLSearchParams(query)}`, {
      method: "POST",
      credentials: "same-origin",
      headers: { "content-type": "application/octet-stream", "x-spadework": token() },
      body: bytes,
    }),
  );
}

/** Events of the server until `stop` is called; reconnects by itself. */
export function listen(on: {
  changed: (event: C.Changed) => void;
  planning: (event: C.Planning) => void;
  planned: (plan: C.PlanView) => void;
  unplanned: (event: C.Unplanned) => void;
  looked: () => void;
  opened: () => void;
  lost: () => void;
}): () => void {
  const source = new EventSource("api/events");
  const hear = <T>(name: string, then: (event: T) => void) =>
    source.addEventListener(name, (event) => then(JSON.parse((event as MessageEvent<string>).data) as T));
  hear("changed", on.changed);
  hear("planning", on.planning);
  hear("planned", on.planned);
  hear("unplanned", on.unplanned);
  source.addEventListener("reload", on.looked);
  source.addEventListener("open", on.opened);
  source.addEventListener("error", on.lost);
  return () => source.close();
}
