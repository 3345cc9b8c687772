/** What colours can stand for, in words. */

export type Shade = "clearance" | "thickness" | "leftover";

export interface ShadeWords {
  readonly button: string;
  readonly title: string;
  readonly ends: readonly [string, string];
  /** What is high is dark: where most is well, and low. */
  readonly highIsDark: boolean;
  /** Share of the figures that the scale reaches up to. */
  readonly high: number;
}

export const SHADES: Record<Shade, ShadeWords> = {
  clearance: { button: "Room to the knife", title: "Room between knife and sheath", ends: ["touching", "roomy"], high: 0.92, highIsDark: false },
  thickness: { button: "Thickness", title: "Thickness after forming", ends: ["thin", "thick"], high: 0.995, highIsDark: false },
  leftover: { button: "Left on", title: "Left on by the cutters", ends: ["cut too deep", "left standing"], high: 0.995, highIsDark: true },
};
