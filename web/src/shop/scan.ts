/** What was scanned or typed: the codes on papers and labels hold just these. */

import { goTo } from "../shell/route";

export type Scanned =
  | { readonly kind: "piece"; readonly serial: string }
  | { readonly kind: "order"; readonly reference: string }
  | { readonly kind: "batch"; readonly batch: string };

/** A piece `2026-0042-1`, an order `2026-0042`, a batch `B7`; null for anything else. */
export function readScanned(text: string): Scanned | null {
  const word = text.trim().toUpperCase();
  if (/^\d{4}-\d{4,}-\d+$/.test(word)) return { kind: "piece", serial: word };
  if (/^\d{4}-\d{4,}$/.test(word)) return { kind: "order", reference: word };
  if (/^B\d+(\.\d+)?$/.test(word)) {
    return { kind: "batch", batch: word.split(".")[0] as string };
  }
  return null;
}

/** Go to what was scanned; false where it is nothing of this shop. */
export function goToScanned(text: string): boolean {
  const found = readScanned(text);
  if (found === null) return false;
  if (found.kind === "piece") goTo("day", "piece", found.serial);
  else if (found.kind === "order") goTo("day", "orders", found.reference);
  else goTo("day", "batches", found.batch);
  return true;
}
