/** Which of a job's findings belong where: they say so at the start of their place in words. */

import type { ThingName } from "../tools/things";
import type { Finding } from "./types";

const MOULD = /^mould\b/;
const FIXTURE = /^fixture\b/;
const FORMED = /^(drape|blank|vents)\b/;
/** "fold, x = 73 mm" is a place on the sheath; "fold, strip" is the heater of the fold. */
const HEATED = /^(forming|cooling|vacuum)\b|^fold, (?!x = )/;
const TRIM = /^trim\b/;

function starts(finding: Finding, ...patterns: readonly RegExp[]): boolean {
  return patterns.some((pattern) => pattern.test(finding.where ?? ""));
}

/** Whether a finding is what a program's own checker saw. */
export function isOf({ where }: Finding, program: string): boolean {
  return new RegExp(`^${program}(?: part \\d+)?(?:, |$)`).test(where ?? "");
}

/** What a program's checker saw, and all that keeps every program back. */
export function ofProgram(findings: readonly Finding[], program: string): Finding[] {
  return findings.filter((finding) => finding.severity === "error" || isOf(finding, program));
}

/** What heating, forming and cooling bring with them. */
export function ofForming(findings: readonly Finding[]): Finding[] {
  return findings.filter((finding) => starts(finding, FORMED, HEATED) || finding.where === "mould");
}

/** What belongs to a thing on the stand. What stops the whole job belongs to each. */
export function ofThing(findings: readonly Finding[], thing: ThingName): Finding[] {
  const own: Record<ThingName, (finding: Finding) => boolean> = {
    mould: (finding) => starts(finding, MOULD),
    fixture: (finding) => starts(finding, FIXTURE),
    blank: (finding) => starts(finding, FORMED),
    sheath: (finding) => !starts(finding, MOULD, FIXTURE, FORMED, HEATED, TRIM),
    knife: (finding) => !starts(finding, MOULD, FIXTURE, FORMED, HEATED, TRIM),
  };
  return findings.filter((finding) => finding.severity === "error" || own[thing](finding));
}
