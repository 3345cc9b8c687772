"""Bodies of revolution: cutters, fillet balls and clearance bodies.

A body stands upright on its tip. Its profile is the height of its underside above the tip at a
distance ``r`` from its axis: a flat disc, then a rounded corner, then a straight cone.

    ball       no disc, corner = radius                flat      a disc alone
    bull nose  disc, corner                            drill, V  a cone alone
    tapered ball  corner that runs into a cone         clearance disc, then falling walls, lifted

Every such profile is convex, which is what makes locating it exact (see ``envelope``).
"""

from __future__ import annotations

from dataclasses import dataclass
from math import inf, isfinite, pi, sqrt, tan
from typing import TYPE_CHECKING, NamedTuple, Self

import numpy as np

from chape.catalog.model import CutterKind
from chape.errors import InputError

if TYPE_CHECKING:
    from chape.catalog.model import Cutter
    from chape.field.grid import Floats

#: The outer radius may differ from disc plus corner by this share: what adding up two decimals
#: costs in floating point, with a wide margin.
ROUNDING = 1e-9


class Shape(NamedTuple):
    """A body as the kernels read it, mm; every number finite except ``cone_slope``.

    Attributes:
        flat_radius: where the corner starts.
        corner_radius: radius of the corner's arc.
        cone_start: where the corner ends and the cone starts.
        cone_base: height of the profile there.
        cone_slope: dz/dr of the cone.
        radius: where the body ends.
    """

    flat_radius: float
    corner_radius: float
    cone_start: float
    cone_base: float
    cone_slope: float
    radius: float


@dataclass(frozen=True, slots=True)
class Body:
    """A body of revolution, its tip at its lowest point.

    Attributes:
        flat_radius: radius of the flat disc under the tip, mm.
        corner_radius: radius of the arc that follows the disc, mm.
        cone_slope: dz/dr at which the arc ends and the cone runs on; may be infinite.
        radius: outer radius, mm; nothing of the body lies beyond.
        lift: height ``dilate`` adds on top of the body, mm.

    Raises:
        InputError: a size is negative, not finite, or does not fit the others.
    """

    flat_radius: float
    corner_radius: float
    cone_slope: float
    radius: float
    lift: float = 0.0

    def __post_init__(self) -> None:
        for field in ("flat_radius", "corner_radius", "radius"):
            size = getattr(self, field)
            if not isfinite(size) or size < 0:
                raise _refused(field, f"{size} mm is no size", "Give a finite length, 0 or more")
        if self.radius == 0:
            raise _refused("radius", "the body has no width", "Give a radius above 0 mm")
        if not isfinite(self.lift):
            raise _refused("lift", f"{self.lift} mm is no height", "Give a finite length")
        if not self.cone_slope > 0:
            raise _refused("cone_slope", f"{self.cone_slope} does not rise", "Give a slope above 0")
        rounding = ROUNDING * self.radius
        solid = self.flat_radius + self.corner_radius
        if self.flat_radius > self.radius + rounding:
            raise _refused(
                "flat_radius",
                f"the flat of {self.flat_radius} mm is wider than the body of {self.radius} mm",
                "Make the flat narrower or the body wider",
            )
        if (
            self.cone_slope == inf
            and self.radius > self.flat_radius + self.corner_radius + rounding
        ):
            raise _refused(
                "radius",
                f"upright walls stand at {solid} mm, not at the radius of {self.radius} mm",
                "Give the walls a slope, or let flat and corner add up to the radius",
            )

    @classmethod
    def ball(cls, radius: float) -> Self:
        """Return a ball of ``radius`` mm."""
        return cls(0.0, radius, inf, radius)

    @classmethod
    def flat(cls, radius: float) -> Self:
        """Return a flat disc of ``radius`` mm."""
        return cls(radius, 0.0, inf, radius)

    @classmethod
    def bull_nose(cls, radius: float, corner: float) -> Self:
        """Return a disc of outer ``radius`` mm whose rim is rounded by ``corner`` mm."""
        if corner > radius:
            raise _refused(
                "corner",
                f"a corner of {corner} mm does not fit a radius of {radius} mm",
                "Give a corner no larger than the radius",
            )
        return cls(radius - corner, corner, inf, radius)

    @classmethod
    def cone(cls, half_angle: float, radius: float) -> Self:
        """Return a cone of ``half_angle`` radians between axis and side, out to ``radius`` mm."""
        return cls(0.0, 0.0, _slope_of(half_angle, "half_angle"), radius)

    @classmethod
    def tapered_ball(cls, tip: float, half_angle: float, radius: float) -> Self:
        """Return a ball of ``tip`` mm that runs into a cone of ``half_angle`` radians."""
        return cls(0.0, tip, _slope_of(half_angle, "half_angle"), radius)

    @classmethod
    def clearance(cls, above: float, beside: float, draft: float, reach: float) -> Self:
        """Return the body that keeps a cavity clear of what lies in it.

        Args:
            above: clearance above, mm.
            beside: clearance beside, mm; half the width of the flat disc.
            draft: angle of the cavity's walls from upright, radians; 0 for upright walls.
            reach: how far the drafted walls run from the axis, mm; not used when ``draft`` is 0.
        """
        if draft == 0:
            return cls(beside, 0.0, inf, beside, above)
        return cls(beside, 0.0, _slope_of(draft, "draft"), reach, above)

    @classmethod
    def of_cutter(cls, cutter: Cutter) -> Self:
        """Return the cutting part of a cutter from the catalogue.

        Raises:
            InputError: the corner does not fit the diameter, or a pointed cutter has no point.
        """
        match cutter.kind:
            case CutterKind.BALL:
                return cls.ball(cutter.radius)
            case CutterKind.FLAT:
                return cls.flat(cutter.radius)
            case CutterKind.BULL_NOSE:
                return cls.bull_nose(cutter.radius, cutter.corner)
            case CutterKind.DRILL | CutterKind.VEE:
                return cls.cone(cutter.point_angle / 2 * pi / 180, cutter.radius)
            case CutterKind.TAPERED_BALL:
                half_angle = cutter.point_angle / 2 * pi / 180
                return cls.tapered_ball(cutter.corner, half_angle, cutter.radius)

    @property
    def shape(self) -> Shape:
        """The body as the kernels read it."""
        # float(): kernels are compiled per type, and whole numbers would be another one.
        flat, corner = float(self.flat_radius), float(self.corner_radius)
        slope, radius = float(self.cone_slope), float(self.radius)
        if slope == inf:
            return Shape(flat, corner, radius, corner, slope, radius)
        steep = sqrt(1 + slope**2)
        start = flat + corner * slope / steep
        base = corner * (1 - 1 / steep)
        # Where the body ends inside its corner, the cone's start is never reached.
        return Shape(flat, corner, min(start, radius), base, slope, radius)

    def profile(self, r: Floats) -> Floats:
        """Return the underside's height above the tip, mm.

        Args:
            r: distances from the axis, any shape, mm.

        Returns:
            Heights of the same shape; infinite beyond ``radius``, where there is no body.
        """
        flat, corner, start, base, slope, radius = self.shape
        across = np.clip(r - flat, 0.0, corner)
        arc = corner - np.sqrt(corner**2 - across**2)
        # An infinite slope has no cone to speak of: 0 × ∞ would not be a number.
        cone = base + (0.0 if slope == inf else slope) * (r - start)
        heights: Floats = np.where(r <= start, arc, np.where(r <= radius, cone, inf))
        return heights


def _slope_of(half_angle: float, field: str) -> float:
    """Return dz/dr of a side that stands ``half_angle`` radians from upright."""
    if not 0 < half_angle < pi / 2:
        raise _refused(
            field,
            f"{half_angle * 180 / pi:g}° from the axis makes no cone",
            "Give an angle above 0° and below 90°",
        )
    return 1 / tan(half_angle)


def _refused(field: str, problem: str, mend: str) -> InputError:
    return InputError(problem, mend=mend, field=field)
