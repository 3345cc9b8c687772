/** What the knife file holds a guess of: programs are kept back until each was measured. */

import type { RecordStore } from "../state/record";
import { valueAt } from "../state/tables";
import type { KnifeRecord } from "./types";

const WORDS: Readonly<Record<string, string>> = {
  "blade.length": "where the blade ends",
  "blade.spine_thickness": "the spine's thickness",
  "handle.thickness": "the handle's thickness",
};

export function Unmeasured({ store }: { store: RecordStore<KnifeRecord> }) {
  const value = valueAt(store.tables.value, "knife.unmeasured");
  const keys = Array.isArray(value) ? value.map(String) : [];
  if (!keys.length) return null;
  const measured = (key: string): void => {
    const left = keys.filter((each) => each !== key);
    store.change("knife.unmeasured", left.length ? left : undefined);
  };
  return (
    <div class="unmeasured">
      <p>
        No picture tells these. Measure them, put the figures in, and say so; until then no program is
        given out.
      </p>
      <div class="keys">
        {keys.map((key) => (
          <button key={key} type="button" class="quiet-key" onClick={() => measured(key)}>
            I have measured {WORDS[key] ?? key}
          </button>
        ))}
      </div>
    </div>
  );
}
