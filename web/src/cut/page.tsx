/** Cut: the programs, whether they are proved, how long they take, and what the cutter does when. */

import { useEffect, useMemo, useState } from "preact/hooks";
import "../parts/parts.css";
import "./cut.css";
import { ChooseSheath } from "../parts/choose_sheath";
import { FindingList } from "../parts/finding_list";
import { JobGate, OldJob } from "../parts/job_gate";
import { goTo, type PageProps } from "../shell/route";
import { type Job, type Program, useJob } from "../state/job";
import { ofProgram } from "../state/job_findings";
import { type Spot, spotOf } from "../state/spots";
import type { Finding } from "../state/types";
import { duration } from "../state/units";
import { readPreview } from "../three/preview";
import { noteOf, useBuffer } from "../three/use_stand";
import { makeClock } from "./clock";
import { AtTheSlider } from "./moment";
import { Facts, inOrder, Programs, Texts } from "./programs";
import { Reel } from "./reel";
import { Show } from "./show";
import { secondsAtLine, stretchesOf } from "./stretches";

export default function CutPage({ name, rest }: PageProps) {
  if (name === null) return <ChooseSheath station="cut" title="Cut" />;
  return <CutOf key={name} sheath={name} chosen={rest[0] ?? null} />;
}

function CutOf({ sheath, chosen }: { sheath: string; chosen: string | null }) {
  const held = useJob(sheath);
  return (
    <JobGate held={held} sheath={sheath} title="Cut">
      {(job) => <AtTheMachine job={job} sheath={sheath} edition={held.edition} chosen={chosen} />}
    </JobGate>
  );
}

interface AtTheMachineProps {
  readonly job: Job;
  readonly sheath: string;
  readonly edition: string;
  /** The program that the address names. */
  readonly chosen: string | null;
}

function AtTheMachine({ job, sheath, edition, chosen }: AtTheMachineProps) {
  const programs = inOrder(job.programs);
  const shown = programs.find((program) => program.name === chosen) ?? programs[0];
  const whole = programs.reduce((sum, { seconds }) => sum + seconds, 0);
  return (
    <div class="station-page">
      <header>
        <h1>Cut</h1>
        <span class="quiet">
          {programs.length} programs, {duration(whole)} in all, cutter changes left out.
        </span>
      </header>
      <OldJob job={job} sheath={sheath} />
      {shown === undefined ? (
        <p>This job has no programs: it was made without them.</p>
      ) : (
        <div class="cut-bench">
          <Programs programs={programs} findings={job.findings} shown={shown} show={({ name }) => goTo("cut", sheath, name)} />
          <OneProgram key={shown.name} program={shown} findings={ofProgram(job.findings, shown.name)} sheath={sheath} edition={edition} />
        </div>
      )}
      <p class="caution">
        Cutters spin on after the spindle is stopped, and chips fly. Wear eye protection, keep hands and sleeves away, collect the dust, and
        clear chips with the spindle at rest; not with compressed air towards anyone. Before the first run check zero, cutter lengths and
        hold-down.
      </p>
    </div>
  );
}

interface OneProgramProps {
  readonly program: Program;
  readonly findings: readonly Finding[];
  readonly sheath: string;
  readonly edition: string;
}

function OneProgram({ program, findings, sheath, edition }: OneProgramProps) {
  const url = `sheaths/${encodeURIComponent(sheath)}/path/${encodeURIComponent(program.name)}.bin`;
  const fetched = useBuffer(url, readPreview, edition);
  const { content: preview } = fetched;
  const clock = useMemo(() => makeClock(preview?.totalSeconds ?? 0), [preview]);
  useEffect(() => () => clock.halt(), [clock]);
  const stretches = useMemo(() => (preview === null ? [] : stretchesOf(preview)), [preview]);
  const [pin, setPin] = useState<Spot["at"]>(null);
  const go = (finding: Finding): void => {
    const spot = spotOf(finding);
    const moment = spot?.line == null || preview === null ? null : secondsAtLine(preview, spot.line);
    setPin(spot?.at ?? null);
    clock.halt();
    if (moment !== null) clock.goTo(moment);
  };
  const note = noteOf(fetched, "Fetching the way of the cutter …");
  return (
    <>
      <div class="cut-show">
        <Show
          preview={preview}
          note={note}
          clock={clock}
          sheath={sheath}
          program={program.name}
          edition={edition}
          pin={pin}
          under={preview === null ? null : <Reel preview={preview} stretches={stretches} clock={clock} />}
        />
      </div>
      <div class="cut-words">
        {preview === null ? null : (
          <AtTheSlider preview={preview} clock={clock} program={program} sheath={sheath} edition={edition} />
        )}
        <section>
          <h2>To the machine</h2>
          <Facts program={program} />
          <Texts program={program} sheath={sheath} />
        </section>
        <FindingList
          findings={findings}
          go={go}
          leads={(finding) => spotOf(finding) !== null}
          none="The checker found nothing to say about this program."
        />
      </div>
    </>
  );
}
