/** What was taken off the shelf is not gone: its history brings it back. */

import { useEffect, useState } from "preact/hooks";
import { when } from "../record/history";
import { call, problemOf } from "../state/api";

interface Gone {
  readonly name: string;
  readonly version: string;
  readonly time: number;
}

interface Props {
  readonly shelf: "knives" | "sheaths";
  readonly word: string;
  /** Read anew when this changes. */
  readonly again: unknown;
}

export function TakenOff({ shelf, word, again }: Props) {
  const [gone, setGone] = useState<readonly Gone[]>([]);
  const [wrong, setWrong] = useState<string | null>(null);
  useEffect(() => {
    call<Gone[]>("GET", `${shelf}/gone`).then(setGone, () => setGone([]));
  }, [shelf, again]);
  if (!gone.length) return null;
  const bringBack = async (each: Gone): Promise<void> => {
    try {
      await call("POST", `${shelf}/${each.name}/back`, { to: each.version, base: null });
      setGone((all) => all.filter((one) => one !== each));
    } catch (fault) {
      setWrong(problemOf(fault).sentence);
    }
  };
  return (
    <details class="taken-off">
      <summary>Taken off the shelf</summary>
      {wrong && <p role="alert">{wrong}.</p>}
      <ul class="rows">
        {gone.map((each) => (
          <li key={each.name}>
            <span>
              {each.name} <span class="quiet">{when(each.time)}</span>
            </span>
            <button type="button" onClick={() => void bringBack(each)}>
              Bring the {word} back
            </button>
          </li>
        ))}
      </ul>
    </details>
  );
}
