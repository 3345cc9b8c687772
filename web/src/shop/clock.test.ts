import { expect, test } from "vitest";
import { clockOffset, countdown, dayInWords, readyAt, secondsUntil, timeOfDay } from "./clock";

const SERVER = "2026-03-14T08:00:00Z";

test("a device whose clock is wrong counts down rightly", () => {
  const here = Date.parse(SERVER) - 3_600_000;
  const offset = clockOffset(SERVER, here);
  expect(offset).toBe(3_600_000);
  expect(secondsUntil("2026-03-14T08:02:00Z", here, offset)).toBe(120);
  expect(secondsUntil("2026-03-14T07:00:00Z", here, offset)).toBe(0);
});

test("a started second counts until it is over", () => {
  expect(secondsUntil("2026-03-14T08:00:01.200Z", Date.parse(SERVER), 0)).toBe(2);
});

test.each([
  [0, "0:00"],
  [7, "0:07"],
  [750, "12:30"],
  [3725, "1:02:05"],
])("%i seconds are %s", (seconds, words) => {
  expect(countdown(seconds)).toBe(words);
});

test("another day is named", () => {
  const local = (day: number, hour: number): string => new Date(2026, 2, day, hour, 5).toISOString();
  expect(timeOfDay(local(14, 8))).toBe("08:05");
  expect(readyAt(local(14, 16), local(14, 8))).toBe("16:05");
  expect(readyAt(local(16, 9), local(14, 8))).toBe("Mon 09:05");
});

test("a day is said in words, and nonsense as it is", () => {
  expect(dayInWords("2026-03-14", new Date(2026, 0, 5))).toBe("Sat 14 Mar");
  expect(dayInWords("2026-03-14", new Date(2025, 11, 30))).toBe("Sat 14 Mar 2026");
  expect(dayInWords("soon")).toBe("soon");
});
