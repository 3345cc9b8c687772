"""What a model's job folder says to the shop: how long its blank is cut, by what, and its hold.

``job`` of a model names the folder that ``chape make`` wrote for it. Its ``figures.json`` is read
anew whenever it is asked for, so that a job made again counts at once.
"""

from __future__ import annotations

import json
from dataclasses import dataclass
from math import isfinite
from pathlib import Path
from typing import TYPE_CHECKING, Any

from chape.catalog.files import read_bytes
from chape.errors import InputError

if TYPE_CHECKING:
    from collections.abc import Mapping

    from chape.shop.shop_file import ShopFile

#: The file of figures in a job folder, and its program for a blank.
FIGURES, TRIM = "figures.json", "trim"


@dataclass(frozen=True, slots=True)
class Job:
    """What a job folder says.

    Attributes:
        router: seconds of the trim program, for one blank.
        cutters: name -> seconds it cuts of one blank.
        friction: that the hold is computed with; None where the job says none.
        holds: (friction, hold in N) in order of the friction; two or more, or none.
    """

    router: float
    cutters: Mapping[str, float]
    friction: float | None
    holds: tuple[tuple[float, float], ...]

    def friction_at(self, hold: float) -> float | None:
        """Return the friction at which the sheath would hold so hard, N.

        The hold rises with friction, nearly in a line; beyond the frictions that were computed the
        line is drawn on. None where that gives no friction, or where no hold was computed.
        """
        if len(self.holds) < 2:
            return None
        low, high = self.holds[0], self.holds[-1]
        for one, other in zip(self.holds, self.holds[1:], strict=False):
            if other[1] <= one[1]:
                return None
            if hold <= other[1]:
                low, high = one, other
                break
            low, high = one, other
        slope = (high[0] - low[0]) / (high[1] - low[1])
        found = low[0] + slope * (hold - low[1])
        return found if found > 0 else None


def read_job(folder: Path) -> Job:
    """Read what a job folder says.

    Raises:
        InputError: there is no such folder, or its figures cannot be used.
    """
    path = folder / FIGURES
    if not path.is_file():
        raise InputError(
            "this is no job's folder: it has no figures.json",
            mend="Name the folder that chape make wrote, or leave job out",
            file=folder,
        )
    try:
        figures = json.loads(read_bytes(path))
        trim = figures["programs"][TRIM]
        cutters = {str(each["name"]): _number(each["seconds"]) for each in trim["cutters"]}
        router = _number(trim["seconds"])
        fit = figures.get("fit") or {}
        holds = _holds(fit)
        friction = None if not holds else _number(fit["friction"])
    except (KeyError, TypeError, ValueError, AttributeError) as error:
        raise InputError(
            f"the figures of the job cannot be used ({type(error).__name__}: {error})",
            mend="Make the job again with chape make",
            file=path,
        ) from None
    return Job(router, cutters, friction, holds)


def jobs_of(file: ShopFile) -> tuple[dict[str, Job], dict[str, InputError]]:
    """Return the jobs that models name, and what is wrong with those that cannot be read."""
    found: dict[str, Job] = {}
    wrong: dict[str, InputError] = {}
    for name, model in sorted(file.models.items()):
        if model.job is not None:
            try:
                found[name] = read_job(Path(model.job))
            except InputError as error:
                wrong[name] = error
    return found, wrong


def _holds(fit: Mapping[str, Any]) -> tuple[tuple[float, float], ...]:
    """Return friction and hold of the fit and of the ends of its band; none where there is none."""
    band = next((each for each in fit.get("bands", ()) if each["name"] == "friction"), None)
    if band is None or fit.get("hold") is None or None in band["holds"]:
        return ()
    points = [(_number(fit["friction"]), _number(fit["hold"]))]
    points += [
        (_number(one), _number(other))
        for one, other in zip(band["ends"], band["holds"], strict=True)
    ]
    return tuple(sorted(set(points)))


def _number(value: object) -> float:
    if isinstance(value, bool) or not isinstance(value, int | float) or not isfinite(value):
        raise ValueError(f"{value!r} is no number")
    if value < 0:
        raise ValueError(f"{value} is below nothing")
    return float(value)
