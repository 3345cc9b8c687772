/** Figures along a scale: round ones, a few of them. */

/** Round figures from least to greatest, both inside, about as many as asked for. */
export function roundFigures(least: number, greatest: number, about = 5): number[] {
  if (!Number.isFinite(least) || !Number.isFinite(greatest) || greatest <= least) return [];
  const step = roundStep((greatest - least) / about);
  const first = Math.ceil(least / step - 1e-9);
  const last = Math.floor(greatest / step + 1e-9);
  return Array.from({ length: last - first + 1 }, (_, i) => (first + i) * step || 0);
}

/** The least of 1, 2, 5 times a power of ten that isn't less. */
export function roundStep(wanted: number): number {
  const power = 10 ** Math.floor(Math.log10(wanted));
  const step = [1, 2, 5, 10].find((times) => times * power >= wanted * (1 - 1e-9)) as number;
  return step * power;
}

/** How many digits after the point a step of figures needs. */
export function digitsFor(step: number): number {
  return Math.max(0, -Math.floor(Math.log10(step) + 1e-9));
}
