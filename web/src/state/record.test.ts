import { afterEach, beforeEach, describe, expect, it, vi } from "vitest";
import { REST_BEFORE_SAVING, RecordStore } from "./record";
import type { Kept, Tables } from "./types";

/** A server of one record that counts versions. */
class Disk {
  version = 1;
  tables: Tables = { sheath: { clearance: { side: 1.2 } } };
  there = true;
  sent: unknown[] = [];

  /** Every version, oldest first. */
  history: { version: string; tables: Tables }[] = [{ version: "v1", tables: this.tables }];

  answer(method: string, path: string, body: Record<string, unknown> | null): Response {
    if (path.endsWith("/history")) {
      const rows = this.history.map(({ version }) => ({ version, time: 0, sentence: "" }));
      return Response.json(rows.reverse());
    }
    if (path.endsWith("/back")) {
      const kept = this.history.find(({ version }) => version === body?.to);
      this.tables = kept?.tables ?? {};
      this.version += 1;
    }
    if (method === "PUT" && body) {
      this.sent.push(body);
      if (body.base !== this.name()) {
        return Response.json(
          { problem: { sentence: "It was changed in another place" }, version: this.name(), tables: this.tables },
          { status: 409 },
        );
      }
      const tables = body.tables as Tables;
      if ((tables.sheath as Tables).bad) {
        return Response.json({ problem: { sentence: "This cannot be" } }, { status: 422 });
      }
      this.tables = tables;
      this.version += 1;
      this.history.push({ version: this.name(), tables });
    }
    return Response.json({ name: "camp", version: this.name(), tables: this.tables });
  }

  name(): string {
    return `v${this.version}`;
  }
}

let disk: Disk;
let kept: Map<string, string>;

beforeEach(() => {
  vi.useFakeTimers();
  disk = new Disk();
  kept = new Map();
  vi.stubGlobal("localStorage", {
    getItem: (key: string) => kept.get(key) ?? null,
    setItem: (key: string, value: string) => void kept.set(key, value),
    removeItem: (key: string) => void kept.delete(key),
  });
  vi.stubGlobal("fetch", async (path: string, asked: RequestInit) => {
    if (!disk.there) throw new TypeError("failed to fetch");
    const body = asked.body ? (JSON.parse(asked.body as string) as Record<string, unknown>) : null;
    return disk.answer(asked.method ?? "GET", path, body);
  });
});

afterEach(() => {
  vi.useRealTimers();
  vi.unstubAllGlobals();
});

async function opened(): Promise<RecordStore<Kept>> {
  const store = new RecordStore<Kept>("sheaths/camp", "sheath", "camp");
  await store.open();
  await vi.advanceTimersByTimeAsync(1); // the versions kept are read meanwhile
  return store;
}

const side = (tables: Tables): unknown =>
  ((tables.sheath as Tables).clearance as Tables).side;

const rest = (): Promise<unknown> => vi.advanceTimersByTimeAsync(REST_BEFORE_SAVING + 100);

describe("a record", () => {
  it("is saved once, a while after the last of several changes", async () => {
    const store = await opened();
    for (const to of [1.3, 1.4, 1.5]) store.change("sheath.clearance.side", to, "drag 1");
    expect(store.saving.value).toBe("changed");
    await rest();
    expect(disk.sent).toHaveLength(1);
    expect(side(disk.tables)).toBe(1.5);
    expect(store.saving.value).toBe("saved");
    expect(kept.size).toBe(0);
  });

  it("takes a whole drag back at once, and saves that too", async () => {
    const store = await opened();
    for (const to of [1.3, 1.4]) store.change("sheath.clearance.side", to, "drag 1");
    store.lift();
    store.change("sheath.clearance.side", 2, "drag 1");
    store.undo();
    expect(side(store.tables.value)).toBe(1.4);
    store.undo();
    expect(side(store.tables.value)).toBe(1.2);
    expect(store.canUndo).toBe(false);
    store.redo();
    await rest();
    expect(side(disk.tables)).toBe(1.4);
  });

  it("is kept here while the bench cannot be reached, and goes out when it is back", async () => {
    const store = await opened();
    disk.there = false;
    store.change("sheath.clearance.side", 0.9);
    await rest();
    expect(store.saving.value).toBe("kept here");
    expect(kept.get("chape.draft.sheaths/camp")).toContain("0.9");

    disk.there = true;
    const later = await opened(); // the page was closed and opened again
    expect(side(later.tables.value)).toBe(0.9);
    await rest();
    expect(side(disk.tables)).toBe(0.9);
    expect(kept.size).toBe(0);
  });

  it("lets the person choose where someone else saved meanwhile", async () => {
    const mine = await opened();
    disk.tables = { sheath: { clearance: { side: 7 } } };
    disk.version += 1;
    mine.change("sheath.clearance.side", 1.5);
    await rest();
    expect(mine.saving.value).toBe("two versions");
    expect(side(mine.theirs.value?.tables ?? {})).toBe(7);
    expect(side(disk.tables)).toBe(7);

    mine.keepMine();
    await rest();
    expect(side(disk.tables)).toBe(1.5);
    expect(mine.saving.value).toBe("saved");
  });

  it("takes theirs whole", async () => {
    const mine = await opened();
    disk.tables = { sheath: { clearance: { side: 7 } } };
    disk.version += 1;
    mine.change("sheath.clearance.side", 1.5);
    await rest();
    await mine.takeTheirs();
    expect(side(mine.tables.value)).toBe(7);
    expect(mine.saving.value).toBe("saved");
    expect(kept.size).toBe(0);
  });

  it("lays both together without asking where they changed different values", async () => {
    const mine = await opened();
    disk.tables = { sheath: { clearance: { side: 1.2, blade: 0.4 } } };
    disk.version += 1;
    mine.change("sheath.clearance.side", 1.5);
    await rest();
    await rest();
    expect(mine.saving.value).toBe("saved");
    expect(disk.tables).toEqual({ sheath: { clearance: { side: 1.5, blade: 0.4 } } });
    mine.undo();
    await rest();
    expect(disk.tables).toEqual({ sheath: { clearance: { side: 1.2, blade: 0.4 } } });
  });

  it("does not ask where both changed the same to the same", async () => {
    const mine = await opened();
    disk.tables = { sheath: { clearance: { side: 7 } } };
    disk.version += 1;
    mine.change("sheath.clearance.side", 7);
    await rest();
    expect(mine.saving.value).toBe("saved");
  });

  it("says why it was refused, and saves when that is mended", async () => {
    const store = await opened();
    store.change("sheath.bad", true);
    await rest();
    expect(store.saving.value).toBe("refused");
    expect(store.problem.value?.sentence).toBe("This cannot be");
    store.change("sheath.bad", undefined);
    store.change("sheath.clearance.side", 3);
    await rest();
    expect(store.saving.value).toBe("saved");
    expect(store.problem.value).toBeNull();
  });

  it("sends an outline only when it was moved, and the old one when that is taken back", async () => {
    const store = await opened();
    const line = [[0, 0], [9, 0], [9, 3]] as const;
    store.knowOutline(line);
    store.change("sheath.clearance.side", 3);
    await rest();
    expect(disk.sent.at(-1)).not.toHaveProperty("outline");
    store.changeOutline([[0, 0], [9, 0], [9, 4]]);
    await rest();
    expect(disk.sent.at(-1)).toMatchObject({ outline: [[0, 0], [9, 0], [9, 4]] });
    store.undo();
    await rest();
    expect(disk.sent.at(-1)).toMatchObject({ outline: line });
  });

  it("is undone further than the page was open, and redone, until something is changed", async () => {
    const before = await opened();
    for (const to of [2, 3]) {
      before.change("sheath.clearance.side", to);
      await rest();
    }
    const later = await opened(); // the page was loaded anew
    expect(later.canRedo).toBe(false);
    for (const to of [2, 1.2]) {
      later.undo();
      await rest();
      expect(side(disk.tables)).toBe(to);
      expect(side(later.tables.value)).toBe(to);
    }
    expect(later.canUndo).toBe(false);
    later.redo();
    await rest();
    expect(side(later.tables.value)).toBe(2);
    expect(later.canRedo).toBe(true);
    later.change("sheath.clearance.side", 5);
    expect(later.canRedo).toBe(false);
    await rest();
    later.undo();
    await rest();
    expect(side(disk.tables)).toBe(2);
    later.undo();
    await rest();
    expect(side(disk.tables)).toBe(1.2);
  });
});
