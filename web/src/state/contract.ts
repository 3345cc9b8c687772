/** What the server says it answers, held against what the page takes it for.
 *
 * `openapi.ts` is made from `web/openapi.json`, which a test of the server keeps true. Where an
 * answer no longer holds what a page reads, the page does not compile.
 */

import type { FormingView } from "../heat/types";
import type { Knives, Tried } from "../knife/beside";
import type { KnifeRecord, SeenKnife, ShelfKnife } from "../knife/types";
import type { Field } from "../record/groups";
import type { Comparison } from "../sheath/compare";
import type { Exact, Preview, SheathRecord } from "../sheath/types";
import type { TimerAnswer } from "../timers/timers";
import type { Job } from "./job";
import type { components } from "./openapi";
import type { Finding, Hello, HistoryRow, Problem, Work } from "./types";

type Answers = components["schemas"];

/** Fails to compile unless every `Answer` may be read as a `Read`. */
type Holds<Answer extends Read, Read> = [Answer, Read];

/** A record's tables are any JSON to the server. */
type Untold<Record> = Omit<Record, "tables">;

/** What is null only where a problem or a newer wish takes its place, which the page looks at first. */
type Told<Answer> = { readonly [Key in keyof Answer]-?: NonNullable<Answer[Key]> };

export type Contract = [
  Holds<Answers["Problem"], Problem>,
  Holds<Answers["Hello"], Hello>,
  Holds<Answers["FindingAnswer"], Finding>,
  Holds<Answers["SavedAnswer"], HistoryRow>,
  Holds<Answers["WorkAnswer"], Work>,
  Holds<Answers["FieldAnswer"], Omit<Field, "default">>,
  Holds<Answers["KnifeOnShelf"], ShelfKnife>,
  Holds<Answers["RecordAnswer"], Untold<KnifeRecord>>,
  Holds<Told<Omit<Answers["KnifeViewAnswer"], "problem">>, Omit<SeenKnife, "problem">>,
  Holds<Answers["SheathAnswer"], Untold<SheathRecord>>,
  Holds<Told<Omit<Answers["PreviewAnswer"], "problem">>, Omit<Preview, "problem">>,
  Holds<Answers["JobAnswer"], Job>,
  Holds<Answers["FormingAnswer"], FormingView>,
  Holds<Answers["TimerAnswer"], TimerAnswer>,
  Holds<Answers["KnivesAnswer"], Knives>,
  Holds<Answers["TriedAnswer"], Tried>,
  Holds<Answers["CompareAnswer"], Comparison>,
  Holds<Answers["ExactAnswer"], Omit<Exact, "fit" | "figures">>,
];
