/** Files of a job folder sorted into heaps. */

import type { Job, JobFile, Program } from "../state/job";

export interface Heap {
  readonly title: string;
  readonly files: readonly JobFile[];
}

/** The first rule that fits a path says on which heap it lies. */
const RULES: readonly (readonly [title: string, fits: RegExp])[] = [
  ["Pages to print", /\.pdf$/],
  ["Programs", /^programs\//],
  ["Drawings", /^drawings\//],
  ["Shapes, for printers and other programs", /^meshes\//],
  ["Pictures", /^pictures\//],
  ["What it was made from", /^inputs\//],
  ["Figures", /.*/],
];

/** Programs that are not released lie on no heap: they are not to be had. */
export function heapsOf(job: Pick<Job, "files" | "programs">): Heap[] {
  const held = new Set(job.programs.filter(({ released }) => !released).flatMap(({ texts }) => texts));
  const heaps = new Map<string, JobFile[]>(RULES.map(([title]) => [title, []]));
  for (const file of job.files) {
    if (held.has(file.path) || file.path.startsWith("previews/")) continue;
    const title = RULES.find(([, fits]) => fits.test(file.path))?.[0];
    if (title !== undefined) heaps.get(title)?.push(file);
  }
  return [...heaps].flatMap(([title, files]) => (files.length === 0 ? [] : [{ title, files }]));
}

export function namesHeld(programs: readonly Program[]): string[] {
  return programs.filter(({ released }) => !released).map(({ name }) => name);
}

export function bytesInWords(bytes: number): string {
  if (bytes < 1000) return `${bytes} B`;
  if (bytes < 1e6) return `${Math.round(bytes / 1000)} kB`;
  return `${(bytes / 1e6).toFixed(1)} MB`;
}
