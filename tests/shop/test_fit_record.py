"""Fit records: a piece passes when nothing is wrong, and its history stays."""

import pytest

from chape.errors import CannotMakeError, InputError
from chape.shop.fit_record import QUESTIONS, Fault, fit_records, record_fit
from chape.shop.model import PieceState
from chape.shop.orders import find_piece, move_piece
from small_shop import NOW, enter, order_line, small_shop

SERIAL = "2026-0001-1"


@pytest.fixture
def shop(tmp_path):
    made = small_shop(tmp_path / "shop")
    enter(made, order_line())
    yield made
    made.close()


def _record(shop, hold=24.0, faults=(), note=""):
    return shop.change(lambda c: record_fit(c, SERIAL, hold, faults, note, NOW))


def _move(shop, state):
    shop.change(lambda c: move_piece(c, SERIAL, state))


def test_a_fault_is_kept_and_a_second_try_passes(shop):
    _move(shop, PieceState.CLOSED)
    assert not _record(shop, 31.5, ["rattle", "edge", "edge"], " tight ").passed
    assert shop.read(lambda c: find_piece(c, SERIAL))[1].state is PieceState.CLOSED
    assert _record(shop).passed
    assert shop.read(lambda c: find_piece(c, SERIAL))[1].state is PieceState.PASSED
    first, second = shop.read(lambda c: fit_records(c, SERIAL))
    assert (first.hold, first.faults, first.note) == (31.5, (Fault.EDGE, Fault.RATTLE), "tight")
    assert (second.hold, second.faults) == (24.0, ())


def test_what_is_not_closed_or_gone_cannot_be_tried(shop):
    with pytest.raises(CannotMakeError, match="not closed"):
        _record(shop)
    _move(shop, PieceState.SCRAPPED)
    with pytest.raises(CannotMakeError, match="scrapped"):
        _record(shop)


@pytest.mark.parametrize("wrong", [{"hold": -1.0}, {"hold": 501.0}, {"hold": float("nan")},
                                   {"faults": ["ugly"]}])  # fmt: skip
def test_what_cannot_be_is_refused(shop, wrong):
    _move(shop, PieceState.CLOSED)
    with pytest.raises(InputError):
        _record(shop, **wrong)
    assert shop.read(lambda c: fit_records(c, SERIAL)) == ()


def test_every_fault_has_its_question():
    assert set(QUESTIONS) == set(Fault)
