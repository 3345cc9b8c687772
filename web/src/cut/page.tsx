import type { PageProps } from "../shell/route";

export default function CutPage(_: PageProps) {
  return (
    <section class="empty">
      <h1>Cut</h1>
      <p>This station is not set up yet; the commands of chape do its work meanwhile.</p>
    </section>
  );
}
