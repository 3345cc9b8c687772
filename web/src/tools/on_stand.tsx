/** One thing on the stand: in its colours, cut open, with what belongs in or under it. */

import { useMemo, useState } from "preact/hooks";
import { unit } from "../state/units";
import { boxOf, readMesh } from "../three/buffers";
import { rampGradient } from "../three/colours";
import { CutOpen, type Opening, planeOf } from "../three/cut_open";
import { Legend } from "../three/legend";
import { StandView } from "../three/stand_view";
import { tellingSpan } from "../three/telling";
import { noteOf, useBuffer, usePin, useRule, useStand, useSurface } from "../three/use_stand";
import { SHADES } from "./shades";
import type { Seen } from "./things";

/** How solid a thing looks while something stands in it and nothing is cut away. */
const SEEN_THROUGH = 0.4;

interface OnStandProps {
  readonly seen: Seen;
  readonly see: (seen: Seen) => void;
  readonly sheath: string;
  readonly edition: string;
}

export function OnStand({ seen, see, sheath, edition }: OnStandProps) {
  const { thing, shade, pin, together } = seen;
  const [opening, setOpening] = useState<Opening | null>(null);
  const held = useStand();
  const address = (name: string, by: string): string => `sheaths/${encodeURIComponent(sheath)}/solid/${name}.bin?shade=${by}`;
  const url = address(thing.name, shade ?? "none");
  const fetched = useBuffer(url, readMesh, edition);
  // Where there are no colours to be had there may still be the thing.
  const bare = useBuffer(fetched.problem !== null && fetched.content === null && shade !== null ? address(thing.name, "none") : null, readMesh, edition);
  const mesh = fetched.content ?? bare.content;
  // What was there before stays until the next has come; its figures must not pass for the next one's.
  const shown = fetched.url === url ? shade : null;
  const other = together ? thing.other : null;
  const fellow = useBuffer(other === null ? null : address(other.name, "none"), readMesh, edition);
  const box = useMemo(() => (mesh === null ? null : boxOf(mesh.positions)), [mesh]);
  const span = useMemo(() => (shown === null || mesh?.values == null ? null : tellingSpan(mesh.values, SHADES[shown].high)), [mesh, shown]);
  const turned = shown !== null && SHADES[shown].highIsDark;
  const painted = span !== null && turned ? ([span[1], span[0]] as const) : span;
  const plane = planeOf(opening, box);
  const solidity = fellow.content !== null && plane === null ? SEEN_THROUGH : 1;
  useSurface(held, "thing", mesh, { clay: thing.clay, inside: "--clay-cut", span: painted, plane, solidity });
  useSurface(held, "other", fellow.content, { clay: other?.clay ?? thing.clay, inside: "--clay-core", span: null, plane });
  useRule(held, box, unit.value);
  usePin(held, box, pin);
  const waiting = mesh === null ? "Fetching the shape …" : "Working out the colours …";
  const note = noteOf(fetched, waiting) ?? noteOf(fellow, "Fetching what belongs to it …");
  return (
    <StandView held={held} views={thing.views} label={`${thing.words}, in three dimensions`} note={note}>
      <CutOpen opening={opening} box={box} change={setOpening} />
      <div class="stand-sides" role="group" aria-label="Coloured by">
        <span class="stand-word">Colour</span>
        <button type="button" aria-pressed={shade === null} onClick={() => see({ ...seen, shade: null })}>
          Plain
        </button>
        {thing.shades.map((each) => (
          <button key={each} type="button" aria-pressed={shade === each} onClick={() => see({ ...seen, shade: each })}>
            {SHADES[each].button}
          </button>
        ))}
        {thing.other === null ? null : (
          <button type="button" aria-pressed={together} onClick={() => see({ ...seen, together: !together })}>
            {thing.other.words}
          </button>
        )}
      </div>
      {shown === null || span === null ? null : <Legend title={SHADES[shown].title} span={span} ends={SHADES[shown].ends} range={mesh?.range} gradient={rampGradient(turned)} />}
    </StandView>
  );
}
