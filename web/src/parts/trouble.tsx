/** What stands in the way, in a sentence, with what would mend it; in the unit shown. */

import { told } from "../state/sentences";
import type { Problem } from "../state/types";

interface Props {
  readonly problem: Problem | null;
  /** Said behind it. */
  readonly more?: string | false;
}

export function Trouble({ problem, more }: Props) {
  if (problem === null) return null;
  return (
    <p class="problem" role="alert">
      <strong>{told(problem.sentence)}.</strong>
      {problem.mend && ` ${told(problem.mend)}.`}
      {more && ` ${more}`}
    </p>
  );
}
