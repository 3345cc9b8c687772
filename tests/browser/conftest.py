"""A real browser on a real bench.

Pictures of what was seen are kept in the folder that CHAPE_SCREENSHOTS names, else in pytest's own.
"""

import os
import shutil
from pathlib import Path

import pytest

from chape.bench.pages import static_folder
from served_bench import ServedBench

#: Debian's browser; others may name theirs.
NAMES = (os.environ.get("CHAPE_CHROMIUM", ""), "chromium", "chromium-browser")

#: What Chromium would otherwise look for outside, and what it needs to draw without a card.
FLAGS = [
    "--disable-quic",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--no-first-run",
    "--use-gl=angle",
    "--use-angle=swiftshader",
    "--enable-unsafe-swiftshader",
]

#: A busy machine takes its time, ms.
PATIENCE = 40_000


@pytest.fixture(scope="session")
def browser():
    playwright = pytest.importorskip(
        "playwright.sync_api", reason="Playwright is not installed, so no browser can be driven"
    )
    path = next((found for found in map(shutil.which, filter(None, NAMES)) if found), None)
    if path is None:
        pytest.skip("there is no Chromium; Debian's is the package chromium")
    if static_folder() is None:
        pytest.skip("the page is not built; pip install -e . builds it where it finds Node.js")
    # Chromium refuses to shut root into its own sandbox.
    flags = [*FLAGS, *(["--no-sandbox"] if os.geteuid() == 0 else [])]
    with playwright.sync_playwright() as driver:
        started = driver.chromium.launch(executable_path=path, args=flags)
        yield started
        started.close()


@pytest.fixture(scope="module")
def serve():
    """Start benches, each in a folder of its own."""
    benches = []

    def start(folder, *options, first=""):
        benches.append(ServedBench(folder, *options, first=first))
        return benches[-1]

    yield start
    for bench in benches:
        bench.stop()


@pytest.fixture
def visit(browser):
    """Open pages; an error that one of them meets fails the test."""
    contexts, faults = [], []

    def open_page(address, width=1280, height=860, **options):
        context = browser.new_context(
            viewport={"width": width, "height": height},
            reduced_motion="reduce",
            locale="en-GB",
            **options,
        )
        context.set_default_timeout(PATIENCE)
        contexts.append(context)
        page = context.new_page()
        page.on("pageerror", lambda error: faults.append(str(error)))
        page.on("console", lambda said: faults.append(said.text) if _is_fault(said) else None)
        page.goto(address)
        return page

    yield open_page
    for context in contexts:
        context.close()
    assert faults == []


@pytest.fixture
def look(request, tmp_path):
    """Keep a picture of a page."""
    folder = Path(os.environ.get("CHAPE_SCREENSHOTS", tmp_path))
    folder.mkdir(parents=True, exist_ok=True)
    names = iter(range(1, 100))

    def keep(page, **options):
        name = f"{request.node.name.removeprefix('test_')}-{next(names)}.png"
        page.screenshot(path=folder / name, **options)

    return keep


def _is_fault(said):
    """A line that is cut, or an answer that is no, is told on the page; all else is a fault."""
    return (
        said.type == "error"
        and "Failed to load resource" not in said.text
        and ("WebSocket" not in said.text and "ERR_CONNECTION" not in said.text)
    )
