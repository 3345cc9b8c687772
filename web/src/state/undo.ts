/** Steps one can take back and take again. A whole drag is one step. */

export class Steps<State> {
  private past: State[] = [];
  private future: State[] = [];
  private stroke: string | null = null;

  constructor(
    private present: State,
    private readonly most = 200,
  ) {}

  get now(): State {
    return this.present;
  }

  get canUndo(): boolean {
    return this.past.length > 0;
  }

  get canRedo(): boolean {
    return this.future.length > 0;
  }

  /** Takes a new state. States of the same stroke, one after the other, are one step. */
  push(state: State, stroke: string | null = null): void {
    const goesOn = stroke !== null && stroke === this.stroke;
    if (!goesOn) {
      this.past.push(this.present);
      if (this.past.length > this.most) this.past.shift();
    }
    this.stroke = stroke;
    this.future = [];
    this.present = state;
  }

  /** The stroke is over: what comes next is a step of its own. */
  lift(): void {
    this.stroke = null;
  }

  undo(): boolean {
    const before = this.past.pop();
    if (before === undefined) return false;
    this.future.push(this.present);
    this.present = before;
    this.stroke = null;
    return true;
  }

  redo(): boolean {
    const after = this.future.pop();
    if (after === undefined) return false;
    this.past.push(this.present);
    this.present = after;
    this.stroke = null;
    return true;
  }

  /** Changes every state alike: what was not known when they were taken. */
  each(change: (state: State) => State): void {
    this.past = this.past.map(change);
    this.future = this.future.map(change);
    this.present = change(this.present);
  }

  /** Another starting point, from elsewhere: nothing before it can be taken back here. */
  restart(state: State): void {
    this.past = [];
    this.future = [];
    this.stroke = null;
    this.present = state;
  }
}
