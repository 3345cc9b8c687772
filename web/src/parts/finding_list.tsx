/**
 * What to look at: findings as sentences, the gravest first, each leading to its place if it has one.
 * Notes ask for nothing, so that they are folded away behind their number.
 */

import type { Finding } from "../state/types";
import { told } from "../state/sentences";
import { figure } from "../state/units";

const WORDS = { error: "Stop", warning: "Mind", note: "Note" } as const;
const RANK = { error: 0, warning: 1, note: 2 } as const;

export interface FindingListProps {
  readonly findings: readonly Finding[];
  /** Leads to the place of a finding; without it findings are only read. */
  readonly go?: (finding: Finding) => void;
  /** Which findings lead somewhere: those with a place, unless told otherwise. */
  readonly leads?: (finding: Finding) => boolean;
  readonly title?: string;
  /** What is said when there is nothing. */
  readonly none?: string;
}

const placed = ({ place }: Finding): boolean => Boolean(place);

export function FindingList({ findings, go, leads = placed, title = "What to look at", none = "Nothing stands out." }: FindingListProps) {
  const grave = findings.filter(({ severity }) => severity !== "note").sort((a, b) => RANK[a.severity] - RANK[b.severity]);
  const notes = findings.filter(({ severity }) => severity === "note");
  return (
    <section class="findings">
      <h2>{title}</h2>
      {grave.length === 0 ? <p class="quiet">{none}</p> : <Rows findings={grave} go={go} leads={leads} />}
      {notes.length === 0 ? null : (
        <details>
          <summary>
            {notes.length} {notes.length === 1 ? "note" : "notes"} to read at leisure
          </summary>
          <Rows findings={notes} go={go} leads={leads} />
        </details>
      )}
    </section>
  );
}

interface RowsProps {
  readonly findings: readonly Finding[];
  readonly go: FindingListProps["go"];
  readonly leads: (finding: Finding) => boolean;
}

function Rows({ findings, go, leads }: RowsProps) {
  return (
    <ul>
      {findings.map((finding, i) => (
        <li key={`${finding.code}-${i}`} class={`finding finding-${finding.severity}`}>
          <Body finding={finding} go={leads(finding) ? go : undefined} />
        </li>
      ))}
    </ul>
  );
}

function Body({ finding, go }: { finding: Finding; go: FindingListProps["go"] }) {
  const measure = measureOf(finding);
  const said = (
    <>
      <strong class="finding-word">{WORDS[finding.severity]}</strong>
      <span>
        {told(finding.sentence)}
        {finding.where ? <span class="finding-where">{capital(told(finding.where))}</span> : null}
        {measure === null ? null : <span class="finding-measure">{measure}</span>}
        {finding.mend ? <span class="finding-mend">{told(finding.mend)}</span> : null}
      </span>
    </>
  );
  if (go === undefined) return <div class="finding-body">{said}</div>;
  return (
    <button type="button" class="finding-body" onClick={() => go(finding)}>
      {said}
    </button>
  );
}

/** What was measured against what: only where the sentence does not tell it already. */
export function measureOf({ measured, limit, unit, sentence }: Finding): string | null {
  if (typeof measured !== "number" || typeof limit !== "number" || !unit || tells(sentence, measured)) return null;
  // As fine as it takes to tell them apart.
  for (const places of [undefined, 3, 4]) {
    const [one, other] = [figure(measured, unit, places), figure(limit, unit, places)];
    if (one !== other || places === 4) return `${one}; the limit is ${other}`;
  }
  return null;
}

/** Whether a sentence names a figure, as it rounds it. */
function tells(sentence: string, measured: number): boolean {
  const named = [...sentence.matchAll(/\d+(?:\.\d+)?/g)].map((found) => Number(found[0]));
  return named.some((each) => Math.abs(each - Math.abs(measured)) <= 0.02 * Math.abs(measured) + 0.005);
}

/** A place that is told by its figures alone stays as it is: an axis has no capital. */
function capital(words: string): string {
  if (/^[a-z] = /.test(words)) return words;
  return words.charAt(0).toUpperCase() + words.slice(1);
}
