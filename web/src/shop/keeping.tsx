/** Safe keeping: the whole shop in one file, and its tables for other programs. */

export function Keeping() {
  return (
    <section>
      <h1>Keep it safe</h1>
      <div class="cards">
        <section class="card">
          <h2>Backup</h2>
          <p>
            Everything of the shop as of this moment, in one file. Take one every evening, and keep
            it on another disk.
          </p>
          <a class="key brass large" href="/api/shop/backup.zip" download>
            Take a backup
          </a>
          <p class="quiet">
            It is brought back on the terminal, into a new folder, so that nothing here is written
            over: <code>chape shop restore FILE.zip FOLDER</code>. Shipping notes are in it: when a
            customer’s is erased, delete older backups too.
          </p>
        </section>
        <section class="card">
          <h2>For other programs</h2>
          <p>Every table, as CSV and as JSON.</p>
          <a class="key large" href="/api/shop/export.zip" download>
            Take all tables
          </a>
          <p>Only the orders, as a table that can be read in again.</p>
          <a class="key large" href="/api/shop/orders.csv" download>
            Take the orders
          </a>
        </section>
      </div>
    </section>
  );
}
