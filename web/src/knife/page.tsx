import type { PageProps } from "../shell/route";

export default function Page(_: PageProps) {
  return <p class="waiting">Being laid out.</p>;
}
