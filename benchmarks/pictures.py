"""How soon the page shows a mould of 200,000 triangles and a program, and what turning them costs.

Drives Chromium (Debian's package ``chromium``) over Playwright on a folder of the bench with a job
that was made. The mould is a made-up one, put in the place of what the server sends. Drags are made
in the page itself, so that what drives it is not measured. Without a graphics card Chromium draws
by software: "drawing" is then what that takes, and "script" is what a machine with a card is left
with.

    python benchmarks/pictures.py FOLDER SHEATH PROGRAM
"""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from time import sleep
from typing import Any

import numpy as np
from playwright.sync_api import Page, sync_playwright

from chape.bench.buffers import mesh_bytes
from chape.field.grid import Grid
from chape.field.heights import HeightField
from chape.field.surface import solid_below

PORT = 8467

#: Nodes along a side of the mould: about 200,000 triangles, its foot and walls included.
NODES = 317

FLAGS = ["--enable-unsafe-swiftshader", "--disable-background-networking", "--no-first-run"]

#: Keeps when each picture was given to the card, and when it was drawn: reading a dot waits for it.
WATCH = """
window.pictures = [];
const seek = setInterval(() => {
  const canvas = document.querySelector(".stand canvas");
  if (!canvas) return;
  clearInterval(seek);
  new MutationObserver(() => {
    const card = canvas.getContext("webgl2");
    const given = performance.now();
    card.readPixels(0, 0, 1, 1, card.RGBA, card.UNSIGNED_BYTE, new Uint8Array(4));
    pictures.push([given, performance.now(), Number(canvas.dataset.lastMs)]);
  }).observe(canvas, { attributes: true, attributeFilter: ["data-pictures"] });
}, 5);
"""

SHOWN = """(name) => {
  const came = performance.getEntriesByType("resource").filter((e) => e.name.includes(name)).pop();
  const first = pictures.find(([given]) => given > came.responseEnd);
  const paint = performance.getEntriesByName("first-contentful-paint")[0];
  return { paint: paint.startTime, fetched: came.responseEnd - came.startTime,
           given: first[0] - came.responseEnd, drawn: first[1] - came.responseEnd };
}"""

TURN = """async () => {
  const canvas = document.querySelector(".stand canvas");
  canvas.setPointerCapture = () => undefined;
  pictures.length = 0;
  const hand = (kind, x) => canvas.dispatchEvent(
    new PointerEvent(kind, { pointerId: 1, clientX: x, clientY: 200, buttons: 1 }));
  const handled = [];
  hand("pointerdown", 200);
  for (let i = 1; i <= 16; i += 1) {
    await new Promise(requestAnimationFrame);
    const start = performance.now();
    hand("pointermove", 200 + 6 * i);
    handled.push(performance.now() - start);
  }
  hand("pointerup", 300);
  await new Promise((done) => setTimeout(done, 1500));
  const median = (all) => all.sort((a, b) => a - b)[all.length >> 1];
  return { script: median(handled) + median(pictures.map((p) => p[2])),
           drawing: median(pictures.map((p) => p[1] - p[0])) };
}"""


def mould() -> bytes:
    """Return a made-up mould as the bench sends one."""
    grid = Grid(0.0, 0.0, 300 / (NODES - 1), NODES, NODES)
    hills = HeightField.of(grid, lambda x, y: 6 * np.sin(x / 20) * np.cos(y / 25))
    return mesh_bytes(solid_below(hills, -25.0))


def measure(page: Page, address: str, name: str) -> dict[str, float]:
    """Return what showing and turning the things of a page takes, ms."""
    page.goto("about:blank")
    page.goto(address)
    # The page's policy allows no waiting for a function told as words.
    while page.evaluate("pictures.length") == 0:
        page.wait_for_timeout(200)
    page.wait_for_timeout(4000)
    shown: dict[str, Any] = page.evaluate(SHOWN, name)
    turned: dict[str, Any] = page.evaluate(TURN)
    return {key: float(value) for key, value in (shown | turned).items()}


def main(folder: str, sheath: str, program: str) -> None:
    """Print the measured times."""
    command = [sys.executable, "-c", "from chape.cli.main import run; run()", "bench", folder]
    bench = subprocess.Popen([*command, "--port", str(PORT), "--no-open"])
    try:
        with sync_playwright() as driver:
            flags = [*FLAGS, *(["--no-sandbox"] if os.geteuid() == 0 else [])]
            browser = driver.chromium.launch(executable_path=shutil.which("chromium"), args=flags)
            page = browser.new_page(viewport={"width": 1440, "height": 900})
            page.add_init_script(WATCH)
            block = mould()
            page.route("**/solid/mould.bin*", lambda route: route.fulfill(body=block))
            sleep(15)
            own = f"http://127.0.0.1:{PORT}/#"
            for title, address, name in (
                ("mould of 200,000 triangles", f"{own}/tools/{sheath}/mould", "/mould.bin"),
                (f"program {program}", f"{own}/cut/{sheath}/{program}", f"/path/{program}.bin"),
            ):
                told = measure(page, address, name)
                print(title, *(f"{key} {value:.1f} ms" for key, value in told.items()), sep=", ")
            browser.close()
    finally:
        bench.terminate()
        bench.wait()


if __name__ == "__main__":
    main(*sys.argv[1:])
