/** Ways a knife comes onto the shelf. */

import type { ComponentType } from "preact";
import { useState } from "preact/hooks";
import { goTo } from "../shell/route";
import { call, problemOf } from "../state/api";
import { FromFile } from "./from_file";
import { freeName } from "./names";
import { Trouble } from "../parts/trouble";
import type { Problem } from "../state/types";

export interface AddProps {
  readonly taken: readonly string[];
  readonly onDone: () => void;
}

type Way = "photo" | "caliper" | "scan" | "drawing" | "mesh" | "example";

const WAYS: readonly { way: Way; word: string; hint: string }[] = [
  { way: "photo", word: "Photograph", hint: "with a phone, on the printed sheet" },
  { way: "caliper", word: "Caliper", hint: "stations along a straight edge" },
  { way: "scan", word: "Flat-bed scan", hint: "with a bank card beside it" },
  { way: "drawing", word: "Drawing", hint: "an SVG or DXF outline" },
  { way: "mesh", word: "Mesh", hint: "of a 3-D scan" },
  { way: "example", word: "Example", hint: "to look around with" },
];

export function AddKnife({ taken, onDone }: AddProps) {
  const [way, setWay] = useState<Way | null>(null);
  const forms: Record<Way, ComponentType<AddProps>> = {
    photo: (props) => <FromFile kind="photo" {...props} />,
    scan: (props) => <FromFile kind="scan" {...props} />,
    drawing: (props) => <FromFile kind="drawing" {...props} />,
    mesh: (props) => <FromFile kind="mesh" {...props} />,
    caliper: FromCaliper,
    example: FromExample,
  };
  return (
    <section class="add">
      <h2>How was it measured?</h2>
      <div class="add-ways">
        {WAYS.map((each) => (
          <button
            key={each.way}
            type="button"
            aria-pressed={way === each.way}
            onClick={() => setWay(each.way)}
          >
            <strong>{each.word}</strong>
            <span class="quiet">{each.hint}</span>
          </button>
        ))}
      </div>
      {way && <Chosen key={way} form={forms[way]} taken={taken} onDone={onDone} />}
    </section>
  );
}

/** The form is made once, so that typing in it is not lost when the shelf is read anew. */
function Chosen({ form, ...props }: AddProps & { form: ComponentType<AddProps> }) {
  const [Form] = useState(() => form);
  return <Form {...props} />;
}

interface Begin {
  readonly name: string;
  readonly from: "stations" | "example" | "double-example";
  readonly title?: string;
}

function useBegin(onDone: () => void) {
  const [wrong, setWrong] = useState<Problem | null>(null);
  const begin = async (wish: Begin): Promise<void> => {
    try {
      await call("POST", "knives", wish);
      onDone();
      goTo("knives", wish.name);
    } catch (fault) {
      setWrong(problemOf(fault));
    }
  };
  return { wrong, begin };
}

function FromCaliper({ taken, onDone }: AddProps) {
  const [title, setTitle] = useState("");
  const { wrong, begin } = useBegin(onDone);
  return (
    <form
      class="begin"
      onSubmit={(event) => {
        event.preventDefault();
        const name = freeName(title, taken);
        void begin({ name, from: "stations", title: title.trim() || name });
      }}
    >
      <p>
        Lay the knife along a straight edge. At places along it read how far the edge side and the
        spine side stand off, and how thick it is. You begin with an example's figures and overwrite
        them, as numbers or by dragging.
      </p>
      <p class="caution">A sharp edge cuts. Tape it before you measure.</p>
      <label>
        <span>Call the knife</span>
        <input value={title} required maxLength={80} onInput={(event) => setTitle(event.currentTarget.value)} />
      </label>
      <Trouble problem={wrong} />
      <button type="submit" class="brass">Begin</button>
    </form>
  );
}

function FromExample({ taken, onDone }: AddProps) {
  const { wrong, begin } = useBegin(onDone);
  return (
    <div class="begin">
      <div class="keys">
        <button
          type="button"
          class="brass"
          onClick={() => void begin({ name: freeName("camp-knife", taken), from: "example" })}
        >
          A camp knife with a guard
        </button>
        <button
          type="button"
          onClick={() => void begin({ name: freeName("slender-knife", taken), from: "double-example" })}
        >
          A slender one with two edges
        </button>
      </div>
      <Trouble problem={wrong} />
    </div>
  );
}
