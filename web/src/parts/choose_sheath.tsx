/** Said where a station needs a sheath and none lies on the bench. */

import { useEffect, useState } from "preact/hooks";
import { hrefTo, type StationName } from "../shell/route";
import { call, problemOf } from "../state/api";
import type { ShelfSheath } from "../state/standing";

export function ChooseSheath({ station, title }: { station: StationName; title: string }) {
  const [shelf, setShelf] = useState<readonly ShelfSheath[] | null>(null);
  const [wrong, setWrong] = useState<string | null>(null);
  useEffect(() => {
    call<ShelfSheath[]>("GET", "sheaths").then(setShelf, (fault: unknown) => setWrong(problemOf(fault).sentence));
  }, []);
  return (
    <section class="empty">
      <h1>{title}</h1>
      {wrong !== null ? (
        <p role="alert">{wrong}.</p>
      ) : shelf === null ? (
        <p class="waiting">Looking along the shelf …</p>
      ) : shelf.length === 0 ? (
        <p>
          There is no sheath yet. Begin with a knife: <a href={hrefTo("knives")}>to the knives</a>.
        </p>
      ) : (
        <>
          <p>For which sheath?</p>
          <div class="choices">
            {shelf.map((sheath) => (
              <a key={sheath.name} class="key" href={hrefTo(station, sheath.name)}>
                {sheath.title}
              </a>
            ))}
          </div>
        </>
      )}
    </section>
  );
}
