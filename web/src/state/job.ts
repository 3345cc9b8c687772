/** What was made of a sheath: its job folder, as the server tells it, re-read when it changes. */

import { effect } from "@preact/signals";
import { useEffect, useState } from "preact/hooks";
import { call, problemOf } from "./api";
import { onChanged, onReturn } from "./events";
import type { Finding, Problem } from "./types";
import { isOver, works } from "./works";

export interface Program {
  readonly name: string;
  readonly title: string;
  readonly released: boolean;
  /** Without cutter changes and stops. */
  readonly seconds: number;
  /** T numbers, in the order of the time they cut. */
  readonly tools: readonly number[];
  /** Paths of its texts in the job folder. */
  readonly texts: readonly string[];
  /** All there is, as "programs" in the job's figures. */
  readonly figures: unknown;
}

export interface JobFile {
  readonly path: string;
  readonly bytes: number;
}

export interface Job {
  readonly state: "none" | "current" | "old";
  /** Milliseconds since 1970. */
  readonly made?: number | null;
  readonly figures: unknown;
  readonly programs: readonly Program[];
  readonly files: readonly JobFile[];
  readonly findings: readonly Finding[];
}

export interface HeldJob {
  readonly job: Job | null;
  readonly problem: Problem | null;
  /** Grows each time the job was made anew: shapes and ways are to be fetched again. */
  readonly edition: string;
}

export function useJob(name: string): HeldJob {
  const [held, setHeld] = useState<HeldJob>({ job: null, problem: null, edition: "" });
  useEffect(() => {
    let here = true;
    setHeld({ job: null, problem: null, edition: "" });
    const read = async (): Promise<void> => {
      try {
        const job = await call<Job>("GET", `sheaths/${encodeURIComponent(name)}/job`);
        if (here) setHeld({ job, problem: null, edition: `${name} ${job.made ?? ""}` });
      } catch (fault) {
        if (here) setHeld((before) => ({ ...before, problem: problemOf(fault) }));
      }
    };
    const stops = [
      onChanged((told) => {
        if (told.what === "sheath" && told.name === name) void read();
      }),
      onReturn(() => void read()),
      watchWorks(name, () => void read()),
    ];
    void read();
    return () => {
      here = false;
      for (const stop of stops) stop();
    };
  }, [name]);
  return held;
}

/** Calls back when a work on this sheath has come to its end. */
function watchWorks(name: string, over: () => void): () => void {
  let known = endedOn(name);
  return effect(() => {
    const ended = endedOn(name);
    if (ended !== known) {
      known = ended;
      over();
    }
  });
}

function endedOn(name: string): string {
  return [...works.value.values()].filter((work) => work.name === name && isOver(work)).map((work) => work.id).join();
}

/** A number somewhere in the figures, by the names that lead to it; null where there is none. */
export function figureAt(figures: unknown, ...names: readonly string[]): number | null {
  const found = foundAt(figures, names);
  return typeof found === "number" && Number.isFinite(found) ? found : null;
}

/** A word or sentence somewhere in the figures; null where there is none. */
export function wordsAt(figures: unknown, ...names: readonly string[]): string | null {
  const found = foundAt(figures, names);
  return typeof found === "string" && found !== "" ? found : null;
}

function foundAt(figures: unknown, names: readonly string[]): unknown {
  return names.reduce<unknown>(
    (at, name) => (typeof at === "object" && at !== null ? (at as Record<string, unknown>)[name] : undefined),
    figures,
  );
}

/** Where a file of the job is fetched from. */
export function fileAddress(sheath: string, path: string): string {
  return `/api/sheaths/${encodeURIComponent(sheath)}/job/file/${path.split("/").map(encodeURIComponent).join("/")}`;
}

export function folderAddress(sheath: string): string {
  return `/api/sheaths/${encodeURIComponent(sheath)}/job.zip`;
}
