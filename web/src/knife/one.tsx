/** One knife: its outline and thickness with points to drag, and what is to be looked at. */

import { useEffect, useState } from "preact/hooks";
import { FindingList } from "../parts/finding_list";
import { Reading } from "../parts/reading";
import { RecordBar } from "../record/bar";
import { type Field, Form } from "../record/form";
import { TakeOff } from "../record/take_off";
import { useRecord } from "../record/use_record";
import { hrefTo } from "../shell/route";
import { call } from "../state/api";
import type { RecordStore } from "../state/record";
import { valueAt } from "../state/tables";
import type { Finding, Kept } from "../state/types";
import { bareLength, length, unit } from "../state/units";
import { Solid } from "../three/solid";
import { KNIFE_VIEWS } from "../three/views";
import { BeginSheath } from "./begin_sheath";
import { OutlinePlan } from "./outline_plan";
import { ThicknessPlan } from "./thickness_plan";
import type { KnifeRecord, KnifeView } from "./types";

type Seen = "outline" | "round";

export function OneKnife({ name }: { name: string }) {
  const store = useRecord<KnifeRecord>("knives", name);
  const view = useView(store);
  const fields = useForm(name);
  const [seen, setSeen] = useState<Seen>("outline");
  const [looked, setLooked] = useState<Finding | null>(null);
  const [begin, setBegin] = useState(false);
  const record = store.record.value;
  const title = String(valueAt(store.tables.value, "knife.name") ?? record?.title ?? name);
  const box = store as unknown as RecordStore<Kept>;
  return (
    <section class="one-knife">
      <header class="page-head">
        <p class="page-way">
          <a href={hrefTo("knives")}>Knives</a>
        </p>
        <h1>{title}</h1>
      </header>
      <RecordBar store={box}>
        <button type="button" class="quiet-key" aria-expanded={begin} onClick={() => setBegin(!begin)}>
          Begin a sheath
        </button>
        {record && <TakeOff store={box} shelf="knives" />}
      </RecordBar>
      {begin && <BeginSheath knife={{ name, title }} onCancel={() => setBegin(false)} />}
      {record && (
        <div class="page-grid">
          <div class="page-main">
            <div class="view-keys" role="group" aria-label="How it is shown">
              <button type="button" aria-pressed={seen === "outline"} onClick={() => setSeen("outline")}>
                From the side
              </button>
              <button type="button" aria-pressed={seen === "round"} onClick={() => setSeen("round")}>
                In the round
              </button>
            </div>
            {seen === "outline" ? (
              <>
                <OutlinePlan store={store} view={view} looked={looked} />
                <ThicknessPlan store={store} view={view} />
              </>
            ) : (
              <Solid
                url={record.problem ? null : `knives/${encodeURIComponent(name)}/solid.bin`}
                version={record.version}
                label={`${title} in three dimensions`}
                views={KNIFE_VIEWS}
              />
            )}
          </div>
          <div class="page-side">
            <Figures store={store} view={view} />
            <FindingList
              findings={view?.findings ?? []}
              go={(finding) => {
                setSeen("outline");
                setLooked(looked === finding ? null : finding);
              }}
            />
            {fields.length > 0 && <Form fields={fields} store={box} open={["knife"]} />}
          </div>
        </div>
      )}
      {!record && !store.problem.value && <p class="waiting">Taking it from the shelf …</p>}
    </section>
  );
}

/** What is computed of the saved knife; read again with every version. */
function useView(store: RecordStore<KnifeRecord>): KnifeView | null {
  const [view, setView] = useState<KnifeView | null>(null);
  const version = store.record.value?.version;
  useEffect(() => {
    if (!version) return;
    const controller = new AbortController();
    call<Partial<KnifeView>>("GET", store.place, undefined, controller.signal).then(
      (found) => {
        if (!found.outline?.length) return;
        setView({ ...found, outline: found.outline, edge: found.edge ?? [], findings: found.findings ?? [] });
        const drawing = valueAt(store.tables.value, "outline.drawing");
        if (typeof drawing === "string" && drawing.toLowerCase().endsWith(".svg")) {
          store.knowOutline(found.outline);
        }
      },
      () => undefined, // a file that cannot be used says so in the record's bar
    );
    return () => controller.abort();
  }, [store, version]);
  return view;
}

function useForm(name: string): readonly Field[] {
  const [fields, setFields] = useState<readonly Field[]>([]);
  useEffect(() => {
    call<Field[]>("GET", `knives/${encodeURIComponent(name)}/form`).then(setFields, () => undefined);
  }, [name]);
  return fields;
}

function Figures({ store, view }: { store: RecordStore<KnifeRecord>; view: KnifeView | null }) {
  const tables = store.tables.value;
  const number = (path: string): number => {
    const value = valueAt(tables, path);
    return typeof value === "number" ? value : Number.NaN;
  };
  const xs = (view?.outline ?? []).map((point) => point[0]);
  const long = view?.length ?? (xs.length ? Math.max(...xs) - Math.min(...xs) : Number.NaN);
  const off = view?.uncertainty ?? number("knife.uncertainty");
  return (
    <dl class="readings">
      <Reading label="Length" value={said(long, 1)} />
      <Reading label="Blade" value={said(number("blade.length"), 1)} />
      <Reading
        label="May be off by"
        value={Number.isFinite(off) ? `± ${bareLength(off, 2)}` : "–"}
        note={`${unit.value}; every clearance grows by it`}
        mood={off > 0.5 ? "stop" : "plain"}
      />
    </dl>
  );
}

function said(mm: number, places: number): string {
  return Number.isFinite(mm) ? length(mm, places) : "–";
}
