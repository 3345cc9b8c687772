"""Which leaves make up each of the shop's papers, gathered from the store."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from chape.errors import InputError
from chape.shop.customers import note_of
from chape.shop.in_work import seats
from chape.shop.orders import find_order, find_piece
from chape.shop.papers import (
    batch_leaf,
    care_leaf,
    label_leaf,
    packing_slip,
    paper_pdf,
    reorder_leaf,
    safety_leaves,
    traveller,
)
from chape.shop.shop_file import shop_catalog
from chape.shop.stock import shelves, to_buy

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import date

    from sqlalchemy.engine import Connection

    from chape.shop.model import Order, Piece
    from chape.shop.papers import Leaf
    from chape.shop.store import Shop

#: Every kind of paper; the first four are of a batch or of an order.
KINDS = ("batch", "travellers", "labels", "slip", "care", "safety", "reorder")
OF_SOMETHING = KINDS[:4]


def shop_paper(shop: Shop, kind: str, of: str | None, paper: str, day: date) -> bytes:
    """Return one of the shop's papers as a PDF file.

    Args:
        shop: whose papers.
        kind: one of ``KINDS``.
        of: a batch in work, "B7", or for a slip an order, "2026-0042"; None for the others.
        paper: "a4" or "letter".
        day: noted as the day it was made.

    Raises:
        InputError: there is no such kind, paper, batch or order, or nothing of it is packed yet.
    """
    if kind not in KINDS:
        raise InputError(f'found the papers "{kind}"', mend=f"Use one of: {', '.join(KINDS)}")
    leaves, codes = _leaves(shop, kind, of, day)
    foot = f"{shop.file.shop.name}: {kind} {of or ''}".strip()
    return paper_pdf(leaves, foot, paper, codes, day)


def _leaves(shop: Shop, kind: str, of: str | None, day: date) -> tuple[Sequence[Leaf], list[str]]:
    if kind == "care":
        return [care_leaf(shop.file.shop.name)], []
    if kind == "safety":
        catalog = shop_catalog(shop.folder)
        return safety_leaves([catalog.sheet(name) for name in catalog.names("sheets")]), []
    if kind == "reorder":
        return [reorder_leaf(to_buy(shop.read(shelves)), shop.file.shop.currency, day)], []
    if of is None:
        raise InputError(f'the papers "{kind}" are of something', mend="Name B7 or an order")
    if kind == "slip":
        return _slip(shop, of)
    return _of_batch(shop, kind, of)


def _slip(shop: Shop, of: str) -> tuple[Sequence[Leaf], list[str]]:
    def look(connection: Connection) -> Leaf:
        order = find_order(connection, of)
        return packing_slip(shop.file, order, note_of(connection, order.line.customer))

    return [shop.read(look)], [of.strip()]


def _of_batch(shop: Shop, kind: str, of: str) -> tuple[Sequence[Leaf], list[str]]:
    number = re.fullmatch(r"B?(\d{1,9})", of.strip())
    if number is None:
        raise InputError(f'found the batch "{of}"', mend="Write it as B7")
    batch = int(number[1])
    taken = [s for s in shop.read(lambda c: seats(c, shop.file)) if s.batch == batch]
    if not taken:
        raise InputError(f"batch B{batch} is not in work", mend="Name one that the plan shows")
    pieces: list[tuple[Order, Piece]] = shop.read(
        lambda c: [find_piece(c, seat.work.serial) for seat in taken]
    )
    codes = [piece.serial for _, piece in pieces]
    if kind == "labels":
        return [label_leaf(shop.file, pieces)], codes
    if kind == "travellers":
        return [traveller(shop.file, order, piece) for order, piece in pieces], codes
    blanks: dict[str, list[str]] = {}
    for seat in taken:
        blanks.setdefault(seat.work.blank, []).append(seat.work.serial)
    leaf = batch_leaf(shop.file, batch, taken[0].model, taken[0].colour, blanks)
    return [leaf], [f"B{batch}"]
