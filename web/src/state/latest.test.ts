import { afterEach, beforeEach, describe, expect, it, vi } from "vitest";
import { LatestWins } from "./latest";

beforeEach(() => void vi.useFakeTimers());
afterEach(() => void vi.useRealTimers());

function slow(milliseconds: number) {
  const asked: number[] = [];
  const ask = (question: number): Promise<number> => {
    asked.push(question);
    return new Promise((resolve) => setTimeout(() => resolve(question), milliseconds));
  };
  return { asked, ask };
}

describe("the newest question", () => {
  it("wins: those in between are never asked, the last always is", async () => {
    const { asked, ask } = slow(300);
    const taken: number[] = [];
    const loop = new LatestWins(ask, (answer: number) => taken.push(answer), () => undefined);
    for (let i = 0; i < 60; i += 1) {
      loop.put(i);
      await vi.advanceTimersByTimeAsync(16);
    }
    await vi.advanceTimersByTimeAsync(1000);
    expect(asked[0]).toBe(0);
    expect(asked.at(-1)).toBe(59);
    expect(asked.length).toBeLessThan(6);
    expect(taken).toEqual(asked);
  });

  it("goes out at most eight times a second, however quick the answers", async () => {
    const { asked, ask } = slow(1);
    const loop = new LatestWins(ask, () => undefined, () => undefined);
    for (let i = 0; i < 125; i += 1) {
      loop.put(i);
      await vi.advanceTimersByTimeAsync(8);
    }
    expect(asked.length).toBeLessThanOrEqual(9);
    expect(asked.length).toBeGreaterThan(5);
  });

  it("goes on after a failure, and says nothing any more when it has ended", async () => {
    const said: string[] = [];
    let wrong = true;
    const ask = async (question: string): Promise<string> => {
      if (wrong) throw new Error("no");
      return question;
    };
    const loop = new LatestWins(ask, (a) => said.push(a), (_, q) => said.push(`not ${q}`), 0);
    loop.put("a");
    await vi.advanceTimersByTimeAsync(10);
    wrong = false;
    loop.put("b");
    await vi.advanceTimersByTimeAsync(10);
    loop.put("c");
    loop.end();
    await vi.advanceTimersByTimeAsync(10);
    expect(said).toEqual(["not a", "b"]);
  });
});
