/** The exact figures: at the file's own spacing, with the hold. They follow when one rests. */

import { useEffect, useState } from "preact/hooks";
import { call, Refusal } from "../state/api";
import type { RecordStore } from "../state/record";
import type { Problem, Work } from "../state/types";
import { stopWork, untilOver, workOn } from "../state/works";
import type { Exact, SheathRecord } from "./types";

/** So long nothing must have changed before the exact figures are worked out, ms. */
const REST = 4000;

export interface ExactState {
  readonly exact: Exact | null;
  readonly running: boolean;
  /** Why there are none for these settings, searched for longer than a preview may take. */
  readonly fault: Problem | null;
}

export function useExact(store: RecordStore<SheathRecord>): ExactState {
  const [exact, setExact] = useState<Exact | null>(null);
  const [running, setRunning] = useState(false);
  const [fault, setFault] = useState<Problem | null>(null);
  const version = store.record.value?.version ?? null;
  const usable = store.record.value !== null && store.record.value.problem === null;
  // What is being made works out the same: wait for it.
  const resting = store.saving.value === "saved" && workOn("sheath", store.name) === null;
  useEffect(() => {
    if (!version || !usable || !resting) return;
    let here = true;
    let work: string | null = null;
    let timer: ReturnType<typeof setTimeout> | undefined;
    const show = (found: Exact | null): void => {
      if (here) setExact(found);
    };
    const workOut = async (): Promise<void> => {
      try {
        const going = workOn("sheath", store.name, true); // begun on a page that was closed
        work = (going ?? (await call<Work>("POST", `${store.place}/exact`))).id;
        if (!here) {
          await stopWork(work);
          return;
        }
        setRunning(true);
        const over = await untilOver(work);
        work = null;
        if (here && over.state === "failed") setFault(over.problem);
        show(await readExact(store.place));
      } catch {
        // Said by the preview, which sees the same file.
      }
      if (here) setRunning(false);
    };
    setFault(null);
    void readExact(store.place).then((found) => {
      show(found);
      if (here && !found?.current) timer = setTimeout(() => void workOut(), REST);
    });
    return () => {
      here = false;
      clearTimeout(timer);
      setRunning(false);
      if (work) void stopWork(work).catch(() => undefined);
    };
  }, [store, version, usable, resting]);
  return { exact, running, fault };
}

async function readExact(place: string): Promise<Exact | null> {
  try {
    return await call<Exact>("GET", `${place}/exact`);
  } catch (fault) {
    if (fault instanceof Refusal && fault.status === 404) return null;
    return null;
  }
}
