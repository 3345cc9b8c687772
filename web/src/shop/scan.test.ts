import { expect, test } from "vitest";
import { readScanned } from "./scan";

test("labels lead to what they are on", () => {
  expect(readScanned(" 2026-0042-1\n")).toEqual({ kind: "piece", serial: "2026-0042-1" });
  expect(readScanned("2026-0042")).toEqual({ kind: "order", reference: "2026-0042" });
  expect(readScanned("b7")).toEqual({ kind: "batch", batch: "B7" });
  expect(readScanned("B7.2")).toEqual({ kind: "batch", batch: "B7" });
});

test.each(["", "42", "2026", "B", "B7.", "https://somewhere", "2026-0042-1-1"])("%s is no label", (text) => {
  expect(readScanned(text)).toBeNull();
});
