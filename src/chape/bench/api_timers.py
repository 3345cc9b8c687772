"""Timers for what stands and heats."""

from typing import Annotated

from fastapi import APIRouter
from pydantic import BaseModel, Field

from chape.bench.bench import AtBench
from chape.bench.timers import Timer, now

router = APIRouter(prefix="/timers", tags=["timers"])


class TimerAnswer(BaseModel):
    """A timer.

    Attributes:
        ends: milliseconds since 1970, by the clock of the bench.
        now: of the same clock, so that a page whose clock differs counts right.
        done: it has rung.
    """

    id: str
    title: str
    seconds: float
    ends: int
    now: int
    done: bool


class NewTimer(BaseModel):
    """A timer to start."""

    title: Annotated[str, Field(max_length=100)]
    seconds: float


@router.get("")
def all_timers(bench: AtBench) -> list[TimerAnswer]:
    """List all timers, the one that rings first first."""
    return [_answer(timer) for timer in bench.timers.all()]


@router.post("", status_code=201)
def start(new: NewTimer, bench: AtBench) -> TimerAnswer:
    """Start a timer."""
    return _answer(bench.timers.start(new.title, new.seconds))


@router.delete("/{key}", status_code=204)
def clear(key: str, bench: AtBench) -> None:
    """Stop a timer, or clear one that has rung."""
    bench.timers.clear(key)


def _answer(timer: Timer) -> TimerAnswer:
    return TimerAnswer(
        **{name: getattr(timer, name) for name in ("id", "title", "seconds", "ends", "done")},
        now=now(),
    )
