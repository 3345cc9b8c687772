/** Where on the bench one stands: a station, what lies on it, and what follows.
 *
 * The address is kept behind `#`, so that every page is one file to the server and a scanned code
 * can lead straight to a station: `#/sheath/camp`, `#/day/piece/C-0007`.
 */

import { computed, effect, signal } from "@preact/signals";

export const STATIONS = ["knives", "sheath", "tools", "cut", "heat", "day"] as const;
export type StationName = (typeof STATIONS)[number];

export interface Route {
  readonly station: StationName | "pair" | "devices";
  /** The knife on the Knives station; the sheath on Sheath, Tools, Cut and Heat. */
  readonly name: string | null;
  readonly rest: readonly string[];
}

/** What every page is given. */
export interface PageProps {
  readonly name: string | null;
  readonly rest: readonly string[];
}

export function readRoute(hash: string): Route {
  const parts = hash.replace(/^#?\/?/, "").split("/").filter(Boolean).map(decodePart);
  const [head, name, ...rest] = parts;
  const known = [...STATIONS, "pair", "devices"].find((each) => each === head);
  return {
    station: (known ?? "knives") as Route["station"],
    name: known ? (name ?? null) : null,
    rest: known ? rest : [],
  };
}

function decodePart(part: string): string {
  try {
    return decodeURIComponent(part);
  } catch {
    return part; // A stray % in a typed address is no reason to stop.
  }
}

export function hrefTo(station: Route["station"], ...parts: string[]): string {
  return `#/${[station, ...parts.map(encodeURIComponent)].join("/")}`;
}

export function goTo(station: Route["station"], ...parts: string[]): void {
  location.hash = hrefTo(station, ...parts);
}

const hash = signal(typeof location === "undefined" ? "" : location.hash);
export const route = computed(() => readRoute(hash.value));

/** The sheath on the bench top: it stays while one walks from station to station. */
export const sheathOnBench = signal<string | null>(remembered("chape.sheath"));

function remembered(key: string): string | null {
  try {
    return localStorage.getItem(key);
  } catch {
    return null;
  }
}

export function watchAddress(): void {
  addEventListener("hashchange", () => {
    hash.value = location.hash;
  });
  effect(() => {
    const { station, name } = route.value;
    const ofSheath = ["sheath", "tools", "cut", "heat"].includes(station);
    if (ofSheath && name) sheathOnBench.value = name;
  });
  effect(() => {
    try {
      if (sheathOnBench.value) localStorage.setItem("chape.sheath", sheathOnBench.value);
      else localStorage.removeItem("chape.sheath");
    } catch {
      // A browser that keeps nothing only forgets which sheath was open.
    }
  });
}
