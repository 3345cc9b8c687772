/** The way of the cutter on the stand, with the stock it is cut from, and the cutter where it is. */

import { effect } from "@preact/signals";
import type { ComponentChildren } from "preact";
import { useEffect, useMemo, useRef, useState } from "preact/hooks";
import type { Spot } from "../state/spots";
import { unit } from "../state/units";
import { boxOf, readMesh } from "../three/buffers";
import { Legend } from "../three/legend";
import { momentAt, type Preview } from "../three/preview";
import { StandView } from "../three/stand_view";
import { sizeOf } from "../three/turning";
import { type HeldStand, noteOf, useBuffer, usePaint, usePin, useRule, useStand, useSurface } from "../three/use_stand";
import { BOARD_VIEWS } from "../three/views";
import { mixGradient } from "../three/colours";
import type { Clock } from "./clock";

const STOCKS = { none: "No stock", before: "Before", after: "After" } as const;
type Stock = keyof typeof STOCKS;

export type ColouredBy = "depth" | "width";

interface ShowProps {
  readonly preview: Preview | null;
  readonly note: string | null;
  readonly clock: Clock;
  readonly sheath: string;
  readonly program: string;
  readonly edition: string;
  /** Where a pin stands, mm. */
  readonly pin: Spot["at"];
  /** What stands right under the picture. */
  readonly under: ComponentChildren;
}

export function Show({ preview, note, clock, sheath, program, edition, pin, under }: ShowProps) {
  const held = useStand();
  const [stock, setStock] = useState<Stock>("none");
  const [by, setBy] = useState<ColouredBy>("depth");
  const [extra, setExtra] = useState({ coming: true, rapids: true });
  const url = stock === "none" ? null : `sheaths/${encodeURIComponent(sheath)}/solid/stock-${stock}-${encodeURIComponent(program)}.bin`;
  const fetched = useBuffer(url, readMesh, edition);
  const { content: mesh } = fetched;
  const solidity = stock === "before" ? 0.28 : 1;
  useSurface(held, "stock", mesh, { clay: "--clay-stock", inside: "--clay-cut", span: null, plane: null, solidity });
  const box = useMemo(() => preview?.box ?? (mesh === null ? null : boxOf(mesh.positions)), [preview, mesh]);
  useRule(held, box, unit.value);
  usePin(held, box, pin);
  const deepest = useWay(held, preview, clock, by, extra);
  useCutter(held, preview, clock);
  const [shallow = "", deep = ""] = usePaint("--way-shallow", "--way-deep");
  const said = noteOf(fetched, "Fetching the stock …") ?? note;
  return (
    <StandView held={held} views={BOARD_VIEWS} label="The way of the cutter, in three dimensions" note={said} under={under}>
      <div class="show-keys">
        <div class="stand-sides" role="group" aria-label="Stock">
          <span class="stand-word">Stock</span>
          {(Object.keys(STOCKS) as Stock[]).map((each) => (
            <button key={each} type="button" aria-pressed={stock === each} onClick={() => setStock(each)}>
              {STOCKS[each]}
            </button>
          ))}
        </div>
        <div class="stand-sides" role="group" aria-label="Lines coloured by">
          <span class="stand-word">Lines</span>
          <button type="button" aria-pressed={by === "depth"} onClick={() => setBy("depth")}>
            Depth of cut
          </button>
          <button type="button" aria-pressed={by === "width"} onClick={() => setBy("width")}>
            Width of cut
          </button>
          <button type="button" aria-pressed={extra.coming} onClick={() => setExtra({ ...extra, coming: !extra.coming })}>
            Still to come
          </button>
          <button type="button" aria-pressed={extra.rapids} onClick={() => setExtra({ ...extra, rapids: !extra.rapids })}>
            Rapids
          </button>
        </div>
      </div>
      <Legend
        title={by === "depth" ? "Depth of cut" : "Width of cut, as a share of the cutter"}
        span={by === "depth" ? [0, deepest] : null}
        gradient={mixGradient(shallow, deep)}
        ends={by === "depth" ? undefined : ["a graze", "its whole width"]}
      />
    </StandView>
  );
}

/** Keep the way on the stand, as far as the clock has come; the answer is its deepest cut, mm. */
function useWay(held: HeldStand, preview: Preview | null, clock: Clock, by: ColouredBy, extra: { coming: boolean; rapids: boolean }): number {
  const { stand, parcel } = held;
  const [shallow = "", deep = "", idle = ""] = usePaint("--way-shallow", "--way-deep", "--way-idle");
  const way = useRef<InstanceType<NonNullable<HeldStand["parcel"]>["Way"]> | null>(null);
  const [deepest, setDeepest] = useState(0);
  useEffect(() => {
    if (stand === null || parcel === null || preview === null) return;
    const made = new parcel.Way(preview);
    way.current = made;
    made.dashes(sizeOf(made.box) / 90);
    setDeepest(made.deepest);
    stand.put("way", made);
    const stop = effect(() => {
      made.goTo(clock.time.value);
      stand.draw();
    });
    return () => {
      stop();
      way.current = null;
      stand.put("way", null);
    };
  }, [stand, parcel, preview, clock]);
  useEffect(() => {
    way.current?.paint({ shallow, deep, idle });
    way.current?.colourBy(by);
    way.current?.show(extra.coming, extra.rapids);
    stand?.draw();
  }, [stand, preview, shallow, deep, idle, by, extra]);
  return deepest;
}

function useCutter(held: HeldStand, preview: Preview | null, clock: Clock): void {
  const { stand, parcel } = held;
  const [flutes = "", shank = ""] = usePaint("--clay-cut", "--clay-cutter");
  useEffect(() => {
    if (stand === null || parcel === null || preview === null) return;
    let shape: InstanceType<typeof parcel.CutterShape> | null = null;
    let kept = -1;
    const stop = effect(() => {
      const { piece, place } = momentAt(preview, clock.time.value);
      const number = piece < 0 ? -1 : (preview.cutterOf[piece] as number);
      const cutter = preview.cutters[number];
      if (number !== kept) {
        kept = number;
        shape = cutter === undefined ? null : new parcel.CutterShape(cutter);
        shape?.paint(flutes, shank);
        stand.put("cutter", shape);
      }
      shape?.standAt(place);
      stand.draw();
    });
    return () => {
      stop();
      stand.put("cutter", null);
    };
  }, [stand, parcel, preview, clock, flutes, shank]);
}
