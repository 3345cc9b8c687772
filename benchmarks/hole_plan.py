"""How long the hole plan takes, for one clip up to six, and how far its proof gets.

Run it with nothing else running: ``python benchmarks/hole_plan.py``. Six clips shall take no more
than 5 s. Limits are counted in the solver's own units of work, so that the plan does not depend on
the machine; only the seconds do.
"""

from __future__ import annotations

import time
from math import inf

import numpy as np
import shapely

from chape.catalog.read import catalog
from chape.sheath.clip_places import ClipWish, Ground
from chape.sheath.hole_plan import plan
from chape.sheath.locus import Locus, locus_of

SEAT, HOLE, PITCH, SPACING = 5.25, 6.5, 40.0, 3.0

#: Each first alone; then one more with every row.
CLIPS = ("belt-loop-2", "flat-clip-2", "long-clip-3", "plate-4", "plate-6", "dangler-1")

OTHERS = (
    ("offset-triangle-3",),
    ("offset-triangle-3", "plate-4"),
    ("belt-loop-2-50", "flat-clip-2", "long-clip-3", "plate-4", "plate-6", "dangler-1"),
    ("belt-loop-2", "flat-clip-2", "soft-loop-2", "cross-loop-2", "riveted-loop-2", "dangler-1"),
)


def belly() -> Locus:
    """Return a line like that of a camp knife: straight beside the handle, round at the belly."""
    x = np.linspace(0.0, 130.0, 400)
    y = -12.0 + 22.0 * np.clip((40.0 - x) / 45.0, 0.0, None) ** 2
    return locus_of(shapely.LineString(np.column_stack([x, y])[::-1]), side=1)


def timed(names: tuple[str, ...], locus: Locus) -> None:
    """Print what planning these clips takes, and what comes of it."""
    x = locus.points[:, 0]
    ground = Ground((locus,), float(x.min()), float(x.max()), SEAT)
    clips = (catalog().clip(name) for name in names)
    wishes = tuple(ClipWish(clip, 0.3 * locus.length, inf, SEAT) for clip in clips)
    wall, processor = time.perf_counter(), time.process_time()
    try:
        found = plan(ground, wishes, PITCH, SPACING, HOLE)
        said = "there is none" if found is None else f"{len(found.holes)} holes"
        if found is not None:
            said += f", at least {found.holes_least}; cost {found.cost:.0f} mm², at least "
            said += f"{found.cost_least:.0f}"
    except TimeoutError:
        said = "none found, none ruled out"
    wall, processor = time.perf_counter() - wall, time.process_time() - processor
    print(f"{wall:6.2f} s wall {processor:6.2f} s processor  {len(names)}: {said}")
    print(f"      {', '.join(names)}")


def main() -> None:
    """Time all of them, once the solver is loaded."""
    locus = belly()
    plan(Ground((locus,), 0.0, 130.0, SEAT), (), PITCH, SPACING, HOLE)
    timed(CLIPS[:1], locus)
    for count in range(1, len(CLIPS) + 1):
        timed(CLIPS[:count], locus)
    for names in OTHERS:
        timed(names, locus)


if __name__ == "__main__":
    main()
