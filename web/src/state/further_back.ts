/** Undo goes on where the page's own steps end: through the versions the bench has kept. */

import { call } from "./api";
import type { HistoryRow } from "./types";

export class FurtherBack {
  private versions: readonly string[] = [];
  private at = 0;

  constructor(private readonly place: string) {}

  /** Reads the versions anew: the newest is the one that is shown. */
  async read(): Promise<void> {
    try {
      const rows = await call<HistoryRow[]>("GET", `${this.place}/history`);
      this.versions = rows
        .map((row) => row.version)
        .filter((version, i, all) => version !== all[i - 1]);
    } catch {
      this.versions = []; // Undo then ends where the page was opened.
    }
    this.at = 0;
  }

  /** The version one step back (1) or forward again (-1); null where there is none. */
  look(way: 1 | -1): string | null {
    return this.versions[this.at + way] ?? null;
  }

  step(way: 1 | -1): void {
    this.at += way;
  }

  /** Something was changed: what came after is no longer ahead. */
  branch(): void {
    this.versions = this.versions.slice(this.at);
    this.at = 0;
  }
}
