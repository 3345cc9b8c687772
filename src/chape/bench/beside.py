"""A knife held beside another, or tried in a sheath that was made for another.

Worked out in a warm process; nothing here at the top needs numerics.
"""

from __future__ import annotations

from math import degrees
from typing import TYPE_CHECKING

from pydantic import BaseModel

from chape.bench.compare_sheaths import CompareRow, compare_row
from chape.bench.finding import FindingAnswer, FindingPlace, finding_answers
from chape.bench.sheath_answers import Corners

if TYPE_CHECKING:
    from pathlib import Path

    from chape.knife.model import Knife

#: Knives are held beside one another on this grid, and sheaths that were not made, mm.
SPACING = 0.4


class KnivesAnswer(BaseModel):
    """A second knife laid over a first where its outline lies best. Frame of the first, mm.

    Attributes:
        rows: figures of both.
        outline_a, outline_b: of both as they lie.
        off: how far the second stands out of the first's outline, 95 % of it at most, and where
            it differs most.
        agree: within what both say of their measuring errors.
        error: those errors together.
    """

    rows: list[CompareRow]
    outline_a: Corners
    outline_b: Corners
    off: float
    off_most: float
    off_most_at: FindingPlace
    thickness_most: float
    thickness_most_at: FindingPlace
    agree: bool
    error: float


class TriedAnswer(BaseModel):
    """A knife in a sheath that was made for another. Frame of the sheath, mm.

    Attributes:
        fits: nothing was found that forbids it.
        unsure: it was measured too coarsely to tell: it fits as measured, but may not as it is.
        exact: judged by the sheath as it was made; else by one designed coarsely.
        outline: of the knife, seated.
        own: of the knife the sheath was made for.
        least_room: between knife and sheath, less than 0 where it presses in.
        edge_room: of the edge along the draw.
        lift, lift_own: how far the handle lifts one half on its way out; of the sheath's own knife.
    """

    fits: bool
    unsure: bool
    exact: bool
    outline: Corners
    own: Corners
    shift: tuple[float, float]
    turn_degrees: float
    least_room: float
    edge_room: float
    lift: float
    lift_own: float
    findings: list[FindingAnswer]


def held_beside(first: Path, second: Path) -> KnivesAnswer:
    """Hold a second knife file's knife beside a first's.

    Raises:
        InputError: one of them cannot be used.
    """
    from chape.bench.corners import outline  # noqa: PLC0415 - numerics
    from chape.fit.stock import moved  # noqa: PLC0415 - as above
    from chape.knife.compare import compare  # noqa: PLC0415 - as above
    from chape.knife.read import read_knife  # noqa: PLC0415 - as above

    one, two = (read_knife(path, SPACING) for path in (first, second))
    seen = compare(one, two)
    error = one.uncertainty + two.uncertainty
    x, y = (float(value) for value in seen.points[seen.worst])
    return KnivesAnswer(
        rows=_rows(one, two),
        outline_a=outline(one.outline),
        outline_b=outline(moved(two, seen.placement).outline),
        off=seen.outline_off,
        off_most=float(seen.off[seen.worst]),
        off_most_at=FindingPlace(x=x, y=y),
        thickness_most=seen.most,
        thickness_most_at=FindingPlace(x=seen.most_at[0], y=seen.most_at[1]),
        agree=seen.within(error),
        error=error,
    )


def tried_in(sheath: Path, knife: Path) -> TriedAnswer:
    """Try a knife file's knife in the sheath of a sheath file.

    Raises:
        InputError, CannotMakeError: one of them cannot be used.
    """
    from chape.bench.corners import outline  # noqa: PLC0415 - numerics
    from chape.bench.shapes import made_or_designed  # noqa: PLC0415 - as above
    from chape.findings import errors  # noqa: PLC0415 - as above
    from chape.fit.check_stock import check_stock  # noqa: PLC0415 - as above
    from chape.fit.stock import stock_fit  # noqa: PLC0415 - as above
    from chape.knife.read import read_knife  # noqa: PLC0415 - as above
    from chape.pipeline.file import read_request  # noqa: PLC0415 - as above

    made, job = made_or_designed(sheath, SPACING)
    fit = stock_fit(made, read_knife(knife, made.choices.spacing))
    findings = check_stock(fit, read_request(sheath).file.fit.edge_margin)
    wrong = {finding.code for finding in errors(findings)}
    return TriedAnswer(
        fits=not wrong,
        unsure=wrong == {"stock-unsure"},
        exact=job is not None,
        outline=outline(fit.sheath.knife.outline),
        own=outline(fit.own.outline),
        shift=(fit.placement.x, fit.placement.y),
        turn_degrees=degrees(fit.placement.turn),
        least_room=float(fit.room.min()),
        edge_room=fit.edge.least,
        lift=fit.lift,
        lift_own=fit.lift_own,
        findings=finding_answers(findings, made),
    )


def _rows(one: Knife, two: Knife) -> list[CompareRow]:
    figures = (
        ("Length", one.length, two.length),
        ("Blade", one.blade_length, two.blade_length),
        ("Thickest", one.thickness, two.thickness),
        ("Measured within", one.uncertainty, two.uncertainty),
    )
    return [compare_row(label, a, b, "mm") for label, a, b in figures]
