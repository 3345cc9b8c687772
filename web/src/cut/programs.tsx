/** The programs in the order they are cut, each with its state in words. */

import { Reading } from "../parts/reading";
import { fileAddress, figureAt, type Program, wordsAt } from "../state/job";
import { isOf } from "../state/job_findings";
import type { Finding } from "../state/types";
import { duration, length } from "../state/units";
import { told } from "../state/sentences";

interface ProgramsProps {
  readonly programs: readonly Program[];
  readonly findings: readonly Finding[];
  readonly shown: Program;
  readonly show: (program: Program) => void;
}

export function Programs({ programs, findings, shown, show }: ProgramsProps) {
  return (
    <div class="programs" role="group" aria-label="Programs">
      {programs.map((program) => (
        <button key={program.name} type="button" class="program" aria-pressed={program.name === shown.name} onClick={() => show(program)}>
          <span class="program-name">{told(headOf(program))}</span>
          <span class="program-time">{duration(program.seconds)}</span>
          <span class="program-rest">{told(restOf(program) ?? "")}</span>
          <span class={program.released ? "proved" : "kept-back"}>{stateInWords(program, findings)}</span>
        </button>
      ))}
    </div>
  );
}

/** The order they are cut in; others come after, as they stand. */
const ORDER = ["mould-top", "mould-back", "fixture", "trim"];

export function inOrder(programs: readonly Program[]): Program[] {
  const rank = ({ name }: Program): number => (ORDER.includes(name) ? ORDER.indexOf(name) : ORDER.length);
  return [...programs].sort((a, b) => rank(a) - rank(b));
}

/** A title says what is cut, and after a colon what is done to it. */
function headOf({ title, name }: Program): string {
  return (title || name).split(":")[0] as string;
}

function restOf({ title }: Program): string | null {
  return title.split(":").slice(1).join(":").trim() || null;
}

export function stateInWords({ name, released }: Program, findings: readonly Finding[]): string {
  const own = findings.filter((finding) => finding.severity !== "note" && isOf(finding, name));
  if (released) return own.length === 0 ? "Proved" : `Proved, with ${own.length} to mind`;
  // Its own text may be right: an error in the sheath or another program keeps all of them back.
  return own.some(({ severity }) => severity === "error") ? "Kept back: not proved" : "Kept back with the job";
}

/** What one sets and lays on before a program, as its setup page says at length. */
export function Facts({ program: { figures, tools, seconds } }: { program: Program }) {
  const changes = figureAt(figures, "cutter_change_seconds") ?? 0;
  const facts = [
    ["Work offset", wordsAt(figures, "offset")],
    ["Machine", wordsAt(figures, "machine")],
    ["Into", wordsAt(figures, "material")],
    ["Cutters, by time", tools.map((number) => `T${number}`).join(", ") || null],
    ["Cuts too deep, at most", lengthAt(figures, "gouge_most")],
    ["Leaves standing, at most", lengthAt(figures, "leftover_most")],
    ["Cuts for", duration(seconds)],
    ["and changes cutters for", changes > 0 ? duration(changes) : null],
  ] as const;
  const hold = wordsAt(figures, "hold", "by");
  return (
    <>
      <dl class="readings">
        {facts.map(([label, value]) => (value === null ? null : <Reading key={label} label={label} value={value} />))}
      </dl>
      {hold === null ? null : <p class="held-by">Held by: {told(hold.charAt(0).toLowerCase() + hold.slice(1))}.</p>}
    </>
  );
}

function lengthAt(figures: unknown, name: string): string | null {
  const found = figureAt(figures, name);
  return found === null ? null : length(found, 3);
}

/** The texts of a program, to take to the machine: only once they are proved. */
export function Texts({ program, sheath }: { program: Program; sheath: string }) {
  if (!program.released) {
    return (
      <p class="kept-back-note">
        Its text is kept back: no program of a job is given out while an error stands. What stops it stands under “What to look at”.
      </p>
    );
  }
  return (
    <div class="choices">
      {program.texts.map((path) => (
        <a key={path} class="key brass" href={fileAddress(sheath, path)} download={nameOf(path)}>
          Take {nameOf(path)}
        </a>
      ))}
    </div>
  );
}

function nameOf(path: string): string {
  return path.split("/").pop() ?? path;
}
