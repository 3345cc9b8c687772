"""Which fixture holds which work offset, and whether its zero can be trusted."""

from __future__ import annotations

from typing import TYPE_CHECKING

from chape.errors import InputError
from chape.findings import Finding, Severity

if TYPE_CHECKING:
    import datetime as dt
    from pathlib import Path

    from chape.catalog.holds import NumberedFixture
    from chape.catalog.read import Catalog


def holders(catalog: Catalog, machine: str, file: Path | None = None) -> dict[str, NumberedFixture]:
    """Return work offset -> the fixture that holds it on a machine.

    Args:
        catalog: with the workshop's fixtures.
        machine: name of the router.
        file: of the workshop, named in errors.

    Raises:
        InputError: two fixtures claim one offset or one number, or a fixture names a machine or a
            board that is not there.
    """
    held: dict[str, NumberedFixture] = {}
    numbers: dict[int, NumberedFixture] = {}
    for fixture in catalog.fixtures():
        for kind, name in (("machines", fixture.machine), ("boards", fixture.board)):
            try:
                catalog.entry(kind, name)
            except InputError as error:
                field = f"fixtures.{fixture.name}.{kind[:-1]}"
                raise InputError(error.problem, mend=error.mend, file=file, field=field) from None
        twin = numbers.setdefault(fixture.number, fixture)
        if twin is not fixture:
            raise InputError(
                f'the fixtures "{twin.name}" and "{fixture.name}" both have the number '
                f"{fixture.number}",
                mend="Give each its own number",
                file=file,
                field=f"fixtures.{fixture.name}.number",
            )
        if fixture.machine != machine:
            continue
        other = held.setdefault(fixture.offset, fixture)
        if other is not fixture:
            raise InputError(
                f"{other.words} and {fixture.words} both claim the work offset {fixture.offset} on "
                f"{machine}",
                mend="Give one of them another offset, and set its zero anew",
                file=file,
                field=f"fixtures.{fixture.name}.offset",
            )
    return held


def known_fixture(
    catalog: Catalog, name: str | None, machine: str, board: str
) -> NumberedFixture | None:
    """Return the numbered fixture a job is for; None for a new one.

    Raises:
        InputError: there is none of that name, or it belongs to another machine or board.
    """
    if name is None:
        return None
    found = {fixture.name: fixture for fixture in catalog.fixtures()}.get(name)
    if found is None:
        known = ", ".join(fixture.name for fixture in catalog.fixtures()) or "none"
        raise InputError(
            f'the workshop has no fixture "{name}"',
            mend=f"Write [fixtures.{name}] in workshop.toml, or choose one of: {known}",
            field="fixture.known_as",
        )
    for what, own, wanted in (("machine", found.machine, machine), ("board", found.board, board)):
        if own != wanted:
            raise InputError(
                f'{found.words} belongs to the {what} "{own}", and this job to "{wanted}"',
                mend=f"Choose that {what}, or another fixture",
                field="fixture.known_as",
            )
    return found


def require_free(
    offset: str, held: dict[str, NumberedFixture], own: NumberedFixture | None, key: str
) -> None:
    """Refuse a work offset that another fixture holds.

    Args:
        offset: the programs would be written for.
        held: who holds which.
        own: the fixture they are for; None for a new one, or a bare plate.
        key: of the file that says the offset.

    Raises:
        InputError: naming the fixture that holds it.
    """
    holder = held.get(offset)
    if holder is None or holder == own:
        return
    wanted = own.words if own is not None else "this job"
    raise InputError(
        f"the work offset {offset} on {holder.machine} is held by {holder.words}, not by {wanted}",
        mend=f"Choose a free offset; held are: {', '.join(sorted(held))}",
        field=key,
    )


def check_zero(fixture: NumberedFixture | None, day: dt.date | None) -> tuple[Finding, ...]:
    """Return what is seen about a fixture's zero.

    Args:
        fixture: the programs are for; None for a new one, whose zero is set before the first run.
        day: today; None where it is not known, and nothing is said about a check being due.
    """
    if fixture is None:
        return ()
    findings = []
    if fixture.checked is None:
        findings.append(
            Finding(
                "zero-unchecked",
                Severity.WARNING,
                fixture.words,
                f"The zero of {fixture.words} in {fixture.offset} was never checked",
                "Check it by the page zero-check.pdf, and write the day in workshop.toml.",
            )
        )
    elif day is not None and (day - fixture.checked).days > fixture.check_every:
        findings.append(
            Finding(
                "zero-check-overdue",
                Severity.WARNING,
                fixture.words,
                f"The zero of {fixture.words} was last checked on {fixture.checked.isoformat()}",
                "Check it by the page zero-check.pdf, and write the day in workshop.toml.",
                float((day - fixture.checked).days),
                float(fixture.check_every),
                "days",
            )
        )
    if fixture.drift > fixture.drift_allowed:
        findings.append(
            Finding(
                "zero-drift-high",
                Severity.ERROR,
                fixture.words,
                f"The zero of {fixture.words} had moved by {fixture.drift:g} mm when it was "
                f"checked, and {fixture.drift_allowed:g} mm are allowed",
                "Set the zero anew, check it, and write drift = 0 in workshop.toml.",
                fixture.drift,
                fixture.drift_allowed,
            )
        )
    return tuple(findings)
