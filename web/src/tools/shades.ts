/** What colours can stand for, in words. */

export type Shade = "clearance" | "thickness" | "leftover";

export interface ShadeWords {
  readonly button: string;
  readonly title: string;
  readonly ends: readonly [string, string];
}

export const SHADES: Record<Shade, ShadeWords> = {
  clearance: { button: "Room to the knife", title: "Room between knife and sheath", ends: ["touching", "roomy"] },
  thickness: { button: "Thickness", title: "Thickness after forming", ends: ["thin", "thick"] },
  leftover: { button: "Left on", title: "Left on by the cutters", ends: ["cut too deep", "left standing"] },
};
