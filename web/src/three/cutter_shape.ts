/** A cutter in its holder, standing where it is. */

import * as THREE from "three";
import { cutterOutline } from "./cutter_outline";
import type { Cutter } from "./preview";
import type { Shown } from "./stand";
import { spun } from "./spun";
import { Surface } from "./surface";

export class CutterShape implements Shown {
  readonly object = new THREE.Group();
  /** It comes and goes: the whole is fitted in without it. */
  readonly box = null;
  private readonly flutes: Surface;
  private readonly shank: Surface;

  constructor(cutter: Cutter) {
    const outline = cutterOutline(cutter);
    this.flutes = new Surface(spun(outline.flutes));
    this.shank = new Surface(spun(outline.shank));
    this.shank.fade(0.45);
    this.object.add(this.flutes.object, this.shank.object);
  }

  paint(flutes: string, shank: string): void {
    this.flutes.paint(flutes, flutes);
    this.shank.paint(shank, shank);
  }

  standAt(place: readonly [number, number, number]): void {
    this.object.position.set(...place);
  }

  dispose(): void {
    this.flutes.dispose();
    this.shank.dispose();
  }
}
