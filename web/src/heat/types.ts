/** What the bench says of heating and cooling one blank. Temperatures °C, times s, lengths mm. */

/** A figure and how far it may be off. */
export interface Estimate {
  readonly value: number;
  /** Half the width of the range it is expected in. */
  readonly spread: number;
}

export interface Curve {
  readonly title: string;
  readonly seconds: readonly number[];
  readonly celsius: readonly number[];
}

export interface Heated {
  readonly curves: readonly Curve[];
  /** Warm enough to form, and the most the sheet bears. */
  readonly wanted: number;
  readonly highest: number;
  /** When the one is reached everywhere, and when the other first; null: never. */
  readonly ready: Estimate | null;
  readonly limit: Estimate | null;
}

export interface Cooled {
  readonly curves: readonly Curve[];
  readonly stiff: number;
  readonly first: Estimate | null;
  readonly last: number | null;
  readonly mould_face: number;
}

export interface Setting {
  readonly label: string;
  readonly value: number | string;
  readonly unit: string;
  readonly range: readonly [number, number] | null;
}

export interface FormingView {
  readonly settings: readonly Setting[];
  readonly heat: Heated;
  readonly fold: Heated | null;
  readonly cool: Cooled;
  readonly thickness: {
    readonly gauge: number;
    readonly least: number;
    readonly thinnest: number;
  };
  readonly timers: readonly { readonly title: string; readonly seconds: number }[];
  readonly cautions: readonly string[];
}
