/** Tools: mould, blank, fixture, sheath and knife, to be turned in the hand, and the files of the job. */

import { useState } from "preact/hooks";
import "../parts/parts.css";
import "./tools.css";
import { ChooseSheath } from "../parts/choose_sheath";
import { FindingList } from "../parts/finding_list";
import { JobGate, OldJob } from "../parts/job_gate";
import { Reading } from "../parts/reading";
import { goTo, type PageProps } from "../shell/route";
import { type Job, useJob } from "../state/job";
import { ofThing } from "../state/job_findings";
import type { Spot } from "../state/spots";
import type { Finding } from "../state/types";
import { Files } from "./files";
import { OnStand } from "./on_stand";
import { readingsOf } from "./readings";
import { placeOn, plain, type Seen, type Thing, THINGS } from "./things";

export default function ToolsPage({ name, rest }: PageProps) {
  if (name === null) return <ChooseSheath station="tools" title="Tools" />;
  return <ToolsOf key={name} sheath={name} chosen={rest[0] ?? null} />;
}

function ToolsOf({ sheath, chosen }: { sheath: string; chosen: string | null }) {
  const held = useJob(sheath);
  return (
    <JobGate held={held} sheath={sheath} title="Tools">
      {(job) => <Bench job={job} sheath={sheath} edition={held.edition} chosen={chosen} />}
    </JobGate>
  );
}

interface BenchProps {
  readonly job: Job;
  readonly sheath: string;
  readonly edition: string;
  /** What the address names to be on the stand. */
  readonly chosen: string | null;
}

function Bench({ job, sheath, edition, chosen }: BenchProps) {
  const thing = THINGS.find(({ name }) => name === chosen) ?? (THINGS[0] as Thing);
  const [kept, setSeen] = useState<Seen>(plain(thing));
  const seen = kept.thing === thing ? kept : plain(thing);
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
          <button key={each.name} type="button" aria-pressed={each === thing} onClick={() => goTo("tools", sheath, each.name)}>
            {each.words}
          </button>
        ))}
      </div>
      <div class="side-by-side tools-bench">
        <div>
          <OnStand seen={seen} see={setSeen} sheath={sheath} edition={edition} />
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
        <div>
          <Files job={job} sheath={sheath} />
        </div>
      </div>
    </div>
  );
}
