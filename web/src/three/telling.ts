/** Between which figures colours should tell apart: not stretched by a few places far out. */

/** More figures than this are sampled: the ends of a scale need no more. */
const SAMPLE = 20_000;
const LOW = 0.005;

/**
 * A span that leaves out the lowest two-hundredth of figures, and the highest beyond a share.
 *
 * @param values mm; NaN: none
 * @param high share of figures that lie below the span's upper end
 */
export function tellingSpan(values: Float32Array, high: number): [number, number] | null {
  const step = Math.max(1, Math.floor(values.length / SAMPLE));
  const known: number[] = [];
  for (let i = 0; i < values.length; i += step) {
    const value = values[i] as number;
    if (Number.isFinite(value)) known.push(value);
  }
  if (known.length === 0) return null;
  known.sort((a, b) => a - b);
  const at = (share: number): number => known[Math.round(share * (known.length - 1))] as number;
  return [at(LOW), at(high)];
}
