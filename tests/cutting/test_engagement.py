"""How full the roughing cutter is, measured by the checker's removal, which plans nothing."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from chape.catalog.read import catalog
from chape.cutting.check import gather
from chape.cutting.check_engagement import way_over_piece
from chape.cutting.controller_facts import UNKNOWN
from chape.cutting.model import OperationKind, Program, Setup
from chape.cutting.pace import BURIED
from chape.cutting.plan import plan_program
from chape.cutting.rates import rates_for
from chape.cutting.read import read_texts
from chape.cutting.write import write_program
from chape.field.heights import HeightField
from cut_boards import hill, mould

#: Of the way over the piece, at most this share is fuller than ``BURIED``: corners.
SHARE = 0.02

#: And nothing is as full as a slot at full depth.
SLOT = 0.85


def pocket() -> Setup:
    """The hill turned upside down: a hollow that no cutter comes into from beside it."""
    surface = hill(12.0)
    stock = HeightField.flat(surface.grid, 0.0)
    return replace(mould(), target=surface.with_z(-surface.z), stock=stock)


def fullness(setup: Setup) -> np.ndarray[tuple[int], np.dtype[np.float64]]:
    """Return the share of a full slot at full depth, for each diameter of the roughing's way."""
    plan = plan_program(setup)
    roughing = tuple(n for n in plan.operations if n.kind is OperationKind.ROUGH)
    texts = write_program(Program(setup, roughing), catalog().dialect(setup.machine.dialect))
    program = read_texts(texts, replace(UNKNOWN, changes_at_stop=True))
    evidence = gather(program, setup)
    segments, count = evidence.segments, len(program)
    cutting = evidence.cutting
    way = np.bincount(segments.move, way_over_piece(setup, segments.ends), minlength=count)
    volume = np.bincount(segments.move, evidence.removal.volume, minlength=count)
    travelled = np.concatenate([[0.0], np.cumsum(np.where(cutting, way, 0.0))])
    taken = np.concatenate([[0.0], np.cumsum(np.where(cutting, volume, 0.0))])
    cutter = plan.operations[0].cutter
    depth = rates_for(cutter, catalog().material("HDPE"), setup.machine).depth
    marks = np.arange(0.0, travelled[-1], cutter.diameter)
    later = np.concatenate([np.diff(travelled) > 0, [True]])
    each = np.diff(np.interp(marks, travelled[later], taken[later]))
    return each / (cutter.diameter**2 * depth)


@pytest.mark.parametrize("setup", [mould(), pocket()], ids=["hill", "pocket"])
def test_roughing_is_never_buried_for_long(setup: Setup) -> None:
    full = fullness(setup)
    assert len(full) > 20
    assert full.max() < SLOT
    assert (full > BURIED).mean() <= SHARE
