import type { Seen } from "../state/live";
import type { Finding, Kept, Line, Problem } from "../state/types";

export interface ShelfKnife {
  readonly name: string;
  readonly title: string;
  readonly length: number | null;
  readonly thickness: number | null;
  readonly how: string;
  readonly outline: Line;
  readonly sheaths: readonly string[];
  readonly version: string;
  readonly problem: Problem | null;
}

export interface KnifeRecord extends Kept {
  readonly title: string;
  readonly problem: Problem | null;
}

/** Where the photograph lies under the outline, mm; y is up. */
export interface Photo {
  readonly url: string;
  readonly mm_per_pixel: number;
  readonly left: number;
  readonly top: number;
}

export interface Landmark {
  readonly label: string;
  /** Of the value in the knife file that says where along x it is. */
  readonly path: string | null;
  readonly x: number;
  readonly y: number;
}

export interface GivenThickness {
  readonly path: string;
  readonly label: string;
  readonly rows: Line;
  readonly guessed: boolean;
}

export interface KnifeView {
  readonly length: number;
  readonly thickness: number;
  readonly blade_length: number;
  readonly uncertainty: number;
  readonly outline: Line;
  readonly edge: readonly Line[];
  readonly landmarks: readonly Landmark[];
  readonly given: readonly GivenThickness[];
  readonly used: Line;
  readonly photo: Photo | null;
  readonly findings: readonly Finding[];
}

export interface SeenKnife extends Seen {
  readonly view: KnifeView | null;
}
