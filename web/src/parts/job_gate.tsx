/** The words that stand in for a station's work while there is no job to show. */

import type { ComponentChildren } from "preact";
import { hrefTo } from "../shell/route";
import type { HeldJob, Job } from "../state/job";
import { Trouble } from "./trouble";

interface JobGateProps {
  readonly held: HeldJob;
  readonly sheath: string;
  readonly title: string;
  readonly children: (job: Job) => ComponentChildren;
}

export function JobGate({ held, sheath, title, children }: JobGateProps) {
  const { job, problem } = held;
  if (job === null) {
    return (
      <section class="empty">
        <h1>{title}</h1>
        {problem === null ? (
          <p class="waiting">Opening the job folder …</p>
        ) : (
          <Trouble problem={problem} />
        )}
      </section>
    );
  }
  if (job.state === "none") {
    return (
      <section class="empty">
        <h1>{title}</h1>
        <p>Nothing is made of this sheath yet. At the sheath station, “Make it” makes moulds, fixture and programs, and proves them.</p>
        <a class="key brass large" href={hrefTo("sheath", sheath)}>
          To the sheath
        </a>
      </section>
    );
  }
  return <>{children(job)}</>;
}

/** Said on top of a job that no longer belongs to the sheath as it is. */
export function OldJob({ job, sheath }: { job: Job; sheath: string }) {
  if (job.state !== "old") return null;
  return (
    <p class="old-job" role="status">
      This was made before the sheath was last changed. <a href={hrefTo("sheath", sheath)}>Make it again</a> before you cut anything.
    </p>
  );
}
