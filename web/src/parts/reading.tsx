/** One figure, large enough to read from the machine, with a bar that shows where its limit is. */

export type Mood = "good" | "stop" | "plain";

export interface ReadingProps {
  readonly label: string;
  readonly value: string;
  readonly note?: string | null;
  /** Where the figure and its limit lie on the bar, 0 to 1. */
  readonly share?: number | null;
  readonly limit?: number | null;
  readonly mood?: Mood;
  /** Takes the whole width. */
  readonly wide?: boolean;
}

export function Reading({ label, value, note = null, share = null, limit = null, mood = "plain", wide = false }: ReadingProps) {
  return (
    <div class={`reading reading-${mood}${wide ? " reading-wide" : ""}`}>
      <dt>{label}</dt>
      <dd>
        <span class="reading-value">{value}</span>
        {share === null ? null : (
          <span class="gauge" aria-hidden="true">
            <span class="gauge-fill" style={{ width: `${100 * bounded(share)}%` }} />
            {limit === null ? null : <span class="gauge-limit" style={{ left: `${100 * bounded(limit)}%` }} />}
          </span>
        )}
        {note === null ? null : <span class="reading-note">{note}</span>}
      </dd>
    </div>
  );
}

function bounded(share: number): number {
  return Number.isFinite(share) ? Math.min(1, Math.max(0, share)) : 0;
}
