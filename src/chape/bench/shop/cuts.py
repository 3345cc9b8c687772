"""Whole sheets or rolls, and how they are cut into the blanks that waiting pieces lack."""

from typing import Annotated, Literal

from fastapi import APIRouter, Path, Response
from pydantic import BaseModel

from chape.bench.bench import AtBench
from chape.bench.problem import MISSING, OTHER_VERSION, RefusedError
from chape.bench.shop.desk import changed_shop, now, shop_of
from chape.bench.shop.stock import StockLeaf, stock_leaf
from chape.shop.sheets import SheetCut, put_cut_blanks, waiting_cuts
from chape.units import LengthUnit

router = APIRouter()

Number = Annotated[int, Path(ge=0, le=10_000)]


class BlankRow(BaseModel):
    """Blanks that are missing, and how many."""

    title: str
    count: int


class CutRow(BaseModel):
    """Blanks of one sheet and colour, and the whole ones to cut them from.

    Attributes:
        whole: the sheet, strip or roll as the shelf knows it.
        used: how many of it are cut, of which
        bound: no plan takes fewer.
        buy: how many have to be bought before.
        share: of the sheet that becomes blanks.
        ways: how many whole ones are cut in each way.
    """

    whole: str
    on_hand: int
    used: int
    bound: int
    buy: int
    share: float
    blanks: list[BlankRow]
    ways: list[int]


class Shown(BaseModel):
    """What the page showed when someone said that it is cut."""

    cuts: list[CutRow]


@router.get("/stock/cuts")
def cuts(bench: AtBench) -> list[CutRow]:
    """Say which whole sheets to cut for all that waits."""
    with shop_of(bench) as shop:
        return [_row(each) for each in waiting_cuts(shop)]


@router.get("/stock/cuts/{number}/{way}.svg", response_class=Response)
def picture(
    number: Number, way: Number, bench: AtBench, unit: Literal["mm", "inch"] = "mm"
) -> Response:
    """Draw one way in which a whole sheet is cut."""
    from chape.documents.picture_stock import stock_picture  # noqa: PLC0415 - only for this

    with shop_of(bench) as shop:
        found = waiting_cuts(shop)
    if number >= len(found) or way >= len(found[number].plan.sheets):
        raise RefusedError(MISSING, "There is no such sheet to cut", mend="Load the page anew")
    plan = found[number].plan
    drawn = stock_picture(
        plan, plan.sheets[way], LengthUnit.MM if unit == "mm" else LengthUnit.INCH
    )
    return Response(drawn, media_type="image/svg+xml")


@router.post("/stock/cuts")
def put_cut(bench: AtBench, shown: Shown) -> StockLeaf:
    """Take the whole sheets off the shelf and put the blanks there: as shown, or not at all."""
    with changed_shop(bench) as shop:
        found = waiting_cuts(shop)
        if [_row(each) for each in found] != shown.cuts:
            raise RefusedError(
                OTHER_VERSION,
                "Other blanks are missing now than were shown",
                mend="Look at what the page shows now",
            )
        shop.change(lambda c: put_cut_blanks(c, found, now()))
        return stock_leaf(shop)


def _row(cut: SheetCut) -> CutRow:
    plan = cut.plan
    return CutRow(
        whole=str(cut.whole),
        on_hand=cut.on_hand,
        used=plan.used,
        bound=plan.bound,
        buy=cut.short,
        share=round(plan.share, 4),
        blanks=[BlankRow(title=str(good), count=n) for good, n in cut.blanks.items()],
        ways=[sheet.times for sheet in plan.sheets],
    )
