import { expect, it } from "vitest";
import { HEARD_FOR, isHeard, secondsLeft } from "./timers";
import { secondsTyped } from "./typed";

it("a time is typed in minutes or with colons; what is no time is none", () => {
  expect(["2", "2.5", "2,5", "2:30", "1:02:30", " 0:05 "].map(secondsTyped)).toEqual([120, 150, 150, 150, 3750, 5]);
  expect(["", "0", "0:00", "-1", "2:60", "1:60:00", "two", "1e9", "1441", "2:3"].map(secondsTyped)).toEqual(Array(10).fill(null));
});

it("a timer counts down to nothing, is heard for ten minutes, then only seen", () => {
  const timer = { id: "a", title: "Heat", seconds: 10, ends: 1_000_000 };
  expect(secondsLeft(timer, 990_001)).toBe(10);
  expect(secondsLeft(timer, 1_000_500)).toBe(0);
  expect([999_999, 1_000_000, 999_999 + HEARD_FOR, 1_000_000 + HEARD_FOR].map((now) => isHeard(timer, now))).toEqual([false, true, true, false]);
});
