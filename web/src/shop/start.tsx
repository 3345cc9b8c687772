/** Where there is no shop yet. */

import { call } from "../state/api";
import { useDoing } from "./asked";
import { Trouble } from "./parts";
import type { ShopLeaf } from "./types";

export function StartShop({ started }: { started: () => void }) {
  const { busy, problem, run } = useDoing();
  const begin = async (kind: "new" | "demo"): Promise<void> => {
    if (await run(() => call<ShopLeaf>("POST", "shop", { kind }))) started();
  };
  return (
    <section class="empty">
      <h1>There is no shop in this folder</h1>
      <p>
        A shop keeps orders, stock, batches and the plan of the day. It begins with a file,{" "}
        <code>shop.toml</code>, in which you write your day, what your hours cost and what you have
        tools for.
      </p>
      <div class="keys">
        <button type="button" class="brass large" disabled={busy} onClick={() => void begin("new")}>
          Start a shop here
        </button>
        <button type="button" class="large" disabled={busy} onClick={() => void begin("demo")}>
          Start the invented demo shop
        </button>
      </div>
      <p class="quiet">
        The demo shop has a month of made-up history and orders, to try everything in. Take a folder
        of its own for it: a shop is not taken away again from here.
      </p>
      <Trouble problem={problem} />
    </section>
  );
}
