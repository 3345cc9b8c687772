/** How the sheath on the bench stands, in a few words, for the ticket. */

import { effect, signal } from "@preact/signals";
import { call, Refusal } from "./api";
import { onChanged, onReturn } from "./events";
import type { Problem } from "./types";
import { workOn } from "./works";

export interface ShelfSheath {
  readonly name: string;
  readonly title: string;
  readonly knife: string;
  readonly knife_title?: string | null;
  readonly version: string;
  readonly problem: Problem | null;
  readonly job?: "none" | "current" | "old";
}

interface JobState {
  readonly state: "none" | "current" | "old";
  readonly programs?: readonly { readonly released: boolean }[];
}

export interface Standing {
  readonly title: string;
  readonly knife: string | null;
  readonly knifeTitle: string | null;
  readonly words: string;
  readonly mood: "good" | "stop" | "plain";
  /** Where one goes to see more of it. */
  readonly station: "sheath" | "tools" | "cut";
}

export const standing = signal<Standing | null>(null);

/** Keeps `standing` true while one sheath lies on the bench; returns how to stop. */
export function watchStanding(name: string | null): () => void {
  standing.value = null;
  if (!name) return () => undefined;
  let here = true;
  const read = async (): Promise<void> => {
    const next = await readStanding(name);
    if (here && next) standing.value = next;
  };
  void read();
  const stops = [
    onChanged((told) => {
      if (told.what === "sheath" && told.name === name) void read();
    }),
    onReturn(() => void read()),
    effect(() => {
      // A work that begins or ends changes the words.
      workOn("sheath", name);
      void read();
    }),
  ];
  return () => {
    here = false;
    for (const stop of stops) stop();
  };
}

async function readStanding(name: string): Promise<Standing | null> {
  try {
    const shelf = await call<ShelfSheath[]>("GET", "sheaths");
    const row = shelf.find((each) => each.name === name);
    if (!row) return plain(name, "not in this folder any more", "stop");
    const work = workOn("sheath", name);
    const job = await jobOf(name);
    const [words, mood] = work
      ? (["being made …", "plain"] as const)
      : wordsFor(row.problem, job);
    return {
      title: row.title,
      knife: row.knife,
      knifeTitle: row.knife_title ?? null,
      words,
      mood,
      station: job.state === "none" || row.problem ? "sheath" : mood === "good" ? "cut" : "tools",
    };
  } catch {
    return null;
  }
}

async function jobOf(name: string): Promise<JobState> {
  try {
    return await call<JobState>("GET", `sheaths/${name}/job`);
  } catch (fault) {
    if (fault instanceof Refusal) return { state: "none" };
    throw fault;
  }
}

export function wordsFor(
  problem: Problem | null,
  job: JobState,
): readonly [string, Standing["mood"]] {
  if (problem) return ["its file needs a look", "stop"];
  if (job.state === "none") return ["not made", "plain"];
  if (job.state === "old") return ["old: changed since it was made", "stop"];
  const programs = job.programs ?? [];
  if (programs.length && programs.every((each) => each.released)) return ["made, proved", "good"];
  return ["made, programs kept back", "stop"];
}

function plain(title: string, words: string, mood: Standing["mood"]): Standing {
  return { title, knife: null, knifeTitle: null, words, mood, station: "sheath" };
}
