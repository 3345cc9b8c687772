import { describe, expect, it } from "vitest";
import { makeClock } from "./clock";

/** Pictures drawn by hand. */
function byHand() {
  let drawn: ((milliseconds: number) => void) | null = null;
  return {
    next: (call: (milliseconds: number) => void) => {
      drawn = call;
      return 1;
    },
    callOff: () => {
      drawn = null;
    },
    draw: (milliseconds: number) => {
      const call = drawn;
      drawn = null;
      call?.(milliseconds);
    },
    asked: () => drawn !== null,
  };
}

describe("the time at the slider", () => {
  it("runs as fast as told, and stops at the end", () => {
    const pictures = byHand();
    const clock = makeClock(10, pictures);
    expect(clock.time.value).toBe(10);
    clock.hasten(20);
    clock.run();
    pictures.draw(1000);
    expect(clock.time.value).toBe(0);
    pictures.draw(1100);
    expect(clock.time.value).toBeCloseTo(2, 9);
    // A tab that slept for a minute goes on as if a quarter of a second had passed.
    pictures.draw(61_100);
    expect(clock.time.value).toBeCloseTo(7, 9);
    pictures.draw(61_350);
    expect(clock.time.value).toBe(10);
    expect(clock.running.value).toBe(false);
    expect(pictures.asked()).toBe(false);
  });

  it("begins again from the start when run at the end, and asks for no picture once halted", () => {
    const pictures = byHand();
    const clock = makeClock(10, pictures);
    clock.goTo(99);
    expect(clock.time.value).toBe(10);
    clock.run();
    expect(clock.time.value).toBe(0);
    clock.halt();
    expect(pictures.asked()).toBe(false);
    clock.goTo(Number.NaN);
    expect(clock.time.value).toBe(0);
  });

  it("does not run where there is nothing to run", () => {
    const pictures = byHand();
    makeClock(0, pictures).run();
    expect(pictures.asked()).toBe(false);
  });
});
