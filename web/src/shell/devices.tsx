/** Who else may come in, how to let one in, and how to shut one out. */

import { useEffect, useState } from "preact/hooks";
import { when } from "../record/history";
import { call, problemOf } from "../state/api";
import { hello } from "../state/server";
import "./devices.css";

interface Device {
  readonly id: string;
  readonly name: string;
  /** Milliseconds since 1970. */
  readonly paired: number;
  readonly seen: number | null;
  /** The one this page is shown on. */
  readonly this: boolean;
}

export function Devices() {
  const [devices, setDevices] = useState<readonly Device[] | null>(null);
  const [wrong, setWrong] = useState<string | null>(null);
  const failed = (fault: unknown): void => setWrong(problemOf(fault).sentence);
  const read = (): void => {
    call<Device[]>("GET", "devices").then(setDevices, failed);
  };
  useEffect(read, []);
  const shutOut = async (id: string): Promise<void> => {
    await call("DELETE", `devices/${id}`).catch(failed);
    read();
  };
  const own = !hello.value?.device;
  return (
    <section class="sheet devices">
      <h1>Paired devices</h1>
      {wrong && (
        <p class="wrong" role="alert">
          {wrong}.
        </p>
      )}
      {own && <LetIn failed={failed} />}
      {devices?.length === 0 && <p>No other device has been paired.</p>}
      <ul class="rows">
        {devices?.map((each) => (
          <li key={each.id}>
            <span>
              <strong>{each.name}</strong>
              {each.this && <em> (this one)</em>}{" "}
              <span class="quiet">
                last here {when(each.seen ?? each.paired)}, paired {when(each.paired)}
              </span>
            </span>
            {(own || each.this) && (
              <button
                type="button"
                aria-label={`Shut out ${each.name}`}
                onClick={() => void shutOut(each.id)}
              >
                Shut out
              </button>
            )}
          </li>
        ))}
      </ul>
      <p class="quiet">
        A device stays paired for thirty days. Shut out one that was lost or lent: it is out at once.
      </p>
    </section>
  );
}

/** The way in: an address for the device, and a code that only who sees the terminal can read. */
function LetIn({ failed }: { failed: (fault: unknown) => void }) {
  const [doors, setDoors] = useState<readonly string[]>([]);
  const [said, setSaid] = useState("");
  useEffect(() => {
    call<string[]>("GET", "doors").then(setDoors, failed);
  }, []);
  const newCode = async (): Promise<void> => {
    try {
      await call("POST", "pair/code");
      setSaid("A code stands on the terminal. It is good once, for ten minutes.");
    } catch (fault) {
      failed(fault);
    }
  };
  return (
    <section class="let-in">
      <h2>Let another one in</h2>
      <ol>
        <li>
          On a phone of your network, point the camera at the code here, or open its address.
          <div class="doors">
            {doors.map((door, number) => (
              <figure key={door}>
                <img src={`/api/doors/${number}.svg`} alt={`Code for ${door}`} />
                <figcaption>{door}</figcaption>
              </figure>
            ))}
          </div>
        </li>
        <li>
          Type the eight digits there that the terminal of this bench shows.
          <div class="keys">
            <button type="button" onClick={() => void newCode()}>
              Put a code on the terminal
            </button>
            <span role="status">{said}</span>
          </div>
        </li>
      </ol>
    </section>
  );
}
