/** A knife held beside another, or tried in a sheath that was made for another. */

import { useEffect, useState } from "preact/hooks";
import { Drawing } from "../drawing/drawing";
import { boxOf, onScreen, pathOf } from "../drawing/frame";
import { CompareTable, type Row } from "../parts/compare_table";
import { FindingList } from "../parts/finding_list";
import { Reading } from "../parts/reading";
import { goTo, hrefTo } from "../shell/route";
import { call, problemOf } from "../state/api";
import type { ShelfSheath } from "../state/standing";
import type { Finding, Line, Problem } from "../state/types";
import { length } from "../state/units";
import type { ShelfKnife } from "./types";
import { Trouble } from "../parts/trouble";

interface Place {
  readonly x: number;
  readonly y: number | null;
}

export interface Knives {
  readonly rows: readonly Row[];
  readonly outline_a: Line;
  readonly outline_b: Line;
  readonly off: number;
  readonly off_most: number;
  readonly off_most_at: Place;
  readonly thickness_most: number;
  readonly agree: boolean;
  readonly error: number;
}

export interface Tried {
  readonly fits: boolean;
  /** Only its measuring error stands between the knife and its fit. */
  readonly unsure: boolean;
  /** By the sheath as it was made; else by one designed coarsely. */
  readonly exact: boolean;
  readonly outline: Line;
  readonly own: Line;
  readonly least_room: number;
  readonly edge_room: number;
  readonly lift: number;
  readonly lift_own: number;
  readonly findings: readonly Finding[];
}

type Way = "beside" | "in";

interface Props {
  readonly name: string;
  readonly way: Way;
  readonly other: string | null;
}

export function Beside({ name, way, other }: Props) {
  const [knives, setKnives] = useState<readonly ShelfKnife[]>([]);
  const [sheaths, setSheaths] = useState<readonly ShelfSheath[]>([]);
  useEffect(() => {
    call<ShelfKnife[]>("GET", "knives").then(setKnives, () => undefined);
    call<ShelfSheath[]>("GET", "sheaths").then(setSheaths, () => undefined);
  }, []);
  const title = knives.find((each) => each.name === name)?.title ?? name;
  const otherTitle =
    (way === "in" ? sheaths : knives).find((each) => each.name === other)?.title ?? other ?? "";
  const choose = (value: string): void => {
    const [kind, ...rest] = value.split(" ");
    goTo("knives", name, kind ?? "beside", rest.join(" "));
  };
  return (
    <section>
      <header class="page-head">
        <p class="page-way">
          <a href={hrefTo("knives", name)}>{title}</a>
        </p>
        <h1>{way === "in" ? "Tried in a sheath" : "Beside another"}</h1>
      </header>
      <label class="compare-with">
        <span>Hold it beside a knife, or try it in a sheath</span>
        <select
          value={other ? `${way} ${other}` : ""}
          onChange={(event) => choose(event.currentTarget.value)}
        >
          <option value="" disabled>
            choose one
          </option>
          <optgroup label="Beside the knife">
            {knives
              .filter((each) => each.name !== name)
              .map((each) => (
                <option key={each.name} value={`beside ${each.name}`}>
                  {each.title}
                </option>
              ))}
          </optgroup>
          <optgroup label="In the sheath">
            {sheaths.map((each) => (
              <option key={each.name} value={`in ${each.name}`}>
                {each.title}
              </option>
            ))}
          </optgroup>
        </select>
      </label>
      {other && way === "beside" && (
        <TwoKnives key={other} address={`knives/${name}/beside/${other}`} titles={[title, otherTitle]} />
      )}
      {other && way === "in" && (
        <InSheath key={other} address={`knives/${name}/tried-in/${other}`} title={title} sheath={otherTitle} />
      )}
    </section>
  );
}

function useAnswer<Answer>(address: string): { found: Answer | null; wrong: Problem | null } {
  const [found, setFound] = useState<Answer | null>(null);
  const [wrong, setWrong] = useState<Problem | null>(null);
  useEffect(() => {
    const controller = new AbortController();
    call<Answer>("GET", address, undefined, controller.signal).then(setFound, (fault: unknown) => {
      if (!controller.signal.aborted) setWrong(problemOf(fault));
    });
    return () => controller.abort();
  }, [address]);
  return { found, wrong };
}

function Waiting({ wrong }: { wrong: Problem | null }) {
  if (!wrong) return <p class="waiting">Laying one over the other …</p>;
  return <Trouble problem={wrong} />;
}

function TwoKnives({ address, titles }: { address: string; titles: readonly [string, string] }) {
  const { found, wrong } = useAnswer<Knives>(address);
  if (!found) return <Waiting wrong={wrong} />;
  return (
    <div class="page-main">
      <p class={found.agree ? "verdict is-good" : "verdict is-stop"}>
        {found.agree
          ? "They are the same, within what both measurements may be off."
          : `They differ by more than both measurements may be off (${length(found.error, 2)}).`}
      </p>
      <Overlaid first={found.outline_a} second={found.outline_b} at={found.off_most_at} titles={titles} />
      <dl class="readings">
        <Reading label="Outline apart" value={length(found.off, 2)} note="nineteen of twenty places at most" />
        <Reading label="At most" value={length(found.off_most, 2)} note="ringed" />
        <Reading label="Thickness apart" value={length(found.thickness_most, 2)} note="at most" />
      </dl>
      <CompareTable rows={found.rows} titles={titles} word="Figures" />
    </div>
  );
}

interface InProps {
  readonly address: string;
  readonly title: string;
  readonly sheath: string;
}

function InSheath({ address, title, sheath }: InProps) {
  const { found, wrong } = useAnswer<Tried>(address);
  if (!found) return <Waiting wrong={wrong} />;
  return (
    <div class="page-main">
      <Verdict found={found} title={title} sheath={sheath} />
      <Overlaid first={found.own} second={found.outline} at={null} titles={["its own knife", title]} />
      <dl class="readings">
        <Reading
          label="Least room"
          value={length(found.least_room, 2)}
          mood={found.least_room < 0 ? "stop" : "good"}
          note={found.exact ? "in the sheath as it was made" : "in the sheath as designed, coarsely"}
        />
        <Reading label="Clear of the edge" value={length(found.edge_room, 2)} note="all along the draw" />
        <Reading
          label="Lifts the half by"
          value={length(found.lift, 2)}
          note={`on its way out; its own knife ${length(found.lift_own, 2)}`}
        />
      </dl>
      <FindingList findings={found.findings} />
    </div>
  );
}

function Verdict({ found, title, sheath }: { found: Tried; title: string; sheath: string }) {
  if (found.fits) return <p class="verdict is-good">{`Nothing was found that keeps ${title} out of ${sheath}.`}</p>;
  if (!found.unsure) return <p class="verdict is-stop">{`${title} does not fit ${sheath}.`}</p>;
  return (
    <p class="verdict is-unsure">
      {`As measured, ${title} fits ${sheath}; measured as coarsely as it was, it may not. Measure it with a caliper where it says below, and try again.`}
    </p>
  );
}

interface OverlaidProps {
  readonly first: Line;
  readonly second: Line;
  readonly at: Place | null;
  readonly titles: readonly [string, string];
}

/** The first filled, the second as a line over it. */
function Overlaid({ first, second, at, titles }: OverlaidProps) {
  const box = boxOf([...first, ...second]);
  if (!box) return null;
  return (
    <div class="plan-block">
      <Drawing label={`${titles[1]} laid over ${titles[0]}`} box={box} class="is-outline">
        {(frame) => {
          const [x, y] = onScreen(frame, at?.x ?? 0, at?.y ?? (box.y0 + box.y1) / 2);
          return (
            <>
              <path class="knife-body" d={pathOf(frame, first, true)} />
              <path class="knife-body is-line" d={pathOf(frame, second, true)} />
              {at && <circle class="place-mark" cx={x} cy={y} r="20" />}
            </>
          );
        }}
      </Drawing>
      <p class="quiet plan-note">
        Filled: {titles[0]}. Line: {titles[1]}.
      </p>
    </div>
  );
}
