/** Another device at the door: the code from the terminal lets it in. */

import { useState } from "preact/hooks";
import { pair } from "../state/server";

export function Pairing() {
  const [code, setCode] = useState("");
  const [device, setDevice] = useState(guessDevice());
  const [wrong, setWrong] = useState<string | null>(null);
  const [busy, setBusy] = useState(false);
  const digits = code.replace(/\D/g, "");

  async function come(event: Event): Promise<void> {
    event.preventDefault();
    setBusy(true);
    setWrong(await pair(digits, device.trim() || "a device"));
    setBusy(false);
  }

  return (
    <main class="door">
      <form class="door-card" onSubmit={(event) => void come(event)}>
        <h1>Pair this device</h1>
        <p>
          The terminal that runs <code>chape bench --lan</code> shows eight digits. They are good
          once, for ten minutes.
        </p>
        <label>
          <span>Code</span>
          <input
            class="code"
            value={code}
            inputMode="numeric"
            autocomplete="one-time-code"
            placeholder="0000 0000"
            maxLength={11}
            aria-invalid={wrong !== null}
            aria-describedby="wrong"
            onInput={(event) => setCode(event.currentTarget.value)}
          />
        </label>
        <label>
          <span>Call it</span>
          <input
            value={device}
            maxLength={40}
            onInput={(event) => setDevice(event.currentTarget.value)}
          />
        </label>
        <p class="wrong" id="wrong" role="alert">
          {wrong}
        </p>
        <button type="submit" class="brass large" disabled={digits.length !== 8 || busy}>
          {busy ? "Asking …" : "Come in"}
        </button>
        <p class="quiet">
          {location.protocol === "https:"
            ? "The line is encrypted."
            : "On plain http anyone on this network can read along, the code too. Pair on a network you trust, or start the bench with --cert and --key."}
        </p>
      </form>
    </main>
  );
}

function guessDevice(): string {
  const agent = navigator.userAgent;
  if (/iPhone|Android.*Mobile/.test(agent)) return "phone at the bench";
  if (/iPad|Android/.test(agent)) return "tablet at the bench";
  return "computer at the bench";
}
