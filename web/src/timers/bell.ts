/** A bell of three struck notes, made of nothing but sine waves; a browser lets it sound after a touch. */

import { signal } from "@preact/signals";

/** The browser holds the bell until the page is touched once. */
export const bellHeld = signal(false);

/** Notes in Hz: a fourth and an octave, that carry over a spindle without shrieking. */
const NOTES = [660, 880, 1320] as const;
const NOTE_SECONDS = 0.22;
const EVERY = 1600;

let context: AudioContext | null = null;
let striking = 0;
/** Strikes laid down beforehand, by the moment they are for, ms: a page in the background ticks late. */
const laidDown = new Map<number, readonly OscillatorNode[]>();

/** Have the browser allow sound at the first touch or key anywhere. */
export function readyBell(): () => void {
  const touched = (): void => {
    context ??= makeContext();
    void context?.resume().then(() => {
      bellHeld.value = context?.state !== "running" && striking !== 0;
    });
  };
  addEventListener("pointerdown", touched, { passive: true });
  addEventListener("keydown", touched);
  return () => {
    removeEventListener("pointerdown", touched);
    removeEventListener("keydown", touched);
    ring(false);
    laidDown.clear();
    void context?.close();
    context = null;
  };
}

/** Ring until told otherwise. */
export function ring(on: boolean): void {
  if (on && striking === 0) {
    strike();
    striking = window.setInterval(strike, EVERY);
  }
  if (!on && striking !== 0) {
    window.clearInterval(striking);
    striking = 0;
    bellHeld.value = false;
  }
}

/** Lay down a strike for each moment to come, and take up those no longer wanted. All ms. */
export function layDown(moments: readonly number[], now: number): void {
  for (const [moment, notes] of laidDown) {
    if (moments.includes(moment)) continue;
    if (moment > now) for (const note of notes) note.stop();
    laidDown.delete(moment);
  }
  if (context?.state !== "running") return;
  for (const moment of moments) {
    if (moment > now && !laidDown.has(moment)) laidDown.set(moment, notesOf(context, (moment - now) / 1000));
  }
}

function strike(): void {
  // A browser refuses, and complains, before the page was touched once.
  if (navigator.userActivation?.hasBeenActive) navigator.vibrate?.([180, 90, 180]);
  context ??= makeContext();
  if (context?.state !== "running") {
    bellHeld.value = true;
    return;
  }
  bellHeld.value = false;
  notesOf(context, 0);
}

function notesOf(on: AudioContext, after: number): readonly OscillatorNode[] {
  return NOTES.map((note, i) => sound(on, note, after + i * NOTE_SECONDS));
}

function sound(on: AudioContext, note: number, after: number): OscillatorNode {
  const start = on.currentTime + after;
  const [tone, loudness] = [on.createOscillator(), on.createGain()];
  tone.frequency.value = note;
  loudness.gain.setValueAtTime(0, start);
  loudness.gain.linearRampToValueAtTime(0.5, start + 0.012);
  loudness.gain.exponentialRampToValueAtTime(0.001, start + 3 * NOTE_SECONDS);
  tone.connect(loudness).connect(on.destination);
  tone.start(start);
  tone.stop(start + 3 * NOTE_SECONDS);
  return tone;
}

function makeContext(): AudioContext | null {
  try {
    return new AudioContext();
  } catch {
    return null; // No sound here; what has rung is still seen.
  }
}
