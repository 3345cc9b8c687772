import type { PageProps } from "../shell/route";
import { Beside } from "./beside";
import { OneKnife } from "./one";
import { Shelf } from "./shelf";
import "../parts/parts.css";
import "./knife.css";

/** The shelf of knives, or one of them. */
export default function KnivesPage({ name, rest }: PageProps) {
  if (!name) return <Shelf />;
  const [way, other] = rest;
  if (way === "beside" || way === "in") {
    return <Beside key={name} name={name} way={way} other={other ?? null} />;
  }
  return <OneKnife key={name} name={name} />;
}
