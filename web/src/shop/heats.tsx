/** Heat trials: each one kept tells how long to heat the next sheet. */

import { useState } from "preact/hooks";
import { call } from "../state/api";
import { fromShown, toCelsius, unit } from "../state/units";
import { useAsked, useDoing } from "./asked";
import { Labelled, Trouble } from "./parts";
import { useTyped } from "./piece_fields";
import type { HeatLeaf, ShopLeaf } from "./types";

const STEPS = { heat: "The blank, in the press", warm: "The fold, at the strip heater" } as const;

const OUTCOMES = [
  ["cold", "Cold: it did not form"],
  ["good", "Good"],
  ["overheated", "Overheated: gloss, bubbles, smell"],
] as const;

export function Heats() {
  const kept = useAsked<HeatLeaf>("shop/heats");
  const shop = useAsked<ShopLeaf>("shop").value;
  const [open, setOpen] = useState(false);
  const now = kept.value;
  if (now === null || shop === null) return <Trouble problem={kept.problem} />;
  return (
    <section>
      <div class="title-row above">
        <h2>Heat trials</h2>
        <button type="button" aria-expanded={open} onClick={() => setOpen(!open)}>
          Keep a heat trial
        </button>
      </div>
      {open && (
        <HeatForm
          shop={shop}
          heaters={now.heaters}
          kept={(leaf) => {
            kept.put(leaf);
            setOpen(false);
          }}
        />
      )}
      {now.rows.length === 0 && <p class="quiet">None is kept yet.</p>}
      <div class="cards">
        {now.rows.map((row) => (
          <section class="card" key={`${row.step} ${row.sheet}`}>
            <h3>
              {row.sheet}, {row.step === "heat" ? "in" : "at"} {row.heater}
            </h3>
            <p class="price">
              {row.next.toFixed(0)} s <em>next</em>
            </p>
            <p class="quiet">
              {(100 * row.good).toFixed(0)} % chance of a good sheet, after {row.trials}{" "}
              {row.trials === 1 ? "trial" : "trials"}. It becomes ready between {row.low.toFixed(0)}{" "}
              and {row.high.toFixed(0)} s, nine times in ten; {row.telling.toFixed(0)} s would tell
              the most.
            </p>
          </section>
        ))}
      </div>
    </section>
  );
}

interface FormProps {
  readonly shop: ShopLeaf;
  readonly heaters: HeatLeaf["heaters"];
  readonly kept: (leaf: HeatLeaf) => void;
}

function HeatForm({ shop, heaters, kept }: FormProps) {
  const { busy, problem, run } = useDoing();
  const { fields, bind } = useTyped(
    {
      step: "heat" as keyof typeof STEPS,
      sheet: shop.sheets.at(-1) ?? "",
      heater: "",
      seconds: "",
      outcome: "good",
      setting: "",
      gauge: "",
      room: "",
      note: "",
    },
    problem,
  );
  const known = heaters[fields.step] ?? [];
  const degrees = unit.value === "inch" ? "°F" : "°C";
  const keep = async (event: Event): Promise<void> => {
    event.preventDefault();
    const told = {
      ...fields,
      seconds: Number(fields.seconds),
      heater: known.includes(fields.heater) ? fields.heater : null,
      setting: celsius(fields.setting),
      gauge: fields.gauge === "" ? null : fromShown(Number(fields.gauge)),
      room: celsius(fields.room),
    };
    const leaf = await run(() => call<HeatLeaf>("POST", "shop/heats", told));
    if (leaf) kept(leaf);
  };
  return (
    <form class="leaf-form card" onSubmit={(event) => void keep(event)}>
      <p class="caution">
        Hot sheet and platens burn: wear gloves. Overheated PVC gives off hydrogen chloride:
        ventilate, and stay below the limit on the sheet’s data sheet.
      </p>
      <Labelled words="What was heated">
        <select {...bind("step")}>
          {Object.entries(STEPS).map(([step, words]) => (
            <option key={step} value={step}>
              {words}
            </option>
          ))}
        </select>
      </Labelled>
      <Labelled words="Sheet">
        <select {...bind("sheet")}>
          {shop.sheets.map((name) => (
            <option key={name}>{name}</option>
          ))}
        </select>
      </Labelled>
      <Labelled words="Heated for" unit="s">
        <input required type="number" min={1} max={3600} step="any" {...bind("seconds")} />
      </Labelled>
      <Labelled words="It came out">
        <select {...bind("outcome")}>
          {OUTCOMES.map(([outcome, words]) => (
            <option key={outcome} value={outcome}>
              {words}
            </option>
          ))}
        </select>
      </Labelled>
      <Labelled words="Heater">
        <select {...bind("heater")}>
          {known.map((name, at) => (
            <option key={name} value={at === 0 ? "" : name}>
              {at === 0 ? `${name}, as usual` : name}
            </option>
          ))}
        </select>
      </Labelled>
      <Labelled words="Set to, if not as usual" unit={degrees}>
        <input type="number" step="any" {...bind("setting")} />
      </Labelled>
      <Labelled words="Gauge, if measured" unit={unit.value}>
        <input type="number" min={0} step="any" {...bind("gauge")} />
      </Labelled>
      <Labelled words="Room, if not as usual" unit={degrees}>
        <input type="number" step="any" {...bind("room")} />
      </Labelled>
      <Labelled words="Note, for your own use">
        <input maxLength={200} {...bind("note")} />
      </Labelled>
      <div class="form-end">
        <Trouble problem={problem} />
        <button type="submit" class="brass large" disabled={busy}>
          Keep it
        </button>
      </div>
    </form>
  );
}

/** A temperature as typed, on the scale of the page, in °C; null where none was. */
function celsius(typed: string): number | null {
  if (typed === "") return null;
  return unit.value === "inch" ? toCelsius(Number(typed)) : Number(typed);
}
