"""``chape shop papers``: what goes with a batch, a piece, a parcel, and on the wall."""

from __future__ import annotations

import re
from pathlib import Path  # noqa: TC003 - typer reads annotations while it runs
from typing import TYPE_CHECKING, Annotated

import typer

from chape.cli.shop_open import HERE, ShopFolder, day_of, opened, write_new
from chape.errors import InputError

if TYPE_CHECKING:
    from collections.abc import Sequence

    from sqlalchemy.engine import Connection

    from chape.shop.model import Order, Piece
    from chape.shop.papers import Leaf
    from chape.shop.store import Shop

KINDS = ("batch", "travellers", "labels", "slip", "care", "safety", "reorder")


def papers(
    kind: Annotated[str, typer.Argument(help=", ".join(KINDS))],
    out: Annotated[Path, typer.Argument(help="The PDF file to write.")],
    of: Annotated[
        str | None, typer.Option(help="Batch B7, or for a slip the order 2026-0042.")
    ] = None,
    paper: Annotated[str, typer.Option(help="a4 or letter.")] = "a4",
    date: Annotated[str | None, typer.Option(help="Date to note (default: today).")] = None,
    folder: ShopFolder = HERE,
) -> None:
    """Print the shop's papers."""
    from chape.shop.papers import paper_pdf

    if kind not in KINDS:
        raise InputError(f'found the papers "{kind}"', mend=f"Use one of: {', '.join(KINDS)}")
    day = day_of(date)
    with opened(folder) as found:
        leaves, codes = _leaves(found, kind, of, day)
        foot = f"{found.file.shop.name}: {kind} {of or ''}".strip()
    write_new(out, paper_pdf(leaves, foot, paper, codes, day))
    typer.echo(out)


def _leaves(shop: Shop, kind: str, of: str | None, day: object) -> tuple[Sequence[Leaf], list[str]]:
    from datetime import date

    from chape.shop import papers as make
    from chape.shop.shop_file import shop_catalog
    from chape.shop.stock import shelves, to_buy

    if kind == "care":
        return [make.care_leaf(shop.file.shop.name)], []
    if kind == "safety":
        catalog = shop_catalog(shop.folder)
        return make.safety_leaves([catalog.sheet(name) for name in catalog.names("sheets")]), []
    if kind == "reorder":
        rows = to_buy(shop.read(shelves))
        today = day if isinstance(day, date) else day_of(None)
        return [make.reorder_leaf(rows, shop.file.shop.currency, today)], []
    if of is None:
        raise InputError(f'the papers "{kind}" are of something', mend="Add --of B7 or an order")
    if kind == "slip":
        return _slip(shop, of)
    return _of_batch(shop, kind, of)


def _slip(shop: Shop, of: str) -> tuple[Sequence[Leaf], list[str]]:
    from chape.shop.customers import note_of
    from chape.shop.orders import find_order
    from chape.shop.papers import packing_slip

    def look(connection: Connection) -> Leaf:
        order = find_order(connection, of)
        return packing_slip(shop.file, order, note_of(connection, order.line.customer))

    return [shop.read(look)], [of.strip()]


def _of_batch(shop: Shop, kind: str, of: str) -> tuple[Sequence[Leaf], list[str]]:
    from chape.shop.in_work import seats
    from chape.shop.orders import find_piece
    from chape.shop.papers import batch_leaf, label_leaf, traveller

    number = re.fullmatch(r"B?(\d{1,9})", of.strip())
    if number is None:
        raise InputError(f'found the batch "{of}"', mend="Write it as B7")
    batch = int(number[1])
    taken = [s for s in shop.read(lambda c: seats(c, shop.file)) if s.batch == batch]
    if not taken:
        raise InputError(f"batch B{batch} is not in work", mend="Name one of chape shop plan show")
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
