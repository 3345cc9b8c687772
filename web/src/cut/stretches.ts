/** A program in stretches, one for each time a cutter is in the spindle. */

import type { Cutter, Preview } from "../three/preview";
import { bareLength, length } from "../state/units";

export interface Stretch {
  readonly cutter: Cutter;
  /** Seconds since the program's start. */
  readonly from: number;
  readonly to: number;
}

export function stretchesOf({ pieces, cutterOf, cutters, seconds, totalSeconds }: Preview): Stretch[] {
  const stretches: Stretch[] = [];
  let from = 0;
  for (let piece = 1; piece <= pieces; piece += 1) {
    if (piece < pieces && cutterOf[piece] === cutterOf[piece - 1]) continue;
    const cutter = cutters[cutterOf[piece - 1] as number];
    const to = piece === pieces ? totalSeconds : (seconds[piece - 1] as number);
    if (cutter !== undefined) stretches.push({ cutter, from, to });
    from = to;
  }
  return stretches;
}

/** Noughts behind the last figure that says something. */
const ENDING = /\.0+(?= |$)|(?<=\.\d*[1-9])0+(?= |$)/;

/** A cutter as one asks for it at the rack: T2, 6 mm ball. */
export function cutterInWords(cutter: Cutter, words: typeof length = length): string {
  return `T${cutter.number}, ${words(cutter.diameter, 2).replace(ENDING, "")} ${cutter.kind}`;
}

/** The same, as short as it can be told apart. */
export function cutterInShort(cutter: Cutter): string {
  return `T${cutter.number} ⌀${bareLength(cutter.diameter, 2).replace(ENDING, "")}`;
}

/** When a line of the text is cut first, seconds since the start; null: it moves nothing. */
export function secondsAtLine({ lines, seconds }: Pick<Preview, "lines" | "seconds">, line: number): number | null {
  const piece = lines.indexOf(line);
  return piece < 0 ? null : (seconds[piece] as number);
}
