/** A change that is not on the server's disk yet, kept in this browser. */

import type { Line, Tables } from "./types";

export interface Draft {
  /** The version it was made from. */
  readonly base: string;
  readonly tables: Tables;
  /** Of a drawn knife, where it was moved. */
  readonly outline?: Line;
}

const key = (place: string): string => `chape.draft.${place}`;

export function keepDraft(place: string, draft: Draft): void {
  try {
    localStorage.setItem(key(place), JSON.stringify(draft));
  } catch {
    // Full or forbidden: the change still goes out by itself while the page is open.
  }
}

export function readDraft(place: string): Draft | null {
  try {
    const text = localStorage.getItem(key(place));
    const draft = text ? (JSON.parse(text) as Partial<Draft>) : null;
    return typeof draft?.base === "string" && typeof draft.tables === "object"
      ? (draft as Draft)
      : null;
  } catch {
    return null;
  }
}

export function dropDraft(place: string): void {
  try {
    localStorage.removeItem(key(place));
  } catch {
    // Nothing was kept.
  }
}
