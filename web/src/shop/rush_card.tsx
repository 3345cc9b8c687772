/** What an order would displace and cost, before anyone says yes to it. */

import { useEffect, useRef } from "preact/hooks";
import { hrefTo } from "../shell/route";
import { duration } from "../state/units";
import { dayInWords, money, timeOfDay } from "./clock";
import { Readings } from "./parts";
import { ToBuy } from "./to_buy";
import type { RushLeaf } from "./types";

export function RushCard({ rush, customer }: { rush: RushLeaf; customer: string }) {
  const leaves = dayInWords(rush.leaves);
  const card = useRef<HTMLElement>(null);
  // On a phone it stands below the form.
  useEffect(() => card.current?.scrollIntoView({ block: "nearest" }), [rush]);
  return (
    <section ref={card} class="card rush" aria-label="What it would displace" aria-live="polite">
      <h2 class={rush.in_time ? "is-good" : "is-stop"}>
        {rush.in_time ? `It leaves on ${leaves}, in time` : `Too late: it leaves on ${leaves}`}
      </h2>
      <p>
        Its last piece is ready at {timeOfDay(rush.ready)}
        {rush.in_time ? "." : `; it is due on ${dayInWords(rush.due)}.`}
      </p>
      {rush.displaced.length === 0 ? (
        <p class="is-good">No other order leaves too late because of it.</p>
      ) : (
        <Displaced rush={rush} />
      )}
      <p class="price">{money(rush.price, rush.currency)}</p>
      <p class="quiet">
        keeps your margin, for all of it; {money(rush.usual, rush.currency)} is the price of as many
        that can wait.
      </p>
      <Readings
        rows={[
          ["Cost, with overhead", money(rush.cost, rush.currency)],
          ["Hands, set-ups with them", duration(rush.hand_seconds)],
          ["Router", duration(rush.router_seconds)],
        ]}
      />
      <p>
        {rush.goods.length === 0
          ? "It fills seats that would be empty: no sheet goes for it."
          : `It takes ${rush.goods.map((good) => `${good.count} of ${good.title}`).join(", ")} off the shelf.`}
      </p>
      <ToBuy rows={rush.buy} currency={rush.currency} />
      {rush.displaced.length > 0 && !rush.late_day_known && (
        <p class="trouble">
          What a late day costs is not known, and not counted: <code>late_day</code> under{" "}
          <code>[money]</code> in the shop file says it.
        </p>
      )}
      {rush.left_out > 0 && (
        <p class="quiet">{rush.left_out} pieces that are due later still were not looked at.</p>
      )}
      <p class="quiet">
        {rush.gap > 0
          ? `Neither plan could be better by more than ${(rush.gap * 100).toFixed(1)} %`
          : "Neither plan could be better"}
        : that is proved. Nothing is entered yet.
      </p>
      <button type="submit" form="order" class="large">
        {customer ? `Take it on for ${customer}` : "Take it on"}
      </button>
    </section>
  );
}

function Displaced({ rush }: { rush: RushLeaf }) {
  return (
    <>
      <p class="trouble">
        {rush.displaced.length === 1
          ? "One order leaves too late because of it:"
          : `${rush.displaced.length} orders leave too late because of it:`}
      </p>
      <ul class="rows">
        {rush.displaced.map((each) => (
          <li key={each.order}>
            <span>
              <a href={hrefTo("day", "orders", each.order)}>{each.order}</a> of {each.customer}, due{" "}
              {dayInWords(each.due)}
            </span>
            <strong class="is-stop">
              {dayInWords(each.within)} instead of {dayInWords(each.without)}
            </strong>
          </li>
        ))}
      </ul>
    </>
  );
}
