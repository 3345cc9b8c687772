"""Notes heat trials, and says what they teach."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import typer
from pydantic import ValidationError

from chape.catalog.sentences import first_problem
from chape.cli.says import print_json
from chape.errors import InputError

if TYPE_CHECKING:
    from collections.abc import Mapping
    from pathlib import Path

    from chape.catalog.model import Heater, SheetStock
    from chape.forming.trials import Advice


def note_trial(path: Path, at: str, told: Mapping[str, Any], *, as_json: bool) -> None:
    """Note a trial where one is told of, and say what to try next.

    Args:
        path: the sheath file; its trials are kept beside it.
        at: "blank" for the heater, "fold" for the strip heater.
        told: fields of a trial that the person gave.
        as_json: print one JSON document.

    Raises:
        InputError: half a trial, or a figure that cannot be.
    """
    if at not in ("blank", "fold"):
        raise InputError(f'found --at "{at}"', mend='Write "blank" or "fold"')
    if ("seconds" in told) != ("outcome" in told):
        missing = "--outcome cold, good or overheated" if "seconds" in told else "--seconds"
        raise InputError("half a trial was told", mend=f"Add {missing}", file=path)
    if told and "seconds" not in told:
        raise InputError(
            "a trial needs its time and its outcome", mend="Add --seconds and --outcome", file=path
        )

    from chape.forming.trials import Trial, advise, trials_of
    from chape.pipeline.file import read_request
    from chape.pipeline.trial_book import TRIALS, add_trial, read_trials

    request = read_request(path)
    choices = request.file.forming
    heater = request.catalog.heater(choices.heater if at == "blank" else choices.strip)
    sheet = request.catalog.sheet(request.file.sheath.sheet)
    book = path.parent / TRIALS
    if told:
        base = {
            "sheet": sheet.name,
            "gauge": sheet.gauge.value,
            "heater": heater.name,
            "setting": choices.setting if at == "blank" else None,
            "room": choices.room,
        }
        try:
            trial = Trial.model_validate({**base, **told})
        except ValidationError as error:
            raise first_problem(error, file="the trial") from None
        add_trial(book, trial)
    trials = read_trials(book.read_bytes(), book) if book.is_file() else ()
    mine = trials_of(trials, sheet, heater)
    setting = choices.setting if at == "blank" else None
    advice = advise(mine, sheet, heater, setting=setting, room=choices.room)
    if as_json:
        print_json(_document(advice, sheet, heater))
    else:
        _say(advice, sheet, heater)


def _document(advice: Advice, sheet: SheetStock, heater: Heater) -> dict[str, Any]:
    from chape.forming.trials import paced_by

    return {
        "heater": heater.name,
        "sheet": sheet.name,
        "trials": advice.trials,
        "next_seconds": advice.seconds,
        "chance_of_good": round(advice.good, 4),
        "ready_seconds": [advice.ready_low, advice.ready_high],
        "most_telling_seconds": advice.telling,
        "most_telling_bits": round(advice.bits, 4),
        paced_by(heater): round(advice.belief.pace_mean, 3),
    }


#: A chance of a good sheet below this means that no time will do.
POOR = 0.5


def _say(advice: Advice, sheet: SheetStock, heater: Heater) -> None:
    from chape.forming.heating import heater_figures
    from chape.forming.trials import paced_by

    pace = paced_by(heater)
    unit = heater.flux.unit if pace == "flux" else heater.conductance.unit
    usual, spread = heater_figures(heater, None)[pace]
    count = "no trial yet" if advice.trials == 0 else f"{advice.trials} trials"
    count = "1 trial" if advice.trials == 1 else count
    typer.echo(f"{heater.title}, {sheet.title}: {count}")
    typer.echo(
        f"  use next          {advice.seconds:.0f} s   chance of a good sheet {advice.good:.0%}"
    )
    typer.echo(
        f"  ready between     {advice.ready_low:.0f} and {advice.ready_high:.0f} s   chance 90 %"
    )
    typer.echo(f"  most telling      {advice.telling:.0f} s   teaches {advice.bits:.2f} bits")
    typer.echo(
        f"  {pace:17} {advice.belief.pace_mean:.1f} {unit}   catalogue {usual:g} ± {spread:g}"
    )
    if advice.attainable < POOR:
        typer.echo(
            "No time is likely to give a good sheet: the face is spoiled before the far side is "
            "ready. Turn the sheet half way, or heat it less fiercely."
        )
    typer.echo("Hot sheet burns: wear gloves. Ventilate, and stay below the sheet maker's limit.")
