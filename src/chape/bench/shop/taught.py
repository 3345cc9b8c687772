"""What the run log teaches: shown with its evidence, used once a person accepts it."""

from typing import Literal

from fastapi import APIRouter
from pydantic import BaseModel

from chape.bench.bench import AtBench
from chape.bench.shop.desk import changed_shop, now, shop_of
from chape.shop.in_work import learned_figures
from chape.shop.learn import accept, proposals, unlearn
from chape.shop.route import routes
from chape.shop.shop_file import shop_catalog
from chape.shop.store import Shop

router = APIRouter()

#: Seconds, a share of pieces, or a friction, which has no unit.
Unit = Literal["s", "share", "friction"]

#: What a figure is called before its name, what it is of, its unit, and what speaks for it.
SORTS: dict[str, tuple[str, Unit, str]] = {
    "scrap": ("Share of {} that is scrapped", "share", "pieces"),
    "friction": ("Friction of {} on its knife", "friction", "readings of the spring scale"),
    "router": ("The router, a blank on fixture {}", "s", "checked program"),
    "heat": ("In the press, {}", "s", "heat trials"),
    "warm": ("At the strip heater, {}", "s", "heat trials"),
}


class Taught(BaseModel):
    """A figure the log speaks for.

    Attributes:
        title: what it is of, in words.
        low, high: range it lies in with a chance of 95 %.
        count: of what it rests on, which is
        evidence: ticks, pieces, readings, programs or heat trials.
    """

    what: str
    title: str
    unit: Unit
    now: float
    value: float
    low: float
    high: float
    count: int
    evidence: str


class Accepted(BaseModel):
    """A figure that is used because a person accepted it."""

    what: str
    title: str
    unit: Unit
    value: float


class LearnLeaf(BaseModel):
    """What the log proposes, and what was accepted."""

    proposed: list[Taught]
    accepted: list[Accepted]


class What(BaseModel):
    """Which figure: "check", or "scrap camp"."""

    what: str


@router.get("/learn")
def learn(bench: AtBench) -> LearnLeaf:
    """List what the log proposes, and what was accepted."""
    with shop_of(bench) as shop:
        return _learned(shop)


@router.post("/learn/accept")
def use(bench: AtBench, given: What) -> LearnLeaf:
    """Use a proposed figure from now on."""
    with changed_shop(bench) as shop:
        entries = shop_catalog(shop.folder)
        shop.change(lambda c: accept(c, shop.file, given.what, now(), entries))
        return _learned(shop)


@router.post("/learn/forget")
def forget(bench: AtBench, given: What) -> LearnLeaf:
    """Go back to what was used before."""
    with changed_shop(bench) as shop:
        shop.change(lambda c: unlearn(c, given.what))
        return _learned(shop)


def _learned(shop: Shop) -> LearnLeaf:
    entries = shop_catalog(shop.folder)
    rows, used = shop.read(lambda c: (proposals(c, shop.file, entries), learned_figures(c)))
    return LearnLeaf(
        proposed=[
            Taught(
                what=row.what,
                title=_title(shop, row.what),
                unit=_unit(row.what),
                now=row.now,
                value=row.value,
                low=row.low,
                high=row.high,
                count=row.count,
                evidence=_evidence(row.what),
            )
            for row in rows
        ],
        accepted=[
            Accepted(what=what, title=_title(shop, what), unit=_unit(what), value=value)
            for what, value in sorted(used.items())
        ],
    )


def _title(shop: Shop, what: str) -> str:
    """Return what a figure is of, in words."""
    sort, _, name = what.partition(" ")
    if name and sort in SORTS:
        model = shop.file.models.get(name) if sort in {"scrap", "friction"} else None
        return SORTS[sort][0].format(name if model is None else model.title)
    return next((step.title for step in routes().steps if step.name == what), what)


def _unit(what: str) -> Unit:
    sort, _, name = what.partition(" ")
    return SORTS[sort][1] if name and sort in SORTS else "s"


def _evidence(what: str) -> str:
    sort, _, name = what.partition(" ")
    return SORTS[sort][2] if name and sort in SORTS else "ticks"
