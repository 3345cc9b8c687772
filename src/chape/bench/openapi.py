"""Writes what the server offers as ``web/openapi.json``, from which the page takes its types.

Run ``python -m chape.bench.openapi`` in the source folder after any change of the interface.
"""

from __future__ import annotations

import json
import sys
import tempfile
from pathlib import Path

from chape.bench.app import create_app
from chape.bench.bench import Bench
from chape.bench.place import Place


def openapi_text() -> str:
    """Return the description of the interface."""
    with tempfile.TemporaryDirectory(prefix="chape-") as folder:
        described = create_app(Bench(Place(Path(folder)))).openapi()
    # Its own number says nothing here, and would ask for a new file with every release.
    described["info"]["version"] = "1"
    return json.dumps(described, indent=1, ensure_ascii=False, sort_keys=True) + "\n"


if __name__ == "__main__":
    target = Path(*sys.argv[1:2] or ["web/openapi.json"])
    target.write_text(openapi_text(), "utf-8")
    sys.stdout.write(f"{target}\n")
