/** Small parts that every drawer of the shop uses. */

import type { ComponentChildren } from "preact";
import { useEffect, useState } from "preact/hooks";

export { Trouble } from "../parts/trouble";

interface LabelProps {
  readonly words: string;
  readonly unit?: string;
  readonly children: ComponentChildren;
}

export function Labelled({ words, unit, children }: LabelProps) {
  return (
    <label class="labelled">
      <span>
        {words}
        {unit ? <em> {unit}</em> : null}
      </span>
      {children}
    </label>
  );
}

interface SureProps {
  readonly words: string;
  /** What the second press says; it does it. */
  readonly sure: string;
  readonly act: () => void;
  readonly kind?: "brass" | "stop";
  readonly large?: boolean;
  readonly disabled?: boolean;
  readonly name?: string;
}

const ASKED_FOR_MS = 8000;

/** A key that asks before it does what cannot be taken back. */
export function SureKey({ words, sure, act, kind, large, disabled, name }: SureProps) {
  const [asked, setAsked] = useState(false);
  useEffect(() => {
    if (!asked) return undefined;
    const timer = window.setTimeout(() => setAsked(false), ASKED_FOR_MS);
    return () => window.clearTimeout(timer);
  }, [asked]);
  const look = [kind ?? "", large ? "large" : ""].join(" ");
  if (!asked) {
    return (
      <button
        type="button"
        class={look}
        disabled={disabled ?? false}
        aria-label={name}
        onClick={() => setAsked(true)}
      >
        {words}
      </button>
    );
  }
  return (
    <span class="sure" role="group" aria-label={sure}>
      <button
        type="button"
        class={look}
        ref={(key) => key?.focus()}
        onClick={() => {
          setAsked(false);
          act();
        }}
      >
        {sure}
      </button>
      <button type="button" class={large ? "large" : ""} onClick={() => setAsked(false)}>
        Not yet
      </button>
    </span>
  );
}

/** A list of plain readings: what, and how it is. */
export function Readings({ rows }: { rows: readonly (readonly [string, ComponentChildren])[] }) {
  return (
    <dl class="plain-readings">
      {rows.map(([title, value]) => (
        <div key={title}>
          <dt>{title}</dt>
          <dd>{value}</dd>
        </div>
      ))}
    </dl>
  );
}

export function Waiting() {
  return <p class="waiting">Looking it up …</p>;
}
