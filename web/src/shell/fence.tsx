import { Component, type ComponentChildren } from "preact";

interface Caught {
  readonly message: string | null;
}

/** Keeps a fault of one station from taking the whole bench with it. */
export class ErrorFence extends Component<{ children: ComponentChildren }, Caught> {
  override state: Caught = { message: null };

  static override getDerivedStateFromError(fault: unknown): Caught {
    return { message: fault instanceof Error ? fault.message : String(fault) };
  }

  override render() {
    const { message } = this.state;
    if (message === null) return this.props.children;
    return (
      <section class="empty" role="alert">
        <h1>This page stumbled</h1>
        <p>What you changed is kept. The page itself reported: {message}</p>
        <button type="button" class="brass" onClick={() => this.setState({ message: null })}>
          Lay it out again
        </button>
      </section>
    );
  }
}
