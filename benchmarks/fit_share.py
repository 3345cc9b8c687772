"""The snap depth for a hold, and the share of 512 knives that pass: CPU and wall seconds.

Wanted, on two quiet cores: the solve within 15 s, the share within 60 s. A first run compiles the
kernels besides; the figures are of the second.
"""

from __future__ import annotations

import os
import time
import tomllib
from contextlib import contextmanager
from functools import partial
from importlib import resources
from pathlib import Path
from typing import TYPE_CHECKING

from chape.catalog.read import catalog
from chape.fit.bands import hold_bands
from chape.fit.bench import Bench
from chape.fit.calibrate import calibrate, lines_to_keep, scale_uncertainty
from chape.fit.condensed import condensed
from chape.fit.model import FitChoices
from chape.fit.pull import pull_model
from chape.fit.share import share_that_passes
from chape.fit.solve import MESH, STEPS, solve_snap_depth
from chape.fit.temperature import modulus_at
from chape.knife.read import read_knife
from chape.sheath.model import SheathChoices
from chape.workers import workers

if TYPE_CHECKING:
    from collections.abc import Iterator

    from chape.knife.model import Knife

DEMO = Path(str(resources.files("chape.demo")))
HOLD, SPACING = 30.0, 0.2


def cpu() -> float:
    """Return the CPU seconds of this process and of those it has waited for."""
    times = os.times()
    return times.user + times.system + times.children_user + times.children_system


@contextmanager
def timed(title: str) -> Iterator[None]:
    """Print what a step took."""
    wall, used = time.perf_counter(), cpu()
    yield
    print(f"{title}: {cpu() - used:.1f} s CPU, {time.perf_counter() - wall:.1f} s wall", flush=True)


def demo(name: str) -> tuple[Knife, SheathChoices]:
    """Return a knife and the choices of its sheath."""
    tables = tomllib.loads((DEMO / f"{name}-sheath.toml").read_text("utf-8"))["sheath"]
    choices = SheathChoices.model_validate({**tables, "spacing": SPACING})
    return read_knife(DEMO / f"{name}-knife.toml", SPACING), choices


def main() -> None:
    """Measure both demo knives."""
    fit = FitChoices(hold=HOLD)
    for name in ("camp", "slender"):
        knife, choices = demo(name)
        solve_snap_depth(knife, choices, fit, catalog())
        with timed(f"{name}: solve for {HOLD:g} N"):
            solved = solve_snap_depth(knife, choices, fit, catalog())
        print(f"  {solved.reason}; {solved.evaluations} sheaths, coarse and at {SPACING:g} mm")
        bench = Bench(knife, choices, fit, catalog(), MESH, STEPS)
        sheath = bench.sheath(solved.snap_depth)
        stiffness = partial(modulus_at, sheath.sheet)
        with timed(f"{name}: condense"):
            model = condensed(pull_model(sheath, MESH))
        with timed(f"{name}: share of {fit.samples} knives"), workers() as executor:
            share = share_that_passes(model, fit, stiffness, HOLD, executor)
        print(f"  {share.passing:.1%} pass ({share.low:.1%} to {share.high:.1%})")
        for each in share.influences:
            print(
                f"  {each.name}: first {each.first:.3f} ± {each.first_error:.3f}, "
                f"total {each.total:.3f} ± {each.total_error:.3f}"
            )
        with workers() as executor:
            room = choices.clearance.handle + knife.uncertainty
            for band in hold_bands(model, fit, room, stiffness, executor):
                print(f"  {band.name} {band.ends}: {band.holds[0]:.1f} to {band.holds[1]:.1f} N")
            reading = (0.9 * HOLD, scale_uncertainty(0.9 * HOLD))
            found = calibrate([reading], share, model, fit, stiffness, executor)
        print(f"  a reading of {reading[0]:g} N: {lines_to_keep(found)!r}, {found}")


if __name__ == "__main__":
    main()
