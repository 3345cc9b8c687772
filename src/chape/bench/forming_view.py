"""What to set, how long it takes and what to mind while a blank is heated, as the page shows it.

All of it is read from a job's ``figures.json``: it is of the job that was made, whatever was
changed since.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from pydantic import BaseModel

from chape.documents.cautions import Caution, fume_words

if TYPE_CHECKING:
    from collections.abc import Iterator, Mapping


class EstimateAnswer(BaseModel):
    """A figure, and half the width of the range it is expected in."""

    value: float
    spread: float


class CurveAnswer(BaseModel):
    """Temperatures over time: as many seconds as °C."""

    title: str
    seconds: list[float]
    celsius: list[float]


class HeatAnswer(BaseModel):
    """How something gets hot.

    Attributes:
        heater: its name in the catalogue.
        wanted, highest: warm enough, and the most the sheet bears, °C.
        ready, limit: when they are reached, s; null where they never are.
    """

    heater: str
    wanted: float
    highest: float
    ready: EstimateAnswer | None
    limit: EstimateAnswer | None
    curves: list[CurveAnswer]


class CoolAnswer(BaseModel):
    """How the sheet gets cold on its mould.

    Attributes:
        stiff: the middle may be lifted below it, °C.
        first, last: until then, first sheet of a run and last, s.
        mould_face: the hottest the mould's face gets, °C.
    """

    stiff: float
    first: EstimateAnswer | None
    last: float | None
    mould_face: float
    curves: list[CurveAnswer]


class ThicknessAnswer(BaseModel):
    """What the formed sheet keeps, mm.

    Attributes:
        thinnest: 99 % of it is thicker.
        least: a single place.
    """

    gauge: float
    thinnest: float
    least: float


class SettingAnswer(BaseModel):
    """One thing to set, to wait for or to know.

    Attributes:
        range: where it may lie; null where nothing is told of that.
    """

    label: str
    value: float
    unit: str
    range: tuple[float, float] | None


class OfferedTimer(BaseModel):
    """A timer one may start."""

    title: str
    seconds: float


class FormingAnswer(BaseModel):
    """Everything forming one blank comes to."""

    settings: list[SettingAnswer]
    heat: HeatAnswer
    fold: HeatAnswer | None
    cool: CoolAnswer
    thickness: ThicknessAnswer
    timers: list[OfferedTimer]
    cautions: list[str]


def forming_view(figures: Mapping[str, Any]) -> FormingAnswer:
    """Return what a page shows of forming.

    Args:
        figures: what a job's ``figures.json`` holds.

    Raises:
        KeyError: the job was made before its figures told this.
    """
    forming = figures["forming"]
    heat, fold, cool = forming["heating"], forming["fold"], forming["cooling"]
    gauge, drape = figures["sheath"]["gauge"], forming["drape"]
    return FormingAnswer(
        settings=list(_settings(forming)),
        heat=HeatAnswer(**_of(HeatAnswer, heat)),
        fold=None if fold is None else HeatAnswer(**_of(HeatAnswer, fold)),
        cool=CoolAnswer(**_of(CoolAnswer, cool)),
        thickness=ThicknessAnswer(
            gauge=gauge, thinnest=gauge * drape["thinnest"], least=gauge * drape["least"]
        ),
        timers=list(_timers(forming)),
        cautions=[Caution.HOT, fume_words(heat["highest"]), Caution.AIR, Caution.LAW],
    )


def _of(answer: type[BaseModel], figures: Mapping[str, Any]) -> dict[str, Any]:
    return {name: figures[name] for name in answer.model_fields}


def _settings(forming: Mapping[str, Any]) -> Iterator[SettingAnswer]:
    heat, fold, cool = forming["heating"], forming["fold"], forming["cooling"]
    vacuum, cycle = forming["vacuum"], forming["cycle"]
    yield from _told(f"Set the {heat['heater']} to", heat["setting"], "°C")
    yield from _told(f"In the {heat['heater']}", heat["ready"], "s")
    yield from _taught("Blank", forming, "blank")
    yield from _told("Too hot after", heat["limit"], "s")
    yield from _told("On the mould, first sheet", cool["first"], "s")
    yield from _told(f"On the mould, sheet {cool['shots']}", cool["last"], "s")
    if fold is not None:
        yield from _told(f"Fold, on the {fold['heater']}", fold["ready"], "s")
        yield from _taught("Fold", forming, "fold")
        yield from _told("Fold, a line forms after", fold["limit"], "s")
    yield from _told("Vacuum wanted", vacuum["wanted"], "kPa")
    yield from _told("Vacuum the pump holds", vacuum["reached"], "kPa")
    yield from _told("Drawn down in", vacuum["seconds"], "s")
    yield from _told("From blank to blank", cycle["period"], "s")


def _told(label: str, figure: object, unit: str) -> Iterator[SettingAnswer]:
    if isinstance(figure, dict):
        value, spread = figure["value"], figure["spread"]
        around = (max(0.0, value - spread), value + spread)
        yield SettingAnswer(label=label, value=value, unit=unit, range=around)
    elif isinstance(figure, int | float):
        yield SettingAnswer(label=label, value=figure, unit=unit, range=None)


def _taught(what: str, forming: Mapping[str, Any], place: str) -> Iterator[SettingAnswer]:
    """Say what the maker's own trials teach."""
    taught = forming["taught"].get(place)
    if taught is not None:
        count = taught["trials"]
        yield SettingAnswer(
            label=f"{what}, after {count} of your trials"
            if count > 1
            else f"{what}, after your trial",
            value=taught["seconds"],
            unit="s",
            range=tuple(taught["ready"]),
        )


def _timers(forming: Mapping[str, Any]) -> Iterator[OfferedTimer]:
    """Return a timer for each wait; where trials taught one, it counts before the physics."""
    heat, fold, cool = forming["heating"], forming["fold"], forming["cooling"]
    blank, folded = forming["taught"].get("blank"), forming["taught"].get("fold")
    waits = [
        (f"In the {heat['heater']}", heat["ready"], blank),
        ("On the mould", cool["first"], None),
    ]
    if fold is not None:
        waits.append((f"Fold, on the {fold['heater']}", fold["ready"], folded))
    for title, expected, taught in waits:
        seconds = taught["seconds"] if taught else expected["value"] if expected else None
        if seconds is not None:
            yield OfferedTimer(title=title, seconds=round(seconds))
