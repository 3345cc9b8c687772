/** One knife: its outline and thickness with points to drag, and what is to be looked at. */

import { useEffect, useMemo, useState } from "preact/hooks";
import { FindingList } from "../parts/finding_list";
import { Reading } from "../parts/reading";
import { RecordBar } from "../record/bar";
import { type Field, Form } from "../record/form";
import { TakeOff } from "../record/take_off";
import { useRecord } from "../record/use_record";
import { hrefTo } from "../shell/route";
import { call } from "../state/api";
import { LiveView } from "../state/live";
import type { RecordStore } from "../state/record";
import { valueAt } from "../state/tables";
import type { Finding, Kept } from "../state/types";
import { length } from "../state/units";
import { Solid } from "../three/solid";
import { KNIFE_VIEWS } from "../three/views";
import { BeginSheath } from "./begin_sheath";
import { OutlinePlan } from "./outline_plan";
import { ThicknessPlan } from "./thickness_plan";
import type { KnifeRecord, KnifeView, SeenKnife } from "./types";
import { Trouble } from "../parts/trouble";

type Seen = "outline" | "round";

export function OneKnife({ name }: { name: string }) {
  const store = useRecord<KnifeRecord>("knives", name);
  const live = useView(store);
  const view = live.seen.value?.view ?? null;
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
      <RecordBar store={box} fields={fields}>
        <button type="button" class="quiet-key" aria-expanded={begin} onClick={() => setBegin(!begin)}>
          Begin a sheath
        </button>
        <a class="key quiet-key" href={hrefTo("knives", name, "beside")}>
          Hold beside another
        </a>
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
                {store.saving.value !== "refused" && <Trouble problem={live.problem.value} />}
                <OutlinePlan store={store} view={view} behind={live.behind.value} looked={looked} />
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
            <Figures view={view} />
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

/** What the bench makes of the knife while it is changed. */
function useView(store: RecordStore<KnifeRecord>): LiveView<SeenKnife> {
  const live = useMemo(() => new LiveView<SeenKnife>(`${store.place}/view`), [store]);
  useEffect(() => () => live.end(), [live]);
  const there = store.record.value !== null;
  const tables = store.tables.value;
  // A drawn outline is seen as it is on the disk: it is looked at again when it was saved.
  const drawing = valueAt(tables, "outline.drawing");
  const version = drawing === undefined ? null : store.record.value?.version;
  useEffect(() => {
    if (there) live.ask({ tables });
  }, [live, there, tables, version]);
  const line = live.seen.value?.view?.outline;
  useEffect(() => {
    const isSvg = typeof drawing === "string" && drawing.toLowerCase().endsWith(".svg");
    if (line && isSvg) store.knowOutline(line);
  }, [store, line, drawing]);
  return live;
}

function useForm(name: string): readonly Field[] {
  const [fields, setFields] = useState<readonly Field[]>([]);
  useEffect(() => {
    call<Field[]>("GET", `knives/${encodeURIComponent(name)}/form`).then(setFields, () => undefined);
  }, [name]);
  return fields;
}

function Figures({ view }: { view: KnifeView | null }) {
  const off = view?.uncertainty ?? Number.NaN;
  return (
    <dl class="readings" aria-live="polite">
      <Reading label="Length" value={length(view?.length, 1)} />
      <Reading label="Blade" value={length(view?.blade_length, 1)} />
      <Reading label="Thickest" value={length(view?.thickness, 1)} />
      <Reading
        label="May be off by"
        value={Number.isFinite(off) ? `± ${length(off, 2)}` : "–"}
        note="every clearance grows by it"
        mood={off > 0.5 ? "stop" : "plain"}
      />
    </dl>
  );
}
