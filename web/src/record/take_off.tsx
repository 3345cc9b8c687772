import { useState } from "preact/hooks";
import { goTo, sheathOnBench } from "../shell/route";
import { call, problemOf } from "../state/api";
import type { RecordStore } from "../state/record";
import type { Kept, Problem } from "../state/types";
import { Trouble } from "../parts/trouble";

interface Props {
  readonly store: RecordStore<Kept>;
  readonly shelf: "knives" | "sheaths";
}

/** Takes a record off the shelf; asked once, and its history brings it back. */
export function TakeOff({ store, shelf }: Props) {
  const [asked, setAsked] = useState(false);
  const [wrong, setWrong] = useState<Problem | null>(null);
  const takeOff = async (): Promise<void> => {
    const base = store.record.value?.version ?? "";
    try {
      await call("DELETE", `${store.place}?base=${encodeURIComponent(base)}`);
      if (shelf === "sheaths" && sheathOnBench.value === store.name) sheathOnBench.value = null;
      goTo("knives");
    } catch (fault) {
      setWrong(problemOf(fault));
      setAsked(false);
    }
  };
  return (
    <>
      {asked ? (
        <span class="keys" role="group" aria-label="Take it off the shelf?">
          <button type="button" class="quiet-key stop" onClick={() => void takeOff()}>
            Take it off; it can be brought back
          </button>
          <button type="button" class="quiet-key" onClick={() => setAsked(false)}>
            Leave it
          </button>
        </span>
      ) : (
        <button type="button" class="quiet-key" onClick={() => setAsked(true)}>
          Take off the shelf
        </button>
      )}
      <Trouble problem={wrong} />
    </>
  );
}
