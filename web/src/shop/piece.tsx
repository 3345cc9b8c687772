/** One piece, reached by its label: how far it is, its fit, what to do with it. */

import type { ComponentChildren } from "preact";
import { hrefTo } from "../shell/route";
import { call } from "../state/api";
import { useAsked, useDoing } from "./asked";
import { dayInWords, timeOfDay } from "./clock";
import { FitForm } from "./fit_form";
import type { DrawerProps } from "./page";
import { Readings, SureKey, Trouble, Waiting } from "./parts";
import type { FitRow, PieceLeaf, ShopLeaf, Ticked } from "./types";

const WAY = [
  "waiting",
  "batched",
  "formed",
  "trimmed",
  "folded",
  "closed",
  "passed",
  "packed",
  "shipped",
];

export function PiecePage({ rest }: DrawerProps) {
  const [serial = ""] = rest;
  const path = `shop/pieces/${encodeURIComponent(serial)}`;
  const piece = useAsked<PieceLeaf>(path);
  const shop = useAsked<ShopLeaf>("shop").value;
  const { busy, problem, run } = useDoing();
  const now = piece.value;
  if (now === null) return piece.problem ? <Trouble problem={piece.problem} /> : <Waiting />;

  const put = (leaf: PieceLeaf | null): void => {
    if (leaf) piece.put(leaf);
  };
  const move = async (state: string): Promise<void> =>
    put(await run(() => call("POST", `${path}/move`, { state })));
  const tick = async (task: string): Promise<void> => {
    if (await run(() => call<Ticked>("POST", "shop/plan/tick", { task, took: null }))) piece.again();
  };
  return (
    <section class="leaf">
      <p class="quiet">
        Piece of <a href={hrefTo("day", "orders", now.order)}>order {now.order}</a>
        {now.batch && (
          <>
            , in batch <a href={hrefTo("day", "batches", now.batch)}>{now.batch}</a>
          </>
        )}
      </p>
      <h1>{now.serial}</h1>
      <ol class="way" aria-label={`It is ${now.state}`}>
        {WAY.map((state) => (
          <li
            key={state}
            class={WAY.indexOf(state) <= WAY.indexOf(now.state) ? "is-past" : ""}
            aria-current={state === now.state ? "step" : undefined}
          >
            {state}
          </li>
        ))}
      </ol>
      {!WAY.includes(now.state) && <p class="trouble">It is {now.state}.</p>}
      {now.replacement && (
        <p>
          <a href={hrefTo("day", "piece", now.replacement)}>{now.replacement}</a> takes its place.
        </p>
      )}
      <Readings
        rows={[
          ["What", now.title],
          ["Colour", `${now.colour}, ${now.hand} hand`],
          ["Clip", now.clip ?? "none"],
          ["Marks", now.marks || "none"],
          ["Hold wanted", now.hold === null ? "as it comes" : `${now.hold} N`],
          ["Due", dayInWords(now.due)],
          ["Customer", now.customer],
        ]}
      />
      <Trouble problem={problem} />
      {now.next_task && (
        <section class="card">
          <h2>Next: {now.next_title}</h2>
          {!now.next_task.startsWith(now.serial) && (
            <p>It still lies on its blank, with others: {now.next_task.split(".").slice(0, 2).join(".")}.</p>
          )}
          <SureKey
            kind="brass"
            large
            words="It is done"
            sure="Yes, it is done"
            disabled={busy}
            act={() => void tick(now.next_task as string)}
          />
        </section>
      )}
      {now.fits.length > 0 && <Fits rows={now.fits} />}
      {now.may_fit && shop && (
        <Again key={now.fits.length} passed={now.fits.at(-1)?.passed ?? false}>
          <FitForm path={`${path}/fit`} questions={shop.questions} put={put} />
        </Again>
      )}
      {now.may_move_to.length > 0 && (
        <details>
          <summary>It is somewhere else than the plan thinks</summary>
          <div class="keys">
            {now.may_move_to.map((state) => (
              <SureKey
                key={state}
                kind={state === "scrapped" ? "stop" : "brass"}
                words={state}
                sure={state === "scrapped" ? "Yes, scrap it" : `Yes, it is ${state}`}
                disabled={busy}
                act={() => void move(state)}
              />
            ))}
          </div>
          <p class="quiet">A piece goes forward only. A scrapped one is replaced by a new one.</p>
        </details>
      )}
    </section>
  );
}

/** What has passed is tried once more only where someone asks for it. */
function Again({ passed, children }: { passed: boolean; children: ComponentChildren }) {
  if (!passed) return <>{children}</>;
  return (
    <details>
      <summary>Try it once more</summary>
      {children}
    </details>
  );
}

function Fits({ rows }: { rows: readonly FitRow[] }) {
  return (
    <section>
      <h2>Fit records</h2>
      <ul class="rows">
        {rows.map((fit) => (
          <li key={fit.at}>
            <span class={fit.passed ? "is-good" : "is-stop"}>
              {fit.passed ? "passed" : `not passed: ${fit.faults.join(", ")}`}
            </span>
            <span>{fit.hold === null ? "no scale used" : `${fit.hold} N`}</span>
            <span class="quiet">
              {dayInWords(fit.at.slice(0, 10))} {timeOfDay(fit.at)} {fit.note}
            </span>
          </li>
        ))}
      </ul>
    </section>
  );
}
