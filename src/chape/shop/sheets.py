"""Blanks from whole sheets: how many sheets, strips or rolls to cut up for what waits.

A shop that buys whole sheets keeps them on the shelf beside the blanks it has cut from them. For
each sheet and colour the blanks that waiting pieces lack are planned by the same code that plans
any blanks from stock (``tooling.stock``): the fewest whole ones found, and a bound none can beat.
"""

from __future__ import annotations

from collections import Counter
from dataclasses import dataclass
from typing import TYPE_CHECKING

from chape.errors import CannotMakeError, InputError
from chape.shop.batches import batches_of, wishes_of
from chape.shop.orders import Wanted, list_orders
from chape.shop.shop_file import SHOP_FILE
from chape.shop.stock import Good, Reason, Shelf, move_stock, set_shelf, shelves
from chape.tooling.stock import Size, StockSheet, plan_stock

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from datetime import datetime

    from sqlalchemy.engine import Connection

    from chape.shop.batches import Wish
    from chape.shop.shop_file import SheetTable, ShopFile
    from chape.shop.store import Shop
    from chape.tooling.stock import StockPlan


@dataclass(frozen=True, slots=True)
class SheetCut:
    """Blanks of one sheet and colour, and the whole ones to cut them from.

    Attributes:
        whole: the sheet, strip or roll as the shelf knows it.
        on_hand: how many of it are on the shelf.
        blanks: the blanks that are missing, and how many of each.
        plan: how they are cut.
    """

    whole: Good
    on_hand: int
    blanks: Mapping[Good, int]
    plan: StockPlan

    @property
    def short(self) -> int:
        """Whole ones that have to be bought."""
        return max(0, self.plan.used - self.on_hand)


def cuts_for(
    file: ShopFile, wishes: Sequence[Wish], on_shelf: Sequence[Shelf]
) -> tuple[SheetCut, ...]:
    """Return what to cut so that every waiting piece has its blank.

    Args:
        file: its ``sheets`` say what a whole one measures; a sheet without is bought as blanks.
        wishes: the pieces that wait.
        on_shelf: the stock; blanks that are there are not cut again.

    Raises:
        InputError: no whole sheet is described, or the blanks of a strip or roll differ in depth.
        CannotMakeError: a blank is larger than its sheet.
    """
    if not file.sheets:
        raise InputError(
            "the shop file says of no sheet what a whole one measures",
            mend='Write it under [sheets."acrylic-pvc-2.0"], for instance',
            file=SHOP_FILE,
            field="sheets",
        )
    there = {shelf.good: shelf.on_hand for shelf in on_shelf}
    wanted: dict[tuple[str, str], Counter[tuple[int, int]]] = {}
    for batch in batches_of(file, wishes):
        if batch.sheet in file.sheets:
            sides = wanted.setdefault((batch.sheet, batch.colour), Counter())
            sides[file.model(batch.model).blank] += batch.blanks
    found = []
    for (name, colour), sides in sorted(wanted.items()):
        goods = {side: _blank(name, side, colour) for side in sides}
        missing = {side: n - there.get(goods[side], 0) for side, n in sorted(sides.items())}
        sizes = [Size(f"{w}x{d}", w, d, n) for (w, d), n in missing.items() if n > 0]
        if sizes:
            table = file.sheets[name]
            whole = _whole(name, table, max(size.depth for size in sizes), colour)
            blanks = {goods[side]: n for side, n in missing.items() if n > 0}
            plan = plan_stock(StockSheet.model_validate(table.model_dump()), sizes)
            found.append(SheetCut(whole, there.get(whole, 0), blanks, plan))
    return tuple(found)


def waiting_cuts(shop: Shop) -> tuple[SheetCut, ...]:
    """Return what to cut for all that waits in a shop; errors as ``cuts_for``."""
    orders, on_shelf = shop.read(lambda c: (list_orders(c, Wanted(limit=None)), shelves(c)))
    return cuts_for(shop.file, wishes_of(orders), on_shelf)


def put_cut_blanks(connection: Connection, cuts: Sequence[SheetCut], now: datetime) -> None:
    """Take whole sheets off the shelf and put the blanks cut from them there.

    Raises:
        CannotMakeError: there are too few whole ones; how many to buy.
    """
    known = {shelf.good for shelf in shelves(connection)}
    for cut in cuts:
        if cut.whole not in known:
            raise CannotMakeError(
                f"no {cut.whole} is kept in stock, and the blanks take {cut.plan.used}",
                mend=f'Count them: chape shop stock set sheet "{cut.whole.name}" '
                f"--colour {cut.whole.colour} --on-hand N",
            )
        move_stock(connection, cut.whole, -cut.plan.used, Reason.CUT, now)
        for good, count in cut.blanks.items():
            if good not in known:
                set_shelf(connection, Shelf(good, 0, 0, 1, 0), now)
            move_stock(connection, good, count, Reason.CUT, now)


def _blank(sheet: str, side: tuple[int, int], colour: str) -> Good:
    return Good("sheet", f"{sheet} {side[0]}x{side[1]}", colour)


def _whole(sheet: str, table: SheetTable, depth: float, colour: str) -> Good:
    """Return a whole sheet as a good; a strip or roll is as deep as its blanks."""
    deep = depth if table.depth is None else table.depth
    return Good("sheet", f"{sheet} {table.width:.0f}x{deep:.0f}", colour)
