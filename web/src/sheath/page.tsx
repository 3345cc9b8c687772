import { TakenOff } from "../knife/taken_off";
import { ChooseSheath } from "../parts/choose_sheath";
import type { PageProps } from "../shell/route";
import { Compare } from "./compare";
import { OneSheath } from "./one";
import "../parts/parts.css";
import "../knife/knife.css";
import "./sheath.css";

/** A sheath: being designed, or held beside another. */
export default function SheathPage({ name, rest }: PageProps) {
  if (!name) {
    return (
      <>
        <ChooseSheath station="sheath" title="Sheath" />
        <TakenOff shelf="sheaths" word="sheath" again={null} />
      </>
    );
  }
  const [word, other] = rest;
  if (word === "beside") return <Compare key={`${name} ${other}`} one={name} other={other ?? null} />;
  return <OneSheath key={name} name={name} />;
}
