/** The key that makes everything: moulds, fixture, programs, papers; and how far it is. */

import { useState } from "preact/hooks";
import { call, problemOf } from "../state/api";
import type { RecordStore } from "../state/record";
import type { Problem } from "../state/types";
import { stopWork, workOn } from "../state/works";
import type { SheathRecord } from "./types";
import { Trouble } from "../parts/trouble";

export function MakeIt({ store }: { store: RecordStore<SheathRecord> }) {
  const [wrong, setWrong] = useState<Problem | null>(null);
  const making = workOn("sheath", store.name);
  const ready = store.saving.value === "saved" && !store.record.value?.problem;
  const begin = async (): Promise<void> => {
    setWrong(null);
    try {
      const exact = workOn("sheath", store.name, true);
      if (exact) await stopWork(exact.id); // the job finds the same
      await call("POST", `${store.place}/make`, {});
    } catch (fault) {
      setWrong(problemOf(fault));
    }
  };
  return (
    <div class="make">
      {making ? (
        <button type="button" class="large" onClick={() => void stopWork(making.id)}>
          Stop making it
        </button>
      ) : (
        <button type="button" class="brass large" disabled={!ready} onClick={() => void begin()}>
          Make it
        </button>
      )}
      <Trouble problem={wrong} />
    </div>
  );
}
