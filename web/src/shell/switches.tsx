/** Two switches at the head: mm or inch, and the light one works in. */

import { computed, effect, signal } from "@preact/signals";
import { MoonIcon, SunIcon } from "../look/icons";
import { unit } from "../state/units";

type Look = "light" | "dark" | "as the device";

const look = signal<Look>(readLook());

function readLook(): Look {
  try {
    const kept = localStorage.getItem("chape.look");
    return kept === "light" || kept === "dark" ? kept : "as the device";
  } catch {
    return "as the device";
  }
}

const asked = typeof matchMedia === "undefined" ? null : matchMedia("(prefers-color-scheme: dark)");
const byDevice = signal(asked?.matches ?? false);
asked?.addEventListener("change", (now) => {
  byDevice.value = now.matches;
});

/** Whether the page is dark now. */
export const isDark = computed(() =>
  look.value === "as the device" ? byDevice.value : look.value === "dark",
);

/** Keeps the page in the light that is wanted. Returns how to stop. */
export function keepLook(): () => void {
  return effect(() => {
    document.documentElement.dataset.look = isDark.value ? "dark" : "light";
  });
}

function turn(): void {
  look.value = isDark.value ? "light" : "dark";
  try {
    localStorage.setItem("chape.look", look.value);
  } catch {
    // Not kept: the device's own setting counts next time.
  }
}

export function Switches() {
  const dark = isDark.value;
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
