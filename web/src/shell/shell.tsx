/** The bench top: the ticket at its head, the stations along its edge, the work in the middle. */

import type { ComponentType } from "preact";
import { useEffect, useLayoutEffect, useRef, useState } from "preact/hooks";
import { ErrorFence } from "./fence";
import { Notices } from "./notices";
import { type PageProps, route, type Route, sheathOnBench, watchAddress } from "./route";
import { StationBar } from "./stations";
import { keepLook } from "./switches";
import { Ticket } from "./ticket";
import { Devices } from "./devices";
import { Pairing } from "./pairing";
import { hello, meetServer } from "../state/server";
import { listen } from "../state/events";
import { readyBell } from "../timers/bell";
import { watchTimers } from "../timers/timers";

type Loader = () => Promise<{ default: ComponentType<PageProps> }>;

/** Each station is fetched when one first goes there. */
const PAGES: Record<Exclude<Route["station"], "pair" | "devices">, Loader> = {
  knives: () => import("../knife/page"),
  sheath: () => import("../sheath/page"),
  tools: () => import("../tools/page"),
  cut: () => import("../cut/page"),
  heat: () => import("../heat/page"),
  day: () => import("../shop/page"),
};

export function Shell() {
  // Before anything is drawn, so that nothing is seen in the other light first.
  useLayoutEffect(keepLook, []);
  useEffect(() => {
    watchAddress();
    void meetServer();
    return listen();
  }, []);
  const { station, name, rest } = route.value;
  useArrival(station, name);
  const met = hello.value;
  const paired = met?.paired === true;
  useEffect(() => {
    if (!paired) return;
    const stops = [readyBell(), watchTimers()];
    return () => {
      for (const stop of stops) stop();
    };
  }, [paired]);
  if (met && !met.paired) return <Pairing />;
  const sheathNeeded = ["sheath", "tools", "cut", "heat"].includes(station);
  return (
    <div class="bench" data-station={station}>
      <a class="skip" href="#work">
        To the work
      </a>
      <Ticket />
      <StationBar />
      <main class="work" id="work" tabIndex={-1}>
        <Notices />
        <ErrorFence key={station}>
          {station === "pair" || station === "devices" ? (
            <Devices />
          ) : (
            <Loaded
              key={station}
              loader={PAGES[station]}
              name={sheathNeeded ? (name ?? sheathOnBench.value) : name}
              rest={rest}
            />
          )}
        </ErrorFence>
      </main>
    </div>
  );
}

/** On the way to another page the eye begins at its top, and so does whoever has it read out. */
function useArrival(station: Route["station"], name: string | null): void {
  const first = useRef(true);
  useEffect(() => {
    const word = station.charAt(0).toUpperCase() + station.slice(1);
    document.title = name ? `${word}: ${name} · chape bench` : `${word} · chape bench`;
    if (!first.current) {
      scrollTo(0, 0);
      document.getElementById("work")?.focus({ preventScroll: true });
    }
    first.current = false;
  }, [station, name]);
}

function Loaded({ loader, ...props }: PageProps & { loader: Loader }) {
  const [Page, setPage] = useState<ComponentType<PageProps> | null>(null);
  const [lost, setLost] = useState(false);
  useEffect(() => {
    let here = true;
    loader().then(
      (module) => here && setPage(() => module.default),
      () => here && setLost(true),
    );
    return () => {
      here = false;
    };
  }, [loader]);
  if (lost) {
    return (
      <section class="empty">
        <p>This station could not be fetched. The bench may have been stopped or renewed.</p>
        <button type="button" class="brass" onClick={() => location.reload()}>
          Fetch it again
        </button>
      </section>
    );
  }
  return Page ? <Page {...props} /> : <p class="waiting">Laying it out …</p>;
}
