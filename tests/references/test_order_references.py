"""The order of stops against a published round trip.

Fifty-two places in Berlin (M. Grötschel), "berlin52" of the library of travelling salesman
problems (G. Reinelt, ORSA Journal on Computing 3 (1991) 376): the best round trip is 7542 with
every distance rounded to a whole number, 7544.37 without rounding (figures and places from memory,
places compared with two published copies).
"""

from __future__ import annotations

import numpy as np
import pytest

from chape.cutting.order import Stop, shortest_route

PLACES = """
565 575 25 185 345 750 945 685 845 655 880 660 25 230 525 1000 580 1175 650 1130 1605 620 1220 580
1465 200 1530 5 845 680 725 370 145 665 415 635 510 875 560 365 300 465 520 585 480 415 835 625
975 580 1215 245 1320 315 1250 400 660 180 410 250 420 555 575 665 1150 1160 700 580 685 595 685 610
770 610 795 645 720 635 760 650 475 960 95 260 875 920 700 500 555 815 830 485 1170 65 830 610
605 625 595 360 1340 725 1740 245
"""


def test_the_best_round_trip_through_fifty_two_places_is_found() -> None:
    places = np.array(PLACES.split(), float).reshape(-1, 2)
    assert len(places) == 52
    home = (float(places[0, 0]), float(places[0, 1]))
    route = shortest_route([Stop(place[None, :]) for place in places], home, end=home)
    assert route.length == pytest.approx(7544.3659, abs=0.01)
    visited = np.vstack([home, *[places[n] for n, _ in route.visits], home])
    rounded = np.rint(np.hypot(*np.diff(visited, axis=0).T)).sum()
    assert rounded == 7542
