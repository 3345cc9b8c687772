import { differences } from "./differences";
import type { RecordStore } from "../state/record";
import type { Kept } from "../state/types";
import { type Field, wordsFor } from "./groups";

interface Props {
  readonly store: RecordStore<Kept>;
  /** The form, for what the values are called. */
  readonly fields: readonly Field[];
}

/** Someone else saved meanwhile: both are shown, and one chooses. Neither is lost. */
export function ChooseVersion({ store, fields }: Props) {
  const theirs = store.theirs.value;
  if (!theirs) return null;
  const rows = differences(store.tables.value, theirs.tables, fields);
  return (
    <section class="choose" role="alert">
      <h2>Two versions of this</h2>
      <p>
        It was changed elsewhere while you changed it here. The one you do not take stays among the
        earlier versions or can be taken back.
      </p>
      <table class="choose-table">
        <thead>
          <tr>
            <th scope="col">Where</th>
            <th scope="col">Here</th>
            <th scope="col">Elsewhere</th>
          </tr>
        </thead>
        <tbody>
          {rows.slice(0, 12).map((row) => (
            <tr key={row.path}>
              <th scope="row">{wordsFor(row.path, fields)}</th>
              <td>{row.one}</td>
              <td>{row.other}</td>
            </tr>
          ))}
        </tbody>
      </table>
      {rows.length > 12 && <p>and {rows.length - 12} more.</p>}
      <div class="keys">
        <button type="button" class="brass" onClick={() => store.keepMine()}>
          Keep mine
        </button>
        <button type="button" onClick={() => void store.takeTheirs()}>
          Take theirs
        </button>
      </div>
    </section>
  );
}
