"""Outlines of blades and handles of many kinds: tip at x = 0, edge down, blade 100 mm long."""

import numpy as np

BLADES = {
    "sheepsfoot": ([(0, 0), (100, 0)], [(0, 0.5), (4, 9), (12, 17), (25, 22), (100, 24)]),
    "straight edge": ([(0, 0), (100, 0)], [(0, 0.5), (40, 16), (70, 22), (100, 24)]),
    "chisel point": ([(0, 22), (22, 2), (100, 0)], [(0, 22.5), (100, 26)]),
    "clip point": (
        [(0, 14), (5, 8), (15, 3), (30, 0.5), (45, 0), (100, 0)],
        [(0, 14.3), (35, 18), (40, 25), (100, 26)],
    ),
    "skinner": (
        [(0, 22), (6, 12), (16, 4), (30, 0), (50, -1), (80, 2), (100, 5)],
        [(0, 22.3), (30, 24), (100, 24)],
    ),
    "straight spine": (
        [(0, 18), (6, 11), (16, 4), (30, 1), (45, 0), (100, 0)],
        [(0, 18.3), (100, 20)],
    ),
}
HANDLES = ("hollowed", "stick", "heel")


def outline(blade, handle):
    """Corners (n, 2) of a knife."""
    lower, upper = (np.array(side, dtype=float) for side in BLADES[blade])
    low, high = lower[-1, 1], upper[-1, 1]
    middle = (low + high) / 2
    below, above = {
        # the finger's hollow below, the spine carried on above
        "hollowed": (
            [(102, low - 2), (110, low + 1), (130, low + 2), (160, low - 1), (190, low + 1),
             (208, low - 2), (212, low + 4)],
            [(102, high), (160, high + 1), (200, high - 2), (212, high - 6)],
        ),
        # the same above and below
        "stick": (
            [(101, middle - 11), (150, middle - 13), (205, middle - 11), (211, middle - 4)],
            [(101, middle + 11), (150, middle + 13), (205, middle + 11), (211, middle + 4)],
        ),
        # narrower than the blade, in line with its spine
        "heel": (
            [(101, high - 16), (160, high - 20), (215, high - 22), (220, high - 12)],
            [(101, high), (160, high + 1), (215, high), (220, high - 6)],
        ),
    }[handle]  # fmt: skip
    return np.vstack([lower, below, above[::-1], upper[::-1]])
