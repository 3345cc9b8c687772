/** Over every record: whether it is saved, what can be taken back, and where to go back to. */

import { useEffect, useState } from "preact/hooks";
import { BackIcon, ForwardIcon } from "../look/icons";
import type { RecordStore } from "../state/record";
import type { Saving } from "../state/saving";
import type { Kept } from "../state/types";
import { ChooseVersion } from "./choose";
import { type Field, wordsFor } from "./groups";
import { History } from "./history";
import "./record.css";
import { told } from "../state/sentences";

const WORDS: Readonly<Record<Saving, string>> = {
  saved: "Saved",
  changed: "Changed",
  sending: "Saving …",
  "kept here": "Kept here, goes out when the bench is back",
  refused: "Not saved",
  "two versions": "Two versions",
};

interface Props {
  readonly store: RecordStore<Kept>;
  readonly fields: readonly Field[];
  readonly children?: preact.ComponentChildren;
}

export function RecordBar({ store, fields, children }: Props) {
  const [past, setPast] = useState(false);
  useTakeBackKeys(store);
  const saving = store.saving.value;
  const problem = store.problem.value;
  return (
    <div class="record-bar">
      {store.record.value && (
        <div class="record-keys">
          <button type="button" class="quiet-key is-turn" disabled={!store.canUndo} onClick={() => store.undo()}>
            <BackIcon />
            <span>Undo</span>
          </button>
          <button type="button" class="quiet-key is-turn" disabled={!store.canRedo} onClick={() => store.redo()}>
            <ForwardIcon />
            <span>Redo</span>
          </button>
          <button type="button" class="quiet-key" aria-expanded={past} onClick={() => setPast(!past)}>
            <span>Earlier versions</span>
          </button>
          <span class={`saving is-${saving.replace(" ", "-")}`} role="status">
            {WORDS[saving]}
          </span>
          {children}
        </div>
      )}
      {saving === "two versions" && <ChooseVersion store={store} fields={fields} />}
      {problem && saving !== "two versions" && (
        <p class="problem" role="alert">
          <strong>{told(problem.sentence)}.</strong>
          {problem.field && <span> It stands at {wordsFor(problem.field, fields)}.</span>}
          {problem.mend && <span> {told(problem.mend)}.</span>}
        </p>
      )}
      {past && <History store={store} onClose={() => setPast(false)} />}
    </div>
  );
}

/** Ctrl or ⌘ with Z takes back, with shift or Y takes again; not while one types. */
function useTakeBackKeys(store: RecordStore<Kept>): void {
  useEffect(() => {
    const press = (event: KeyboardEvent): void => {
      if (!(event.ctrlKey || event.metaKey) || event.altKey) return;
      const typing = event.target instanceof HTMLInputElement && event.target.type === "text";
      if (typing || event.target instanceof HTMLTextAreaElement) return;
      const key = event.key.toLowerCase();
      if (key === "z" && !event.shiftKey) store.undo();
      else if (key === "y" || (key === "z" && event.shiftKey)) store.redo();
      else return;
      event.preventDefault();
    };
    addEventListener("keydown", press);
    return () => removeEventListener("keydown", press);
  }, [store]);
}
