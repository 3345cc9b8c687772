/** The fit record: a sheath is tried with the edge covered, and what was found is kept. */

import { useState } from "preact/hooks";
import { call } from "../state/api";
import { useDoing } from "./asked";
import { Labelled, Trouble } from "./parts";
import type { PieceLeaf, ShopLeaf } from "./types";

interface FitProps {
  readonly path: string;
  readonly questions: ShopLeaf["questions"];
  readonly put: (leaf: PieceLeaf | null) => void;
}

export function FitForm({ path, questions, put }: FitProps) {
  const { busy, problem, run } = useDoing();
  const [answers, setAnswers] = useState<Readonly<Record<string, boolean>>>({});
  const [hold, setHold] = useState("");
  const [note, setNote] = useState("");
  const faults = questions.map(({ fault }) => fault).filter((fault) => answers[fault] === false);
  const asked = questions.every(({ fault }) => fault in answers);
  const keep = async (event: Event): Promise<void> => {
    event.preventDefault();
    const found = { hold: hold === "" ? null : Number(hold), faults, note };
    put(await run(() => call<PieceLeaf>("POST", path, found)));
  };
  return (
    <form class="card fit" onSubmit={(event) => void keep(event)}>
      <h2>How does it fit?</h2>
      <p class="caution">
        Cover the edge first. Pull away from yourself and from others, with nobody in the line of
        draw.
      </p>
      {questions.map(({ fault, question }) => (
        <fieldset key={fault} class="question">
          <legend>{question}</legend>
          <span class="pair">
            {[true, false].map((yes) => (
              <button
                type="button"
                key={String(yes)}
                aria-pressed={answers[fault] === yes}
                onClick={() => setAnswers({ ...answers, [fault]: yes })}
              >
                {yes ? "Yes" : "No"}
              </button>
            ))}
          </span>
        </fieldset>
      ))}
      <Labelled words="A spring scale read" unit="N">
        <input
          type="number"
          min={0}
          max={500}
          step="any"
          value={hold}
          placeholder="if you used one"
          onInput={(event) => setHold(event.currentTarget.value)}
        />
      </Labelled>
      <Labelled words="Note">
        <input
          maxLength={200}
          value={note}
          onInput={(event) => setNote(event.currentTarget.value)}
        />
      </Labelled>
      <Trouble problem={problem} />
      <button type="submit" class="brass large" disabled={busy || !asked}>
        {!asked ? "Answer all of them" : faults.length ? "Keep: it has not passed" : "Keep: it has passed"}
      </button>
    </form>
  );
}
