/** Two sheaths held side by side: their plans to one scale, their figures and their differences. */

import { useEffect, useState } from "preact/hooks";
import { boxOf, fit, pathOf } from "../drawing/frame";
import { CompareTable, type Row } from "../parts/compare_table";
import { goTo, hrefTo } from "../shell/route";
import { call, problemOf } from "../state/api";
import type { ShelfSheath } from "../state/standing";
import type { Line, Problem } from "../state/types";
import type { Plan } from "./types";
import { Trouble } from "../parts/trouble";
import { told } from "../state/sentences";

export interface Comparison {
  readonly rows: readonly Row[];
  readonly plan_a: Plan | null;
  readonly plan_b: Plan | null;
  readonly problem_a: Problem | null;
  readonly problem_b: Problem | null;
}

export function Compare({ one, other }: { one: string; other: string | null }) {
  const [shelf, setShelf] = useState<readonly ShelfSheath[]>([]);
  const [found, setFound] = useState<Comparison | null>(null);
  const [wrong, setWrong] = useState<Problem | null>(null);
  useEffect(() => {
    call<ShelfSheath[]>("GET", "sheaths").then(setShelf, (fault: unknown) => setWrong(problemOf(fault)));
  }, []);
  useEffect(() => {
    if (!other) return;
    const query = `compare?a=${encodeURIComponent(one)}&b=${encodeURIComponent(other)}`;
    call<Comparison>("GET", query).then(setFound, (fault: unknown) => setWrong(problemOf(fault)));
  }, [one, other]);
  const titleOf = (name: string): string => shelf.find((each) => each.name === name)?.title ?? name;
  const others = shelf.filter((each) => each.name !== one);
  return (
    <section class="compare">
      <header class="page-head">
        <p class="page-way">
          <a href={hrefTo("sheath", one)}>{titleOf(one)}</a>
        </p>
        <h1>Side by side</h1>
      </header>
      <label class="compare-with">
        <span>Held beside</span>
        <select
          value={other ?? ""}
          onChange={(event) => goTo("sheath", one, "beside", event.currentTarget.value)}
        >
          <option value="" disabled>
            {others.length ? "choose one" : "there is no other sheath yet"}
          </option>
          {others.map((each) => (
            <option key={each.name} value={each.name}>
              {each.title}
            </option>
          ))}
        </select>
      </label>
      <Trouble problem={wrong} />
      {other && !found && !wrong && <p class="waiting">Holding them side by side …</p>}
      {other && found && (
        <>
          <div class="compare-plans">
            <SmallPlan plan={found.plan_a} beside={found.plan_b} title={titleOf(one)} problem={found.problem_a} />
            <SmallPlan plan={found.plan_b} beside={found.plan_a} title={titleOf(other)} problem={found.problem_b} />
          </div>
          <CompareTable rows={found.rows.filter((row) => !row.setting)} titles={[titleOf(one), titleOf(other)]} word="Figures" />
          <CompareTable
            rows={found.rows.filter((row) => row.setting)}
            titles={[titleOf(one), titleOf(other)]}
            word="What is set otherwise"
          />
        </>
      )}
    </section>
  );
}

const SIZE = { width: 640, height: 250 } as const;

interface SmallProps {
  readonly plan: Plan | null;
  readonly beside: Plan | null;
  readonly title: string;
  readonly problem: Problem | null;
}

/** Both in the same frame, the other one as a thin line: what differs shows at once. */
function SmallPlan({ plan, beside, title, problem }: SmallProps) {
  if (!plan) {
    return (
      <p class="problem">
        <strong>{title} cannot be made.</strong> {problem && told(`${problem.sentence}. ${problem.mend ? `${problem.mend}.` : ""}`)}
      </p>
    );
  }
  const all: Line = [...plan.outline, ...plan.knife, ...(beside ? [...beside.outline, ...beside.knife] : [])];
  const box = boxOf(all);
  if (!box) return null;
  const frame = fit(box, SIZE, 10);
  return (
    <figure>
      <svg viewBox={`0 0 ${SIZE.width} ${SIZE.height}`} role="img" aria-label={`Plan of ${title}`}>
        <path class="knife-ghost" d={pathOf(frame, plan.knife, true)} />
        <path class="sheet-body" d={pathOf(frame, plan.outline, true)} />
        <path class="sheath-wall" fill-rule="evenodd" d={plan.walls.map((rim) => pathOf(frame, rim, true)).join("")} />
        <path class="knife-within" d={pathOf(frame, plan.knife, true)} />
        {plan.holes.map((hole) => (
          <circle
            key={hole.id}
            class="hole-rim"
            cx={frame.left + frame.scale * hole.x}
            cy={frame.top - frame.scale * hole.y}
            r={(frame.scale * hole.diameter) / 2}
          />
        ))}
        {beside && <path class="other-outline" d={pathOf(frame, beside.outline, true)} />}
      </svg>
      <figcaption>{title}</figcaption>
    </figure>
  );
}
