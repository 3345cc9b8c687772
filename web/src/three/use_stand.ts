/** The stand as a page uses it: made when its canvas is there, given back when the page goes. */

import { useCallback, useEffect, useRef, useState } from "preact/hooks";
import { isDark } from "../shell/switches";
import { bytes, problemOf, wasStopped } from "../state/api";
import { onReturn } from "../state/events";
import type { Problem } from "../state/types";
import type { Box, Mesh } from "./buffers";
import type { Plane } from "./surface";
import type { Stand } from "./stand";
import { sizeOf } from "./turning";
import { told } from "../state/sentences";

type Parcel = typeof import("./parcel");

/** Asked for with the first page that shows shapes, beside what it has to show. */
let fetched: Promise<Parcel> | null = null;

function fetchParcel(): Promise<Parcel> {
  fetched ??= import("./parcel").catch((fault: unknown) => {
    fetched = null; // The next stand asks again.
    throw fault;
  });
  return fetched;
}

export interface HeldStand {
  /** To be given to the canvas as its `ref`. */
  readonly canvas: (element: HTMLCanvasElement | null) => void;
  readonly stand: Stand | null;
  readonly parcel: Parcel | null;
  /** Why nothing can be shown here. */
  readonly problem: string | null;
}

const NO_DRAWING =
  "This browser can't draw in three dimensions here: WebGL is off or not there. Figures, findings and files are whole without it.";

export function useStand(): HeldStand {
  useState(() => void fetchParcel().catch(() => undefined));
  const [canvas, setCanvas] = useState<HTMLCanvasElement | null>(null);
  const [held, setHeld] = useState<Omit<HeldStand, "canvas">>({ stand: null, parcel: null, problem: null });
  useEffect(() => {
    if (canvas === null) return;
    let gone = false;
    let made: Stand | null = null;
    fetchParcel().then(
      (parcel) => {
        if (gone) return;
        try {
          made = new parcel.Stand(canvas);
          setHeld({ stand: made, parcel, problem: null });
        } catch {
          setHeld({ stand: null, parcel: null, problem: NO_DRAWING });
        }
      },
      () => !gone && setHeld({ stand: null, parcel: null, problem: "What draws here could not be fetched. Load the page again." }),
    );
    return () => {
      gone = true;
      made?.dispose();
      setHeld({ stand: null, parcel: null, problem: null });
    };
  }, [canvas]);
  return { canvas: useCallback((element: HTMLCanvasElement | null) => setCanvas(element), []), ...held };
}

export interface Fetched<Content> {
  readonly content: Content | null;
  /** Where the content came from: while the next is on its way, the one before stays. */
  readonly url: string | null;
  readonly coming: boolean;
  readonly problem: Problem | null;
}

/** Fetch and read a buffer; the newest address wins. `again` fetches the same one anew. */
export function useBuffer<Content>(url: string | null, read: (buffer: ArrayBuffer) => Content, again: unknown = 0): Fetched<Content> {
  const [got, setGot] = useState<Fetched<Content>>({ content: null, url: null, coming: false, problem: null });
  const [tries, setTries] = useState(0);
  useEffect(() => {
    if (url === null) {
      setGot({ content: null, url: null, coming: false, problem: null });
      return;
    }
    const stop = new AbortController();
    setGot((before) => ({ ...before, coming: true, problem: null }));
    bytes(url, stop.signal)
      .then((buffer) => {
        if (!stop.signal.aborted) setGot({ content: read(buffer), url, coming: false, problem: null });
      })
      .catch((fault: unknown) => {
        if (wasStopped(fault) || stop.signal.aborted) return;
        const problem = problemOf(fault);
        // The same thing in other colours is not to be had: it stays as it was.
        setGot((before) =>
          thingOf(before.url) === thingOf(url) ? { ...before, coming: false, problem } : { content: null, url, coming: false, problem },
        );
      });
    return () => stop.abort();
  }, [url, again, tries]);
  const failed = got.problem !== null;
  useEffect(() => (failed ? onReturn(() => setTries((count) => count + 1)) : undefined), [failed]);
  return got;
}

function thingOf(url: string | null): string | null {
  return url?.split("?")[0] ?? null;
}

export interface SurfaceLook {
  /** Names of colours in the style sheet. */
  readonly clay: string;
  readonly inside: string;
  readonly solidity?: number;
  /** Coloured from the darkest figure to the lightest, mm; null: by nothing. */
  readonly span: readonly [number, number] | null;
  readonly plane: Plane | null;
}

/** Keep a shape on the stand under a name. */
export function useSurface(held: HeldStand, name: string, mesh: Mesh | null, painted: SurfaceLook): void {
  const { stand, parcel } = held;
  const surface = useRef<InstanceType<Parcel["Surface"]> | null>(null);
  useEffect(() => {
    if (stand === null || parcel === null || mesh === null) return;
    const made = new parcel.Surface(mesh);
    surface.current = made;
    stand.put(name, made);
    return () => {
      surface.current = null;
      stand.put(name, null);
    };
  }, [stand, parcel, mesh, name]);
  const colours = usePaint(painted.clay, painted.inside);
  const { solidity = 1, span, plane } = painted;
  useEffect(() => {
    surface.current?.paint(colours[0] ?? "", colours[1] ?? "");
    surface.current?.fade(solidity);
    surface.current?.shade(span);
    surface.current?.cut(plane);
    stand?.draw();
  }, [stand, mesh, colours.join(), solidity, span?.join(), plane?.normal.join(), plane?.reach]);
}

/** Colours of the style sheet by name, as they are in the light one works in. */
export function usePaint(...names: readonly string[]): string[] {
  const dark = isDark.value;
  const [colours, setColours] = useState<string[]>([]);
  useEffect(() => {
    const style = getComputedStyle(document.documentElement);
    setColours(names.map((name) => style.getPropertyValue(name)));
  }, [dark, names.join()]);
  return colours;
}

/** A rule before what is shown, in the unit of the page. */
export function useRule(held: HeldStand, box: Box | null, unit: "mm" | "inch"): void {
  const { stand, parcel } = held;
  const [ink] = usePaint("--stand-ink");
  useEffect(() => {
    if (stand === null || parcel === null || box === null || ink === undefined) return;
    stand.put("rule", new parcel.Rule(box, unit, ink));
    return () => stand.put("rule", null);
  }, [stand, parcel, box?.join(), unit, ink]);
}

/** A pin at a place that a finding leads to; where its height isn't told it stands on the top. */
export function usePin(held: HeldStand, box: Box | null, at: readonly [number, number, number | null] | null): void {
  const { stand, parcel } = held;
  const [colour] = usePaint("--stop");
  useEffect(() => {
    if (stand === null || parcel === null || box === null || at === null || colour === undefined) return;
    const [x, y, z] = at;
    stand.put("pin", new parcel.Pin([x, y, z ?? box[5]], sizeOf(box), colour));
    return () => stand.put("pin", null);
  }, [stand, parcel, box?.join(), at?.join(), colour]);
}

/** What a picture says of itself: why there is none, or that it is on its way; null: nothing. */
export function noteOf({ problem, coming }: Pick<Fetched<unknown>, "problem" | "coming">, waiting: string): string | null {
  if (problem !== null) return told(`${problem.sentence}. ${problem.mend ? `${problem.mend}.` : ""}`.trim());
  return coming ? waiting : null;
}
