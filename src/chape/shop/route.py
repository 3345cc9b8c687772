"""The way a sheath takes through the shop: its steps, their stations and their times."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from functools import cache
from importlib import resources
from typing import TYPE_CHECKING, Annotated, Literal

from pydantic import Field

from chape.catalog.model import NotNegative, Positive, Record
from chape.errors import InputError
from chape.shop.model import PROGRESS, PieceState
from chape.shop.shop_file import SHOP_FILE

if TYPE_CHECKING:
    from collections.abc import Mapping

    from chape.shop.shop_file import ModelTable, ShopFile

#: The resource every step with hand time needs.
HANDS = "hands"


class Station(Record):
    """A kind of station.

    Attributes:
        family: what it is set up for; None where it needs no set-up.
        change: seconds of hands to set it up for another family.
        places: how many families stay set up at once.
    """

    title: str
    family: Literal["colour", "mould", "fixture"] | None = None
    change: NotNegative = 0.0
    places: Annotated[int, Field(ge=1, le=20)] = 1


class Step(Record):
    """A step of the work.

    Attributes:
        per: it is done once for each blank or piece, for each eyelet of a piece, or for each piece
            with a clip.
        station: where.
        hands, alone: seconds with hands, and then by itself.
        within: seconds it may wait after the step before; None for any time.
        styles: of sheath that need it; empty for all.
        state: what pieces are after it; None where their state stays.
    """

    name: str
    title: str
    per: Literal["blank", "piece", "eyelet", "clip"]
    station: str
    hands: Positive
    alone: NotNegative = 0.0
    within: Annotated[int, Field(ge=0)] | None = None
    styles: tuple[str, ...] = ()
    state: PieceState | None = None


class RouteFile(Record):
    """The stations and steps that chape knows."""

    stations: dict[str, Station]
    steps: tuple[Step, ...]


@dataclass(frozen=True, slots=True)
class StepTime:
    """What one step takes, whole seconds: with hands, then by itself."""

    hands: int
    alone: int


@cache
def routes() -> RouteFile:
    """Return the stations and steps."""
    text = (resources.files("chape.shop") / "data" / "routes.toml").read_text("utf-8")
    return RouteFile.model_validate(tomllib.loads(text))


def check_shop_file(file: ShopFile) -> None:
    """Refuse a shop file that names stations or steps which are not there.

    Raises:
        InputError: which.
    """
    steps = [step.name for step in routes().steps]
    for table, given, known in (
        ("stations", file.stations, list(routes().stations)),
        ("times", file.times, steps),
    ):
        for name in given:
            if name not in known:
                raise InputError(
                    f'there is no "{name}"',
                    mend=f"Use one of: {', '.join(known)}",
                    file=SHOP_FILE,
                    field=f"{table}.{name}",
                )


def steps_of(model: ModelTable, *, clip: bool) -> tuple[Step, ...]:
    """Return the steps of a model's piece and of its blank, in the order of the work."""
    return tuple(
        step
        for step in routes().steps
        if (not step.styles or model.style.value in step.styles)
        and (clip or step.per != "clip")
        and (model.eyelets or step.per != "eyelet")
    )


def step_time(
    step: Step, model: ModelTable, file: ShopFile, learned: Mapping[str, float], sheet: str = ""
) -> StepTime:
    """Return what a step takes for a model.

    The shop file's own time counts first, then what the run log taught and a person accepted, then
    the usual one; the router's time by itself is the model's.

    Args:
        step: the step.
        model: of the piece.
        file: the shop file.
        learned: step -> accepted seconds of hands, of one eyelet where it counts eyelets; "router"
            and a fixture -> seconds of the router for one blank; a step and a sheet -> seconds
            that it is heated.
        sheet: of the piece; "" where it does not matter.
    """
    hands, alone = step.hands, step.alone
    cut = {"bore": model.bore, "outline": model.outline}
    if step.name in cut:
        # The router's time is learned of the whole program; what is known of its parts divides it.
        total = sum(cut.values())
        alone = cut[step.name] * (learned.get(f"router {model.fixture}", total) / (total or 1.0))
    alone = learned.get(f"{step.name} {sheet}", alone)
    hands = learned.get(step.name, hands)
    given = file.times.get(step.name)
    if given is not None:
        hands = hands if given.hands is None else given.hands
        alone = alone if given.alone is None else given.alone
    count = model.eyelets if step.per == "eyelet" else 1
    return StepTime(max(1, round(hands * count)), round(alone * count))


def is_past(step: Step, state: PieceState, steps: tuple[Step, ...]) -> bool:
    """Say whether a piece in a state has been through a step."""
    following = steps[steps.index(step) :]
    ahead = next((each.state for each in following if each.state is not None), None)
    if ahead is None or state not in PROGRESS:
        return True
    return PROGRESS.index(state) >= PROGRESS.index(ahead)
