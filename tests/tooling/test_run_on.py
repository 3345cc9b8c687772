"""What is formed past the cut is waste: the fixture does not seat it."""

import numpy as np
import shapely

from specimens import camp_fixture


def test_nothing_stands_past_the_trim_cutters_groove_but_the_marks():
    fixture = camp_fixture()
    seat = fixture.seat
    x, y = seat.grid.mesh()
    kept = np.zeros(seat.z.shape, dtype=bool)
    for path in fixture.trim_paths:
        kept |= shapely.contains_xy(path.polygon(0.01).buffer(seat.grid.spacing), x, y)
    for button_x, button_y, radius, height in fixture.layout.locators:
        kept |= np.hypot(x - button_x, y - button_y) < radius + 2 * height + 4
    mark = fixture.layout.front_mark
    if mark is not None:
        kept |= (np.abs(x - mark[0]) < mark[2] + 6) & (np.abs(y - mark[1]) < mark[3] + 6)
    assert seat.z[~kept].max() == 0
    # The layout itself runs on, or this would show nothing.
    assert fixture.layout.formed.z[~kept].max() > 1
