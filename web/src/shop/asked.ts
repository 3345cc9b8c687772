/** What a page of the shop asks the server: kept fresh while it is open. */

import { useCallback, useEffect, useRef, useState } from "preact/hooks";
import { call, problemOf, wasStopped } from "../state/api";
import { onChanged, onReturn } from "../state/events";
import type { Problem } from "../state/types";

export interface Asked<Answer> {
  readonly value: Answer | null;
  readonly problem: Problem | null;
  /** Ask again. */
  readonly again: () => void;
  /** What the server has just answered to something done. */
  readonly put: (value: Answer) => void;
}

/** The answer to `GET path`; null asks nothing. Asked again when the shop changes. */
export function useAsked<Answer>(path: string | null, everySeconds = 0): Asked<Answer> {
  const [value, setValue] = useState<Answer | null>(null);
  const [problem, setProblem] = useState<Problem | null>(null);
  const inFlight = useRef<AbortController | null>(null);

  const again = useCallback(() => {
    if (path === null) return;
    inFlight.current?.abort();
    const mine = new AbortController();
    inFlight.current = mine;
    call<Answer>("GET", path, undefined, mine.signal).then(
      (answer) => {
        if (mine.signal.aborted) return;
        setValue(answer);
        setProblem(null);
      },
      (fault: unknown) => {
        if (!wasStopped(fault)) setProblem(problemOf(fault));
      },
    );
  }, [path]);

  useEffect(() => {
    setProblem(null);
    again();
    const stops = [
      onChanged((changed) => changed.what === "shop" && again()),
      onReturn(again),
      repeating(again, everySeconds),
    ];
    return () => {
      for (const stop of stops) stop();
      inFlight.current?.abort();
    };
  }, [again, everySeconds]);

  const put = useCallback((answer: Answer) => {
    inFlight.current?.abort();
    setValue(answer);
    setProblem(null);
  }, []);
  return { value, problem, again, put };
}

function repeating(again: () => void, everySeconds: number): () => void {
  if (everySeconds <= 0) return () => undefined;
  const timer = window.setInterval(() => !document.hidden && again(), everySeconds * 1000);
  return () => window.clearInterval(timer);
}

export interface Doing {
  readonly busy: boolean;
  readonly problem: Problem | null;
  /** Do it, and say what stands in the way; null when it was refused. */
  readonly run: <Answer>(act: () => Promise<Answer>) => Promise<Answer | null>;
}

/** One thing at a time that a person does here. */
export function useDoing(): Doing {
  const [busy, setBusy] = useState(false);
  const [problem, setProblem] = useState<Problem | null>(null);
  const run = useCallback(async <Answer>(act: () => Promise<Answer>): Promise<Answer | null> => {
    setBusy(true);
    try {
      const answer = await act();
      setProblem(null);
      return answer;
    } catch (fault) {
      setProblem(problemOf(fault));
      return null;
    } finally {
      setBusy(false);
    }
  }, []);
  return { busy, problem, run };
}
