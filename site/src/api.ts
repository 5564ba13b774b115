// Asking the program that serves this page. Every request carries the token of its launch.

export interface Fault {
  step?: number;
  field?: string;
  item?: number;
  message: string;
}

/** What went wrong, in the program's own words. */
export class Trouble extends Error {
  constructor(
    message: string,
    readonly status: number,
    readonly faults: Fault[] = [],
  ) {
    super(message);
  }
}

const KEY = "decodable.token";
export const AWAY = "The program has stopped. Start it again with: decodable serve. Your text stays here until then.";

/** Takes the token out of the address that the program showed. */
export function takeToken(): void {
  const found = /^#token=([\w-]+)$/.exec(location.hash);
  if (found) {
    localStorage.setItem(KEY, found[1]!);
    history.replaceState(null, "", location.pathname);
  }
}

function query(values?: Record<string, unknown>): string {
  const pairs = Object.entries(values ?? {}).filter(([, v]) => v !== null && v !== undefined && v !== "");
  return pairs.length ? `?${new URLSearchParams(pairs.map(([k, v]) => [k, String(v)]))}` : "";
}

async function send(method: string, path: string, values?: Record<string, unknown>, body?: BodyInit, kind?: string): Promise<Response> {
  const headers: Record<string, string> = { "X-Decodable-Token": localStorage.getItem(KEY) ?? "" };
  if (kind) headers["Content-Type"] = kind;
  let answer: Response;
  try {
    answer = await fetch(`/api/${path}${query(values)}`, { method, headers, body, cache: "no-store" });
  } catch {
    throw new Trouble(AWAY, 0);
  }
  if (!answer.ok) {
    const said = await answer.json().catch(() => ({ error: `The program answered ${answer.status}.` }));
    throw new Trouble(said.error, answer.status, said.faults ?? []);
  }
  return answer;
}

export async function get<T>(path: string, values?: Record<string, unknown>): Promise<T> {
  return (await send("GET", path, values)).json();
}

export async function tell<T>(method: "POST" | "PUT" | "PATCH" | "DELETE", path: string, body?: unknown, values?: Record<string, unknown>): Promise<T> {
  const json = body === undefined ? undefined : JSON.stringify(body);
  return (await send(method, path, values, json, json === undefined ? undefined : "application/json")).json();
}

export async function upload<T>(path: string, file: Blob, values: Record<string, unknown>): Promise<T> {
  return (await send("POST", path, values, file, "application/octet-stream")).json();
}

export async function getText(path: string, values?: Record<string, unknown>): Promise<string> {
  return (await send("GET", path, values)).text();
}

/** Hands a file to the browser to save, named as the program names it. */
export async function download(path: string, values?: Record<string, unknown>): Promise<void> {
  const answer = await send("GET", path, values);
  const said = answer.headers.get("Content-Disposition") ?? "";
  const found = /filename\*=UTF-8''([^;]+)/.exec(said)?.[1] ?? /filename="([^"]+)"/.exec(said)?.[1] ?? "file";
  saveBlob(await answer.blob(), decodeURIComponent(found));
}

export function saveBlob(blob: Blob, name: string): void {
  const link = document.createElement("a");
  link.href = URL.createObjectURL(blob);
  link.download = name;
  link.click();
  setTimeout(() => URL.revokeObjectURL(link.href), 10_000);
}
