"""Heat trials, and how long each cutter has cut: what wears, and what a heater does."""

from typing import Annotated, Literal

from fastapi import APIRouter
from pydantic import BaseModel, Field

from chape.bench.bench import AtBench
from chape.bench.shop.desk import changed_shop, now, shop_of
from chape.shop.cutter_wear import cutters_of, note_changed
from chape.shop.heats import HEATERS, advice_of, heats_of, note_heat
from chape.shop.job_folder import jobs_of
from chape.shop.shop_file import shop_catalog
from chape.shop.store import Shop

router = APIRouter()

Step = Literal["heat", "warm"]


class CutterRow(BaseModel):
    """A cutter: minutes it has cut since it was changed, and those expected of it."""

    name: str
    minutes: float
    life: float | None


class Changed(BaseModel):
    """Which cutter was changed or ground."""

    name: str


class HeatRow(BaseModel):
    """What the trials of one sheet on one heater teach; times in seconds.

    Attributes:
        trials: how many there are.
        next: the time to use next, and
        good: its chance of a good sheet, 0 to 1.
        low, high: the sheet becomes ready in between, nine times in ten.
        telling: the time that would tell the most.
    """

    step: Step
    sheet: str
    heater: str
    trials: int
    next: float
    good: float
    low: float
    high: float
    telling: float


class HeatLeaf(BaseModel):
    """All trials of the shop, and the heaters that each step may use, the usual one first."""

    rows: list[HeatRow]
    heaters: dict[str, list[str]]


class NewHeat(BaseModel):
    """A heat trial; what is left out is as usual. Gauge in mm, temperatures in °C."""

    sheet: str
    step: Step = "heat"
    seconds: float
    outcome: Literal["cold", "good", "overheated"]
    heater: str | None = None
    setting: float | None = None
    gauge: float | None = None
    room: float | None = None
    note: Annotated[str, Field(max_length=200)] = ""


@router.get("/heats")
def heats(bench: AtBench) -> HeatLeaf:
    """List what heat trials teach."""
    with shop_of(bench) as shop:
        return _heats(shop)


@router.post("/heats")
def keep_heat(bench: AtBench, given: NewHeat) -> HeatLeaf:
    """Keep a heat trial."""
    with changed_shop(bench) as shop:
        entries = shop_catalog(shop.folder)
        told = given.model_dump(exclude={"step"})
        shop.change(lambda c: note_heat(c, entries, given.step, told, now()))
        return _heats(shop)


@router.get("/cutters")
def cutters(bench: AtBench) -> list[CutterRow]:
    """List how long each cutter has cut since it was changed."""
    with shop_of(bench) as shop:
        return _cutters(shop)


@router.post("/cutters/changed")
def change_cutter(bench: AtBench, given: Changed) -> list[CutterRow]:
    """Count a cutter anew, since it was changed or ground."""
    with changed_shop(bench) as shop:
        shop.change(lambda c: note_changed(c, shop.file, given.name))
        return _cutters(shop)


def _cutters(shop: Shop) -> list[CutterRow]:
    jobs, _ = jobs_of(shop.file)
    rows = shop.read(lambda c: cutters_of(c, shop.file, jobs))
    return [CutterRow(name=r.name, minutes=round(r.minutes, 1), life=r.life) for r in rows]


def _heats(shop: Shop) -> HeatLeaf:
    entries = shop_catalog(shop.folder)
    rows = []
    for (step, sheet), trials in sorted(shop.read(heats_of).items()):
        advice = advice_of(entries, trials)
        rows.append(
            HeatRow(
                step=step,
                sheet=sheet,
                heater=trials[-1].heater,
                trials=advice.trials,
                next=advice.seconds,
                good=round(advice.good, 4),
                low=advice.ready_low,
                high=advice.ready_high,
                telling=advice.telling,
            )
        )
    names = entries.names("heaters")
    usual = {
        step: [heater, *(name for name in names if name != heater)]
        for step, heater in HEATERS.items()
    }
    return HeatLeaf(rows=rows, heaters=usual)
