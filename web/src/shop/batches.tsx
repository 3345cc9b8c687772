/** Batches: what the shop proposes to make together, and what is in work. */

import { useState } from "preact/hooks";
import { goTo, hrefTo } from "../shell/route";
import { call } from "../state/api";
import { useAsked, useDoing } from "./asked";
import { dayInWords } from "./clock";
import type { DrawerProps } from "./page";
import { Labelled, SureKey, Trouble, Waiting } from "./parts";
import { ToBuy } from "./to_buy";
import type { BatchList, InWork, Offer, Proposal } from "./types";

export function Batches({ rest }: DrawerProps) {
  const work = useAsked<BatchList>("shop/batches");
  const [wanted] = rest;
  const all = work.value?.batches ?? [];
  const shown = wanted ? all.filter((each) => each.batch === wanted) : all;
  return (
    <section>
      <Trouble problem={work.problem} />
      {wanted && (
        <p>
          <a href={hrefTo("day", "batches")}>All batches</a>
        </p>
      )}
      {wanted && work.value && shown.length === 0 && <p>{wanted} is not in work.</p>}
      {!wanted && <Proposed taken={work.put} />}
      <h2 class="above">In work</h2>
      {work.value === null && work.problem === null && <Waiting />}
      {work.value && all.length === 0 && <p>Nothing is in work.</p>}
      <div class="cards">
        {shown.map((each) => (
          <BatchCard key={each.batch} batch={each} />
        ))}
      </div>
    </section>
  );
}

function Proposed({ taken }: { taken: (list: BatchList) => void }) {
  const [by, setBy] = useState("");
  const [most, setMost] = useState("20");
  const asked = new URLSearchParams({ most: most || "20" });
  if (by) asked.set("by", by);
  const offer = useAsked<Proposal>(`shop/batches/proposal?${asked}`);
  const { busy, problem, run } = useDoing();
  const now = offer.value;
  const pieces = now?.batches.flatMap((batch) => batch.pieces) ?? [];
  const take = async (): Promise<void> => {
    const list = await run(() => call<BatchList>("POST", "shop/batches", { pieces }));
    if (list) taken(list);
    offer.again();
    if (list) goTo("day");
  };
  return (
    <section class="card">
      <div class="title-row">
        <h1>Make next</h1>
        <Labelled words="Urgent is what is due by">
          <input
            type="date"
            value={by || (now?.urgent_by ?? "")}
            onChange={(event) => setBy(event.currentTarget.value)}
          />
        </Labelled>
        <Labelled words="Blanks at most">
          <input
            type="number"
            min={1}
            max={200}
            value={most}
            onChange={(event) => setMost(event.currentTarget.value)}
          />
        </Labelled>
      </div>
      <Trouble problem={problem ?? offer.problem} />
      {now === null && offer.problem === null && <Waiting />}
      {now && now.batches.length === 0 && <p>Nothing waits that could be made.</p>}
      {now && (
        <>
          <ul class="offers">
            {now.batches.map((batch) => (
              <OfferRow key={batch.pieces[0]} offer={batch} />
            ))}
          </ul>
          {now.takes.length > 0 && (
            <p>
              It takes {now.takes.map((each) => `${each.count} of ${each.title}`).join(", ")} off the
              shelf.
            </p>
          )}
          {now.left_out.length > 0 && (
            <p class="trouble">
              Not covered by stock or blanks:{" "}
              {now.left_out.map((each) => `${each.serial}, due ${dayInWords(each.due)}`).join("; ")}.
            </p>
          )}
          <ToBuy rows={now.buy} currency={now.currency} />
          <p class="quiet">
            {now.batches.length === 0
              ? ""
              : now.gap > 0
              ? `No choice is worth more than ${(now.gap * 100).toFixed(1)} % above this one: that is proved.`
              : "There is no better choice: that is proved."}
          </p>
          {pieces.length > 0 && (
            <SureKey
              kind="brass"
              large
              words={`Take ${pieces.length} pieces into work`}
              sure="Yes, take them"
              disabled={busy}
              act={() => void take()}
            />
          )}
        </>
      )}
    </section>
  );
}

function OfferRow({ offer }: { offer: Offer }) {
  const seats = Array.from({ length: offer.pieces.length + offer.empty });
  return (
    <li>
      <strong>
        {offer.title}, {offer.colour}
      </strong>
      <span>
        {offer.blanks} {offer.blanks === 1 ? "blank" : "blanks"}, mould {offer.mould}, due{" "}
        {dayInWords(offer.due)}
      </span>
      <span
        class="squares"
        role="img"
        aria-label={`${offer.pieces.length} pieces, ${offer.empty} seats empty`}
      >
        {seats.map((_, seat) => (
          <i key={seat} class={seat < offer.pieces.length ? "at-done" : "at-waiting"} />
        ))}
      </span>
    </li>
  );
}

function BatchCard({ batch }: { batch: InWork }) {
  const blanks = new Map<string, InWork["pieces"][number][]>();
  for (const piece of batch.pieces) {
    blanks.set(piece.blank, [...(blanks.get(piece.blank) ?? []), piece]);
  }
  const paper = (kind: string): string => `/api/shop/papers/${kind}.pdf?of=${batch.batch}`;
  return (
    <section class="card">
      <h3>
        {batch.batch} · {batch.title}, {batch.colour}
      </h3>
      {[...blanks].map(([blank, pieces]) => (
        <div class="blank" key={blank}>
          <span>{blank}</span>
          <ul>
            {pieces.map((piece) => (
              <li key={piece.serial}>
                <a href={hrefTo("day", "piece", piece.serial)}>{piece.serial}</a> {piece.state}
              </li>
            ))}
          </ul>
        </div>
      ))}
      <div class="keys">
        <a class="key" target="_blank" href={paper("batch")}>
          Batch sheet
        </a>
        <a class="key" target="_blank" href={paper("travellers")}>
          Travellers
        </a>
        <a class="key" target="_blank" href={paper("labels")}>
          Labels
        </a>
      </div>
    </section>
  );
}
