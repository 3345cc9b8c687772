"""``chape shop order``: orders and their pieces."""

from __future__ import annotations

from pathlib import Path  # noqa: TC003 - typer reads annotations while it runs
from typing import TYPE_CHECKING, Annotated, Any

import typer
from pydantic import ValidationError

from chape.cli.says import AsJson, in_one_line, print_json
from chape.cli.shop_open import HERE, ShopFolder, now, opened, today, write_new
from chape.errors import InputError

if TYPE_CHECKING:
    from chape.shop.model import Order

orders = typer.Typer(
    help="Enter, list and follow orders.", no_args_is_help=True, rich_markup_mode=None
)


@orders.command("add")
def add(  # noqa: PLR0913, PLR0917 - one option for each column of an order
    customer: Annotated[str, typer.Option(help="A reference you choose, nothing personal.")],
    due: Annotated[str, typer.Option(help="The day it has to leave, YYYY-MM-DD.")],
    sheet: Annotated[str, typer.Option(help="Sheet, as in the catalogue.")],
    colour: Annotated[str, typer.Option(help="Of the sheet.")],
    model: Annotated[str | None, typer.Option(help="One of the shop's models.")] = None,
    knife: Annotated[str | None, typer.Option(help="Or the customer's own knife.")] = None,
    hand: Annotated[str, typer.Option(help="right or left.")] = "right",
    clip: Annotated[str | None, typer.Option(help="Clip, as in the catalogue.")] = None,
    marks: Annotated[str, typer.Option(help="What to mark on it.")] = "",
    hold: Annotated[float | None, typer.Option(help="Wanted pull, N.")] = None,
    quantity: Annotated[int, typer.Option(help="Pieces.")] = 1,
    placed: Annotated[str | None, typer.Option(help="The day it came in.")] = None,
    note: Annotated[str, typer.Option(help="For your own use.")] = "",
    folder: ShopFolder = HERE,
    as_json: AsJson = False,
) -> None:
    """Enter an order."""
    from chape.catalog.sentences import first_problem
    from chape.shop.model import OrderLine
    from chape.shop.orders import add_orders, check_line
    from chape.shop.shop_file import shop_catalog

    given = {
        "customer": customer, "model": model, "knife": knife, "hand": hand, "sheet": sheet,
        "colour": colour, "clip": clip, "marks": marks, "hold": hold, "due": due,
        "quantity": quantity, "placed": placed, "note": note,
    }  # fmt: skip
    try:
        line = OrderLine.model_validate(given)
    except ValidationError as error:
        raise first_problem(error, file="the order") from None
    with opened(folder) as found:
        check_line(line, found.file, shop_catalog(folder), today())
        (order,) = found.change(lambda connection: add_orders(connection, [line], now()))
    _say([order], 1, as_json=as_json)


@orders.command("list")
def list_them(
    state: Annotated[str, typer.Option(help="open, shipped, cancelled or all.")] = "open",
    customer: Annotated[str | None, typer.Option(help="Only this customer's.")] = None,
    model: Annotated[str | None, typer.Option(help="Only of this model.")] = None,
    page: Annotated[int, typer.Option(min=1, max=1_000_000, help="Of 50 orders each.")] = 1,
    folder: ShopFolder = HERE,
    as_json: AsJson = False,
) -> None:
    """List orders, those due first first."""
    from chape.shop.orders import PAGE, Wanted, count_orders, list_orders

    wanted = Wanted(_state(state), customer, model, skip=(page - 1) * PAGE)
    with opened(folder) as found:
        rows, count = found.read(lambda c: (list_orders(c, wanted), count_orders(c, wanted)))
    _say(list(rows), count, as_json=as_json)


@orders.command("import")
def import_them(
    path: Annotated[Path, typer.Argument(help="A CSV file.")],
    keep_good: Annotated[
        bool, typer.Option("--keep-good", help="Enter the good rows though others are bad.")
    ] = False,
    folder: ShopFolder = HERE,
    as_json: AsJson = False,
) -> None:
    """Enter the orders of a CSV file; bad rows are named by their line."""
    from chape.shop.order_file import read_order_file
    from chape.shop.orders import add_orders
    from chape.shop.shop_file import shop_catalog

    with opened(folder) as found:
        rows = read_order_file(path, found.file, shop_catalog(folder), today())
        keep = bool(rows.good) and (keep_good or not rows.bad)
        lines = [line for _, line in rows.good] if keep else []
        entered = found.change(lambda connection: add_orders(connection, lines, now()))
    if as_json:
        print_json(
            {
                "entered": [order.reference for order in entered],
                "bad": [{"place": str(e.file), "sentence": str(e)} for e in rows.bad],
            }
        )
    else:
        for error in rows.bad:
            typer.echo(in_one_line(str(error)), err=True)
        typer.echo(f"{len(entered)} orders entered, {len(rows.bad)} rows refused")
        if rows.bad and not keep:
            typer.echo("Nothing was entered: mend the rows, or add --keep-good.", err=True)
    if rows.bad:
        raise typer.Exit(InputError.exit_code)


@orders.command("export")
def export_them(
    path: Annotated[Path, typer.Argument(help="The CSV file to write.")],
    state: Annotated[str, typer.Option(help="open, shipped, cancelled or all.")] = "all",
    folder: ShopFolder = HERE,
) -> None:
    """Write orders as a CSV file, which can be read in again."""
    from chape.shop.order_file import order_csv
    from chape.shop.orders import Wanted, list_orders

    wanted = Wanted(_state(state), limit=None)
    with opened(folder) as found:
        rows = found.read(lambda connection: list_orders(connection, wanted))
    write_new(path, order_csv(rows))
    typer.echo(f"{path}: {len(rows)} orders")


@orders.command("show")
def show(
    reference: Annotated[str, typer.Argument(help="Such as 2026-0042.")],
    folder: ShopFolder = HERE,
    as_json: AsJson = False,
) -> None:
    """Show an order and where each of its pieces is."""
    from chape.shop.orders import find_order

    with opened(folder) as found:
        order = found.read(lambda connection: find_order(connection, reference))
    if as_json:
        print_json(_document(order))
        return
    for name, value in order.line.model_dump(mode="json").items():
        if value not in (None, ""):
            typer.echo(f"{name:10} {value}")
    for piece in order.pieces:
        typer.echo(f"{piece.serial:14} {piece.state.value}")


@orders.command("move")
def move(
    serial: Annotated[str, typer.Argument(help="Of the piece, such as 2026-0042-1.")],
    state: Annotated[str, typer.Argument(help="formed, trimmed … shipped, or scrapped.")],
    folder: ShopFolder = HERE,
) -> None:
    """Note how far a piece has come; a scrapped one is replaced by a new one."""
    from chape.shop.model import PieceState
    from chape.shop.orders import move_piece

    words = [word.value for word in PieceState if word != PieceState.WAITING]
    if state not in words:
        raise InputError(f'found the state "{state}"', mend=f"Use one of: {', '.join(words)}")
    with opened(folder) as found:
        fresh = found.change(lambda c: move_piece(c, serial, PieceState(state)))
    typer.echo(f"{serial} is {state}")
    if fresh is not None:
        typer.echo(f"{fresh.serial} takes its place")


@orders.command("cancel")
def cancel(
    reference: Annotated[str, typer.Argument(help="Such as 2026-0042.")],
    folder: ShopFolder = HERE,
) -> None:
    """Cancel what has not been shipped of an order."""
    from chape.shop.orders import cancel_order

    with opened(folder) as found:
        order = found.change(lambda connection: cancel_order(connection, reference))
    typer.echo(f"{order.reference} is {order.state.value}")


def _state(word: str) -> Any:  # noqa: ANN401 - a word of a module that is loaded when needed
    from chape.shop.model import OrderState

    if word == "all":
        return None
    if word not in list(OrderState):
        known = ", ".join(OrderState)
        raise InputError(f'found the state "{word}"', mend=f"Use one of: {known}, all")
    return OrderState(word)


def _document(order: Order) -> dict[str, Any]:
    return {
        "reference": order.reference,
        "state": order.state.value,
        **order.line.model_dump(mode="json"),
        "pieces": [{"serial": p.serial, "state": p.state.value} for p in order.pieces],
    }


def _say(rows: list[Order], count: int, *, as_json: bool) -> None:
    if as_json:
        print_json({"count": count, "orders": [_document(order) for order in rows]})
        return
    for order in rows:
        line = order.line
        late = "  LATE" if order.state == "open" and line.due < today() else ""
        done = sum(piece.state == "shipped" for piece in order.pieces)
        what = line.model or f"own knife: {line.knife}"
        typer.echo(
            in_one_line(
                f"{order.reference}  due {line.due}  {done}/{line.quantity}  {line.customer:12} "
                f"{what}, {line.colour}, {line.hand.value}{late}"
            )
        )
    if count != len(rows):
        typer.echo(f"{len(rows)} of {count} orders; --page shows the others")
