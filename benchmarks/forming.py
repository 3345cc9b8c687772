"""How long forming takes to work out: drape and preview of the demo's mould, heating and cooling.

Run it with nothing else running; the kernels are compiled beforehand.
"""

from __future__ import annotations

import tempfile
import time
from pathlib import Path
from typing import TYPE_CHECKING, TypeVar

from chape.cli.new import start_folder
from chape.forming.cooling import MouldBody, cool_sheet
from chape.forming.draping import COARSE, FINE, drape
from chape.forming.form import hot_stiffness
from chape.forming.heating import heat_sheet
from chape.forming.model import FormingChoices
from chape.pipeline.file import read_request
from chape.pipeline.keep import Keep
from chape.pipeline.run import run_knife, run_sheath, run_tooling
from chape.pipeline.stages import Stages

if TYPE_CHECKING:
    from collections.abc import Callable

Found = TypeVar("Found")


def timed(title: str, work: Callable[[], Found]) -> Found:
    """Print how long a second run of some work takes, and return what it found."""
    work()
    wall, processor = time.perf_counter(), time.process_time()
    found = work()
    wall, processor = time.perf_counter() - wall, time.process_time() - processor
    print(f"{title:34} {wall:7.2f} s wall {processor:7.2f} s processor")
    return found


def main() -> None:
    """Measure on the demo."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name) / "demo"
        start_folder(folder, double_edged=False)
        request = read_request(folder / "sheath.toml")
        stages = Stages(Keep.of_person(), print)
        knife_key, knife = run_knife(request, stages)
        sheath_key, (sheath, _) = run_sheath(request, stages, knife_key, knife, None)
        _, tooling = run_tooling(request, stages, sheath_key, sheath)
    sheet, mould = sheath.sheet, tooling.mould.surface
    pressure = 0.081 / hot_stiffness(sheet)
    fine = timed("drape, nodes of 2 mm", lambda: drape(mould, pressure, 8.0, FINE))
    coarse = timed("preview, nodes of 4 mm", lambda: drape(mould, pressure, 8.0, COARSE))
    slow = timed(
        "drape, nodes of 2 mm, half as fast", lambda: drape(mould, pressure, 8.0, FINE, slowness=2)
    )
    choices = FormingChoices()
    heater = request.catalog.heater("press")
    timed("heating", lambda: heat_sheet(sheet, heater, choices))
    body = MouldBody.of(request.catalog.material("HDPE"), 25.0)
    timed("cooling, 20 shots", lambda: cool_sheet(sheet, body, choices, 60.0))
    for title, found in (("4 mm", coarse), ("2 mm", fine), ("2 mm, slow", slow)):
        print(f"{title:12} 99 % keep {found.thinnest:.4f}, least {found.least:.4f} of the gauge")


if __name__ == "__main__":
    main()
