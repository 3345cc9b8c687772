/** What the bench sees of a file while it is changed: asked for anew with every change, at most
 * eight times a second, the newest wish overtaking the older ones.
 */

import { signal } from "@preact/signals";
import { call, problemOf, Unreached, wasStopped } from "./api";
import { onReturn } from "./events";
import { LatestWins } from "./latest";
import type { Problem, Tables } from "./types";

/** One page's wishes overtake each other on the server, not another page's. */
const PAGE = Math.random().toString(36).slice(2);

export interface Seen {
  readonly sequence: number;
  /** A newer wish overtook this one: nothing else is told. */
  readonly dropped?: boolean;
  readonly problem?: Problem | null;
}

interface Wish extends Readonly<Record<string, unknown>> {
  readonly tables: Tables;
}

export class LiveView<Answer extends Seen> {
  /** The last one that could be made. */
  readonly seen = signal<Answer | null>(null);
  /** Why the newest could not be made. */
  readonly problem = signal<Problem | null>(null);
  /** Asked and not answered yet: what is shown belongs to earlier settings. */
  readonly behind = signal(false);

  private sequence = 0;
  /** The newest wish was not answered, as when the bench stopped over it. */
  private failed = false;
  private last: Wish | null = null;
  private readonly stopHearing: () => void;
  private readonly loop: LatestWins<Wish & { sequence: number }, Answer>;

  /** @param address under `/api/`, that takes a wish and gives an answer */
  constructor(address: string) {
    this.loop = new LatestWins<Wish & { sequence: number }, Answer>(
      (wish, stop) => call<Answer>("POST", address, wish, stop),
      (answer, wish) => this.take(answer, wish.sequence),
      (fault, wish) => {
        if (wasStopped(fault) || wish.sequence !== this.sequence) return;
        if (fault instanceof Unreached) return; // said at the head; asked again when it is back
        this.problem.value = problemOf(fault);
        this.behind.value = false;
        this.failed = true;
      },
    );
    this.stopHearing = onReturn(() => {
      if (this.last && (this.behind.value || this.failed)) this.ask(this.last);
    });
  }

  ask(wish: Wish): void {
    this.last = wish;
    this.sequence += 1;
    this.failed = false;
    this.behind.value = true;
    this.loop.put({ ...wish, sequence: this.sequence, page: PAGE });
  }

  end(): void {
    this.stopHearing();
    this.loop.end();
  }

  private take(answer: Answer, sequence: number): void {
    if (answer.dropped) return;
    this.problem.value = answer.problem ?? null;
    if (!answer.problem) this.seen.value = answer;
    this.behind.value = sequence !== this.sequence;
  }
}
