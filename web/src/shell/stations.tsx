import { BladeIcon, CutterIcon, DayIcon, FlameIcon, MouldIcon, SheathIcon } from "../look/icons";
import { hrefTo, route, sheathOnBench, type StationName } from "./route";

const ROW: readonly { name: StationName; word: string; Icon: typeof BladeIcon }[] = [
  { name: "knives", word: "Knives", Icon: BladeIcon },
  { name: "sheath", word: "Sheath", Icon: SheathIcon },
  { name: "tools", word: "Tools", Icon: MouldIcon },
  { name: "cut", word: "Cut", Icon: CutterIcon },
  { name: "heat", word: "Heat", Icon: FlameIcon },
  { name: "day", word: "Day", Icon: DayIcon },
];

/** The stations in the order of work: left edge on a wide screen, foot of a phone. */
export function StationBar() {
  const here = route.value.station;
  return (
    <nav class="stations" aria-label="Stations">
      {ROW.map(({ name, word, Icon }) => (
        <a
          key={name}
          href={linkTo(name)}
          class="station"
          aria-current={here === name ? "page" : undefined}
        >
          <Icon />
          <span>{word}</span>
        </a>
      ))}
    </nav>
  );
}

function linkTo(name: StationName): string {
  const sheath = sheathOnBench.value;
  const ofSheath = name !== "knives" && name !== "day";
  return ofSheath && sheath ? hrefTo(name, sheath) : hrefTo(name);
}
