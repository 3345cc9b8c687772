/** Long works: they run on the server, and go on when the page is closed. */

import { signal } from "@preact/signals";
import { call } from "./api";
import type { Problem, Work } from "./types";

export const works = signal<ReadonlyMap<string, Work>>(new Map());

const waiting = new Map<string, (work: Work) => void>();

export function isOver(work: Work): boolean {
  return work.state === "done" || work.state === "stopped" || work.state === "failed";
}

export function takeWork(work: Work): void {
  const next = new Map(works.value);
  next.set(work.id, work);
  works.value = next;
  if (isOver(work)) {
    waiting.get(work.id)?.(work);
    waiting.delete(work.id);
  }
}

/** Takes the whole list, as it is read when the line is there again. */
export function takeList(list: readonly Work[]): void {
  for (const work of list) {
    if (!isOver(work) || works.value.has(work.id) || isNews(work)) takeWork(work);
  }
  const listed = new Set(list.map((work) => work.id));
  for (const work of works.value.values()) {
    if (!isOver(work) && !listed.has(work.id)) takeWork({ ...work, state: "failed", problem: RESTARTED });
  }
}

/** What ended well before this page looked is seen where it was made; what did not, is told once. */
function isNews(work: Work): boolean {
  return work.seen !== true && (work.state === "failed" || work.problem !== null);
}

const RESTARTED: Problem = {
  sentence: "The bench was stopped while it worked on this",
  mend: "Begin it again",
};

/** Exact figures are worked out whenever one rests: nobody asked for them, so nobody is told. */
export function isQuiet(work: Work): boolean {
  return work.title.startsWith("Exact figures");
}

/** The newest work on one thing that is not over, if there is one; by itself only what was asked
 * for counts. */
export function workOn(what: string, name: string, quiet = false): Work | null {
  const all = [...works.value.values()].filter(
    (each) => each.what === what && each.name === name && isQuiet(each) === quiet,
  );
  return all.reverse().find((each) => !isOver(each)) ?? null;
}

/** Waits until a work is over, however often the line breaks meanwhile. */
export async function untilOver(id: string): Promise<Work> {
  const told = new Promise<Work>((resolve) => waiting.set(id, resolve));
  const known = works.value.get(id);
  if (known && isOver(known)) return known;
  const asked = await call<Work>("GET", `works/${id}`);
  takeWork(asked);
  return isOver(asked) ? asked : told;
}

export async function stopWork(id: string): Promise<void> {
  await call("DELETE", `works/${id}`);
}

/** A work one has read of need not be shown any more. */
export function putAway(id: string): void {
  const next = new Map(works.value);
  next.delete(id);
  works.value = next;
}

/** Puts a work away that one has read of, on every page that is opened from now on. */
export async function seeWork(id: string): Promise<void> {
  putAway(id);
  // Where the bench cannot be reached, it is told once more later: no harm is done.
  await call("POST", `works/${id}/seen`).catch(() => undefined);
}
