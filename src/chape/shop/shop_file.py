"""The shop file: what the person decides about the shop, in one TOML file.

What changes while the work goes on is in the store. Money is in the shop's own currency, times of
day are written "08:00".
"""

from __future__ import annotations

from datetime import time
from typing import TYPE_CHECKING, Annotated, Literal, Self

from pydantic import Field, StringConstraints, ValidationError, model_validator

from chape.catalog.files import parse_toml, read_bytes
from chape.catalog.model import Length, NotNegative, PositiveLength, Record
from chape.catalog.read import catalog, with_workshop
from chape.catalog.sentences import first_problem
from chape.errors import InputError
from chape.sheath.model import Hand, Style
from chape.shop.model import Line, Word

if TYPE_CHECKING:
    from pathlib import Path

    from chape.catalog.read import Catalog

#: The file every shop folder has.
SHOP_FILE = "shop.toml"

#: The shop's own catalogue entries, as beside a sheath file.
WORKSHOP = "workshop.toml"

Clock = Annotated[str, StringConstraints(pattern=r"^([01]\d|2[0-3]):[0-5]\d$")]
Count = Annotated[int, Field(strict=True, ge=1, le=1000)]
Share = Annotated[float, Field(strict=True, ge=0, lt=1)]
Seconds = Annotated[float, Field(strict=True, ge=0, le=14_400)]


class ShopTable(Record):
    """The ``[shop]`` table.

    Attributes:
        database: a file in the shop's folder, or any SQLAlchemy URL.
        currency: what prices are in, as papers print it.
    """

    name: Annotated[Line, Field(min_length=1)]
    database: Line = "shop.db"
    currency: Annotated[str, StringConstraints(pattern=r"^[A-Z]{3}$")] = "EUR"


class DayTable(Record):
    """The ``[day]`` table: when there are hands, and how many.

    Attributes:
        start, end: of the working day.
        collect: when parcels are collected; what is due that day is late afterwards.
        breaks: pairs of times without hands.
        people: how many pairs of hands.
    """

    start: Clock = "08:00"
    end: Clock = "16:30"
    collect: Clock = "16:00"
    breaks: tuple[tuple[Clock, Clock], ...] = (("12:00", "12:30"),)
    people: Annotated[int, Field(strict=True, ge=1, le=20)] = 1

    @model_validator(mode="after")
    def _check_order(self) -> Self:
        if self.end <= self.start:
            raise ValueError(f"the day ends at {self.end}, before it starts at {self.start}")
        past = self.start
        for begin, end in self.breaks:
            if not past <= begin < end <= self.end:
                raise ValueError(
                    f"the break {begin} to {end} lies outside the day, or before the one above it"
                )
            past = end
        return self


class MoneyTable(Record):
    """The ``[money]`` table.

    Attributes:
        hand_hour: cost of an hour of hands.
        machine_hour: cost of an hour of the router.
        consumables: release sheets, abrasives, tape and boxes, per piece.
        overhead: share put on cost for rent, power and the like.
        margin: share of the price that is left over.
        rounding: prices are rounded up to a multiple of this.
        late_day: what it costs that an order leaves a day too late.
    """

    hand_hour: NotNegative = 30.0
    machine_hour: NotNegative = 8.0
    consumables: NotNegative = 0.6
    overhead: NotNegative = 0.2
    margin: Share = 0.25
    rounding: Annotated[float, Field(strict=True, gt=0, le=100)] = 0.5
    late_day: NotNegative = 0.0


class StationTable(Record):
    """One of ``[stations]``.

    Attributes:
        capacity: how many of its kind stand in the shop.
        places: how many moulds or fixtures stay set up on it at once; None for the usual number.
        change: seconds of hands to set it up for another; None for the usual time.
    """

    capacity: Annotated[int, Field(strict=True, ge=1, le=50)] = 1
    places: Annotated[int, Field(strict=True, ge=1, le=20)] | None = None
    change: Seconds | None = None


class TimeTable(Record):
    """One of ``[times]``: what a step takes in this shop, in place of the usual time.

    Attributes:
        hands, alone: seconds with hands, and running by itself.
    """

    hands: Seconds | None = None
    alone: Seconds | None = None


class ModelTable(Record):
    """One of ``[models]``: a sheath the shop has the tools for.

    Attributes:
        title: what papers call it.
        style: how its halves are joined.
        hand: the side its mould is made for; None where it serves both.
        mould, fixture: the tools it is made with, by the names written on them.
        per_blank: pieces on one blank.
        blank: width and depth of the blank, mm.
        mould_life: blanks a mould forms before it should be looked at.
        eyelet: name of the eyelet in the catalogue.
        eyelets: how many close one piece.
        uses, uses_each: consumables that one blank, and one piece, takes from stock, and how many.
        hold: wanted pull, N.
        bore, outline: seconds the router runs by itself for one blank; a job sheet says them.
        job: the folder that ``chape make`` wrote for it, from the shop's folder on; absolute once
            the file is read.
        price: what is asked for one; None works it out.
    """

    title: Annotated[Line, Field(min_length=1)]
    style: Style = Style.FOLDED
    hand: Hand | None = None
    mould: Word
    fixture: Word
    per_blank: Annotated[int, Field(strict=True, ge=1, le=50)] = 1
    blank: tuple[Count, Count] = (300, 300)
    mould_life: Annotated[int, Field(strict=True, ge=1, le=1_000_000)] = 2000
    eyelet: Word = "eyelet-6.4"
    eyelets: Annotated[int, Field(strict=True, ge=0, le=100)] = 6
    uses: dict[Word, Count] = Field(default_factory=dict)
    uses_each: dict[Word, Count] = Field(default_factory=dict)
    hold: Annotated[float, Field(gt=0, le=500)] | None = None
    bore: Seconds = 90.0
    outline: Seconds = 200.0
    job: Annotated[Line, Field(min_length=1)] | None = None
    price: NotNegative | None = None


class CutterTable(Record):
    """One of ``[cutters]``: a cutter that wears out.

    Attributes:
        life: minutes it cuts before it should be changed.
    """

    life: Annotated[float, Field(strict=True, gt=0, le=100_000)]


class SheetTable(Record):
    """One of ``[sheets]``: a sheet that is bought whole and cut into blanks.

    Attributes:
        width, depth: of a whole one, mm; depth None for a strip or roll as deep as its blanks.
        kerf: what one cut takes, mm; 0 for shears.
        edge: cut off all round first, mm.
        turn: blanks may be turned by a quarter.
        cut: by through cuts, or freely.
    """

    width: PositiveLength
    depth: PositiveLength | None = None
    kerf: Length = 0.0
    edge: Length = 0.0
    turn: Annotated[bool, Field(strict=True)] = True
    cut: Literal["through", "free"] = "through"


class ShopFile(Record):
    """Everything a shop file may hold."""

    shop: ShopTable
    day: DayTable = DayTable()
    money: MoneyTable = MoneyTable()
    stations: dict[Word, StationTable] = Field(default_factory=dict)
    times: dict[Word, TimeTable] = Field(default_factory=dict)
    models: dict[Word, ModelTable] = Field(default_factory=dict)
    cutters: dict[Word, CutterTable] = Field(default_factory=dict)
    sheets: dict[Word, SheetTable] = Field(default_factory=dict)

    def model(self, name: str) -> ModelTable:
        """Return one of the shop's models.

        Raises:
            InputError: there is none of that name.
        """
        if name not in self.models:
            known = ", ".join(sorted(self.models)) or "none yet"
            raise InputError(
                f'the shop has no model "{name}"',
                mend=f"Write it under [models] of {SHOP_FILE}, or choose one of: {known}",
                field="model",
            )
        return self.models[name]


def read_shop_file(folder: Path) -> ShopFile:
    """Read the shop file of a folder.

    Raises:
        InputError: there is none, or it cannot be used, by key.
    """
    path = folder / SHOP_FILE
    if not path.is_file():
        raise InputError(
            "this is no shop's folder: it has no shop.toml",
            mend="Name the shop's folder with --shop, or start one with chape shop new",
            file=folder,
        )
    try:
        file = ShopFile.model_validate(parse_toml(read_bytes(path), path))
    except ValidationError as error:
        raise first_problem(error, file=path) from None
    models = {
        name: model
        if model.job is None
        else model.model_copy(update={"job": str((folder / model.job).absolute())})
        for name, model in file.models.items()
    }
    return file.model_copy(update={"models": models})


def shop_catalog(folder: Path) -> Catalog:
    """Return the catalogue with the shop's own entries.

    Raises:
        InputError: the shop's own entries cannot be used.
    """
    path = folder / WORKSHOP
    if not path.is_file():
        return catalog()
    return with_workshop(catalog(), parse_toml(read_bytes(path), path), path)


def seconds_of(clock: str) -> int:
    """Return a time of day in seconds from midnight.

    >>> seconds_of("08:30")
    30600
    """
    at = time.fromisoformat(clock)
    return at.hour * 3600 + at.minute * 60
