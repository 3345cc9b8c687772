/** How a record stands between the page and the disk. */

import type { Kept, Line, Tables } from "./types";

export type Saving =
  | "saved" // what is shown is on the disk
  | "changed" // goes out in a moment
  | "sending"
  | "kept here" // the server cannot be reached; goes out when it is back
  | "refused" // the file would not be a good one: see problem
  | "two versions"; // someone else saved: see theirs

/** What someone else saved meanwhile. */
export type Theirs = Pick<Kept, "version" | "tables">;

/** What one step changes: the file, and of a drawn knife the outline. */
export interface Shape {
  readonly tables: Tables;
  /** Null: not known yet, or not to be changed here. */
  readonly outline: Line | null;
}
