/** What a test reads of the sources beside it; the page itself reads no files. */
declare module "node:fs" {
  export function readdirSync(folder: string, options: { readonly recursive: true }): string[];
  export function readFileSync(path: string, encoding: "utf8"): string;
}
