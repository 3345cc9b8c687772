/** A photograph, scan, drawing or mesh goes up; the bench measures it and says what it saw. */

import { useState } from "preact/hooks";
import { readNumber } from "../record/number";
import { goTo } from "../shell/route";
import { call, problemOf } from "../state/api";
import { fromShown, unit } from "../state/units";
import type { Problem, Work } from "../state/types";
import { stopWork, untilOver, works } from "../state/works";
import type { AddProps } from "./add";
import { freeName } from "./names";
import { Trouble } from "../parts/trouble";
import { told } from "../state/sentences";

export type FileKind = "photo" | "scan" | "drawing" | "mesh";

interface Typed {
  readonly key: string;
  readonly label: string;
  readonly kind: "length" | "number" | "readings" | "choice";
  readonly help?: string;
  readonly choices?: readonly string[];
}

const HANDLE: Typed = {
  key: "handle_thickness",
  label: "Handle thickness",
  kind: "readings",
  help: "By caliper: 18.2, or places from the tip 115:8, 140:17.2",
};
const SPINE: Typed = {
  key: "spine_thickness",
  label: "Spine thickness",
  kind: "readings",
  help: "By caliper: 4, or 0:1, 20:3.2, 115:4",
};
const BLADE: Typed = {
  key: "blade_length",
  label: "Blade length",
  kind: "length",
  help: "Tip to the front of guard or handle; left out, it is proposed from the shape",
};

interface Kind {
  readonly accept: string;
  readonly say: string;
  readonly fields: readonly Typed[];
}

const KINDS: Readonly<Record<FileKind, Kind>> = {
  photo: {
    accept: "image/*,.heic,.heif",
    say: "Lay the knife flat on the printed sheet, soft light, the phone level some 600 mm above. Send the file as the phone made it: messengers shrink pictures.",
    fields: [
      {
        key: "bar",
        label: "The sheet's bar measures",
        kind: "length",
        help: "By caliper, first long tick to last: printers are seldom true",
      },
      HANDLE,
      SPINE,
      BLADE,
      { key: "paper", label: "Paper of the sheet", kind: "choice", choices: ["a4", "letter"] },
    ],
  },
  scan: {
    accept: "image/*",
    say: "Knife on the glass, a bank card beside it, touching neither knife nor rim. 300 dots per inch.",
    fields: [
      HANDLE,
      SPINE,
      BLADE,
      { key: "dpi", label: "Dots per inch", kind: "number", help: "Left out, as the scanner noted" },
    ],
  },
  drawing: {
    accept: ".svg,.dxf",
    say: "One closed outline of the whole knife, as large as the knife is.",
    fields: [
      HANDLE,
      SPINE,
      BLADE,
      { key: "tip", label: "The tip points", kind: "choice", choices: ["", "left", "right", "up", "down"] },
      { key: "edge", label: "The edge faces", kind: "choice", choices: ["", "down", "up", "left", "right"] },
    ],
  },
  mesh: {
    accept: ".stl,.ply,.obj,.3mf",
    say: "A whole scan of the knife. Holes, specks and loose points of the table are dealt with, and told.",
    fields: [
      {
        key: "mesh_unit",
        label: "Drawn in",
        kind: "choice",
        choices: ["", "mm", "cm", "inch", "m"],
        help: "Left out, the unit that makes it as large as a knife",
      },
    ],
  },
};

export function FromFile({ kind, taken, onDone }: AddProps & { kind: FileKind }) {
  const { accept, say, fields } = KINDS[kind];
  const [title, setTitle] = useState("");
  const [file, setFile] = useState<File | null>(null);
  const [spine, setSpine] = useState<File | null>(null);
  const [typed, setTyped] = useState<Readonly<Record<string, string>>>({});
  const [wrong, setWrong] = useState<Problem | null>(null);
  const [work, setWork] = useState<string | null>(null);

  const send = async (event: Event): Promise<void> => {
    event.preventDefault();
    if (!file) return;
    setWrong(null);
    const name = freeName(title || file.name.replace(/\.[^.]*$/, ""), taken);
    const form = new FormData();
    form.set("name", name);
    form.set("title", title.trim() || name);
    form.set("kind", kind);
    form.set("file", file);
    if (spine) form.set("spine", spine);
    for (const field of fields) {
      const text = (typed[field.key] ?? "").trim();
      if (text) form.set(field.key, inMillimetres(field, text));
    }
    try {
      const { work: id } = await call<{ work: string }>("POST", "knives/from-file", form);
      setWork(id);
      const over = await untilOver(id);
      if (over.state === "done") {
        onDone();
        goTo("knives", name);
      } else if (over.problem) setWrong(over.problem);
    } catch (fault) {
      setWrong(problemOf(fault));
    }
    setWork(null);
  };

  return (
    <form class="begin" onSubmit={(event) => void send(event)}>
      <p>{told(say)}</p>
      {kind !== "mesh" && kind !== "drawing" && (
        <p class="caution">A sharp edge cuts. Tape it before you lay the knife down.</p>
      )}
      <div class="begin-fields">
        <label>
          <span>Call the knife</span>
          <input value={title} maxLength={80} onInput={(event) => setTitle(event.currentTarget.value)} />
        </label>
        <label>
          <span>{kind === "photo" ? "Photograph from the side" : "File"}</span>
          <input
            type="file"
            required
            accept={accept}
            onChange={(event) => setFile(event.currentTarget.files?.[0] ?? null)}
          />
        </label>
        {kind === "photo" && (
          <label>
            <span>Photograph from above the spine, if there is one</span>
            <input
              type="file"
              accept={accept}
              onChange={(event) => setSpine(event.currentTarget.files?.[0] ?? null)}
            />
          </label>
        )}
        {fields.map((field) => (
          <TypedField
            key={field.key}
            field={field}
            value={typed[field.key] ?? ""}
            onInput={(text) => setTyped((all) => ({ ...all, [field.key]: text }))}
          />
        ))}
      </div>
      <Trouble problem={wrong} />
      {work ? (
        <Measuring work={works.value.get(work) ?? null} id={work} />
      ) : (
        <button type="submit" class="brass" disabled={!file}>
          Measure it
        </button>
      )}
    </form>
  );
}

function Measuring({ work, id }: { work: Work | null; id: string }) {
  return (
    <div class="keys" role="status">
      <span class="waiting">{work?.stage || "Measuring"} …</span>
      <button type="button" onClick={() => void stopWork(id)}>
        Stop it
      </button>
    </div>
  );
}

interface TypedProps {
  readonly field: Typed;
  readonly value: string;
  readonly onInput: (text: string) => void;
}

function TypedField({ field, value, onInput }: TypedProps) {
  const inUnit = field.kind === "length" || field.kind === "readings" ? `, ${unit.value}` : "";
  return (
    <label>
      <span>
        {field.label}
        {inUnit}
      </span>
      {field.kind === "choice" ? (
        <select value={value || (field.choices?.[0] ?? "")} onChange={(event) => onInput(event.currentTarget.value)}>
          {field.choices?.map((each) => (
            <option key={each} value={each}>
              {each || "found by itself"}
            </option>
          ))}
        </select>
      ) : (
        <input
          value={value}
          inputMode={field.kind === "readings" ? "text" : "decimal"}
          onInput={(event) => onInput(event.currentTarget.value)}
        />
      )}
      {field.help && <small class="field-help">{told(field.help)}</small>}
    </label>
  );
}

/** What was typed, its lengths in mm; what is no number goes as it is, for the bench to refuse. */
function inMillimetres(field: Typed, text: string): string {
  if (field.kind === "length") {
    const number = readNumber(text);
    return number === null ? text : String(fromShown(number));
  }
  if (field.kind !== "readings") return text;
  return text.replace(/[\d.]+/g, (figure) => {
    const number = readNumber(figure);
    return number === null ? figure : String(fromShown(number));
  });
}
