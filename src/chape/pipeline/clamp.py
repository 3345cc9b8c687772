"""The clampings of a job: what is cut, how it is held, and for which fixture."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from chape.cutting.grip import grip_of, sheet_grip
from chape.cutting.offsets import holders, known_fixture, require_free
from chape.cutting.pin_room import require_pin_room
from chape.cutting.setups import fixture_setup, mould_back, mould_top, trim_setup

if TYPE_CHECKING:
    from chape.catalog.holds import NumberedFixture
    from chape.cutting.grip import Grip
    from chape.cutting.model import Setup
    from chape.pipeline.file import Request
    from chape.tooling.model import Fixture, Mould


def numbered_fixture(request: Request) -> NumberedFixture | None:
    """Return the workshop's fixture that a job is for; None for a new one.

    Raises:
        InputError: it is not there, or an offset of the job is held by another.
    """
    choices, router = request.file.fixture, request.file.machine.router
    held = holders(request.catalog, router)
    own = known_fixture(request.catalog, choices.known_as, router, choices.board)
    require_free(request.file.mould.offset, held, None, "mould.offset")
    board = request.catalog.board(choices.board)
    if own is None:
        require_free(board.offset, held, None, "fixture.board")
    return own


def setups_of(request: Request, mould: Mould, fixture: Fixture) -> tuple[Setup, ...]:
    """Return the four clampings of a job, in the order they are run.

    Raises:
        InputError: an offset is held by another fixture.
        CannotMakeError: no ball fits the fillets, a vacuum is wanted that the air does not give, or
            a pin of the fixture's board stands too near to a seat.
    """
    file, catalog = request.file, request.catalog
    machine, cutters = catalog.machine(file.machine.router), catalog.rack(file.machine.rack).cutters
    own = numbered_fixture(request)
    offset = fixture.board.offset if own is None else own.offset
    name = own.words if own is not None else f'a new fixture of "{file.sheath.name}"'
    plate = catalog.material(file.mould.material)
    seat = catalog.material(file.fixture.material)

    def held(hold: str, of: Setup, *, level: bool = True) -> Grip:
        material = plate if of.name.startswith("mould") else seat
        area, altitude = of.width * of.depth, file.forming.altitude
        return grip_of(catalog.hold(hold), material, area, altitude, level=level)

    top = mould_top(mould, machine, cutters, file.mould.offset)
    back = mould_back(mould, machine, cutters, file.mould.offset)
    seated = fixture_setup(fixture, machine, cutters, offset)
    require_pin_room(seated, fixture.board)
    trim = trim_setup(fixture, machine, cutters, offset, spring_pass=file.machine.spring_pass)
    return (
        replace(top, material=plate, grip=held(file.mould.hold, top), scallop=file.mould.scallop),
        replace(back, material=plate, grip=held(file.mould.hold_back, back, level=False)),
        replace(
            seated,
            material=seat,
            grip=held(file.fixture.hold, seated),
            fixture=name,
            scallop=file.fixture.scallop,
        ),
        replace(
            trim,
            material=catalog.material(fixture.layout.sheet.material),
            grip=_sheet(fixture, request),
            fixture=name,
        ),
    )


def _sheet(fixture: Fixture, request: Request) -> Grip:
    """Return how hard the formed blank is held, by the fewest screws of any phase."""
    per_part = len(fixture.screws) // max(1, len(fixture.layout.parts))
    corners = len(fixture.inserts) - len(fixture.screws)
    plate = request.catalog.material(request.file.fixture.material)
    return sheet_grip(fixture.screw, plate, corners, per_part)
