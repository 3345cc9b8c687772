"""What runs inside the process of a piece of work."""

from __future__ import annotations

import os
import pickle
import signal
import sys
import traceback
from contextlib import suppress
from enum import StrEnum
from typing import TYPE_CHECKING, Any, NoReturn, Protocol

from chape.bench.defect import DefectError
from chape.errors import ChapeError
from chape.workers import THREADS, obey_parent

if TYPE_CHECKING:
    from collections.abc import Callable
    from multiprocessing.connection import Connection

    Tell = Callable[[str, float | None], None]


#: Long work steps back behind others by so much, of the 19 a system knows.
NICE = 10


class Make(Protocol):
    """A function of a module that does a piece of work.

    It is handed a function to tell the stage it is at, with the share done where that is known.
    """

    def __call__(self, tell: Tell, /, *arguments: Any) -> Any:  # noqa: ANN401 - any work
        """Do the work."""


class Said(StrEnum):
    """The first word of what a process says."""

    STAGE = "stage"
    DONE = "done"
    FAILED = "failed"


def run_work(sender: Connection, make: Make, arguments: tuple[Any, ...]) -> None:
    """Do a piece of work and say what came of it."""
    obey_parent()
    # The last bit of a sum shared among threads depends on their number, and a job's must not.
    os.environ.update(dict.fromkeys(THREADS, "1"))
    signal.signal(signal.SIGTERM, _stopped)
    # What a person drags meanwhile comes first.
    with suppress(AttributeError, OSError):
        os.nice(NICE)

    def tell(stage: str, share: float | None = None) -> None:
        sender.send((Said.STAGE, stage, share))

    try:
        done = (Said.DONE, make(tell, *arguments))
        pickle.dumps(done)
    except KeyboardInterrupt:
        return
    except ChapeError as error:
        done = (Said.FAILED, error)
    except Exception as error:  # noqa: BLE001 - a defect; it is told as one
        sys.stderr.write("".join(traceback.format_exception(error)))
        done = (Said.FAILED, DefectError(type(error).__name__))
    with suppress(OSError):
        sender.send(done)


def _stopped(*_: object) -> NoReturn:
    """Leave as by Ctrl-C, so that everything half-written is cleared up on the way."""
    raise KeyboardInterrupt
