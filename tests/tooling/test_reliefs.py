"""Every hole bored through the sheet has an insert or a relief under it."""

import numpy as np
import pytest

from specimens import camp_fixture


@pytest.fixture(scope="module")
def fixture():
    return camp_fixture()


def test_every_hole_of_the_sheet_has_a_hole_below_it(fixture):
    below = [*fixture.inserts, *fixture.reliefs]
    centres = np.array([[hole.x, hole.y] for hole in below])
    for part in fixture.layout.parts:
        for hole in fixture.layout.piece_of(part).holes:
            x, y = part.place.placed(np.array([[hole.u, hole.v]]))[0]
            distance = np.hypot(*(centres - [x, y]).T)
            nearest = below[int(distance.argmin())]
            assert distance.min() < 0.01
            assert nearest.diameter > hole.diameter
            assert nearest.z_bottom < fixture.seat.at(np.array([[x, y]]))[0] - 1


def test_reliefs_and_inserts_share_no_hole(fixture):
    inserts = {(round(hole.x, 3), round(hole.y, 3)) for hole in fixture.inserts}
    assert not inserts & {(round(hole.x, 3), round(hole.y, 3)) for hole in fixture.reliefs}
    layout = fixture.layout
    total = sum(len(layout.piece_of(part).holes) for part in layout.parts)
    assert len(fixture.reliefs) == total - len(fixture.screws)
