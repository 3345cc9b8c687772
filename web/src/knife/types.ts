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

/** Where the photograph lies under the outline, mm. */
export interface Photo {
  readonly url: string;
  readonly mm_per_pixel: number;
  readonly left: number;
  readonly top: number;
  readonly width: number;
  readonly height: number;
}

export interface KnifeView {
  readonly outline: Line;
  readonly edge: Line | readonly Line[];
  readonly thickness?: { readonly used?: Line; readonly as_used?: Line } | null;
  readonly photo?: Photo | null;
  readonly findings: readonly Finding[];
  readonly length?: number | null;
  readonly uncertainty?: number | null;
}
