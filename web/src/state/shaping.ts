/** What is shown of a record and changed on the page, step by step. */

import { signal } from "@preact/signals";
import { FurtherBack } from "./further_back";
import type { Shape } from "./saving";
import { same, withValue } from "./tables";
import type { Line, Tables, Value } from "./types";
import { Steps } from "./undo";

export abstract class Shaping {
  readonly tables = signal<Tables>({});
  readonly outline = signal<Line | null>(null);
  /** Counts what happened: who reads it is drawn anew. */
  readonly turns = signal(0);

  protected steps: Steps<Shape> | null = null;
  protected readonly far: FurtherBack;
  /** The outline that is on the disk; sent along only when another one is shown. */
  protected drawn: Line | null = null;

  protected constructor(place: string) {
    this.far = new FurtherBack(place);
  }

  /** Shows the present step, and sees to it that it is kept. */
  protected abstract show(): void;

  /** Changes one value. Changes of the same stroke are taken back as one. */
  change(path: string, value: Value | undefined, stroke: string | null = null): void {
    this.replace(withValue(this.tables.value, path, value), stroke);
  }

  replace(tables: Tables, stroke: string | null = null): void {
    if (!this.steps || same(tables, this.tables.value)) return;
    this.push({ ...this.steps.now, tables }, stroke);
  }

  /** The outline a drawing gives, from which one may drag. */
  knowOutline(line: Line): void {
    if (!this.steps || this.drawn) return;
    this.drawn = line;
    this.steps.each((shape) => (shape.outline ? shape : { ...shape, outline: line }));
    this.outline.value = this.steps.now.outline;
  }

  changeOutline(line: Line, stroke: string | null = null): void {
    if (this.steps) this.push({ ...this.steps.now, outline: line }, stroke);
  }

  protected push(shape: Shape, stroke: string | null): void {
    this.far.branch();
    this.steps?.push(shape, stroke);
    this.show();
  }

  /** The drag is over. */
  lift(): void {
    this.steps?.lift();
  }

  protected unsaved(shape: Shape): { tables: Tables; outline?: Line } {
    const { tables, outline } = shape;
    return outline === null || outline === this.drawn ? { tables } : { tables, outline };
  }
}
