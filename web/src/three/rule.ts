/** A rule that lies before the thing on the stand, so that the eye has a measure. */

import * as THREE from "three";
import type { Box } from "./buffers";
import { parseColour } from "./colours";
import type { Shown } from "./stand";
import { ruleMarks, type RuleUnit } from "./rule_marks";
import { sizeOf } from "./turning";

export class Rule implements Shown {
  readonly object = new THREE.Group();
  readonly box: Box;
  private readonly lines: THREE.LineSegments<THREE.BufferGeometry, THREE.LineBasicMaterial>;
  private readonly words: THREE.Mesh<THREE.PlaneGeometry, THREE.MeshBasicMaterial>[] = [];

  constructor(around: Box, unit: RuleUnit, ink: string) {
    const size = sizeOf(around);
    const [left, front, floor] = [around[0], around[1] - 0.06 * size, around[2]];
    this.box = [left, front - 0.07 * size, floor, around[3], front, floor];
    const marks = ruleMarks(around[3] - around[0], unit);
    const points = marks.flatMap(({ at, rank }) => {
      const long = [0.03, 0.02, 0.011][rank] as number;
      return [left + at, front, floor, left + at, front - long * size, floor];
    });
    points.push(left, front, floor, left + (marks[marks.length - 1]?.at ?? 0), front, floor);
    const geometry = new THREE.BufferGeometry();
    geometry.setAttribute("position", new THREE.Float32BufferAttribute(points, 3));
    const colour = new THREE.Color(...parseColour(ink));
    this.lines = new THREE.LineSegments(geometry, new THREE.LineBasicMaterial({ color: colour, transparent: true, opacity: 0.6 }));
    this.object.add(this.lines);
    for (const { at, word } of marks) {
      if (word !== null) this.write(word, left + at, front - 0.05 * size, floor, 0.035 * size, ink);
    }
  }

  dispose(): void {
    this.lines.geometry.dispose();
    this.lines.material.dispose();
    for (const word of this.words) {
      word.material.map?.dispose();
      word.material.dispose();
      word.geometry.dispose();
    }
  }

  private write(word: string, x: number, y: number, z: number, height: number, ink: string): void {
    const canvas = document.createElement("canvas");
    const pen = canvas.getContext("2d");
    if (pen === null) return;
    const font = "500 40px system-ui, sans-serif";
    pen.font = font;
    canvas.width = Math.ceil(pen.measureText(word).width) + 8;
    canvas.height = 48;
    pen.font = font;
    pen.fillStyle = ink;
    pen.textAlign = "center";
    pen.textBaseline = "middle";
    pen.fillText(word, canvas.width / 2, 25);
    const texture = new THREE.CanvasTexture(canvas);
    const material = new THREE.MeshBasicMaterial({ map: texture, transparent: true, depthWrite: false, opacity: 0.85 });
    const wide = (height * canvas.width) / canvas.height;
    const plane = new THREE.Mesh(new THREE.PlaneGeometry(wide, height), material);
    // A figure stands in the middle of its mark; the unit after the last one does not count.
    const figure = word.split(" ")[0] ?? word;
    const beyond = (wide * (word.length - figure.length)) / word.length;
    plane.position.set(x + beyond / 2, y, z);
    this.words.push(plane);
    this.object.add(plane);
  }
}
