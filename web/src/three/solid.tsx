/** One shape on a stand of its own: the knife on its page, say. */

import { useMemo, useState } from "preact/hooks";
import { unit } from "../state/units";
import { boxOf, readMesh } from "./buffers";
import { CutOpen, type Opening, planeOf } from "./cut_open";
import { StandView } from "./stand_view";
import { noteOf, useBuffer, useRule, useStand, useSurface } from "./use_stand";
import { KNIFE_VIEWS, type View } from "./views";

export interface SolidProps {
  /** Under `/api/`, of a mesh buffer; null: nothing to show yet. */
  readonly url: string | null;
  /** What is seen, for those who don't see it. */
  readonly label: string;
  /** Fetched anew when this changes: the record's version. */
  readonly version?: unknown;
  readonly views?: readonly View[];
  /** The name of its colour in the style sheet. */
  readonly clay?: string;
}

export function Solid({ url, label, version = 0, views = KNIFE_VIEWS, clay = "--clay-steel" }: SolidProps) {
  const held = useStand();
  const [opening, setOpening] = useState<Opening | null>(null);
  const shown = useBuffer(url, readMesh, version);
  const box = useMemo(() => (shown.content === null ? null : boxOf(shown.content.positions)), [shown.content]);
  useSurface(held, "solid", shown.content, { clay, inside: "--clay-cut", span: null, plane: planeOf(opening, box) });
  useRule(held, box, unit.value);
  const note = noteOf(shown, "Fetching the shape …");
  return (
    <StandView held={held} views={views} label={label} note={note}>
      <CutOpen opening={opening} box={box} change={setOpening} />
    </StandView>
  );
}
