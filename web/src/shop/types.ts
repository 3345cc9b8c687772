/** What the server tells of the shop. Moments are written as in ISO 8601, days as 2026-03-14. */

export interface PieceRow {
  readonly serial: string;
  readonly state: string;
}

export interface OrderRow {
  readonly reference: string;
  readonly state: string;
  readonly customer: string;
  readonly model: string | null;
  readonly knife: string | null;
  readonly hand: string;
  readonly sheet: string;
  readonly colour: string;
  readonly clip: string | null;
  readonly marks: string;
  /** Wanted pull, N; null takes the model's. */
  readonly hold: number | null;
  readonly due: string;
  readonly placed: string | null;
  readonly quantity: number;
  readonly note: string;
  readonly shipped: number;
  readonly late: boolean;
  readonly pieces: readonly PieceRow[];
}

export interface OrderPage {
  readonly count: number;
  readonly page: number;
  readonly pages: number;
  readonly orders: readonly OrderRow[];
}

export interface ModelRow {
  readonly name: string;
  readonly title: string;
  readonly hand: string | null;
  readonly hold: number | null;
}

export interface ShopFinding {
  readonly code: string;
  readonly severity: "error" | "warning" | "note";
  readonly place: string;
  readonly message: string;
  readonly mend: string;
}

export interface ShopLeaf {
  readonly name: string;
  readonly currency: string;
  readonly start: string;
  readonly end: string;
  readonly collect: string;
  readonly people: number;
  readonly models: readonly ModelRow[];
  readonly sheets: readonly string[];
  readonly colours: readonly string[];
  readonly clips: readonly string[];
  readonly questions: readonly { readonly fault: string; readonly question: string }[];
  readonly open_orders: number;
  readonly found: number;
  readonly findings: readonly ShopFinding[];
}

export interface TaskRow {
  /** As it is ticked; null for a set-up. */
  readonly task: string | null;
  readonly about: string;
  readonly title: string;
  readonly station: string;
  readonly station_title: string;
  readonly start: string;
  readonly seconds: number;
  readonly alone: number;
}

export interface AloneRow {
  readonly about: string;
  readonly title: string;
  readonly station: string;
  readonly station_title: string;
  readonly until: string;
}

export interface DayLeaf {
  /** The server's clock. */
  readonly now: string;
  readonly planned: boolean;
  readonly made: string | null;
  readonly ready: string | null;
  readonly behind: number;
  readonly left: number;
  readonly gap: number;
  readonly late: readonly string[];
  readonly relaxed: boolean;
  readonly hours: number;
  readonly next: readonly TaskRow[];
  readonly alone: readonly AloneRow[];
}

export interface Ticked {
  readonly pieces: number;
  readonly day: DayLeaf;
}

export interface GoodKey {
  readonly kind: string;
  readonly name: string;
  readonly colour: string;
}

export interface ShelfRow extends GoodKey {
  readonly title: string;
  readonly on_hand: number;
  readonly reorder_at: number;
  readonly pack: number;
  readonly pack_price: number;
  readonly low: boolean;
}

export interface PurchaseRow {
  readonly title: string;
  readonly packs: number;
  readonly pack: number;
  readonly price: number | null;
}

export interface StockLeaf {
  readonly currency: string;
  readonly shelves: readonly ShelfRow[];
  readonly buy: readonly PurchaseRow[];
}

export interface Offer {
  readonly model: string;
  readonly title: string;
  readonly sheet: string;
  readonly colour: string;
  readonly mould: string;
  readonly fixture: string;
  readonly blanks: number;
  readonly empty: number;
  readonly due: string;
  readonly pieces: readonly string[];
}

export interface Proposal {
  readonly urgent_by: string;
  readonly batches: readonly Offer[];
  readonly takes: readonly { readonly title: string; readonly count: number }[];
  readonly left_out: readonly { readonly serial: string; readonly due: string }[];
  readonly buy: readonly PurchaseRow[];
  readonly currency: string;
  readonly gap: number;
}

export interface InWork {
  readonly batch: string;
  readonly model: string;
  readonly title: string;
  readonly sheet: string;
  readonly colour: string;
  readonly pieces: readonly (PieceRow & { readonly blank: string; readonly due: string })[];
}

export interface BatchList {
  readonly batches: readonly InWork[];
  readonly taken: readonly string[];
}

export interface FitRow {
  readonly at: string;
  readonly hold: number | null;
  readonly faults: readonly string[];
  readonly note: string;
  readonly passed: boolean;
}

export interface PieceLeaf {
  readonly serial: string;
  readonly state: string;
  readonly order: string;
  readonly title: string;
  readonly customer: string;
  readonly hand: string;
  readonly colour: string;
  readonly clip: string | null;
  readonly marks: string;
  readonly note: string;
  readonly due: string;
  readonly hold: number | null;
  readonly batch: string | null;
  readonly next_task: string | null;
  readonly next_title: string | null;
  readonly may_move_to: readonly string[];
  readonly may_fit: boolean;
  readonly replacement: string | null;
  readonly fits: readonly FitRow[];
}

export type TaughtUnit = "s" | "share" | "friction";

export interface LearnLeaf {
  readonly proposed: readonly {
    readonly what: string;
    readonly title: string;
    readonly unit: TaughtUnit;
    readonly now: number;
    readonly value: number;
    readonly low: number;
    readonly high: number;
    readonly count: number;
    readonly evidence: string;
  }[];
  readonly accepted: readonly {
    readonly what: string;
    readonly title: string;
    readonly unit: TaughtUnit;
    readonly value: number;
  }[];
}

export interface QuoteLeaf {
  readonly currency: string;
  readonly parts: readonly { readonly title: string; readonly cost: number }[];
  readonly scrap: number;
  readonly cost: number;
  readonly price: number;
  readonly quantity: number;
  readonly total: number;
  readonly hand_seconds: number;
  readonly router_seconds: number;
  readonly unpriced: readonly string[];
  readonly pays_from: number | null;
}

export interface SafetyLeaf {
  readonly first: string;
  readonly stations: readonly {
    readonly name: string;
    readonly title: string;
    readonly cautions: readonly string[];
  }[];
}

export interface RushLeaf {
  readonly ready: string;
  readonly leaves: string;
  readonly due: string;
  readonly in_time: boolean;
  readonly displaced: readonly {
    readonly order: string;
    readonly customer: string;
    readonly due: string;
    readonly without: string;
    readonly within: string;
    readonly days: number;
  }[];
  readonly hand_seconds: number;
  readonly router_seconds: number;
  readonly goods: readonly { readonly title: string; readonly count: number }[];
  readonly buy: readonly PurchaseRow[];
  readonly cost: number;
  readonly price: number;
  readonly usual: number;
  readonly currency: string;
  readonly late_day_known: boolean;
  readonly gap: number;
  readonly left_out: number;
}

/** What came of an order file. */
export interface Entered {
  readonly entered: readonly string[];
  readonly good: number;
  readonly bad: readonly {
    readonly place: string;
    readonly field: string | null;
    readonly sentence: string;
    readonly mend: string;
  }[];
}

/** Whole sheets, and the blanks to cut from them. */
export interface CutRow {
  readonly whole: string;
  readonly on_hand: number;
  readonly used: number;
  readonly bound: number;
  readonly buy: number;
  readonly share: number;
  readonly blanks: readonly { readonly title: string; readonly count: number }[];
  /** How many are cut in each way. */
  readonly ways: readonly number[];
}

export interface CutterRow {
  readonly name: string;
  readonly minutes: number;
  readonly life: number | null;
}

/** What heat trials teach; times in seconds. */
export interface HeatLeaf {
  readonly rows: readonly {
    readonly step: "heat" | "warm";
    readonly sheet: string;
    readonly heater: string;
    readonly trials: number;
    readonly next: number;
    readonly good: number;
    readonly low: number;
    readonly high: number;
    readonly telling: number;
  }[];
  readonly heaters: { readonly [step: string]: readonly string[] };
}
