/** The shelf: every measured knife, to one scale, with the sheaths made for it. */

import { useCallback, useEffect, useState } from "preact/hooks";
import { PlusIcon } from "../look/icons";
import { hrefTo } from "../shell/route";
import { call, problemOf } from "../state/api";
import { onChanged, onReturn } from "../state/events";
import type { Problem } from "../state/types";
import { bareLength, length, unit } from "../state/units";
import { AddKnife } from "./add";
import { BeginSheath } from "./begin_sheath";
import { Silhouette } from "./silhouette";
import { TakenOff } from "./taken_off";
import type { ShelfKnife } from "./types";
import { Trouble } from "../parts/trouble";
import { told } from "../state/sentences";

export function Shelf() {
  const [knives, setKnives] = useState<readonly ShelfKnife[] | null>(null);
  const [wrong, setWrong] = useState<Problem | null>(null);
  const [adding, setAdding] = useState(false);
  const read = useCallback(() => {
    call<ShelfKnife[]>("GET", "knives").then(
      (found) => {
        setKnives(found);
        setWrong(null);
      },
      (fault: unknown) => setWrong(problemOf(fault)),
    );
  }, []);
  useEffect(() => {
    read();
    const stops = [
      onChanged((told) => (told.what === "knife" || told.what === "sheath") && read()),
      onReturn(read),
    ];
    return () => {
      for (const stop of stops) stop();
    };
  }, [read]);
  const longest = Math.max(200, ...(knives ?? []).map((knife) => knife.length ?? 0));
  const empty = knives?.length === 0;
  return (
    <section class="shelf">
      <header class="shelf-head">
        <h1>Knives</h1>
        {!empty && knives && (
          <button
            type="button"
            class="brass"
            aria-expanded={adding}
            onClick={() => setAdding(!adding)}
          >
            <PlusIcon />
            Put a knife on the shelf
          </button>
        )}
      </header>
      <Trouble problem={wrong} />
      {!knives && !wrong && <p class="waiting">Looking along the shelf …</p>}
      {empty && (
        <p class="shelf-empty">
          The shelf is empty. A sheath begins with a measured knife: photograph it on the printed
          sheet, read it off with a caliper, or bring a drawing or a scan.
        </p>
      )}
      {(adding || empty) && (
        <AddKnife taken={(knives ?? []).map((each) => each.name)} onDone={() => setAdding(false)} />
      )}
      <ul class="shelf-row">
        {knives?.map((knife) => (
          <OnShelf key={knife.name} knife={knife} across={longest} onChange={read} />
        ))}
      </ul>
      <TakenOff shelf="knives" word="knife" again={knives} />
    </section>
  );
}

interface OneProps {
  readonly knife: ShelfKnife;
  readonly across: number;
  readonly onChange: () => void;
}

function OnShelf({ knife, across }: OneProps) {
  const [begin, setBegin] = useState(false);
  return (
    <li class="on-shelf">
      <a class="on-shelf-knife" href={hrefTo("knives", knife.name)}>
        <Silhouette outline={knife.outline} across={across} />
        <span class="on-shelf-name">{knife.title}</span>
        {knife.problem ? (
          <span class="is-stop">{told(knife.problem.sentence)}</span>
        ) : (
          <span class="on-shelf-figures">
            {bareLength(knife.length ?? Number.NaN, 1)} × {length(knife.thickness, 1, unit.value)}
            {knife.how && <span class="quiet"> · {told(knife.how)}</span>}
          </span>
        )}
      </a>
      <div class="on-shelf-sheaths">
        {knife.sheaths.map((sheath) => (
          <a key={sheath} class="key quiet-key" href={hrefTo("sheath", sheath)}>
            {sheath}
          </a>
        ))}
        {!knife.problem && (
          <button type="button" class="quiet-key" onClick={() => setBegin(!begin)} aria-expanded={begin}>
            <PlusIcon />
            Sheath
          </button>
        )}
      </div>
      {begin && <BeginSheath knife={knife} onCancel={() => setBegin(false)} />}
    </li>
  );
}
