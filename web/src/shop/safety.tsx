/** What can hurt, station by station. */

import { useAsked } from "./asked";
import { Trouble, Waiting } from "./parts";
import { told } from "../state/sentences";
import { StationMark } from "./station_mark";
import type { SafetyLeaf } from "./types";

export function Safety() {
  const leaf = useAsked<SafetyLeaf>("shop/safety");
  if (leaf.value === null) return leaf.problem ? <Trouble problem={leaf.problem} /> : <Waiting />;
  return (
    <section>
      <div class="title-row">
        <h1>Look after yourself</h1>
        <a class="key" target="_blank" href="/api/shop/papers/safety.pdf">
          Print the cards
        </a>
      </div>
      <p>{leaf.value.first}</p>
      <div class="cards">
        {leaf.value.stations.map((station) => (
          <section class="card safety" key={station.name}>
            <h2>
              <StationMark station={station.name} />
              {station.title}
            </h2>
            <ul>
              {station.cautions.map((words) => (
                <li key={words}>{told(words)}</li>
              ))}
            </ul>
          </section>
        ))}
      </div>
    </section>
  );
}
