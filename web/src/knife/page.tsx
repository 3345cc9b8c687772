import type { PageProps } from "../shell/route";
import { OneKnife } from "./one";
import { Shelf } from "./shelf";
import "../parts/parts.css";
import "./knife.css";

/** The shelf of knives, or one of them. */
export default function KnivesPage({ name }: PageProps) {
  return name ? <OneKnife key={name} name={name} /> : <Shelf />;
}
