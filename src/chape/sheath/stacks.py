"""What eyelets and screws have to grip: sheets, washers and a clip's foot, one on the other.

An eyelet clinches what lies between its head and its flare; eyelets of one family differ in length
alone, and each length clinches stacks between two thicknesses. A clip that is screwed on adds
nothing to its eyelets: they close the two flanges, and the screw goes through them.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from chape.catalog.hardware import Fixing
from chape.sheath.halves import half_holes
from chape.sheath.model import HoleUse

if TYPE_CHECKING:
    from chape.catalog.hardware import Clip, Eyelet
    from chape.sheath.model import Sheath


@dataclass(frozen=True, slots=True, eq=False)
class Stack:
    """Layers that one eyelet or one screw holds together.

    Attributes:
        clip: that lies on the flanges; None for the flanges alone.
        layers: what lies there, and how thick each is, mm.
        fixing: whether an eyelet grips it or a screw does.
        count: how many such there are on one sheath.
        eyelet: of the family, the length that clinches it; None where none does, and for screws.
    """

    clip: Clip | None
    layers: tuple[tuple[str, float], ...]
    fixing: Fixing
    count: int
    eyelet: Eyelet | None

    @property
    def grip(self) -> float:
        """Thickness of the whole, mm."""
        return sum(thick for _, thick in self.layers)


def stacks_of(sheath: Sheath) -> tuple[Stack, ...]:
    """Return every stack of a sheath: the flanges alone, then under each of its clips."""
    gauge = sheath.sheet.gauge.value
    flanges = (("sheet", gauge), ("sheet", gauge))
    family = (sheath.eyelet, *sheath.other_lengths)
    holes = half_holes(sheath, upper=False)
    count = sum(hole.use is HoleUse.EYELET for hole in holes)
    alone = Stack(None, flanges, Fixing.EYELET, count, fitting(family, 2 * gauge))
    return (alone, *(_under(placed.clip, flanges, family) for placed in sheath.clips))


def fitting(family: tuple[Eyelet, ...], grip: float) -> Eyelet | None:
    """Return the eyelet that clinches a stack (mm), the one whose grip it lies most amid."""
    spans = [one for one in family if one.grip_least.value <= grip <= one.grip_most.value]
    return min(
        spans,
        key=lambda one: abs(one.grip_least.value + one.grip_most.value - 2 * grip),
        default=None,
    )


def nearest(family: tuple[Eyelet, ...], grip: float) -> Eyelet:
    """Return the eyelet that comes nearest to clinching a stack that none does."""
    return min(family, key=lambda one: max(one.grip_least.value - grip, grip - one.grip_most.value))


def _under(clip: Clip, flanges: tuple[tuple[str, float], ...], family: tuple[Eyelet, ...]) -> Stack:
    layers = list(flanges)
    if clip.washer is not None:
        layers.append(("washers", clip.washer.value))
    if clip.thickness is not None:
        layers.append(("clip", clip.thickness.value))
    grip = sum(thick for _, thick in layers)
    eyelet = fitting(family, grip) if clip.fixing is Fixing.EYELET else None
    return Stack(clip, tuple(layers), clip.fixing, len(clip.holes), eyelet)
