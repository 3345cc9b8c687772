"""What the parts of the bench's server share: the folder, and who may come in."""

from dataclasses import dataclass

from starlette.requests import HTTPConnection

from chape.bench.place import Place


@dataclass(frozen=True, slots=True)
class Bench:
    """One running bench.

    Attributes:
        place: its folder.
        lan: other devices may be paired.
    """

    place: Place
    lan: bool = False


def bench_of(connection: HTTPConnection) -> Bench:
    """Return the bench a request or a web socket came to; for ``Depends``."""
    bench: Bench = connection.app.state.bench
    return bench
