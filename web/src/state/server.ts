/** Who answers: its version, its folder, and whether this device may come in. */

import { signal } from "@preact/signals";
import { call, problemOf, Refusal } from "./api";
import type { Hello } from "./types";

export const hello = signal<Hello | null>(null);

const STRANGER: Hello = {
  version: "",
  lan: true,
  paired: false,
  device: null,
  folder_name: "",
  has_shop: false,
};

export async function meetServer(): Promise<void> {
  try {
    hello.value = await call<Hello>("GET", "hello");
  } catch (fault) {
    if (fault instanceof Refusal && fault.status === 403) hello.value = STRANGER;
  }
}

/** Asks to come in. Returns what is wrong, or null when the device is paired. */
export async function pair(code: string, device: string): Promise<string | null> {
  try {
    await call("POST", "pair", { code, device });
  } catch (fault) {
    const { sentence, mend } = problemOf(fault);
    return mend ? `${sentence}. ${mend}.` : `${sentence}.`;
  }
  location.reload(); // everything is asked for anew, now that it is answered
  return null;
}
