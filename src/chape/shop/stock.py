"""Stock: what is on the shelf, what a batch takes, and what to buy.

Sheets are counted in blanks of a size; eyelets and clips in pieces, consumables in the unit that
the models use them in. Every change of a count is kept
as a move with its reason, so that the count is the sum of its moves.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from enum import StrEnum
from typing import TYPE_CHECKING

from sqlalchemy import insert, select, update

from chape.errors import CannotMakeError, InputError
from chape.shop.tables import STOCK, STOCK_MOVES

if TYPE_CHECKING:
    from collections.abc import Mapping
    from datetime import datetime

    from sqlalchemy.engine import Connection

    from chape.catalog.read import Catalog

#: What is used up and is in no catalogue: release sheets, glue, boxes.
CONSUMABLE = "consumable"

#: What may be kept, and what the catalogue calls it.
KINDS = {"sheet": "sheets", "eyelet": "eyelets", "clip": "clips", CONSUMABLE: None}

#: More of one thing are not on a shelf: a slip of the pen.
MOST = 1_000_000


class Reason(StrEnum):
    """Why a count changed."""

    BOUGHT = "bought"
    USED = "used"
    COUNTED = "counted"
    CUT = "cut"


@dataclass(frozen=True, slots=True, order=True)
class Good:
    """Something kept in stock.

    Attributes:
        kind: "sheet", "eyelet", "clip" or "consumable".
        name: in the catalogue; for a sheet with its blank's size, "acrylic-pvc-2.0 300x300"; of a
            consumable, as the models call it.
        colour: of a sheet; "" for the others.
    """

    kind: str
    name: str
    colour: str = ""

    def __str__(self) -> str:
        """Return it as a person reads it."""
        return " ".join(part for part in (self.name, self.colour) if part)


@dataclass(frozen=True, slots=True)
class Shelf:
    """How much of a good there is.

    Attributes:
        good: what.
        on_hand: how many.
        reorder_at: when so many or fewer are left, more should be bought; 0 for no such point.
        pack: how many come in one package.
        pack_cents: what a package costs.
    """

    good: Good
    on_hand: int
    reorder_at: int
    pack: int
    pack_cents: int

    @property
    def low(self) -> bool:
        """Whether it has come down to its reorder point; one of 0 is none."""
        return self.reorder_at > 0 and self.on_hand <= self.reorder_at

    @property
    def cents(self) -> float:
        """What one costs, cents."""
        return self.pack_cents / self.pack


@dataclass(frozen=True, slots=True)
class Purchase:
    """What to buy: so many packages of a good."""

    good: Good
    packs: int
    pack: int
    cents: int


def good_of(catalog: Catalog, kind: str, name: str, colour: str) -> Good:
    """Return a good whose name the catalogue knows.

    Raises:
        InputError: there is no such kind or entry, a sheet without its blank or colour, or a
            consumable whose name no model could have.
    """
    if kind not in KINDS:
        raise InputError(f'found the kind "{kind}"', mend=f"Use one of: {', '.join(KINDS)}")
    bare = name
    if kind == "sheet":
        parts = re.fullmatch(r"(\S+) (\d{2,4})x(\d{2,4})", name)
        if parts is None or not colour:
            raise InputError(
                f'found the sheet "{name}"',
                mend='Write it with its blank, "acrylic-pvc-2.0 300x300", and its colour',
            )
        bare = parts[1]
    entries = KINDS[kind]
    if entries is not None:
        catalog.entry(entries, bare)
    elif not re.fullmatch(r"[\w][\w .+/#&-]{0,59}", name) or colour:
        raise InputError(
            f'found the consumable "{Good(kind, name, colour)}"',
            mend="Write its name as the models do, of letters and figures, and no colour",
        )
    return Good(kind, name, colour)


def receive(connection: Connection, good: Good, packs: int, now: datetime) -> int:
    """Put packages that came in on the shelf, and return what is on hand then.

    Raises:
        InputError: the good is not kept, or there would be too many.
    """
    if not 1 <= packs <= MOST:
        raise InputError(f"found {packs} packages", mend=f"Write 1 to {MOST}")
    size = {shelf.good: shelf.pack for shelf in shelves(connection)}.get(good, 1)
    return move_stock(connection, good, packs * size, Reason.BOUGHT, now)


def cents_of(price: float) -> int:
    """Return a price in cents.

    Raises:
        InputError: it is no price.
    """
    if not 0 <= price <= MOST:
        raise InputError(f"found the price {price}", mend=f"Write 0 to {MOST}")
    return round(price * 100)


def set_shelf(connection: Connection, shelf: Shelf, now: datetime) -> None:
    """Set up a good, or change its reorder point, package and price; a new count is a move.

    Raises:
        InputError: a number cannot be.
    """
    for field, value, least in (
        ("on hand", shelf.on_hand, 0),
        ("reorder at", shelf.reorder_at, 0),
        ("pack", shelf.pack, 1),
        ("price", shelf.pack_cents, 0),
    ):
        if not least <= value <= MOST:
            raise InputError(
                f"found {value}", mend=f"Write {least} to {MOST}", file=str(shelf.good), field=field
            )
    values = {
        "reorder_at": shelf.reorder_at, "pack": shelf.pack, "pack_cents": shelf.pack_cents
    }  # fmt: skip
    if _row(connection, shelf.good) is None:
        good = {"kind": shelf.good.kind, "name": shelf.good.name, "colour": shelf.good.colour}
        connection.execute(insert(STOCK).values(on_hand=0, **good, **values))
    row = _known(connection, shelf.good)
    connection.execute(update(STOCK).where(STOCK.c.id == row[0]).values(values))
    if shelf.on_hand != row[1]:
        move_stock(connection, shelf.good, shelf.on_hand - row[1], Reason.COUNTED, now)


def move_stock(
    connection: Connection,
    good: Good,
    change: int,
    reason: Reason,
    now: datetime,
    batch: int | None = None,
    note: str = "",
) -> int:
    """Change a count, and return what is on hand then.

    Raises:
        InputError: the good is not kept, or there would be too many.
        CannotMakeError: there would be less than none.
    """
    number, on_hand = _known(connection, good)
    left = on_hand + change
    if left < 0:
        raise CannotMakeError(
            f"{good}: {on_hand} are on hand, and {-change} are wanted",
            mend=f"Buy {-left} more, or count the shelf",
        )
    if left > MOST:
        raise InputError(f"{left} of {good} are too many", mend=f"Write up to {MOST}")
    connection.execute(update(STOCK).where(STOCK.c.id == number).values(on_hand=left))
    connection.execute(
        insert(STOCK_MOVES).values(
            stock_id=number, change=change, reason=reason.value, batch_id=batch, note=note, at=now
        )
    )
    return left


def shelves(connection: Connection) -> tuple[Shelf, ...]:
    """Return everything in stock, by kind and name."""
    rows = connection.execute(select(STOCK).order_by(STOCK.c.kind, STOCK.c.name, STOCK.c.colour))
    return tuple(
        Shelf(
            Good(row["kind"], row["name"], row["colour"]),
            row["on_hand"],
            row["reorder_at"],
            row["pack"],
            row["pack_cents"],
        )
        for row in rows.mappings()
    )


def to_buy(
    on_shelf: tuple[Shelf, ...], wanted: Mapping[Good, int] | None = None
) -> tuple[Purchase, ...]:
    """Return what to buy so that all wanted goods are there and every reorder point is passed.

    A good that is wanted and not kept at all is bought one by one, at no known price.
    """
    wanted = dict(wanted or {})
    bought = []
    for shelf in on_shelf:
        left = shelf.on_hand - wanted.pop(shelf.good, 0)
        least = shelf.reorder_at + 1 if shelf.reorder_at else 0
        short = max(0, least - left)
        packs = -(-short // shelf.pack)
        if packs:
            bought.append(Purchase(shelf.good, packs, shelf.pack, packs * shelf.pack_cents))
    bought += [Purchase(good, count, 1, 0) for good, count in sorted(wanted.items()) if count]
    return tuple(bought)


def _row(connection: Connection, good: Good) -> tuple[int, int] | None:
    query = select(STOCK.c.id, STOCK.c.on_hand).where(
        STOCK.c.kind == good.kind, STOCK.c.name == good.name, STOCK.c.colour == good.colour
    )
    found = connection.execute(query.with_for_update()).first()
    return None if found is None else (int(found[0]), int(found[1]))


def _known(connection: Connection, good: Good) -> tuple[int, int]:
    found = _row(connection, good)
    if found is None:
        raise InputError(
            f"{good} is not kept in stock", mend="Set it up first, with chape shop stock set"
        )
    return found
