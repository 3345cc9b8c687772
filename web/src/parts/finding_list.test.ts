import { describe, expect, it } from "vitest";
import { measureOf } from "./finding_list";

const finding = { code: "a", severity: "warning", sentence: "Two rivets stand apart.", unit: "mm" } as const;

describe("what was measured", () => {
  it("is told with its limit, unless the sentence tells it", () => {
    expect(measureOf({ ...finding, measured: 41.2, limit: 38 })).toBe("41.20 mm; the limit is 38.00 mm");
    expect(measureOf({ ...finding, sentence: "They stand 41.2 mm apart.", measured: 41.2, limit: 38 })).toBeNull();
    expect(measureOf({ ...finding, sentence: "Measured to 0.4 mm, it comes this near.", measured: -0.1, limit: 0.3 })).toBe(
      "−0.10 mm; the limit is 0.30 mm",
    );
    expect(measureOf({ ...finding, measured: 3, limit: null })).toBeNull();
    expect(measureOf({ ...finding, measured: 3, limit: 4, unit: "" })).toBeNull();
  });

  it("is as fine as it takes to tell it from its limit", () => {
    expect(measureOf({ ...finding, measured: 0.6004, limit: 0.6 })).toBe("0.6004 mm; the limit is 0.6000 mm");
    expect(measureOf({ ...finding, measured: 191, limit: 178, unit: "°C" })).toBe("191 °C; the limit is 178 °C");
  });
});
