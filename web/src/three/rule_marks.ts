/** Where the marks of a rule are. */

export type RuleUnit = "mm" | "inch";

export interface Mark {
  /** From the rule's beginning, mm. */
  readonly at: number;
  /** 0 a mark with a figure, 1 between, 2 the finest. */
  readonly rank: 0 | 1 | 2;
  readonly word: string | null;
}

interface Ruling {
  /** Finest mark in mm, and how many of them to the middle marks and to the figures. */
  readonly finest: number;
  readonly middle: number;
  readonly figure: number;
  /** What a figure counts, in mm. */
  readonly counts: number;
}

const RULINGS: Record<RuleUnit, readonly [Ruling, Ruling]> = {
  mm: [
    { finest: 1, middle: 5, figure: 10, counts: 1 },
    { finest: 5, middle: 2, figure: 10, counts: 1 },
  ],
  inch: [
    { finest: 25.4 / 16, middle: 4, figure: 16, counts: 25.4 },
    { finest: 25.4 / 4, middle: 2, figure: 4, counts: 25.4 },
  ],
};

/** Longer than this, mm, a rule has the coarser marks. */
const SHORT = 90;

/** A thing longer than the rule by less than this, mm, needs no longer one. */
const HAIR = 0.1;

export function ruleMarks(long: number, unit: RuleUnit): Mark[] {
  if (!(long > 0) || !Number.isFinite(long)) return [];
  const { finest, middle, figure, counts } = RULINGS[unit][long > SHORT ? 1 : 0];
  const count = Math.max(figure, Math.ceil((long - HAIR) / finest));
  const last = Math.floor(count / figure) * figure;
  return Array.from({ length: count + 1 }, (_, i) => {
    const rank = i % figure === 0 ? 0 : i % middle === 0 ? 1 : 2;
    const told = String(Math.round((i * finest) / counts));
    const word = rank > 0 ? null : i === last ? `${told} ${unit}` : told;
    return { at: i * finest, rank, word };
  });
}
