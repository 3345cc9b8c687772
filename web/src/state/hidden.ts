/** A page that is hidden may never be seen again: a phone put away, a tab closed. */
export function whenHidden(act: () => void): () => void {
  if (typeof document === "undefined") return () => undefined;
  const look = (): void => {
    if (document.hidden) act();
  };
  document.addEventListener("visibilitychange", look);
  return () => document.removeEventListener("visibilitychange", look);
}
