/** A drawn mark for each station of the shop: one stroke, the thing itself. */

const STROKES: Readonly<Record<string, string>> = {
  // Two platens and the sheet between them.
  press: "M4 7h24v6H4zM4 19h24v6H4zM6 16h20M16 3v4",
  // A frame comes down on the table.
  table: "M4 23h24M7 23v5M25 23v5M5 15h22M9 15c1-5 3-7 7-7s6 2 7 7",
  // The spindle above its board.
  router: "M12 3h8v8h-8zM14 11v6l2 3 2-3v-6M4 27h24M8 27v-4h16v4",
  // A wheel on its stand.
  buffer: "M16 4a9 9 0 1 0 0 18 9 9 0 0 0 0-18zM16 13h.01M10 28h12M13 21l-3 7M19 21l3 7",
  // A glowing bar.
  strip: "M3 21h26v5H3zM8 16c-2-3 2-4 0-8M16 16c-2-3 2-4 0-8M24 16c-2-3 2-4 0-8",
  // A sheet bent about an edge.
  jig: "M5 26h22M8 26V9a4 4 0 0 1 8 0v17M20 26V14",
  // The setter's punch above an eyelet.
  setter: "M16 3v9M12 12h8l-2 5h-4zM10 24a6 3 0 1 0 12 0 6 3 0 0 0-12 0zM16 24h.01",
  // A pair of hands' own place: the bench and its vice.
  bench: "M3 13h26M6 13v14M26 13v14M12 13V8h8v5M16 8V4M12 4h8",
  // A parcel.
  packing: "M5 11l11-6 11 6v12l-11 6-11-6zM5 11l11 6 11-6M16 17v12",
};

export function StationMark({ station }: { station: string }) {
  return (
    <svg
      class="station-mark"
      viewBox="0 0 32 32"
      width="40"
      height="40"
      fill="none"
      stroke="currentColor"
      stroke-width="1.9"
      stroke-linecap="round"
      stroke-linejoin="round"
      aria-hidden="true"
    >
      <path d={STROKES[station] ?? STROKES.bench} />
    </svg>
  );
}
