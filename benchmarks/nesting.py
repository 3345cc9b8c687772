"""How many demo sheaths lie on blanks of several sizes, and what finding that takes.

Rows aligned by boxes, which chape used first, gave 4, 4, 8, 10 and 15 camp sheaths and 4, 6, 10, 12
and 18 slender ones on the first five of these blanks (gap 8 mm, border 8 mm, grid 0.4 mm).

Run from the tests' folder's parent: ``python benchmarks/nesting.py``.
"""

from __future__ import annotations

import sys
import time
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[1] / "tests"))

from chape.tooling.bounding import WORK
from chape.tooling.filling import Filling, layouts_by_rule
from chape.tooling.model import BlankChoices
from chape.tooling.nesting import Wanted, at_most, bound, shape_of
from chape.tooling.room import Room, lattice_step
from specimens import camp_sheath, slender_sheath

BLANKS = ((300, 300), (400, 300), (500, 400), (600, 400), (610, 610), (800, 600))

#: More than lie on any of these blanks.
MANY = 40


def main() -> None:
    """Print one line for each sheath and blank."""
    for name, sheath in (("camp", camp_sheath(0.4)), ("slender", slender_sheath(0.4))):
        shape = shape_of(sheath.pieces[0])
        spacing = sheath.pieces[0].formed.grid.spacing
        room = Room([shape], 8.0, float(sheath.sheet.gauge.value), lattice_step(spacing))
        for width, depth in BLANKS:
            blank = BlankChoices(width=width, depth=depth)
            start = time.process_time()
            filling = Filling(room, blank, [MANY], room.clear())
            _, best = layouts_by_rule(filling, 1)
            ruled = len(best)
            for laid in filling.mended(best, 400):
                best = laid
            wanted = Wanted((shape,), (1,), 1)
            area = at_most(wanted, blank)
            spent = time.process_time() - start
            start = time.process_time()
            searched = bound(wanted, blank, room, len(best), WORK)
            proving = time.process_time() - start
            print(
                f"{name:8} {width} x {depth}: {ruled:2} by rule, {len(best):2} mended, "
                f"at most {area:2} by area; {spent:.1f} s CPU; "
                f"{searched.said(len(best))}; {proving:.1f} s CPU"
            )


if __name__ == "__main__":
    main()
