"""A sheath made by hand: the same design and the same fit, without mould, fixture and programs."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from chape.documents.compose_by_hand import compose_by_hand
from chape.documents.page_by_hand import ByHand
from chape.forming.folding import heat_fold
from chape.forming.heating import heat_sheet
from chape.knife.check import check_knife
from chape.pipeline.fit import run_solve
from chape.pipeline.folder import INPUTS, MANIFEST, manifest
from chape.pipeline.run import run_knife, run_sheath
from chape.sheath.halves import reach_along
from chape.tooling.gauges import check_gauges, make_dummy, make_gauges
from chape.tooling.press import press_for
from chape.tooling.profile_boards import make_former

if TYPE_CHECKING:
    from chape.findings import Finding
    from chape.pipeline.file import Request
    from chape.pipeline.page import Page
    from chape.pipeline.stages import Stages
    from chape.sheath.model import Sheath

#: The page that tells a folder made for hands from one made for the mill.
STEPS = "by-hand.pdf"

#: Layers of the former, unless another board is at hand, mm.
BOARD = 3.0

#: Profile boards stand about so far apart, mm.
PITCH = 25.0


def run_by_hand(request: Request, stages: Stages, page: Page, board: float = BOARD) -> ByHand:
    """Return what a sheath made by hand comes to.

    Args:
        request: the sheath file; its blank, mould, fixture and machine play no part.
        stages: that keep what they made.
        page: how documents are printed.
        board: thickness of the former's layers, mm.

    Raises:
        InputError: a name is not in the catalogue, or boards of no use.
        CannotMakeError: no such sheath can be made.
    """
    knife_key, knife = run_knife(request, stages)
    solved = run_solve(request, stages, knife_key, knife)
    _, (sheath, seen) = run_sheath(request, stages, knife_key, knife, solved)
    choices, catalog = request.file.forming, request.catalog
    heater = catalog.heater(choices.heater)
    stages.watch("Draw templates, boards and gauges")
    gauges = make_gauges(sheath, request.file.fit.handle_spread)
    places = _stations(sheath)
    fold = sheath.fold
    return ByHand(
        name=sheath.choices.name,
        sheath=sheath,
        dummy=make_dummy(knife),
        formers=tuple(make_former(piece, places, board) for piece in sheath.pieces),
        gauges=gauges,
        press=press_for(sheath),
        heater=heater,
        heating=heat_sheet(sheath.sheet, heater, choices),
        fold_heating=None
        if fold is None
        else heat_fold(sheath.sheet, catalog.heater(choices.strip), fold, choices),
        findings=(*check_knife(knife), *seen, *check_gauges(gauges)),
        unit=page.unit,
        date=page.date,
        paper=page.paper,
    )


def findings_by_hand(request: Request, stages: Stages) -> tuple[Finding, ...]:
    """Return what is seen of a sheath made by hand, without drawing anything.

    Raises:
        InputError: a name is not in the catalogue.
        CannotMakeError: no such sheath can be made.
    """
    knife_key, knife = run_knife(request, stages)
    solved = run_solve(request, stages, knife_key, knife)
    _, (sheath, seen) = run_sheath(request, stages, knife_key, knife, solved)
    gauges = make_gauges(sheath, request.file.fit.handle_spread)
    return (*check_knife(knife), *seen, *check_gauges(gauges))


def pack_by_hand(request: Request, work: ByHand) -> dict[str, bytes]:
    """Return relative file name -> content of the whole folder; nothing in it is a program."""
    outputs = compose_by_hand(work)
    outputs |= {f"{INPUTS}/{name}": content for name, content in request.inputs.items()}
    return {**outputs, MANIFEST: manifest(work.name, request.path.name, outputs, {})}


def _stations(sheath: Sheath) -> list[float]:
    """Return x of the profile boards: evenly, from beside the tip to just inside the mouth."""
    first, _ = reach_along(sheath)
    last = sheath.mouth_x - sheath.choices.mouth.flare_length
    count = max(3, round((last - first) / PITCH))
    return [float(x) for x in np.linspace(first + 15.0, last, count)]
