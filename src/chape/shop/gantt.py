"""The plan as a picture: a row for the hands and one for each station, time to the right."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import timedelta
from math import ceil
from typing import TYPE_CHECKING

import numpy as np

from chape.documents import palette
from chape.documents.sketch import Pen, Sketch
from chape.shop.route import routes

if TYPE_CHECKING:
    from datetime import datetime

    from chape.shop.plan import Plan, PlannedTask

#: The picture, paper mm: its width, the room for names, the height of a row and of its bar.
WIDTH, NAMES, ROW, BAR = 380.0, 34.0, 13.0, 8.0
HEAD, FOOT, EDGE = 24.0, 14.0, 6.0

#: A bar wider than this carries its name, paper mm per letter.
LETTER = 1.55

#: Between the lines that carry an hour, s.
STEPS = (60, 300, 600, 900, 1800, 3600, 7200, 14_400, 86_400)

HAIR = Pen(palette.HAIRLINE, 0.15)
HANDS, ALONE, CHANGE = palette.COPPER, palette.STEEL, palette.BRASS


def gantt_svg(plan: Plan, start: int, seconds: int) -> bytes:
    """Return the plan from ``start`` for so many seconds as an SVG picture."""
    busy = {task.station for task in plan.tasks}
    stations = [name for name in routes().stations if name in busy]
    chart = _Gantt(plan, start, start + seconds, stations)
    chart.head()
    chart.grid()
    chart.rows()
    for task in plan.tasks:
        if task.start + task.seconds > start and task.start < start + seconds:
            chart.bar(task)
    return chart.board.svg()


@dataclass(slots=True, eq=False)
class _Gantt:
    """The picture being drawn; moments are seconds from the plan's zero."""

    plan: Plan
    start: int
    end: int
    stations: list[str]
    board: Sketch = field(init=False)

    def __post_init__(self) -> None:
        height = HEAD + ROW * (1 + len(self.stations)) + FOOT
        self.board = Sketch(WIDTH, height, 0.0, height, 1.0, "The plan of the day")

    def _across(self, moment: float) -> float:
        return NAMES + (moment - self.start) * (WIDTH - NAMES - EDGE) / (self.end - self.start)

    def _middle(self, row: int) -> float:
        return self.board.height - HEAD - ROW * (row + 0.5)

    def head(self) -> None:
        """Write the day, when the last parcel is ready, and what the colours mean."""
        board, top = self.board, self.board.height
        zero, ready = self.plan.zero.astimezone(), self.plan.ready.astimezone()
        board.text(EDGE, top - 8, f"{zero:%A %d %B %Y}", anchor="start", size=5.6, bold=True)
        late = f", {len(self.plan.late)} late" if self.plan.late else ""
        words = f"from {zero:%H:%M}; the last parcel is ready {_day(zero, ready)}{late}"
        board.text(EDGE, top - 15, words, anchor="start", size=3.4, colour=palette.SLATE)
        x = WIDTH - EDGE
        for colour, title in ((CHANGE, "set-up"), (ALONE, "runs alone"), (HANDS, "hands")):
            board.text(x, top - 8, title, anchor="end", size=3.2)
            x -= 3.2 * 0.52 * len(title) + 5
            self._box(x, x + 3, top - 8, 3, Pen(None, fill=colour))
            x -= 6

    def grid(self) -> None:
        """Draw a line at every round time, with its hour."""
        step = next(s for s in STEPS if (self.end - self.start) / s <= 14 or s == STEPS[-1])
        zero = self.plan.zero.astimezone()
        midnight = zero.replace(hour=0, minute=0, second=0, microsecond=0)
        past = (zero - midnight).total_seconds()
        number = ceil((past + self.start) / step)
        while number * step - past <= self.end:
            x = self._across(number * step - past)
            self.board.line(x, FOOT - 3, x, self.board.height - HEAD, HAIR)
            moment = midnight + timedelta(seconds=number * step)
            self.board.text(x, FOOT - 7, f"{moment:%H:%M}", size=3.2)
            number += 1

    def rows(self) -> None:
        """Name the rows."""
        titles = ["Hands", *(routes().stations[name].title for name in self.stations)]
        for row, title in enumerate(titles):
            y = self._middle(row)
            self.board.line(EDGE, y - ROW / 2, WIDTH - EDGE, y - ROW / 2, HAIR)
            self.board.text(NAMES - 3, y, title, anchor="end", size=3.2, bold=row == 0)

    def bar(self, task: PlannedTask) -> None:
        """Draw a task at its station, and again for the hands where it needs them."""
        left = self._across(max(self.start, task.start))
        right = self._across(min(self.end, task.start + task.seconds))
        colour = CHANGE if task.is_change else HANDS if task.hands else ALONE
        words = task.name.removesuffix("~")
        for row in (1 + self.stations.index(task.station), *((0,) if task.hands else ())):
            y = self._middle(row)
            self._box(left, right, y, BAR, Pen(palette.PAPER, 0.1, fill=colour))
            if right - left > LETTER * len(words):
                self.board.text((left + right) / 2, y, words, size=2.4, colour=palette.PAPER)

    def _box(self, left: float, right: float, y: float, height: float, pen: Pen) -> None:
        low, high = y - height / 2, y + height / 2
        corners = np.array([(left, low), (right, low), (right, high), (left, high)])
        self.board.polyline(corners, pen, closed=True)


def _day(zero: datetime, ready: datetime) -> str:
    same = zero.date() == ready.date()
    return f"at {ready:%H:%M}" if same else f"on {ready:%A %d %B} at {ready:%H:%M}"
