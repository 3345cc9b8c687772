"""``chape shop learn`` and ``chape shop quote``: what the log teaches, and what to ask."""

from __future__ import annotations

from typing import Annotated

import typer

from chape.cli.says import AsJson, print_json
from chape.cli.shop_open import HERE, ShopFolder, now, opened

learn = typer.Typer(help="What the run log teaches.", no_args_is_help=True, rich_markup_mode=None)


@learn.command("list")
def list_proposals(folder: ShopFolder = HERE, as_json: AsJson = False) -> None:
    """List what the log proposes, and what was accepted."""
    from chape.shop.in_work import learned_figures
    from chape.shop.learn import proposals
    from chape.shop.shop_file import shop_catalog

    entries = shop_catalog(folder)
    with opened(folder) as found:
        rows, used = found.read(lambda c: (proposals(c, found.file, entries), learned_figures(c)))
    if as_json:
        print_json(
            {
                "proposed": [
                    {
                        "what": r.what, "now": r.now, "value": r.value, "low": r.low,
                        "high": r.high, "count": r.count,
                    }
                    for r in rows
                ],
                "accepted": used,
            }
        )  # fmt: skip
        return
    for row in rows:
        typer.echo(
            f"{row.what:14} {_figure(row.what, row.value)} instead of "
            f"{_figure(row.what, row.now)}; from {_figure(row.what, row.low)} to "
            f"{_figure(row.what, row.high)}, of {row.count}"
        )
    for what, value in sorted(used.items()):
        typer.echo(f"{what:14} {_figure(what, value)} accepted")
    if not rows:
        typer.echo("nothing new is proposed")


@learn.command("accept")
def accept(
    what: Annotated[str, typer.Argument(help='As listed: "check", or "scrap camp".')],
    folder: ShopFolder = HERE,
) -> None:
    """Use a proposed figure from now on."""
    from chape.shop.learn import accept as use
    from chape.shop.shop_file import shop_catalog

    entries = shop_catalog(folder)
    with opened(folder) as found:
        row = found.change(lambda c: use(c, found.file, what, now(), entries))
    typer.echo(f"{what}: {_figure(what, row.value)} from now on")
    if what.startswith("friction "):
        typer.echo("Write it as friction under [fit] of the sheath file, and make its job again.")


@learn.command("forget")
def forget(
    what: Annotated[str, typer.Argument(help='As listed: "check", or "scrap camp".')],
    folder: ShopFolder = HERE,
) -> None:
    """Go back to what was used before."""
    from chape.shop.learn import unlearn

    with opened(folder) as found:
        found.change(lambda c: unlearn(c, what))
    typer.echo(f"{what} is forgotten")


def quote(
    model: Annotated[str, typer.Argument(help="One of the shop's models.")],
    sheet: Annotated[str, typer.Option(help="Sheet, as in the catalogue.")] = "acrylic-pvc-2.0",
    colour: Annotated[str, typer.Option(help="Of the sheet.")] = "black",
    clip: Annotated[str | None, typer.Option(help="Clip, as in the catalogue.")] = None,
    quantity: Annotated[int, typer.Option(help="Pieces.")] = 1,
    tools: Annotated[
        float | None, typer.Option(help="What a mould and fixture cost: from when do they pay?")
    ] = None,
    folder: ShopFolder = HERE,
    as_json: AsJson = False,
) -> None:
    """Say what a piece costs and what to ask for it."""
    from chape.shop.in_work import learned_figures
    from chape.shop.money import Wanted, pays_from
    from chape.shop.money import quote as make_quote
    from chape.shop.stock import shelves

    wanted = Wanted(model, sheet, colour, clip, quantity)
    with opened(folder) as found:
        rows, learned = found.read(lambda c: (shelves(c), learned_figures(c)))
        made = make_quote(found.file, wanted, rows, learned)
        currency = found.file.shop.currency
    pays = None if tools is None else pays_from(made, tools)
    if as_json:
        print_json(
            {
                "parts": dict(made.parts), "scrap": made.scrap, "cost": round(made.cost, 2),
                "price": made.price, "quantity": quantity, "total": round(made.total, 2),
                "hand_seconds": round(made.hands), "router_seconds": round(made.machine),
                "unpriced": [str(good) for good in made.unpriced], "pays_from": pays,
                "currency": currency,
            }
        )  # fmt: skip
        return
    for title, each in made.parts:
        typer.echo(f"  {title:34} {each:8.2f}")
    typer.echo(f"  {'cost with scrap and overhead':34} {made.cost:8.2f}")
    typer.echo(f"  {'price of one':34} {made.price:8.2f} {currency}")
    typer.echo(f"  {f'price of {quantity}':34} {made.total:8.2f} {currency}")
    typer.echo(
        f"{made.hands / 60:.1f} minutes of hands and {made.machine / 60:.1f} of the router for one"
    )
    for good in made.unpriced:
        typer.echo(f"No price is known for {good}: it counts as nothing.")
    if pays is not None:
        typer.echo(f"The tools have paid for themselves from {pays} pieces on.")


def _figure(what: str, value: float) -> str:
    if what.startswith("friction "):
        return f"{value:.2f}"
    return f"{value:.1%}" if what.startswith("scrap ") else f"{value:.1f} s"


def cutters(
    changed: Annotated[
        str | None, typer.Option(help="This one has been changed or ground: count anew.")
    ] = None,
    folder: ShopFolder = HERE,
    as_json: AsJson = False,
) -> None:
    """List how long each cutter has cut since it was changed."""
    from chape.shop.cutter_wear import cutters_of, note_changed
    from chape.shop.job_folder import jobs_of

    with opened(folder) as found:
        if changed is not None:
            found.change(lambda c: note_changed(c, found.file, changed))
        jobs, _ = jobs_of(found.file)
        rows = found.read(lambda c: cutters_of(c, found.file, jobs))
    if as_json:
        print_json(
            {
                "cutters": [
                    {"name": row.name, "minutes": round(row.minutes, 1), "life": row.life}
                    for row in rows
                ]
            }
        )
        return
    for row in rows:
        life = "" if row.life is None else f" of {row.life:g}"
        typer.echo(f"{row.name:24} {row.minutes:8.1f}{life} min")
    if not rows:
        typer.echo("no model names a job folder, so nothing is known of cutters")


def fit(
    serial: Annotated[str, typer.Argument(help="Of the piece, such as 2026-0042-1.")],
    hold: Annotated[float | None, typer.Option(help="A spring scale read, N.")] = None,
    fault: Annotated[
        list[str] | None,
        typer.Option(help="shake, rattle, edge, eyelets, rim or clean; once for each."),
    ] = None,
    note: Annotated[str, typer.Option(help="For your own use.")] = "",
    folder: ShopFolder = HERE,
) -> None:
    """Keep the fit record of a made sheath; without a fault it has passed."""
    from chape.shop.fit_record import record_fit

    with opened(folder) as found:
        record = found.change(lambda c: record_fit(c, serial, hold, fault or [], note, now()))
    if record.passed:
        typer.echo(f"{serial} has passed")
    else:
        typer.echo(f"{serial} has NOT passed: mend it and try again, or scrap it")
