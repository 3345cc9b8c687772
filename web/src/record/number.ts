/** Figures as people type them. */

/** A decimal point or comma; nothing else that is no plain number. */
export function readNumber(text: string): number | null {
  const plain = text.trim().replace(",", ".").replace("−", "-");
  return /^[-+]?(\d+\.?\d*|\.\d+)$/.test(plain) ? Number(plain) : null;
}

/** As few decimals as say it. */
export function writeNumber(value: number): string {
  return String(Number(value.toFixed(4)));
}
