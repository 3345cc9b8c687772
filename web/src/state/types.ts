/** What the server and the page say to each other. Lengths are mm. */

export interface Problem {
  readonly sentence: string;
  readonly file?: string | null;
  readonly field?: string | null;
  readonly mend?: string;
}

export interface Hello {
  readonly version: string;
  readonly lan: boolean;
  readonly paired: boolean;
  readonly device: string | null;
  readonly folder_name: string | null;
  readonly has_shop: boolean;
}

export type Point = readonly [number, number];
export type Line = readonly Point[];

export interface Finding {
  readonly code: string;
  readonly severity: "error" | "warning" | "note";
  readonly sentence: string;
  readonly place?: { readonly x: number; readonly y: number | null } | null;
  readonly where?: string | null;
  readonly measured?: number | null;
  readonly limit?: number | null;
  /** Of what was measured and its limit: mm, °C, %, share, N, s or none. */
  readonly unit?: string;
  readonly mend?: string;
}

export type WorkState = "waiting" | "running" | "done" | "stopped" | "failed";

export interface Work {
  readonly id: string;
  readonly title: string;
  readonly what: string;
  readonly name: string;
  readonly state: WorkState;
  /** Milliseconds since 1970. */
  readonly began: number;
  readonly share: number | null;
  readonly stage: string;
  readonly problem: Problem | null;
  readonly result?: unknown;
  /** A person has read what became of it. */
  readonly seen?: boolean;
}

/** A TOML file as JSON. The server gives and takes its lengths in mm, whatever it is written in. */
export type Value = string | number | boolean | null | readonly Value[] | Tables;
export interface Tables {
  readonly [key: string]: Value;
}

/** What a kept file of the bench has in common. */
export interface Kept {
  readonly name: string;
  readonly version: string;
  readonly tables: Tables;
}

export interface HistoryRow {
  readonly version: string;
  readonly time: number | string;
  readonly sentence: string;
}
