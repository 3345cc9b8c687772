/** Asks for what is newest, one question at a time: while an answer is awaited, only the last
 * question that came is kept. A drag so costs no more requests than the server can answer.
 */

export class LatestWins<Question, Answer> {
  private waiting: { question: Question } | null = null;
  private flying: AbortController | null = null;
  private begun = Number.NEGATIVE_INFINITY;
  private timer: ReturnType<typeof setTimeout> | null = null;
  private over = false;

  /**
   * @param ask sends a question; it is aborted when the loop ends
   * @param take is given every answer, in the order of the questions
   * @param fail is given what went wrong instead
   * @param gap least milliseconds between two questions
   */
  constructor(
    private readonly ask: (question: Question, signal: AbortSignal) => Promise<Answer>,
    private readonly take: (answer: Answer, question: Question) => void,
    private readonly fail: (fault: unknown, question: Question) => void,
    private readonly gap = 125,
  ) {}

  /** Puts a question; an older one that has not gone out yet is forgotten. */
  put(question: Question): void {
    this.waiting = { question };
    this.next();
  }

  end(): void {
    this.over = true;
    this.waiting = null;
    if (this.timer !== null) clearTimeout(this.timer);
    this.flying?.abort();
  }

  private next(): void {
    if (this.over || this.flying || !this.waiting || this.timer !== null) return;
    const rest = this.begun + this.gap - performance.now();
    if (rest > 0) {
      this.timer = setTimeout(() => {
        this.timer = null;
        this.next();
      }, rest);
      return;
    }
    const { question } = this.waiting;
    this.waiting = null;
    this.begun = performance.now();
    void this.fly(question);
  }

  private async fly(question: Question): Promise<void> {
    const controller = new AbortController();
    this.flying = controller;
    try {
      const answer = await this.ask(question, controller.signal);
      if (!this.over) this.take(answer, question);
    } catch (fault) {
      if (!this.over) this.fail(fault, question);
    } finally {
      this.flying = null;
      this.next();
    }
  }
}
