/** What the server says it answers of the shop, held against what these pages take it for.
 *
 * Where an answer no longer holds what a page reads, the page does not compile.
 */

import type { components } from "../state/openapi";
import type * as read from "./types";

type Answers = components["schemas"];

/** Fails to compile unless every `Answer` may be read as a `Read`. */
type Holds<Answer extends Read, Read> = [Answer, Read];

export type Contract = [
  Holds<Answers["OrderPage"], read.OrderPage>,
  Holds<Answers["OrderRow"], read.OrderRow>,
  Holds<Answers["ShopLeaf"], read.ShopLeaf>,
  Holds<Required<Answers["DayLeaf"]>, read.DayLeaf>,
  Holds<Answers["StockLeaf"], read.StockLeaf>,
  Holds<Required<Answers["ShownShelf"]>, read.ShelfRow>,
  Holds<Answers["Proposal"], read.Proposal>,
  Holds<Required<Answers["BatchList"]>, read.BatchList>,
  Holds<Required<Answers["PieceLeaf"]>, read.PieceLeaf>,
  Holds<Answers["LearnLeaf"], read.LearnLeaf>,
  Holds<Answers["QuoteLeaf"], read.QuoteLeaf>,
  Holds<Answers["SafetyLeaf"], read.SafetyLeaf>,
  Holds<Answers["RushLeaf"], read.RushLeaf>,
  Holds<Answers["Entered"], read.Entered>,
  Holds<Answers["CutRow"], read.CutRow>,
  Holds<Answers["CutterRow"], read.CutterRow>,
  Holds<Answers["HeatLeaf"], read.HeatLeaf>,
];
