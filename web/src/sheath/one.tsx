/** One sheath: plan and section to drag at, figures that follow, and all its settings. */

import { useEffect, useMemo, useRef, useState } from "preact/hooks";
import { BeginSheath } from "../knife/begin_sheath";
import { ChooseSheath } from "../parts/choose_sheath";
import { FindingList } from "../parts/finding_list";
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
import { SheathFigures } from "./figures";
import { MakeIt } from "./make";
import { SheathPlan } from "./plan";
import { PullCurve } from "./pull";
import { SectionDrawing } from "./section";
import type { Exact, Preview, SheathRecord } from "./types";
import { useExact } from "./use_exact";
import { Trouble } from "../parts/trouble";

export function OneSheath({ name }: { name: string }) {
  const store = useRecord<SheathRecord>("sheaths", name);
  const box = store as unknown as RecordStore<Kept>;
  const fields = useForm(store.place);
  const loop = useMemo(() => new LiveView<Preview>(`${store.place}/preview`), [store]);
  useEffect(() => () => loop.end(), [loop]);
  const { exact, running, fault } = useExact(store);
  const [station, setStation] = useState<number | null>(null);
  const [looked, setLooked] = useState<Finding | null>(null);
  const [varying, setVarying] = useState(false);
  const dragging = useRef(false);

  const record = store.record.value;
  const tables = store.tables.value;
  const preview = loop.seen.value;
  const ask = (): void => {
    const wish = { station: station ?? FIRST_STATION, dragging: dragging.current };
    loop.ask({ ...wish, tables: store.tables.value });
  };
  useEffect(() => {
    if (record) ask();
  }, [record !== null, tables, station]);

  const drag = (now: boolean): void => {
    const ended = dragging.current && !now;
    dragging.current = now;
    // What was carried along during the drag is planned properly at its end.
    if (ended) ask();
  };
  const look = (finding: Finding): void => {
    setLooked(looked === finding ? null : finding);
    if (finding.place) setStation(finding.place.x);
  };
  const title = String(valueAt(tables, "sheath.name") ?? record?.title ?? name);
  const problem = loop.problem.value;
  const behind = loop.behind.value;
  const findings = problem ? [] : together(preview, exact);
  return (
    <section class="one-sheath">
      <header class="page-head sheath-head">
        <div>
          <p class="page-way">
            {record?.knife ? (
              <>
                for <a href={hrefTo("knives", record.knife)}>{record.knife}</a>
              </>
            ) : (
              "Sheath"
            )}
          </p>
          <h1>{title}</h1>
        </div>
        {record && <MakeIt store={store} />}
      </header>
      <RecordBar store={box} fields={fields}>
        <a class="key quiet-key" href={hrefTo("sheath", name, "beside")}>
          Hold beside another
        </a>
        {record?.knife && (
          <button type="button" class="quiet-key" aria-expanded={varying} onClick={() => setVarying(!varying)}>
            Make a variant
          </button>
        )}
        {record && <TakeOff store={box} shelf="sheaths" />}
      </RecordBar>
      {varying && record?.knife && (
        <BeginSheath
          knife={{ name: record.knife, title: record.knife }}
          variantOf={{ name, title, style: valueAt(tables, "sheath.style") === "paired" ? "paired" : "folded" }}
          onCancel={() => setVarying(false)}
        />
      )}
      {record && (
        <div class="page-grid">
          <div class="page-main">
            {store.saving.value !== "refused" && (
              <Trouble problem={problem && (fault ?? problem)} more={preview !== null && "What is drawn is the last one that could be made."} />
            )}
            {preview ? (
              <>
                <SheathPlan
                  plan={preview.plan}
                  store={store}
                  station={station ?? preview.section?.x ?? FIRST_STATION}
                  onStation={setStation}
                  onDrag={drag}
                  looked={looked}
                  behind={behind}
                />
                <SheathFigures
                  preview={preview}
                  exact={exact}
                  running={running}
                  tables={tables}
                  behind={behind}
                />
                {preview.section && (
                  <div class="plan-block">
                    <SectionDrawing section={preview.section} behind={behind} />
                    <StationSlider plan={preview.plan.outline} x={preview.section.x} onStation={setStation} />
                  </div>
                )}
                {exact && <PullCurve exact={exact} tables={tables} />}
              </>
            ) : (
              !problem && <p class="waiting">Drawing it for the first time …</p>
            )}
          </div>
          <div class="page-side">
            <FindingList findings={findings} go={look} />
            {fields.length > 0 && <Form fields={fields} store={box} open={["sheath clearance"]} />}
          </div>
        </div>
      )}
      {!record &&
        (store.problem.value ? (
          <ChooseSheath station="sheath" title="Other sheaths" />
        ) : (
          <p class="waiting">Taking it from the shelf …</p>
        ))}
    </section>
  );
}

/** What is seen at a glance, and what only the exact figures show, while they are of these settings. */
function together(preview: Preview | null, exact: Exact | null): readonly Finding[] {
  const glance = preview?.findings ?? [];
  if (!exact?.current) return glance;
  const known = new Set(exact.findings.map((finding) => finding.code));
  return [...exact.findings, ...glance.filter((finding) => !known.has(finding.code))];
}

/** Where the first section is taken, mm from the tip; the bench keeps it inside the sheath. */
const FIRST_STATION = 60;

interface SliderProps {
  readonly plan: readonly (readonly [number, number])[];
  readonly x: number;
  readonly onStation: (x: number) => void;
}

/** The same as the mark on the plan, for a thumb. */
function StationSlider({ plan, x, onStation }: SliderProps) {
  const xs = plan.map((point) => point[0]);
  return (
    <label class="station-slider">
      <span>Section {length(x, 1)} from the tip</span>
      <input
        type="range"
        min={Math.ceil(Math.min(...xs)) + 1}
        max={Math.floor(Math.max(...xs)) - 1}
        step="0.5"
        value={x}
        onInput={(event) => onStation(Number(event.currentTarget.value))}
      />
    </label>
  );
}

function useForm(place: string): readonly Field[] {
  const [fields, setFields] = useState<readonly Field[]>([]);
  useEffect(() => {
    call<Field[]>("GET", `${place}/form`).then(setFields, () => undefined);
  }, [place]);
  return fields;
}
