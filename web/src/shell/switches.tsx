/** Two switches at the head: mm or inch, and the light one works in. */

import { signal } from "@preact/signals";
import { MoonIcon, SunIcon } from "../look/icons";
import { unit } from "../state/units";

type Look = "light" | "dark" | "as the device";

export const look = signal<Look>(readLook());

function readLook(): Look {
  try {
    const kept = localStorage.getItem("chape.look");
    return kept === "light" || kept === "dark" ? kept : "as the device";
  } catch {
    return "as the device";
  }
}

export function applyLook(): void {
  const root = document.documentElement;
  if (look.value === "as the device") delete root.dataset.look;
  else root.dataset.look = look.value;
}

export function isDark(): boolean {
  if (look.value !== "as the device") return look.value === "dark";
  return matchMedia("(prefers-color-scheme: dark)").matches;
}

function turn(): void {
  look.value = isDark() ? "light" : "dark";
  try {
    localStorage.setItem("chape.look", look.value);
  } catch {
    // Not kept: the device's own setting counts next time.
  }
  applyLook();
}

export function Switches() {
  const dark = isDark();
  return (
    <div class="switches">
      <fieldset class="pair">
        <legend class="unseen">Lengths in</legend>
        {(["mm", "inch"] as const).map((each) => (
          <button
            key={each}
            type="button"
            aria-pressed={unit.value === each}
            onClick={() => {
              unit.value = each;
            }}
          >
            {each}
          </button>
        ))}
      </fieldset>
      <button
        type="button"
        class="round"
        onClick={turn}
        aria-label={dark ? "Light page" : "Dark page"}
        title={dark ? "Light page" : "Dark page"}
      >
        {dark ? <SunIcon /> : <MoonIcon />}
      </button>
    </div>
  );
}
