/** A new sheath for a knife: its name, how its halves are joined, and whose choices it begins with. */

import { useEffect, useState } from "preact/hooks";
import { goTo, sheathOnBench } from "../shell/route";
import { call, problemOf } from "../state/api";
import type { ShelfSheath } from "../state/standing";
import { freeName } from "./names";
import type { ShelfKnife } from "./types";
import { Trouble } from "../parts/trouble";
import type { Problem } from "../state/types";

interface Props {
  readonly knife: Pick<ShelfKnife, "name" | "title">;
  readonly onCancel: () => void;
  /** The sheath it shall be a variant of. */
  readonly variantOf?: { readonly name: string; readonly title: string; readonly style: Style };
}

type Style = "folded" | "paired";

export function BeginSheath({ knife, onCancel, variantOf }: Props) {
  const [title, setTitle] = useState(
    variantOf ? `${variantOf.title}, variant` : `${knife.title} sheath`,
  );
  const [style, setStyle] = useState<Style>(variantOf?.style ?? "folded");
  const [like, setLike] = useState(variantOf?.name ?? "");
  const [others, setOthers] = useState<readonly ShelfSheath[]>([]);
  const [wrong, setWrong] = useState<Problem | null>(null);
  useEffect(() => {
    call<ShelfSheath[]>("GET", "sheaths").then(setOthers, () => undefined);
  }, []);
  const begin = async (event: Event): Promise<void> => {
    event.preventDefault();
    const name = freeName(title, others.map((each) => each.name));
    const wish = { name, title: title.trim() || name, knife: knife.name, style };
    try {
      await call("POST", "sheaths", like ? { ...wish, like } : wish);
      sheathOnBench.value = name;
      goTo("sheath", name);
    } catch (fault) {
      setWrong(problemOf(fault));
    }
  };
  return (
    <form class="begin" onSubmit={(event) => void begin(event)}>
      <label>
        <span>Call it</span>
        <input value={title} maxLength={80} onInput={(event) => setTitle(event.currentTarget.value)} />
      </label>
      <fieldset class="begin-style">
        <legend>Made of</legend>
        <label class="field-flag">
          <input type="radio" name="style" checked={style === "folded"} onChange={() => setStyle("folded")} />
          one sheet, folded about the spine
        </label>
        <label class="field-flag">
          <input type="radio" name="style" checked={style === "paired"} onChange={() => setStyle("paired")} />
          two sheets, riveted along both sides
        </label>
      </fieldset>
      {others.length > 0 && (
        <label>
          <span>Begin with the choices of</span>
          <select value={like} onChange={(event) => setLike(event.currentTarget.value)}>
            <option value="">the usual</option>
            {others.map((each) => (
              <option key={each.name} value={each.name}>
                {each.title}
              </option>
            ))}
          </select>
        </label>
      )}
      <Trouble problem={wrong} />
      <div class="keys">
        <button type="submit" class="brass">Begin the sheath</button>
        <button type="button" onClick={onCancel}>Not now</button>
      </div>
    </form>
  );
}
