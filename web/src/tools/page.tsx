/** Tools: mould, blank, fixture, sheath and knife, to be turned in the hand, and the files of the job. */

import { useMemo, useState } from "preact/hooks";
import "../parts/parts.css";
import "./tools.css";
import { ChooseSheath } from "../parts/choose_sheath";
import { FindingList } from "../parts/finding_list";
import { JobGate, OldJob } from "../parts/job_gate";
import { Reading } from "../parts/reading";
import type { PageProps } from "../shell/route";
import { type Job, useJob } from "../state/job";
import { ofThing } from "../state/job_findings";
import type { Spot } from "../state/spots";
import type { Finding } from "../state/types";
import { unit } from "../state/units";
import { boxOf, readMesh } from "../three/buffers";
import { CutOpen, type Opening, planeOf } from "../three/cut_open";
import { Legend } from "../three/legend";
import { StandView } from "../three/stand_view";
import { noteOf, useBuffer, usePin, useRule, useStand, useSurface } from "../three/use_stand";
import { Files } from "./files";
import { readingsOf } from "./readings";
import { SHADES, type Shade } from "./shades";
import { placeOn, type Thing, THINGS } from "./things";

export default function ToolsPage({ name }: PageProps) {
  if (name === null) return <ChooseSheath station="tools" title="Tools" />;
  return <ToolsOf key={name} sheath={name} />;
}

function ToolsOf({ sheath }: { sheath: string }) {
  const held = useJob(sheath);
  return (
    <JobGate held={held} sheath={sheath} title="Tools">
      {(job) => <Bench job={job} sheath={sheath} edition={held.edition} />}
    </JobGate>
  );
}

interface Seen {
  readonly thing: Thing;
  readonly shade: Shade | null;
  /** Where a pin stands, mm. */
  readonly pin: Spot["at"];
}

interface BenchProps {
  readonly job: Job;
  readonly sheath: string;
  readonly edition: string;
}

function Bench({ job, sheath, edition }: BenchProps) {
  const [seen, setSeen] = useState<Seen>({ thing: THINGS[0] as Thing, shade: null, pin: null });
  const { thing } = seen;
  const spot = (finding: Finding): Spot["at"] => placeOn(thing, finding);
  return (
    <div class="station-page">
      <header>
        <h1>Tools</h1>
        <span class="quiet">{thing.says}.</span>
      </header>
      <OldJob job={job} sheath={sheath} />
      <div class="things" role="group" aria-label="What lies on the stand">
        {THINGS.map((each) => (
          <button key={each.name} type="button" aria-pressed={each === thing} onClick={() => setSeen({ thing: each, shade: null, pin: null })}>
            {each.words}
          </button>
        ))}
      </div>
      <div class="side-by-side">
        <div>
          <OnStand seen={seen} see={setSeen} sheath={sheath} edition={edition} />
          <Files job={job} sheath={sheath} />
        </div>
        <div>
          <section>
            <h2>{thing.words}</h2>
            <dl class="readings">
              {readingsOf(thing.name, job.figures).map(({ label, value }) => (
                <Reading key={label} label={label} value={value} />
              ))}
            </dl>
          </section>
          <FindingList
            findings={ofThing(job.findings, thing.name)}
            go={(finding) => setSeen({ ...seen, pin: spot(finding) })}
            leads={(finding) => spot(finding) !== null}
          />
        </div>
      </div>
    </div>
  );
}

interface OnStandProps {
  readonly seen: Seen;
  readonly see: (seen: Seen) => void;
  readonly sheath: string;
  readonly edition: string;
}

function OnStand({ seen, see, sheath, edition }: OnStandProps) {
  const { thing, shade, pin } = seen;
  const [opening, setOpening] = useState<Opening | null>(null);
  const held = useStand();
  const url = `sheaths/${encodeURIComponent(sheath)}/solid/${thing.name}.bin?shade=${shade ?? "none"}`;
  const fetched = useBuffer(url, readMesh, edition);
  const { content: mesh } = fetched;
  const box = useMemo(() => (mesh === null ? null : boxOf(mesh.positions)), [mesh]);
  const span = shade === null || mesh?.values == null ? null : mesh.range;
  useSurface(held, "thing", mesh, { clay: thing.clay, inside: "--clay-cut", span, plane: planeOf(opening, box) });
  useRule(held, box, unit.value);
  usePin(held, box, pin);
  const note = noteOf(fetched, mesh === null ? "Fetching the shape …" : "Working out the colours …");
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
      </div>
      {shade === null || span === null ? null : <Legend title={SHADES[shade].title} span={span} ends={SHADES[shade].ends} />}
    </StandView>
  );
}
