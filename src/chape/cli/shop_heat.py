"""``chape shop heat``: heat trials at the press and at the strip heater."""

from __future__ import annotations

from typing import Annotated

import typer

from chape.cli.says import AsJson, print_json
from chape.cli.shop_open import HERE, ShopFolder, now, opened


def heat(  # noqa: PLR0913, PLR0917 - one option for each thing a trial can say
    sheet: Annotated[str, typer.Argument(help="Sheet, as in the catalogue.")],
    seconds: Annotated[float, typer.Option(help="It was heated.")],
    outcome: Annotated[str, typer.Option(help="cold, good or overheated.")],
    step: Annotated[str, typer.Option(help="heat (the blank) or warm (the fold).")] = "heat",
    heater: Annotated[
        str | None, typer.Option(help="As in the catalogue (default: press, or strip).")
    ] = None,
    setting: Annotated[
        float | None, typer.Option(help="The heater was set to, °C (default: its usual).")
    ] = None,
    gauge: Annotated[
        float | None, typer.Option(help="Measured, mm (default: the sheet's).")
    ] = None,
    room: Annotated[float | None, typer.Option(help="Temperature, °C (default: 22).")] = None,
    note: Annotated[str | None, typer.Option(help="For your own use.")] = None,
    folder: ShopFolder = HERE,
    as_json: AsJson = False,
) -> None:
    """Keep a heat trial, and say what to try next."""
    from chape.shop.heats import advice_of, heats_of, note_heat
    from chape.shop.shop_file import shop_catalog

    entries = shop_catalog(folder)
    told = {
        "sheet": sheet, "seconds": seconds, "outcome": outcome, "heater": heater,
        "setting": setting, "gauge": gauge, "room": room, "note": note,
    }  # fmt: skip
    with opened(folder) as found:
        found.change(lambda c: note_heat(c, entries, step, told, now()))
        trials = found.read(heats_of)[step, sheet]
    advice = advice_of(entries, trials)
    if as_json:
        print_json(
            {
                "trials": advice.trials,
                "next_seconds": advice.seconds,
                "chance_of_good": round(advice.good, 4),
                "ready_seconds": [advice.ready_low, advice.ready_high],
                "most_telling_seconds": advice.telling,
            }
        )
        return
    typer.echo(
        f"{advice.trials} trial{'s' * (advice.trials != 1)}: use {advice.seconds:.0f} s next, "
        f"with a chance of {advice.good:.0%} of a good sheet"
    )
    typer.echo(
        f"It becomes ready between {advice.ready_low:.0f} and {advice.ready_high:.0f} s (90 %); "
        f"{advice.telling:.0f} s would tell the most."
    )
    typer.echo("Hot sheet burns: wear gloves. Ventilate, and stay below the sheet maker's limit.")
