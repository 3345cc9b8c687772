"""``chape shop plan``: the plan of the day, and ticking it off."""

from __future__ import annotations

from datetime import timedelta
from pathlib import Path  # noqa: TC003 - typer reads annotations while it runs
from typing import TYPE_CHECKING, Annotated, Any

import typer

from chape.cli.says import AsJson, print_json
from chape.cli.shop_open import HERE, ShopFolder, moment_of, now, opened, write_new

if TYPE_CHECKING:
    from chape.shop.plan import Plan
    from chape.shop.standing import Standing
    from chape.shop.store import Shop

plan = typer.Typer(help="The plan of the day.", no_args_is_help=True, rich_markup_mode=None)


@plan.command("make")
def make(
    seconds: Annotated[
        float | None, typer.Option(min=0.1, max=3600, help="To search (default: 20; anew 1.5).")
    ] = None,
    anew: Annotated[
        bool, typer.Option("--anew", help="Quickly, from how things stand now.")
    ] = False,
    at: Annotated[
        str | None, typer.Option(help="Begin at this time, 2026-03-14T08:00 (default: now).")
    ] = None,
    folder: ShopFolder = HERE,
    as_json: AsJson = False,
) -> None:
    """Plan everything that is in work."""
    from chape.shop.plan import ANEW, MORNING, make_plan
    from chape.shop.schedule import Effort

    given = (ANEW if anew else MORNING) if seconds is None else seconds
    with opened(folder) as found:
        made = make_plan(found, moment_of(at), Effort(seconds=given))
        _say(found, made, 5, as_json=as_json)


@plan.command("show")
def show(
    lines: Annotated[int, typer.Option(min=1, max=2000, help="How many things to list.")] = 12,
    folder: ShopFolder = HERE,
    as_json: AsJson = False,
) -> None:
    """Show what the hands do next, what runs alone, and when the last parcel is ready."""
    from chape.shop.standing import kept_plan

    with opened(folder) as found:
        _say(found, kept_plan(found), lines, as_json=as_json)


@plan.command("tick")
def tick(
    task: Annotated[str, typer.Argument(help="As the plan calls it, such as B7.2.heat.")],
    took: Annotated[
        int | None, typer.Option(help="Seconds with hands (default: as planned).")
    ] = None,
    folder: ShopFolder = HERE,
) -> None:
    """Say that a step is done, or that its unattended part runs now."""
    from chape.shop.in_work import tick as note

    with opened(folder) as found:
        moved = found.change(lambda c: note(c, found.file, task, took, now()))
    typer.echo(f"{task} is done ({len(moved)} piece{'s' * (len(moved) != 1)})")


@plan.command("gantt")
def gantt(
    out: Annotated[Path, typer.Argument(help="The SVG file to write.")],
    start: Annotated[float, typer.Option("--from", min=0, help="Hours into the plan.")] = 0.0,
    hours: Annotated[
        float | None, typer.Option(min=0.05, max=240, help="How long (default: to the end).")
    ] = None,
    folder: ShopFolder = HERE,
) -> None:
    """Draw the plan as a picture."""
    from chape.shop.gantt import gantt_svg
    from chape.shop.standing import kept_plan

    with opened(folder) as found:
        kept = kept_plan(found)
    begin = round(3600 * start)
    length = max(600, kept.finish - begin) if hours is None else round(3600 * hours)
    write_new(out, gantt_svg(kept, begin, length))
    typer.echo(out)


def _say(shop: Shop, made: Plan, lines: int, *, as_json: bool) -> None:
    from chape.shop.standing import standing_of

    stands = standing_of(shop, made, now())
    left, runs = stands.left, stands.running
    if as_json:
        print_json(_document(stands, lines))
        return
    for task in left[:lines]:
        at = (made.zero + timedelta(seconds=task.start)).astimezone()
        typer.echo(f"{at:%H:%M:%S}  {task.name:24} {task.title} ({task.seconds} s)")
    if len(left) > lines:
        typer.echo(f"          … {len(left) - lines} more; --lines shows them")
    for task, until in runs:
        typer.echo(f"alone     {task.name[:-1]:24} until {until.astimezone():%H:%M:%S}")
    ready = made.ready.astimezone()
    typer.echo(f"The last parcel is ready at {ready:%H:%M on %A %d %B}.")
    typer.echo(f"No plan is better by more than {made.gap:.1%}: that is proved.")
    for serial in made.late:
        typer.echo(f"LATE      {serial}")
    if made.relaxed:
        typer.echo("Something hot has to wait for hands: go to it first, and expect to scrap it.")


def _document(stands: Standing, lines: int) -> dict[str, Any]:
    made = stands.plan
    return {
        "zero": made.zero.isoformat(),
        "ready": made.ready.isoformat(),
        "gap": round(made.gap, 4),
        "late": list(made.late),
        "relaxed": made.relaxed,
        "seconds": round(made.seconds, 2),
        "left": len(stands.left),
        "next": [
            {"task": t.name, "title": t.title, "start": t.start, "seconds": t.seconds}
            for t in stands.left[:lines]
        ],
        "alone": [{"task": t.name, "until": until.isoformat()} for t, until in stands.running],
    }
