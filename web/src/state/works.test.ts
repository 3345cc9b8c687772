import { afterEach, describe, expect, it, vi } from "vitest";
import type { Work } from "./types";
import { takeList, takeWork, untilOver, workOn, works } from "./works";

const work = (id: string, more: Partial<Work> = {}): Work => ({
  id,
  title: "Make camp",
  what: "sheath",
  name: "camp",
  state: "running",
  began: Date.UTC(2026, 2, 2, 8),
  share: 0.2,
  stage: "Design the sheath",
  problem: null,
  ...more,
});

afterEach(() => {
  works.value = new Map();
  vi.unstubAllGlobals();
});

describe("long works", () => {
  it("are on what they are for, and figures worked out by themselves are not told of", () => {
    takeWork(work("a"));
    takeWork(work("b", { title: "Exact figures of camp" }));
    expect(workOn("sheath", "camp")?.id).toBe("a");
    expect(workOn("sheath", "camp", true)?.id).toBe("b");
    takeWork(work("a", { state: "done" }));
    expect(workOn("sheath", "camp")).toBeNull();
  });

  it("that ended before the page looked are no news, those it knew are", () => {
    takeWork(work("known"));
    takeList([work("known", { state: "done" }), work("old", { state: "done" })]);
    expect([...works.value.keys()]).toEqual(["known"]);
    expect(works.value.get("known")?.state).toBe("done");
  });

  it("that did not end well are told until someone has seen them", () => {
    const cut = { state: "stopped", problem: { sentence: "It was stopped" } } as const;
    takeList([
      work("failed", { state: "failed", problem: { sentence: "No" } }),
      work("cut off", cut),
      work("stopped by a person", { state: "stopped" }),
      work("seen", { ...cut, seen: true }),
    ]);
    expect([...works.value.keys()]).toEqual(["failed", "cut off"]);
  });

  it("that a restarted bench knows nothing of have failed, and nobody waits for them any more", async () => {
    vi.stubGlobal("fetch", async () => Response.json(work("a")));
    const over = untilOver("a");
    await vi.waitFor(() => expect(works.value.has("a")).toBe(true));
    takeList([]);
    expect((await over).problem?.sentence).toContain("was stopped");
  });
});
