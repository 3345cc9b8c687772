/** The texts of a program as one numbered listing: lines are counted on from one text to the next. */

export interface Line {
  readonly number: number;
  readonly words: string;
}

export interface Here {
  /** Which of the texts, from 0, and the line in it, from 1. */
  readonly text: number;
  readonly line: number;
  readonly around: readonly Line[];
  /** The last heading at or before this line, without its brackets; null: none yet. */
  readonly step: string | null;
}

const NEW_LINE = 10;
/** How a step of a program begins: a remark with a number and a point. */
const HEADING = /^\((\d+\. .+)\)\s*$/;

export class Listing {
  private readonly starts: readonly Uint32Array[];
  private readonly before: readonly number[];
  private readonly headings: readonly (readonly [line: number, words: string])[];

  constructor(private readonly texts: readonly Uint8Array[]) {
    this.starts = texts.map(lineStarts);
    this.before = this.starts.map((_, i) => this.starts.slice(0, i).reduce((sum, starts) => sum + starts.length, 0));
    this.headings = this.findHeadings();
  }

  /** The listing around a line, counted from 1 over all texts; null: there is no such line. */
  at(line: number, reach = 3): Here | null {
    const text = this.before.findLastIndex((before) => before < line);
    const starts = this.starts[text];
    if (starts === undefined) return null;
    const inText = line - (this.before[text] as number);
    if (inText > starts.length) return null;
    const first = Math.max(1, inText - reach);
    const last = Math.min(starts.length, inText + reach);
    const around = Array.from({ length: last - first + 1 }, (_, i) => ({ number: first + i, words: this.words(text, first + i) }));
    const step = this.headings.findLast(([at]) => at <= line)?.[1] ?? null;
    return { text, line: inText, around, step };
  }

  private words(text: number, line: number): string {
    const [bytes, starts] = [this.texts[text] as Uint8Array, this.starts[text] as Uint32Array];
    const end = starts[line] ?? bytes.length;
    return new TextDecoder().decode(bytes.subarray(starts[line - 1], end)).trimEnd();
  }

  private findHeadings(): [number, string][] {
    const found: [number, string][] = [];
    this.texts.forEach((bytes, text) => {
      const starts = this.starts[text] as Uint32Array;
      starts.forEach((start, i) => {
        if (bytes[start] !== 40) return;
        const heading = HEADING.exec(this.words(text, i + 1))?.[1];
        if (heading !== undefined) found.push([(this.before[text] as number) + i + 1, heading]);
      });
    });
    return found;
  }
}

/** Where each line begins. What follows the last line end counts only if there is something. */
function lineStarts(bytes: Uint8Array): Uint32Array {
  const starts: number[] = bytes.length > 0 ? [0] : [];
  for (let at = bytes.indexOf(NEW_LINE); at >= 0 && at + 1 < bytes.length; at = bytes.indexOf(NEW_LINE, at + 1)) starts.push(at + 1);
  return Uint32Array.from(starts);
}
