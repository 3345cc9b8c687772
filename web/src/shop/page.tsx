import type { PageProps } from "../shell/route";

export default function DayPage(_: PageProps) {
  return (
    <section class="empty">
      <h1>Day</h1>
      <p>This station is not set up yet; the commands of chape do its work meanwhile.</p>
    </section>
  );
}
