"""The stages of a job, each kept by what went into it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, TypeVar

from chape.pipeline.keep import Keep, code_digest, key_of

if TYPE_CHECKING:
    from collections.abc import Callable

Result = TypeVar("Result")

#: Told the name of each stage as it begins.
Watch = "Callable[[str], None]"

_GROUND = ("errors.py", "findings.py", "units.py", "tolerances.py", "kernels.py")

#: The packages whose code a stage's result depends on: its own and all below it.
CODE = {
    "knife": (*_GROUND, "field", "catalog", "knife"),
    "sheath": (*_GROUND, "field", "catalog", "knife", "sheath"),
    "tooling": (*_GROUND, "field", "catalog", "knife", "sheath", "tooling"),
    "cutting": (*_GROUND, "field", "catalog", "knife", "sheath", "tooling", "cutting"),
    "documents": (
        *_GROUND,
        *("field", "catalog", "knife", "sheath", "tooling", "cutting", "documents"),
    ),
}


@dataclass(frozen=True, slots=True)
class Stages:
    """Runs stages one after the other.

    Attributes:
        keep: where results are kept.
        watch: told the title of each stage that has to be computed.
    """

    keep: Keep
    watch: Callable[[str], None]

    def key(self, layer: str, name: str, *parts: str | bytes) -> str:
        """Return the key of a result of one layer's code."""
        return key_of(layer, name, code_digest(CODE[layer]), *parts)

    def run(self, key: str, title: str, make: Callable[[], Result]) -> Result:
        """Return a stage's result, kept or computed."""

        def watched() -> Result:
            self.watch(title)
            return make()

        return self.keep.get_or_make(key, watched)
