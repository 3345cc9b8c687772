/** One knife or sheath being changed: saved by itself, never lost, never fought over.
 *
 * A change shows at once and goes out 0.8 s after the last one, with the version it stands on. If
 * someone else saved meanwhile, the server sends theirs back and the person chooses. Until a change
 * is saved it is also kept in this browser, so that a lost line or a closed tab loses nothing.
 */

import { signal } from "@preact/signals";
import { call, problemOf, Refusal, Unreached } from "./api";
import { dropDraft, type Draft, keepDraft, readDraft } from "./draft";
import { onChanged, onReturn } from "./events";
import { whenHidden } from "./hidden";
import { merged } from "./merge";
import type { Saving, Shape, Theirs } from "./saving";
import { Shaping } from "./shaping";
import { same } from "./tables";
import type { Kept, Problem, Tables } from "./types";
import { Steps } from "./undo";

export const REST_BEFORE_SAVING = 800;

export class RecordStore<Record extends Kept> extends Shaping {
  readonly record = signal<Record | null>(null);
  readonly saving = signal<Saving>("saved");
  readonly problem = signal<Problem | null>(null);
  readonly theirs = signal<Theirs | null>(null);

  private base = "";
  private timer: ReturnType<typeof setTimeout> | null = null;
  private flying = false;
  private readonly stops: (() => void)[] = [];

  /** @param place the address of the record under `/api/`, such as `sheaths/camp`
   *  @param what its kind as events name it */
  constructor(
    readonly place: string,
    readonly what: "knife" | "sheath",
    readonly name: string,
  ) {
    super(place);
  }

  async open(): Promise<void> {
    this.stops.push(
      onChanged((told) => {
        if (told.what === this.what && told.name === this.name) void this.hear(told.version);
      }),
      onReturn(() => void this.comeBack()),
      whenHidden(() => {
        if (this.saving.value === "changed") void this.save();
      }),
    );
    try {
      const record = await call<Record>("GET", this.place);
      this.settle(record);
      const draft = readDraft(this.place);
      if (draft) this.takeUp(draft);
    } catch (fault) {
      this.problem.value = problemOf(fault);
    }
  }

  /** Leaves the record; a change that has not gone out yet goes now. */
  close(): void {
    for (const stop of this.stops.splice(0)) stop();
    if (this.saving.value === "changed") void this.save();
  }

  get canUndo(): boolean {
    return this.turns.value >= 0 && (this.steps?.canUndo || this.farther(1) !== null);
  }

  get canRedo(): boolean {
    return this.turns.value >= 0 && (this.steps?.canRedo || this.farther(-1) !== null);
  }

  undo(): void {
    if (this.steps?.undo()) this.show();
    else void this.goFar(1);
  }

  redo(): void {
    if (this.steps?.redo()) this.show();
    else void this.goFar(-1);
  }

  /** The kept version one step further, once all of the page's own is saved. */
  private farther(way: 1 | -1): string | null {
    return this.saving.value === "saved" ? this.far.look(way) : null;
  }

  private async goFar(way: 1 | -1): Promise<void> {
    const to = this.farther(way);
    if (to === null || this.flying) return;
    this.flying = true;
    try {
      const record = await call<Record>("POST", `${this.place}/back`, { to, base: this.base });
      this.far.step(way);
      this.begin(record);
    } catch (fault) {
      this.problem.value = problemOf(fault);
    } finally {
      this.flying = false;
    }
  }

  async takeTheirs(): Promise<void> {
    try {
      const record = await call<Record>("GET", this.place);
      dropDraft(this.place);
      this.settle(record);
    } catch (fault) {
      this.problem.value = problemOf(fault);
    }
  }

  keepMine(): void {
    const theirs = this.theirs.value;
    if (!theirs) return;
    this.base = theirs.version;
    this.theirs.value = null;
    void this.save();
  }

  /** A record that was brought back from its history, or saved by other means. */
  settle(record: Record): void {
    this.begin(record);
    void this.far.read().then(() => {
      this.turns.value += 1;
    });
  }

  private begin(record: Record): void {
    this.clearTimer();
    this.record.value = record;
    this.base = record.version;
    const shape = { tables: record.tables, outline: null };
    if (this.steps) this.steps.restart(shape);
    else this.steps = new Steps<Shape>(shape);
    this.tables.value = record.tables;
    this.outline.value = null;
    this.drawn = null;
    this.problem.value = null;
    this.theirs.value = null;
    this.saving.value = "saved";
    this.turns.value += 1;
  }

  protected override show(): void {
    if (!this.steps) return;
    this.tables.value = this.steps.now.tables;
    this.outline.value = this.steps.now.outline;
    this.turns.value += 1;
    keepDraft(this.place, { base: this.base, ...this.unsaved(this.steps.now) });
    if (this.saving.value === "two versions") return;
    this.saving.value = this.saving.value === "kept here" ? "kept here" : "changed";
    this.clearTimer();
    this.timer = setTimeout(() => void this.save(), REST_BEFORE_SAVING);
  }

  private clearTimer(): void {
    if (this.timer !== null) clearTimeout(this.timer);
    this.timer = null;
  }

  /** Sends what is shown. Public for the Save key, which hurries what would happen by itself. */
  async save(): Promise<void> {
    this.clearTimer();
    if (this.flying || !this.steps) return;
    const sent = this.steps.now;
    this.flying = true;
    this.saving.value = "sending";
    try {
      const body = { base: this.base, ...this.unsaved(sent) };
      this.takeSaved(await call<Record>("PUT", this.place, body), sent);
    } catch (fault) {
      this.takeFault(fault, sent);
    } finally {
      this.flying = false;
    }
    this.clearTimer();
    if (this.is("changed")) this.timer = setTimeout(() => void this.save(), 50);
  }

  private is(saving: Saving): boolean {
    return this.saving.value === saving;
  }

  private takeSaved(record: Record, sent: Shape): void {
    this.base = record.version;
    this.record.value = record;
    this.drawn = sent.outline;
    this.problem.value = null;
    if (this.steps?.now === sent) {
      dropDraft(this.place);
      this.saving.value = "saved";
    } else {
      this.saving.value = "changed";
      if (this.steps) keepDraft(this.place, { base: this.base, ...this.unsaved(this.steps.now) });
    }
  }

  private takeFault(fault: unknown, sent: Shape): void {
    if (fault instanceof Unreached) this.saving.value = "kept here";
    else if (fault instanceof Refusal && fault.status === 409) this.meet(fault);
    else {
      this.problem.value = problemOf(fault);
      this.saving.value = this.steps?.now === sent ? "refused" : "changed";
    }
  }

  private meet(fault: Refusal): void {
    const { version, tables } = fault.body as Partial<Theirs>;
    if (version === undefined || tables === undefined) {
      this.problem.value = fault.problem;
      this.saving.value = "refused";
    } else if (same(tables, this.tables.value)) {
      // The same change came from another page: nothing to choose.
      void this.takeTheirs();
    } else if (!this.lieTogether({ version, tables })) {
      this.theirs.value = { version, tables };
      this.problem.value = fault.problem;
      this.saving.value = "two versions";
    }
  }

  /** Where both changed different values nobody need choose: both go out together. */
  private lieTogether(theirs: Theirs): boolean {
    const { steps, record } = this;
    const stands = record.value?.version === this.base ? record.value : null;
    if (!steps || !stands || this.unsaved(steps.now).outline) return false;
    const laid = (mine: Tables): Tables | null => merged(stands.tables, mine, theirs.tables);
    if (!laid(steps.now.tables)) return false;
    this.base = theirs.version;
    // Theirs goes into every step, so that undoing mine leaves it standing.
    steps.each((shape) => ({ ...shape, tables: laid(shape.tables) ?? shape.tables }));
    this.show();
    return true;
  }

  private takeUp(draft: Draft): void {
    const record = this.record.value;
    const asSaved = record && same(draft.tables, record.tables) && !draft.outline;
    if (!record || !this.steps || asSaved) {
      dropDraft(this.place);
      return;
    }
    this.steps.push({ tables: draft.tables, outline: draft.outline ?? null });
    this.base = draft.base;
    this.show();
  }

  /** Someone saved: read it anew, unless something of ours is still to go out. */
  private async hear(version: string): Promise<void> {
    if (this.flying || version === this.base || this.saving.value !== "saved") return;
    try {
      const record = await call<Record>("GET", this.place);
      if (this.saving.value === "saved" && record.version !== this.base) this.settle(record);
    } catch (fault) {
      if (fault instanceof Refusal && fault.status === 404) this.problem.value = fault.problem;
    }
  }

  private async comeBack(): Promise<void> {
    if (this.saving.value === "kept here" || this.saving.value === "changed") await this.save();
    else if (!this.record.value) await this.openAgain();
    else await this.hear("");
  }

  private async openAgain(): Promise<void> {
    for (const stop of this.stops.splice(0)) stop();
    await this.open();
  }
}
