import { useEffect, useMemo } from "preact/hooks";
import { RecordStore } from "../state/record";
import type { Kept } from "../state/types";

/** The store of the record on this page; it is left, with its last change sent, when one goes. */
export function useRecord<Record extends Kept>(
  shelf: "knives" | "sheaths",
  name: string,
): RecordStore<Record> {
  const store = useMemo(
    () =>
      new RecordStore<Record>(
        `${shelf}/${encodeURIComponent(name)}`,
        shelf === "knives" ? "knife" : "sheath",
        name,
      ),
    [shelf, name],
  );
  useEffect(() => {
    void store.open();
    return () => store.close();
  }, [store]);
  return store;
}
