"""What the parts of the bench's server share."""

from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Annotated

from fastapi import Depends
from starlette.requests import HTTPConnection

from chape.bench.devices import Devices
from chape.bench.events import Events
from chape.bench.pairing import Pairing
from chape.bench.place import Place
from chape.bench.previews import Previews
from chape.bench.records import Records
from chape.bench.timers import Timers
from chape.bench.warm import Warm
from chape.bench.work import Works
from chape.bench.work_log import WorkLog


@dataclass(slots=True)
class Bench:
    """One running bench.

    Attributes:
        place: its folder.
        lan: other devices may be paired.
        say: told what belongs on the terminal.
        doors: addresses by which other devices reach it, as a browser takes them.
        events: told of every change.
        records: its knives and sheaths.
        works: its long work.
        previews: of sheaths that are dragged.
        shapes: a process for what is shown in three dimensions.
        timers: for what stands and heats.
        devices, pairing: who may come in.
    """

    place: Place
    lan: bool = False
    say: Callable[[str], None] = print
    doors: tuple[str, ...] = ()
    events: Events = field(init=False, default_factory=Events)
    records: Records = field(init=False)
    works: Works = field(init=False)
    previews: Previews = field(init=False, default_factory=Previews)
    shapes: Warm = field(init=False, default_factory=Warm)
    timers: Timers = field(init=False)
    devices: Devices = field(init=False)
    pairing: Pairing = field(init=False)

    def __post_init__(self) -> None:
        """Put the parts together."""
        self.records = Records(self.place, self.events)
        self.works = Works(self.events, WorkLog(self.place.own / "works.json"))
        self.timers = Timers(self.place.own / "timers.json", self.events)
        self.devices = Devices(self.place.own)
        self.pairing = Pairing(self.say)

    def close(self) -> None:
        """Stop what runs, and send every listener home."""
        self.works.close()
        self.previews.close()
        self.shapes.close()
        self.events.close()


def bench_of(connection: HTTPConnection) -> Bench:
    """Return the bench a request or a web socket came to."""
    bench: Bench = connection.app.state.bench
    return bench


#: A parameter of a route that is handed the bench.
AtBench = Annotated[Bench, Depends(bench_of)]
