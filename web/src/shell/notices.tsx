/** Works that run or have just ended, wherever on the bench one stands. */

import { isOver, isQuiet, seeWork, stopWork, works } from "../state/works";
import { when } from "../record/history";
import type { Finding, Work } from "../state/types";
import { told } from "../state/sentences";

export function Notices() {
  const all = [...works.value.values()].filter(
    // What a person stopped is no news to anyone.
    (work) => (work.state !== "stopped" || work.problem !== null) && !isQuiet(work),
  );
  if (!all.length) return null;
  return (
    <div class="notices">
      {all.map((work) => (
        <Notice key={work.id} work={work} />
      ))}
    </div>
  );
}

function Notice({ work }: { work: Work }) {
  const over = isOver(work);
  return (
    <div class={`notice is-${work.state}`} role="status">
      <div class="notice-words">
        <strong>{told(work.title)}</strong>
        <span>{told(words(work))}</span>
        {seenIn(work).map((sentence) => (
          <span key={sentence}>{told(sentence)}</span>
        ))}
      </div>
      {!over && (
        <progress
          aria-label={work.title}
          {...(work.share === null ? {} : { value: work.share, max: 1 })}
        />
      )}
      {over ? (
        <button type="button" onClick={() => void seeWork(work.id)}>
          Seen
        </button>
      ) : (
        <button type="button" onClick={() => void stopWork(work.id)}>
          Stop it
        </button>
      )}
    </div>
  );
}

function words(work: Work): string {
  if (work.problem) {
    const { sentence, mend } = work.problem;
    const told = mend ? `${sentence}. ${mend}.` : `${sentence}.`;
    return work.state === "stopped" ? `${told} (Begun: ${when(work.began)}.)` : told;
  }
  if (work.state === "done") return work.what === "knife" ? "Look at the outline all round." : "Done.";
  if (work.state === "waiting") return "Waits for the work before it.";
  const share = work.share === null ? "" : ` · ${Math.round(work.share * 100)} %`;
  return `${work.stage}${share}`;
}

/** What was seen while a knife was measured is told once: its page does not repeat it. */
function seenIn(work: Work): readonly string[] {
  const result = work.result as { doubts?: readonly string[]; findings?: readonly Finding[] } | null;
  const findings = (result?.findings ?? []).filter((each) => each.code !== "knife-unmeasured");
  return [
    ...(result?.doubts ?? []).map((doubt) => `${doubt.charAt(0).toUpperCase()}${doubt.slice(1)}.`),
    ...findings.map((each) => `${each.sentence} ${each.mend ?? ""}`.trim()),
  ];
}
