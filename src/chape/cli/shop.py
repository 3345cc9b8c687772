"""``chape shop``: orders, stock, batches and the day's plan."""

from __future__ import annotations

from pathlib import Path  # noqa: TC003 - typer reads annotations while it runs
from typing import Annotated

import typer

from chape.cli.says import AsJson, print_json
from chape.cli.shop_books import cutters, fit, learn, quote
from chape.cli.shop_heat import heat
from chape.cli.shop_open import HERE, ShopFolder, day_of, now, opened, today, write_files
from chape.cli.shop_orders import orders
from chape.cli.shop_papers import papers
from chape.cli.shop_plan import plan
from chape.cli.shop_rush import rush
from chape.cli.shop_stock import batch, stock

shop = typer.Typer(
    help="Run the shop: orders, stock, batches, the day's plan.",
    no_args_is_help=True,
    rich_markup_mode=None,
)
shop.add_typer(orders, name="order")
shop.add_typer(stock, name="stock")
shop.add_typer(batch, name="batch")
shop.add_typer(plan, name="plan")
shop.add_typer(learn, name="learn")
shop.command("heat")(heat)
shop.command("cutters")(cutters)
shop.command("quote")(quote)
shop.command("rush")(rush)
shop.command("fit")(fit)
shop.command("papers")(papers)


@shop.command("new")
def new(folder: Annotated[Path, typer.Argument(help="A new folder for the shop.")]) -> None:
    """Start a shop: its file to edit, and an empty database."""
    from chape.shop.folder import new_shop

    made = new_shop(folder)
    made.close()
    typer.echo(folder / "shop.toml")


@shop.command("demo")
def demo(
    folder: Annotated[Path, typer.Argument(help="A new folder for the demo shop.")],
    day: Annotated[str | None, typer.Option(help="The day it stands on (default: today).")] = None,
    seed: Annotated[int, typer.Option(min=0, max=10**9, help="Another number, another month.")] = 1,
) -> None:
    """Start the demo shop: a month of invented orders and history."""
    from chape.shop.demo import demo_shop

    demo_shop(folder, day_of(day), seed).close()
    typer.echo(folder / "shop.toml")


@shop.command("status")
def status(folder: ShopFolder = HERE, as_json: AsJson = False) -> None:
    """Say what deserves a look: what is late, what runs out, what is worn."""
    from chape.cli.says import finding_rows, say_findings
    from chape.shop.check import check_shop
    from chape.shop.orders import Wanted, count_orders

    with opened(folder) as found:
        count, findings = found.read(
            lambda c: (count_orders(c, Wanted()), check_shop(c, found.file, today()))
        )
    if as_json:
        print_json({"open_orders": count, "findings": finding_rows(findings)})
    else:
        typer.echo(f"{count} open orders")
        say_findings(findings)


@shop.command("backup")
def backup(
    target: Annotated[Path, typer.Argument(help="The zip file to write.")],
    folder: ShopFolder = HERE,
) -> None:
    """Write everything of the shop into one zip file."""
    from chape.shop.folder import backup as write_backup

    with opened(folder) as found:
        write_backup(found, target)
    typer.echo(target)


@shop.command("restore")
def restore(
    source: Annotated[Path, typer.Argument(help="A backup.")],
    folder: Annotated[Path, typer.Argument(help="A new folder for the shop.")],
    database: Annotated[
        str | None, typer.Option(help="Put it into this database (default: as it was).")
    ] = None,
) -> None:
    """Bring a shop back from a backup, also into another kind of database."""
    from chape.shop.folder import restore as bring_back

    bring_back(source, folder, database).close()
    typer.echo(folder / "shop.toml")


@shop.command("upgrade")
def upgrade(folder: ShopFolder = HERE) -> None:
    """Bring an older shop's database up to this chape, after a backup."""
    from chape.shop.folder import bring_up

    kept = bring_up(folder)
    typer.echo("nothing to do" if kept is None else f"done; the state before is in {kept}")


@shop.command("export")
def export(
    out: Annotated[Path, typer.Argument(help="A new folder for the tables.")],
    folder: ShopFolder = HERE,
) -> None:
    """Write every table as CSV and as JSON, for other programs."""
    from chape.shop.rows import export_files

    with opened(folder) as found:
        files = found.read(export_files)
    for path in write_files(out, files):
        typer.echo(path)


@shop.command("note")
def note(
    customer: Annotated[str, typer.Argument(help="The customer's reference.")],
    words: Annotated[
        str | None, typer.Argument(help="Where and how to ship (default: print it).")
    ] = None,
    folder: ShopFolder = HERE,
    as_json: AsJson = False,
) -> None:
    """Keep or print a customer's shipping note."""
    from chape.shop.customers import note_of, write_note

    with opened(folder) as found:
        if words is not None:
            found.change(lambda connection: write_note(connection, customer, words, now()))
        kept = found.read(lambda connection: note_of(connection, customer))
    if as_json:
        print_json({"customer": customer, "note": kept})
    else:
        typer.echo("no note is kept" if kept is None else kept)


@shop.command("forget")
def forget(
    customer: Annotated[str, typer.Argument(help="The customer's reference.")],
    folder: ShopFolder = HERE,
) -> None:
    """Erase a customer's shipping note."""
    from chape.shop.customers import forget as erase

    with opened(folder) as found:
        erase(found, customer)
    typer.echo("erased; backups and exports taken before still hold it")
