/** The one door to the server: answers as they are promised, refusals as one sentence. */

import { signal } from "@preact/signals";
import type { Problem } from "./types";

/** Whether the server answered when it was last asked. */
export const reached = signal(true);

/** The server said no, and why. */
export class Refusal extends Error {
  constructor(
    readonly status: number,
    readonly problem: Problem,
    readonly body: Readonly<Record<string, unknown>>,
  ) {
    super(problem.sentence);
  }
}

/** The server could not be reached at all. */
export class Unreached extends Error {
  constructor() {
    super("The bench cannot be reached");
  }
}

type Method = "GET" | "POST" | "PUT" | "DELETE";

export async function call<Answer>(
  method: Method,
  path: string,
  body?: unknown,
  signal?: AbortSignal,
): Promise<Answer> {
  const response = await send(method, path, body, signal);
  if (response.status === 204) return undefined as Answer;
  const text = await response.text();
  return (text ? JSON.parse(text) : undefined) as Answer;
}

/** Raw bytes, for meshes and paths. */
export async function bytes(path: string, signal?: AbortSignal): Promise<ArrayBuffer> {
  return (await send("GET", path, undefined, signal)).arrayBuffer();
}

async function send(
  method: Method,
  path: string,
  body: unknown,
  signal?: AbortSignal,
): Promise<Response> {
  const asked: RequestInit = { method, credentials: "same-origin" };
  if (signal) asked.signal = signal;
  if (body instanceof FormData) asked.body = body;
  else if (body !== undefined) {
    asked.body = JSON.stringify(body);
    asked.headers = { "Content-Type": "application/json" };
  }
  let response: Response;
  try {
    response = await fetch(`/api/${path}`, asked);
  } catch (fault) {
    if (fault instanceof DOMException && fault.name === "AbortError") throw fault;
    reached.value = false;
    throw new Unreached();
  }
  if (response.status === 502 || response.status === 504) {
    reached.value = false;
    throw new Unreached();
  }
  reached.value = true;
  if (!response.ok) throw await refusalOf(response);
  return response;
}

async function refusalOf(response: Response): Promise<Refusal> {
  let body: Record<string, unknown> = {};
  try {
    body = (await response.json()) as Record<string, unknown>;
  } catch {
    // Not from chape: a proxy's page, or an answer cut off.
  }
  const problem = (body.problem as Problem | undefined) ?? {
    sentence: `The bench answered ${response.status} and nothing else`,
  };
  return new Refusal(response.status, problem, body);
}

/** The problem behind whatever was thrown. */
export function problemOf(fault: unknown): Problem {
  if (fault instanceof Refusal) return fault.problem;
  if (fault instanceof Unreached) {
    return { sentence: fault.message, mend: "It is asked again as soon as it is back" };
  }
  return { sentence: fault instanceof Error ? fault.message : String(fault) };
}

export function wasStopped(fault: unknown): boolean {
  return fault instanceof DOMException && fault.name === "AbortError";
}
