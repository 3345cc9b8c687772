/** How hard one must pull, against how far the knife is drawn. */

import type { Line, Tables } from "../state/types";
import { length } from "../state/units";
import { setting } from "./figures";
import type { Exact } from "./types";

const [WIDE, HIGH, LEFT, FOOT] = [340, 150, 40, 30] as const;

export function PullCurve({ exact, tables }: { exact: Exact; tables: Tables }) {
  const { curve, share } = exact.fit;
  const pull = lineOf(curve.travel, curve.pull);
  const push = lineOf(curve.travel, curve.push);
  const wanted = setting(tables, "fit.hold");
  if (pull.length < 2) return null;
  const far = Math.max(...pull.map((point) => point[0]), 1);
  const most = 1.1 * Math.max(...[...pull, ...push].map((point) => point[1]), wanted ?? 0, 1);
  const x = (mm: number): number => LEFT + (mm / far) * (WIDE - LEFT - 8);
  const y = (force: number): number => HIGH - FOOT - (Math.max(0, force) / most) * (HIGH - FOOT - 8);
  const path = (line: Line): string =>
    line.map(([mm, force], i) => `${i ? "L" : "M"}${x(mm).toFixed(1)} ${y(force).toFixed(1)}`).join("");
  return (
    <section class={exact.current ? "pull" : "pull is-old"}>
      <h2>The draw</h2>
      <svg viewBox={`0 0 ${WIDE} ${HIGH}`} role="img" aria-label="Force against how far the knife is drawn">
        <path class="pull-axis" d={`M${LEFT} 8V${HIGH - FOOT}H${WIDE - 8}`} />
        {wanted !== null && <path class="pull-wanted" d={`M${LEFT} ${y(wanted)}H${WIDE - 8}`} />}
        {push.length > 1 && <path class="pull-push" d={path(push)} />}
        <path class="pull-line" d={path(pull)} />
        <text x={LEFT - 6} y={y(most / 1.1) + 5} text-anchor="end">
          {(most / 1.1).toFixed(0)} N
        </text>
        <text x={LEFT - 6} y={HIGH - FOOT + 4} text-anchor="end">
          0
        </text>
        <text x={WIDE - 8} y={HIGH - 8} text-anchor="end">
          {length(far, 0)} drawn
        </text>
      </svg>
      <p class="quiet">
        Full line: drawing it out; broken: putting it in.
        {wanted !== null && " Dots: what was asked for."}
        {share && ` Of 100 knives of this kind ${Math.round(100 * share.passing)} hold within the band.`}
      </p>
    </section>
  );
}

/** Where a force has no end, the line ends. */
function lineOf(travel: readonly number[], force: readonly (number | null)[]): Line {
  return travel.flatMap((mm, i) => {
    const newton = force[i];
    return typeof newton === "number" ? [[mm, newton] as const] : [];
  });
}
