/** A pin stuck in at a place, its point where the place is. */

import type { Shown } from "./stand";
import { spun } from "./spun";
import { Surface } from "./surface";

export class Pin implements Shown {
  readonly box = null;
  private readonly surface: Surface;

  /** @param size of the whole that is shown, mm: the pin is seen beside it */
  constructor(at: readonly [number, number, number], size: number, colour: string) {
    const [height, head] = [0.09 * size, 0.014 * size];
    const round = Array.from({ length: 9 }, (_, i) => {
      const angle = (Math.PI * i) / 8;
      return [head * Math.sin(angle), height - head * Math.cos(angle)] as const;
    });
    this.surface = new Surface(spun([[0, 0], [0.25 * head, 0.3 * height], [0.25 * head, height - head], ...round], 20));
    this.surface.paint(colour, colour);
    this.surface.object.position.set(...at);
  }

  get object(): Surface["object"] {
    return this.surface.object;
  }

  dispose(): void {
    this.surface.dispose();
  }
}
