/** The coarse design that follows a drag: newest wins, at most eight a second. */

import { signal } from "@preact/signals";
import { useEffect, useMemo } from "preact/hooks";
import { call, problemOf, wasStopped } from "../state/api";
import { LatestWins } from "../state/latest";
import type { Problem, Tables } from "../state/types";
import type { Preview, PreviewAnswer } from "./types";

/** One page's wishes overtake each other on the server, not another page's. */
const PAGE = Math.random().toString(36).slice(2);

interface Question {
  readonly sequence: number;
  readonly page: string;
  readonly tables: Tables;
  readonly station: number | null;
  readonly dragging: boolean;
}

export class PreviewLoop {
  readonly preview = signal<Preview | null>(null);
  readonly problem = signal<Problem | null>(null);
  /** Asked and not answered yet: what is shown belongs to earlier settings. */
  readonly behind = signal(false);

  private sequence = 0;
  private readonly loop: LatestWins<Question, PreviewAnswer>;

  constructor(place: string) {
    this.loop = new LatestWins<Question, PreviewAnswer>(
      (question, stop) => call<PreviewAnswer>("POST", `${place}/preview`, question, stop),
      (answer, question) => {
        if (answer.dropped) return; // a newer wish overtook it
        this.problem.value = answer.problem ?? null;
        if (answer.plan && answer.figures) this.preview.value = answer as Preview;
        this.behind.value = question.sequence !== this.sequence;
      },
      (fault, question) => {
        if (wasStopped(fault)) return;
        if (question.sequence !== this.sequence) return;
        this.problem.value = problemOf(fault);
        this.behind.value = false;
      },
    );
  }

  ask(tables: Tables, station: number | null, dragging: boolean): void {
    this.sequence += 1;
    this.behind.value = true;
    this.loop.put({ sequence: this.sequence, page: PAGE, tables, station, dragging });
  }

  end(): void {
    this.loop.end();
  }
}

export function usePreview(place: string): PreviewLoop {
  const loop = useMemo(() => new PreviewLoop(place), [place]);
  useEffect(() => () => loop.end(), [loop]);
  return loop;
}
