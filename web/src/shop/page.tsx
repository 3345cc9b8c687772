/** The Day station: the shop's work, in drawers like those under a bench. */

import type { ComponentType } from "preact";
import { useState } from "preact/hooks";
import { hrefTo, type PageProps } from "../shell/route";
import { hello, meetServer } from "../state/server";
import { Batches } from "./batches";
import { Keeping } from "./keeping";
import { Now } from "./now";
import { Orders } from "./orders";
import { Papers } from "./papers";
import { PiecePage } from "./piece";
import { Prices } from "./prices";
import { Safety } from "./safety";
import { goToScanned } from "./scan";
import { Shelf } from "./shelf";
import "./shop.css";
import { StartShop } from "./start";
import { Taught } from "./taught";

export interface DrawerProps {
  readonly rest: readonly string[];
}

interface Drawer {
  readonly key: string;
  readonly word: string;
  readonly Page: ComponentType<DrawerProps>;
}

const DRAWERS: readonly Drawer[] = [
  { key: "now", word: "Now", Page: Now },
  { key: "orders", word: "Orders", Page: Orders },
  { key: "batches", word: "Batches", Page: Batches },
  { key: "shelf", word: "Shelf", Page: Shelf },
  { key: "prices", word: "Prices", Page: Prices },
  { key: "papers", word: "Papers", Page: Papers },
  { key: "learned", word: "Learned", Page: Taught },
  { key: "safety", word: "Safety", Page: Safety },
  { key: "backup", word: "Backup", Page: Keeping },
];

export default function DayPage({ name, rest }: PageProps) {
  if (hello.value && !hello.value.has_shop) return <StartShop started={() => void meetServer()} />;
  const open = DRAWERS.find((each) => each.key === name) ?? (DRAWERS[0] as Drawer);
  const Page = name === "piece" ? PiecePage : open.Page;
  return (
    <div class="shop">
      <div class="drawer-row">
        <nav class="drawers" aria-label="The shop">
          {DRAWERS.map(({ key, word }) => (
            <a
              key={key}
              class="drawer"
              href={key === "now" ? hrefTo("day") : hrefTo("day", key)}
              aria-current={name !== "piece" && open.key === key ? "page" : undefined}
            >
              <span>{word}</span>
            </a>
          ))}
        </nav>
        <ScanField />
      </div>
      <Page rest={rest} />
    </div>
  );
}

/** A hand scanner types a code and presses Enter; so does a person. */
function ScanField() {
  const [text, setText] = useState("");
  const [unknown, setUnknown] = useState(false);
  return (
    <form
      class="scan"
      role="search"
      onSubmit={(event) => {
        event.preventDefault();
        const found = goToScanned(text);
        setUnknown(!found);
        if (found) setText("");
      }}
    >
      <label>
        <span class="unseen">Scan or type a label</span>
        <input
          value={text}
          placeholder="Scan a label"
          autocomplete="off"
          autocapitalize="characters"
          enterkeyhint="go"
          aria-invalid={unknown}
          onInput={(event) => {
            setText(event.currentTarget.value);
            setUnknown(false);
          }}
        />
      </label>
      <p class="unseen" role="status">
        {unknown ? "That is no label of this shop: write it as 2026-0042-1, 2026-0042 or B7." : ""}
      </p>
      {unknown && <p class="trouble scan-trouble">Write it as 2026-0042-1, 2026-0042 or B7.</p>}
    </form>
  );
}
