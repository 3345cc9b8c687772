/** The formed blank from above, coloured by what is left of its thickness. */

import { useMemo } from "preact/hooks";
import { length, unit } from "../state/units";
import { boxOf, readMesh } from "../three/buffers";
import { Legend } from "../three/legend";
import { StandView } from "../three/stand_view";
import { tellingSpan } from "../three/telling";
import { noteOf, useBuffer, useRule, useStand, useSurface } from "../three/use_stand";
import { BOARD_VIEWS, type View } from "../three/views";
import type { FormingView } from "./types";

const VIEWS: readonly View[] = [1, 0].map((i) => BOARD_VIEWS[i] as View);

interface ThicknessMapProps {
  readonly sheath: string;
  readonly edition: string;
  readonly thickness: FormingView["thickness"];
}

export function ThicknessMap({ sheath, edition, thickness }: ThicknessMapProps) {
  const held = useStand();
  const fetched = useBuffer(`sheaths/${encodeURIComponent(sheath)}/solid/blank.bin?shade=thickness`, readMesh, edition);
  const { content: mesh } = fetched;
  const box = useMemo(() => (mesh === null ? null : boxOf(mesh.positions)), [mesh]);
  const span = useMemo(() => (mesh?.values == null ? null : tellingSpan(mesh.values, 0.995)), [mesh]);
  useSurface(held, "blank", mesh, { clay: "--clay-sheet", inside: "--clay-cut", span, plane: null });
  useRule(held, box, unit.value);
  return (
    <section>
      <h2>Thickness after forming</h2>
      <p>
        Of a sheet of {length(thickness.gauge)} the thinnest hundredth keeps less than {length(thickness.thinnest)}, and the thinnest spot{" "}
        {length(thickness.least)}.
      </p>
      <StandView
        held={held}
        views={VIEWS}
        label="The formed blank, coloured by its thickness"
        note={noteOf(fetched, "Fetching the formed sheet …")}
        under={span === null ? null : <Legend title="Thickness" span={span} ends={["thin", "thick"]} range={mesh?.range} />}
      />
    </section>
  );
}
