/** What the server tells unasked: a file changed, a work moved on. Reconnects by itself. */

import { call, reached } from "./api";
import { takeList, takeWork } from "./works";
import type { Work } from "./types";

export interface Changed {
  readonly kind: "changed";
  readonly what: "knife" | "sheath" | "timer" | "shop";
  readonly name: string;
  readonly version: string;
}

type Told = Changed | ({ readonly kind: "work" } & Work);
type Hearer = (changed: Changed) => void;

const hearers = new Set<Hearer>();
const returners = new Set<() => void>();

/** Calls back at every change of a file; returns how to stop. */
export function onChanged(hearer: Hearer): () => void {
  hearers.add(hearer);
  return () => hearers.delete(hearer);
}

/** Calls back when the connection is there again: what was shown may be old. */
export function onReturn(returner: () => void): () => void {
  returners.add(returner);
  return () => returners.delete(returner);
}

/** Seconds before the next try: quick at first, so that a restart is hardly seen. */
export function waitBefore(attempt: number): number {
  return Math.min(10, 0.4 * 1.7 ** attempt);
}

export function readTold(text: string): Told | null {
  try {
    const told = JSON.parse(text) as { kind?: unknown };
    return told.kind === "changed" || told.kind === "work" ? (told as Told) : null;
  } catch {
    return null;
  }
}

/** Opens the line and keeps it open. Returns how to close it for good. */
export function listen(): () => void {
  let socket: WebSocket | null = null;
  let timer = 0;
  let attempt = 0;
  let over = false;
  let lost = false;

  function open(): void {
    const scheme = location.protocol === "https:" ? "wss" : "ws";
    socket = new WebSocket(`${scheme}://${location.host}/api/events`);
    socket.onopen = () => {
      attempt = 0;
      reached.value = true;
      void rereadWorks();
      if (lost) for (const each of [...returners]) each();
      lost = false;
    };
    socket.onmessage = (message: MessageEvent<string>) => {
      const told = readTold(message.data);
      if (told?.kind === "work") takeWork(told);
      else if (told) for (const each of [...hearers]) each(told);
    };
    socket.onclose = () => {
      if (over) return;
      lost = true;
      if (attempt > 0) reached.value = false;
      timer = window.setTimeout(open, waitBefore(attempt) * 1000);
      attempt += 1;
    };
  }

  const hurry = (): void => {
    if (!lost || document.hidden) return;
    window.clearTimeout(timer);
    if (socket?.readyState !== WebSocket.CONNECTING) open();
  };
  /** A short gap breaks what is asked meanwhile, but not always this line. */
  const back = (): void => {
    if (lost) hurry();
    else for (const each of [...returners]) each();
  };
  addEventListener("online", back);
  document.addEventListener("visibilitychange", hurry);
  open();
  return () => {
    over = true;
    window.clearTimeout(timer);
    removeEventListener("online", back);
    document.removeEventListener("visibilitychange", hurry);
    socket?.close();
  };
}

async function rereadWorks(): Promise<void> {
  try {
    takeList(await call<Work[]>("GET", "works"));
  } catch {
    // Told again with the next event, or the next time the line opens.
  }
}
