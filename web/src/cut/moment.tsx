/** What happens at the slider: cutter, place, depth and width of cut, and the line of the text. */

import { useEffect, useMemo, useState } from "preact/hooks";
import { Reading } from "../parts/reading";
import { bytes, problemOf, wasStopped } from "../state/api";
import type { Program } from "../state/job";
import { bareLength, length, unit } from "../state/units";
import { momentAt, type Preview, RAPID } from "../three/preview";
import type { Clock } from "./clock";
import { Listing } from "./listing";
import { cutterInWords } from "./stretches";
import { told } from "../state/sentences";

interface MomentProps {
  readonly preview: Preview;
  readonly clock: Clock;
  readonly program: Program;
  readonly sheath: string;
  readonly edition: string;
}

export function AtTheSlider(props: MomentProps) {
  const { preview, clock } = props;
  const { piece, place } = momentAt(preview, clock.time.value);
  if (piece < 0) return null;
  const rapid = ((preview.flags[piece] ?? 0) & RAPID) !== 0;
  const cutter = preview.cutters[preview.cutterOf[piece] ?? 0];
  const depth = (preview.depths[piece] ?? 0) / 100;
  const width = ((preview.widths[piece] ?? 0) / 255) * (cutter?.diameter ?? 0);
  return (
    <section>
      <h2>At the slider</h2>
      <dl class="readings">
        <Reading wide label="Cutter" value={cutter === undefined ? "–" : cutterInWords(cutter)} />
        <Reading wide label={`Tip at, ${unit.value}`} value={place.map((at, i) => `${"XYZ"[i]} ${bareLength(at, 2)}`).join("\u2002")} />
        {depth > 0 ? (
          <>
            <Reading label="Depth of cut" value={length(depth, 2)} />
            <Reading label="Width of cut" value={length(width, 1)} share={(preview.widths[piece] ?? 0) / 255} />
          </>
        ) : (
          <Reading label="Cuts" value="nothing" note={rapid ? "a rapid" : "in the air"} />
        )}
      </dl>
      {props.program.released ? <TextThere {...props} line={preview.lines[piece] ?? 0} /> : null}
    </section>
  );
}

function TextThere({ program, sheath, edition, line }: MomentProps & { line: number }) {
  const [texts, setTexts] = useState<readonly Uint8Array[] | null>(null);
  const [wrong, setWrong] = useState<string | null>(null);
  useEffect(() => {
    const stop = new AbortController();
    setTexts(null);
    setWrong(null);
    const address = (path: string): string =>
      `sheaths/${encodeURIComponent(sheath)}/job/file/${path.split("/").map(encodeURIComponent).join("/")}`;
    Promise.all(program.texts.map((path) => bytes(address(path), stop.signal))).then(
      (buffers) => setTexts(buffers.map((buffer) => new Uint8Array(buffer))),
      (fault: unknown) => wasStopped(fault) || setWrong(problemOf(fault).sentence),
    );
    return () => stop.abort();
  }, [sheath, program.name, edition]);
  const listing = useMemo(() => (texts === null ? null : new Listing(texts)), [texts]);
  if (wrong !== null) return <p role="alert">{told(wrong)}.</p>;
  const here = listing?.at(line) ?? null;
  if (here === null) return <p class="waiting">Opening the text …</p>;
  const name = program.texts[here.text]?.split("/").pop();
  return (
    <figure class="listing">
      <figcaption>
        {here.step === null ? null : <strong>{told(here.step)}</strong>}
        <span class="quiet">
          {name}, line {here.line}
        </span>
      </figcaption>
      <ol aria-label="The text around here">
        {here.around.map(({ number, words }) => (
          <li key={number} value={number} aria-current={number === here.line ? "true" : undefined}>
            <code>{words === "" ? " " : words}</code>
          </li>
        ))}
      </ol>
    </figure>
  );
}
