"""``chape shop stock`` and ``chape shop batch``: what is on the shelf, and what is made of it."""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING, Annotated, Any

import typer

from chape.cli.says import AsJson, print_json
from chape.cli.shop_open import HERE, ShopFolder, day_of, now, opened, today

if TYPE_CHECKING:
    from collections.abc import Sequence

    from chape.shop.batches import Choice
    from chape.shop.sheets import SheetCut
    from chape.shop.stock import Purchase
    from chape.shop.store import Shop

stock = typer.Typer(help="Sheet and hardware.", no_args_is_help=True, rich_markup_mode=None)
batch = typer.Typer(help="What is made together.", no_args_is_help=True, rich_markup_mode=None)

Kind = Annotated[str, typer.Argument(help="sheet, eyelet, clip or consumable.")]
Name = Annotated[str, typer.Argument(help='As in the catalogue; a sheet with "300x300".')]
Colour = Annotated[str, typer.Option(help="Of a sheet.")]


UrgentBy = Annotated[
    str | None, typer.Option(help="What is due by this day is urgent (default: in 3 days).")
]
BlanksMost = Annotated[int, typer.Option(min=1, max=200, help="Blanks at most.")]


@stock.command("list")
def list_stock(folder: ShopFolder = HERE, as_json: AsJson = False) -> None:
    """List what is on hand."""
    from chape.shop.stock import shelves

    with opened(folder) as found:
        rows = found.read(shelves)
    if as_json:
        print_json(
            {
                "stock": [
                    {
                        "kind": s.good.kind, "name": s.good.name, "colour": s.good.colour,
                        "on_hand": s.on_hand, "reorder_at": s.reorder_at, "pack": s.pack,
                        "pack_price": s.pack_cents / 100,
                    }
                    for s in rows
                ]
            }
        )  # fmt: skip
        return
    for shelf in rows:
        low = "  REORDER" if shelf.low else ""
        typer.echo(f"{shelf.good.kind:8} {shelf.good!s:36} {shelf.on_hand:6}{low}")


@stock.command("set")
def set_stock(
    kind: Kind,
    name: Name,
    colour: Colour = "",
    on_hand: Annotated[int, typer.Option(help="Counted on the shelf.")] = 0,
    reorder_at: Annotated[int, typer.Option(help="Buy when so many are left; 0: none.")] = 0,
    pack: Annotated[int, typer.Option(help="In one package.")] = 1,
    pack_price: Annotated[float, typer.Option(help="Of one package.")] = 0.0,
    folder: ShopFolder = HERE,
) -> None:
    """Set up a good, or count it anew."""
    from chape.shop.shop_file import shop_catalog
    from chape.shop.stock import Shelf, cents_of, good_of, set_shelf

    with opened(folder) as found:
        good = good_of(shop_catalog(folder), kind, name, colour)
        shelf = Shelf(good, on_hand, reorder_at, pack, cents_of(pack_price))
        found.change(lambda connection: set_shelf(connection, shelf, now()))
    typer.echo(f"{shelf.good}: {on_hand}")


@stock.command("receive")
def receive(
    kind: Kind,
    name: Name,
    packs: Annotated[int, typer.Argument(min=1, help="Packages that came in.")],
    colour: Colour = "",
    folder: ShopFolder = HERE,
) -> None:
    """Put packages that came in on the shelf."""
    from chape.shop.stock import Good
    from chape.shop.stock import receive as put_on_shelf

    good = Good(kind, name, colour)
    with opened(folder) as found:
        typer.echo(f"{good}: {found.change(lambda c: put_on_shelf(c, good, packs, now()))}")


@stock.command("buy")
def buy(folder: ShopFolder = HERE, as_json: AsJson = False) -> None:
    """List what to buy: what is at its reorder point."""
    from chape.shop.stock import shelves, to_buy

    with opened(folder) as found:
        rows = to_buy(found.read(shelves))
        currency = found.file.shop.currency
    if as_json:
        print_json({"buy": _purchases(rows)})
    else:
        _say_purchases(rows, currency)


@stock.command("cut")
def cut(
    take: Annotated[
        bool, typer.Option("--take", help="They are cut: sheets off the shelf, blanks onto it.")
    ] = False,
    folder: ShopFolder = HERE,
    as_json: AsJson = False,
) -> None:
    """Say which whole sheets or rolls to cut into the blanks that waiting pieces lack."""
    from chape.shop.sheets import put_cut_blanks, waiting_cuts

    with opened(folder) as found:
        cuts = waiting_cuts(found)
        if take:
            found.change(lambda c: put_cut_blanks(c, cuts, now()))
    if as_json:
        print_json({"cuts": [_cut_figures(each) for each in cuts]})
        return
    for each in cuts:
        _say_cut(each)
    if not cuts:
        typer.echo("No blank is missing.")


def _cut_figures(each: SheetCut) -> dict[str, Any]:
    from chape.documents.page_stock import stock_figures

    return {
        "whole": str(each.whole), "on_hand": each.on_hand, "buy": each.short,
        "blanks": {str(good): count for good, count in each.blanks.items()},
        "plan": stock_figures(each.plan),
    }  # fmt: skip


def _say_cut(each: SheetCut) -> None:
    from chape.documents.page_stock import bound_words

    plan = each.plan
    wanted = ", ".join(f"{count} of {good}" for good, count in each.blanks.items())
    typer.echo(f"{wanted}")
    typer.echo(f"      from {plan.used} of {each.whole}, {each.on_hand} on hand")
    typer.echo(f"      {100 * plan.share:.1f} % becomes blanks; {bound_words(plan)}")
    for sheet in plan.sheets:
        counts = [sum(laid.size == n for laid in sheet.laid) for n in range(len(plan.sizes))]
        parts = [f"{n} × {size.name}" for n, size in zip(counts, plan.sizes, strict=True) if n]
        typer.echo(f"      {sheet.times:4} × {' + '.join(parts)}")
    if each.short:
        typer.echo(f"buy   {each.short} of {each.whole}")


@batch.command("propose")
def propose(
    by: UrgentBy = None,
    most: BlanksMost = 20,
    folder: ShopFolder = HERE,
    as_json: AsJson = False,
) -> None:
    """Say what to make next, what it takes, and what to buy."""
    with opened(folder) as found:
        _say_choice(found, _choose(found, by, most), as_json=as_json)


@batch.command("take")
def take(
    by: UrgentBy = None,
    most: BlanksMost = 20,
    folder: ShopFolder = HERE,
    as_json: AsJson = False,
) -> None:
    """Take the proposed batches into work, and their goods off the shelf."""
    from chape.shop.propose import take_pieces

    with opened(folder) as found:
        choice = _choose(found, by, most)
        serials = [wish.serial for batch in choice.batches for wish in batch.wishes]
        taken = take_pieces(found, serials, today(), now()) if serials else ()
        _say_choice(found, choice, as_json=as_json, numbers=[number for number, _ in taken])


def _choose(shop: Shop, by: str | None, most: int) -> Choice:
    from chape.shop.propose import propose as choose

    return choose(shop, today() + timedelta(days=3) if by is None else day_of(by), most)


def _say_choice(
    shop: Shop, choice: Choice, *, as_json: bool, numbers: Sequence[int] | None = None
) -> None:
    names = [f"B{n}" for n in numbers] if numbers is not None else ["-"] * len(choice.batches)
    if as_json:
        batches = [
            {
                "batch": name, "model": b.model, "sheet": b.sheet, "colour": b.colour,
                "mould": b.mould, "fixture": b.fixture, "blanks": b.blanks, "empty": b.empty,
                "pieces": [wish.serial for wish in b.wishes],
            }
            for name, b in zip(names, choice.batches, strict=True)
        ]  # fmt: skip
        document = {
            "batches": batches,
            "takes": [{"good": str(g), "count": n} for g, n in sorted(choice.takes.items())],
            "left_out": [wish.serial for wish in choice.left_out],
            "buy": _purchases(choice.buy),
            "gap": round(choice.gap, 4),
        }
        print_json(document)
        return
    for name, each in zip(names, choice.batches, strict=True):
        typer.echo(
            f"{name:5} {each.model}, {each.colour}: {_count(len(each.wishes), 'piece')} on "
            f"{_count(each.blanks, 'blank')}, {_count(each.empty, 'seat')} empty, "
            f"mould {each.mould}, due {each.wishes[0].due}"
        )
    for good, count in sorted(choice.takes.items()):
        typer.echo(f"      takes {count} of {good}")
    for wish in choice.left_out:
        typer.echo(f"      NOT COVERED by stock or blanks: {wish.serial}, due {wish.due}")
    typer.echo(f"      at most {choice.gap:.1%} from the best there can be")
    _say_purchases(choice.buy, shop.file.shop.currency)


def _count(number: int, thing: str) -> str:
    return f"{number} {thing}" if number == 1 else f"{number} {thing}s"


def _purchases(rows: Sequence[Purchase]) -> list[dict[str, Any]]:
    return [
        {"good": str(row.good), "packs": row.packs, "pack": row.pack, "price": row.cents / 100}
        for row in rows
    ]


def _say_purchases(rows: Sequence[Purchase], currency: str) -> None:
    for row in rows:
        price = f", {row.cents / 100:.2f} {currency}" if row.cents else ""
        typer.echo(f"buy   {row.packs} × {row.pack} of {row.good}{price}")
