/** What a program does, piece by piece: the previews of a job folder, laid open without parsing. */

import { type Box, BufferProblem, headOf } from "./buffers";

export const RAPID = 1;
export const JUMP = 2;
export const KINDS = ["ball", "flat", "bull-nose", "drill", "vee", "tapered ball"] as const;

export interface Cutter {
  readonly number: number;
  readonly kind: (typeof KINDS)[number];
  /** All mm, but the point angle in degrees. */
  readonly diameter: number;
  readonly corner: number;
  readonly fluteLength: number;
  readonly stickOut: number;
  readonly shank: number;
  readonly holder: number;
  readonly pointAngle: number;
}

export interface Preview {
  readonly pieces: number;
  readonly box: Box;
  /** Of the whole program, cutter changes and stops left out. */
  readonly totalSeconds: number;
  readonly cutters: readonly Cutter[];
  /** Where each piece ends, mm; it starts where the one before it ended. */
  readonly ends: Float32Array<ArrayBuffer>;
  readonly seconds: Float32Array<ArrayBuffer>;
  readonly lines: Uint32Array<ArrayBuffer>;
  /** Hundredths of a millimetre. */
  readonly depths: Uint16Array<ArrayBuffer>;
  readonly cutterOf: Uint16Array<ArrayBuffer>;
  /** Mean width of cut, 255ths of the cutter's diameter. */
  readonly widths: Uint8Array<ArrayBuffer>;
  readonly flags: Uint8Array<ArrayBuffer>;
}

const HEAD = 48;
const CUTTER = 32;
const PIECE = 26;

export function readPreview(buffer: ArrayBuffer): Preview {
  const view = headOf(buffer, "CHPV", HEAD, "way of a cutter");
  const head = view.getUint16(6, true);
  const n = view.getUint32(8, true);
  const rack = view.getUint32(12, true);
  if (head % 8 !== 0 || head < HEAD + rack * CUTTER || buffer.byteLength !== head + n * PIECE) {
    throw new BufferProblem("The way of the cutter is cut short. Ask for it again.");
  }
  let at = head;
  const take = (bytes: number): number => {
    const start = at;
    at += bytes;
    return start;
  };
  return {
    pieces: n,
    box: Array.from({ length: 6 }, (_, i) => view.getFloat32(16 + 4 * i, true)) as unknown as Box,
    totalSeconds: view.getFloat64(40, true),
    cutters: Array.from({ length: rack }, (_, i) => readCutter(view, HEAD + CUTTER * i)),
    ends: new Float32Array(buffer, take(n * 12), n * 3),
    seconds: new Float32Array(buffer, take(n * 4), n),
    lines: new Uint32Array(buffer, take(n * 4), n),
    depths: new Uint16Array(buffer, take(n * 2), n),
    cutterOf: new Uint16Array(buffer, take(n * 2), n),
    widths: new Uint8Array(buffer, take(n), n),
    flags: new Uint8Array(buffer, take(n), n),
  };
}

function readCutter(view: DataView, at: number): Cutter {
  const kind = KINDS[view.getUint16(at + 2, true)];
  if (kind === undefined) throw new BufferProblem("A cutter of a kind not known here. Load the page again.");
  const figure = (place: number): number => view.getFloat32(at + 4 + 4 * place, true);
  return {
    number: view.getUint16(at, true),
    kind,
    diameter: figure(0),
    corner: figure(1),
    fluteLength: figure(2),
    stickOut: figure(3),
    shank: figure(4),
    holder: figure(5),
    pointAngle: figure(6),
  };
}

/** Where a program stands after some seconds. */
export interface Moment {
  /** The piece being cut; -1 before the first. */
  readonly piece: number;
  /** How much of it is done, 0 to 1. */
  readonly share: number;
  readonly place: readonly [number, number, number];
}

export function momentAt(preview: Preview, seconds: number): Moment {
  const { pieces, ends, flags } = preview;
  if (pieces === 0) return { piece: -1, share: 0, place: [0, 0, 0] };
  const piece = Math.min(firstAtOrAfter(preview.seconds, seconds), pieces - 1);
  const from = piece > 0 ? (preview.seconds[piece - 1] as number) : 0;
  const to = preview.seconds[piece] as number;
  const jumps = piece === 0 || ((flags[piece] as number) & JUMP) !== 0;
  const share = jumps || to <= from ? 1 : Math.min(1, Math.max(0, (seconds - from) / (to - from)));
  const place = [0, 1, 2].map((axis) => {
    const end = ends[3 * piece + axis] as number;
    if (jumps) return end;
    const start = ends[3 * (piece - 1) + axis] as number;
    return start + share * (end - start);
  });
  return { piece, share, place: place as unknown as [number, number, number] };
}

/** The first piece that ends at this time or later: times never run backwards. */
export function firstAtOrAfter(times: Float32Array, seconds: number): number {
  let low = 0;
  let high = times.length;
  while (low < high) {
    const middle = (low + high) >>> 1;
    if ((times[middle] as number) < seconds) low = middle + 1;
    else high = middle;
  }
  return low;
}

/**
 * Pairs of places to draw a line between, and how many pairs come before each piece.
 *
 * A piece runs from the end of the one before it to its own; nothing is drawn for a jump.
 */
export function linePairs(preview: Preview): { pairs: Uint32Array<ArrayBuffer>; before: Uint32Array<ArrayBuffer> } {
  const { pieces, flags } = preview;
  const pairs = new Uint32Array(pieces * 2);
  const before = new Uint32Array(pieces + 1);
  let count = 0;
  for (let piece = 0; piece < pieces; piece += 1) {
    before[piece] = count;
    if (piece > 0 && ((flags[piece] as number) & JUMP) === 0) {
      pairs[2 * count] = piece - 1;
      pairs[2 * count + 1] = piece;
      count += 1;
    }
  }
  before[pieces] = count;
  return { pairs: pairs.subarray(0, 2 * count), before };
}

/** The deepest cut of the program, mm. */
export function deepestCut(preview: Preview): number {
  let deepest = 0;
  for (const depth of preview.depths) if (depth > deepest) deepest = depth;
  return deepest / 100;
}
