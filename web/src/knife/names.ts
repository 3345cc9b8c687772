/** Names of folders: lower-case letters, digits, dashes, at most 40. */

export function nameFrom(title: string): string {
  return title
    .normalize("NFKD")
    .replace(/\p{M}/gu, "")
    .toLowerCase()
    .replace(/[^a-z0-9]+/g, "-")
    .replace(/^-+|-+$/g, "")
    .slice(0, 40)
    .replace(/-+$/, "");
}

/** The same with a number behind it where it is taken. */
export function freeName(title: string, taken: readonly string[]): string {
  const name = nameFrom(title) || "knife";
  if (!taken.includes(name)) return name;
  for (let i = 2; ; i += 1) {
    const tried = `${name.slice(0, 36)}-${i}`;
    if (!taken.includes(tried)) return tried;
  }
}
