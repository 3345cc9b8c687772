/** Heat: what to set, how long it takes, how thin it gets, and the timers. */

import { useEffect, useState } from "preact/hooks";
import "../parts/parts.css";
import "./heat.css";
import { ChooseSheath } from "../parts/choose_sheath";
import { FindingList } from "../parts/finding_list";
import { JobGate, OldJob } from "../parts/job_gate";
import { Reading } from "../parts/reading";
import type { PageProps } from "../shell/route";
import { call, problemOf } from "../state/api";
import { onReturn } from "../state/events";
import { type Job, useJob } from "../state/job";
import { ofForming } from "../state/job_findings";
import type { Problem } from "../state/types";
import { type Offered, TimerBench } from "../timers/timer_bench";
import { Chart, type Level, type Moment } from "./chart_view";
import { ThicknessMap } from "./thickness";
import type { Cooled, FormingView, Heated } from "./types";
import { Trouble } from "../parts/trouble";
import { told } from "../state/sentences";
import { figure } from "../state/units";

export default function HeatPage({ name }: PageProps) {
  if (name === null) {
    return (
      <div class="station-page">
        <TimerBench />
        <ChooseSheath station="heat" title="Heat" />
      </div>
    );
  }
  return <HeatOf key={name} sheath={name} />;
}

function HeatOf({ sheath }: { sheath: string }) {
  const held = useJob(sheath);
  const [view, setView] = useState<FormingView | null>(null);
  const [wrong, setWrong] = useState<Problem | null>(null);
  const made = held.job !== null && held.job.state !== "none";
  useEffect(() => {
    if (!made) return;
    let here = true;
    const read = (): void => {
      setWrong(null);
      call<FormingView>("GET", `sheaths/${encodeURIComponent(sheath)}/forming`).then(
        (answer) => here && setView(answer),
        (fault: unknown) => here && setWrong(problemOf(fault)),
      );
    };
    read();
    const stop = onReturn(read);
    return () => {
      here = false;
      stop();
    };
  }, [sheath, held.edition, made]);
  const offered: readonly Offered[] = view?.timers ?? [];
  return (
    <div class="station-page">
      <header>
        <h1>Heat</h1>
        <span class="quiet">Times are what the physics expects; your own trials teach it better.</span>
      </header>
      <TimerBench offered={offered} />
      <JobGate held={held} sheath={sheath} title="No settings yet">
        {(job) =>
          wrong !== null ? (
            <Trouble problem={wrong} />
          ) : view === null ? (
            <p class="waiting">Reading the settings …</p>
          ) : (
            <Settings view={view} job={job} sheath={sheath} edition={held.edition} />
          )
        }
      </JobGate>
    </div>
  );
}

interface SettingsProps {
  readonly view: FormingView;
  readonly job: Job;
  readonly sheath: string;
  readonly edition: string;
}

function Settings({ view, job, sheath, edition }: SettingsProps) {
  return (
    <>
      <OldJob job={job} sheath={sheath} />
      <section>
        <h2>Set and wait</h2>
        <dl class="readings">
          {view.settings.map(({ label, value, unit, range }) => (
            <Reading
              key={label}
              label={told(label)}
              value={typeof value === "string" ? value : figure(value, unit)}
              note={range === null ? null : `may be ${figure(range[0], unit)} to ${figure(range[1], unit)}`}
            />
          ))}
        </dl>
      </section>
      <div class="charts">
        <HeatChart title="In the heater" heat={view.heat} ready="ready to form" />
        {view.fold === null ? null : <HeatChart title="On the strip heater, for the fold" heat={view.fold} ready="ready to fold" />}
        <CoolChart cool={view.cool} />
      </div>
      <div class="side-by-side">
        <ThicknessMap sheath={sheath} edition={edition} thickness={view.thickness} />
        <div>
          <section class="cautions">
            <h2>Take care</h2>
            <ul>
              {view.cautions.map((caution) => (
                <li key={caution}>{told(caution)}</li>
              ))}
            </ul>
          </section>
          <FindingList findings={ofForming(job.findings)} none="Nothing stands out about heating and forming." />
        </div>
      </div>
    </>
  );
}

function HeatChart({ title, heat, ready }: { title: string; heat: Heated; ready: string }) {
  const levels: Level[] = [
    { celsius: heat.wanted, words: "warm enough", mood: "good" },
    { celsius: heat.highest, words: "the most it bears", mood: "stop" },
  ];
  const moments: Moment[] = [
    ...(heat.ready === null ? [] : [{ at: heat.ready, words: ready, mood: "good" as const }]),
    ...(heat.limit === null ? [] : [{ at: heat.limit, words: "too hot", mood: "stop" as const }]),
  ];
  return (
    <section>
      <h2>{title}</h2>
      <Chart title={title} curves={heat.curves} levels={levels} moments={moments} />
    </section>
  );
}

function CoolChart({ cool }: { cool: Cooled }) {
  const moments: Moment[] = cool.first === null ? [] : [{ at: cool.first, words: "first sheet stiff", mood: "good" }];
  return (
    <section>
      <h2>On the mould</h2>
      <Chart title="On the mould" curves={cool.curves} levels={[{ celsius: cool.stiff, words: "stiff below", mood: "good" }]} moments={moments} />
    </section>
  );
}
