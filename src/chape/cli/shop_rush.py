"""``chape shop rush``: what an order that cannot wait does to all the others."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated, Any

import typer

from chape.cli.says import AsJson, print_json
from chape.cli.shop_open import HERE, ShopFolder, day_of, moment_of, opened

if TYPE_CHECKING:
    from chape.shop.rush import Rush
    from chape.shop.shop_file import ShopFile


def rush(  # noqa: PLR0913, PLR0917 - the options of one command
    model: Annotated[str, typer.Argument(help="One of the shop's models.")],
    due: Annotated[str, typer.Option(help="The day it has to leave, 2026-03-14.")],
    colour: Annotated[str, typer.Option(help="Of the sheet.")] = "black",
    sheet: Annotated[str, typer.Option(help="Sheet, as in the catalogue.")] = "acrylic-pvc-2.0",
    clip: Annotated[str | None, typer.Option(help="Clip, as in the catalogue.")] = None,
    quantity: Annotated[int, typer.Option(min=1, max=500, help="Pieces.")] = 1,
    seconds: Annotated[
        float, typer.Option(min=0.1, max=3600, help="To search, three times over.")
    ] = 5.0,
    at: Annotated[
        str | None, typer.Option(help="Begin at this time, 2026-03-14T08:00 (default: now).")
    ] = None,
    folder: ShopFolder = HERE,
    as_json: AsJson = False,
) -> None:
    """Say what a rush order displaces and what it costs; nothing is entered."""
    from chape.shop.model import OrderLine
    from chape.shop.orders import check_line
    from chape.shop.rush import rush_of
    from chape.shop.schedule import Effort
    from chape.shop.shop_file import shop_catalog

    line = OrderLine(
        customer="rush", model=model, sheet=sheet, colour=colour, clip=clip, due=day_of(due),
        quantity=quantity,
    )  # fmt: skip
    with opened(folder) as found:
        check_line(line, found.file, shop_catalog(folder))
        made = rush_of(found, line, moment_of(at), Effort(seconds=seconds))
        if as_json:
            print_json(_document(made))
        else:
            _say(made, found.file)


def _say(made: Rush, file: ShopFile) -> None:
    ready = made.ready.astimezone()
    late = "" if made.in_time else f", and is due on {made.due:%Y-%m-%d}: TOO LATE"
    typer.echo(f"It is ready at {ready:%H:%M on %A %d %B} and leaves on {made.leaves}{late}.")
    for each in made.displaced:
        typer.echo(
            f"DISPLACED {each.reference} of {each.customer}, due {each.due}: leaves {each.within} "
            f"instead of {each.without}"
        )
    if not made.displaced:
        typer.echo("No other order leaves too late because of it.")
    typer.echo(
        f"It takes {made.hands / 60:.0f} minutes of hands and {made.machine / 60:.0f} of the router"
    )
    for good, count in sorted(made.goods.items()):
        typer.echo(f"  {count:4} {good}")
    for bought in made.buy:
        typer.echo(f"First buy {bought.packs * bought.pack} of {bought.good}.")
    currency = file.shop.currency
    typer.echo(f"  {'cost, with overhead':34} {made.cost:8.2f} {currency}")
    typer.echo(f"  {'price that keeps the margin':34} {made.price:8.2f} {currency}")
    typer.echo(f"  {'price of as many that can wait':34} {made.usual:8.2f} {currency}")
    if made.displaced and not file.money.late_day:
        typer.echo("What a late day costs is not known: late_day under [money] says it.")
    if made.left_out:
        typer.echo(f"{made.left_out} pieces that are due later still were not looked at.")
    worst = max(made.gaps)
    typer.echo(f"Neither plan could be better by more than {worst:.1%}: that is proved.")


def _document(made: Rush) -> dict[str, Any]:
    return {
        "ready": made.ready.isoformat(),
        "leaves": made.leaves.isoformat(),
        "due": made.due.isoformat(),
        "in_time": made.in_time,
        "displaced": [
            {
                "order": each.reference, "customer": each.customer, "due": each.due.isoformat(),
                "without": each.without.isoformat(), "with": each.within.isoformat(),
                "days": each.days,
            }
            for each in made.displaced
        ],
        "hand_seconds": made.hands,
        "router_seconds": made.machine,
        "goods": {str(good): count for good, count in sorted(made.goods.items())},
        "buy": {str(each.good): each.packs * each.pack for each in made.buy},
        "cost": round(made.cost, 2),
        "price": made.price,
        "usual": round(made.usual, 2),
        "gaps": [round(each, 4) for each in made.gaps],
        "left_out": made.left_out,
    }  # fmt: skip
