from __future__ import annotations

from itertools import pairwise, permutations, product

import numpy as np
import pytest

from chape.cutting.order import EXACT, Route, Stop, shortest_route

ORIGIN = (0.0, 0.0)


def points(count: int, seed: int) -> list[Stop]:
    places = np.random.default_rng(seed).uniform(0, 100, (count, 1, 2))
    return [Stop(place) for place in places]


def naive(stops: list[Stop], start: tuple[float, float], end: tuple[float, float] | None) -> float:
    """The shortest of all orders and all ways in."""
    best = np.inf
    for order in permutations(range(len(stops))):
        for places in product(*[range(len(stops[n].places)) for n in order]):
            best = min(best, walked(stops, list(zip(order, places, strict=True)), start, end))
    return best


def walked(
    stops: list[Stop],
    visits: list[tuple[int, int]],
    start: tuple[float, float],
    end: tuple[float, float] | None = None,
) -> float:
    here, total = np.array(start), 0.0
    for n, k in visits:
        total += float(np.hypot(*(stops[n].places[k] - here)))
        here = stops[n].places[1 - k if stops[n].through else k]
    return total if end is None else total + float(np.hypot(*(np.array(end) - here)))


@pytest.mark.parametrize("seed", range(6))
@pytest.mark.parametrize("end", [None, ORIGIN, (100.0, 0.0)])
def test_few_points_are_ordered_as_well_as_can_be(
    seed: int, end: tuple[float, float] | None
) -> None:
    stops = points(7, seed)
    route = shortest_route(stops, ORIGIN, end=end)
    assert route.length == pytest.approx(naive(stops, ORIGIN, end), abs=1e-5)


@pytest.mark.parametrize("seed", range(4))
def test_lines_are_entered_at_the_better_end_and_rings_where_it_is_near(seed: int) -> None:
    places = np.random.default_rng(seed).uniform(0, 100, (5, 2, 2))
    stops = [Stop(pair, through=n % 2 == 0) for n, pair in enumerate(places)]
    route = shortest_route(stops, ORIGIN)
    assert route.length == pytest.approx(naive(stops, ORIGIN, None), abs=1e-5)
    assert route.length == pytest.approx(walked(stops, list(route.visits), ORIGIN), abs=1e-9)


@pytest.mark.parametrize("through", [False, True])
def test_stops_on_one_circle_are_taken_round(*, through: bool) -> None:
    """Round a circle the shortest way is known: all chords but the longest gap's."""
    angles = np.linspace(0, 2 * np.pi, 60, endpoint=False)
    places = 50 * np.column_stack([np.cos(angles), np.sin(angles)])
    if through:
        stops = [Stop(places[n : n + 2], through=True) for n in range(0, 60, 2)]
    else:
        stops = [Stop(place[None, :]) for place in places]
    shuffled = [stops[n] for n in np.random.default_rng(1).permutation(len(stops))]
    start = (float(places[0, 0]), float(places[0, 1]))
    route = shortest_route(shuffled, start)
    chord = 2 * 50 * np.sin(np.pi / 60)
    assert route.length == pytest.approx((29 if through else 59) * chord, rel=1e-9)


@pytest.mark.parametrize("end", [None, ORIGIN])
def test_every_stop_is_visited_once_and_lengths_are_true(
    end: tuple[float, float] | None,
) -> None:
    rng = np.random.default_rng(3)
    stops = [
        Stop(rng.uniform(0, 300, (count, 2)), through=count == 2)
        for count in rng.integers(1, 5, 40)
    ]
    route = shortest_route(stops, ORIGIN, end=end)
    assert sorted(n for n, _ in route.visits) == list(range(40))
    assert route.length == pytest.approx(walked(stops, list(route.visits), ORIGIN, end))
    given = walked(stops, [(n, 0) for n in range(40)], ORIGIN, end)
    assert route.as_given == pytest.approx(given)
    assert route.saved == pytest.approx(given - route.length)
    assert route.length < 0.35 * given


@pytest.mark.parametrize("count", [6, 30])
def test_what_must_come_first_comes_first(count: int) -> None:
    stops = points(count, 5)
    after = [(count - 1 - n, n) for n in range(count // 2)]
    route = shortest_route(stops, ORIGIN, after=after)
    at = {n: place for place, (n, _) in enumerate(route.visits)}
    assert all(at[first] < at[then] for first, then in after)
    assert route.length >= shortest_route(stops, ORIGIN).length - 1e-6
    with pytest.raises(ValueError, match="ring"):
        shortest_route(stops, ORIGIN, after=[*after, (0, count - 1)])


def test_the_better_of_many_is_close_to_the_best_of_few() -> None:
    """Just above the exact count the search still finds what sets would."""
    for seed in range(8):
        stops = points(EXACT, seed)
        best = shortest_route(stops, ORIGIN).length
        # A stop on the start costs nothing, and puts the count beyond the exact one.
        more = shortest_route([*stops, Stop(np.zeros((1, 2)))], ORIGIN).length
        assert more == pytest.approx(best, abs=1e-5)


def test_the_same_stops_give_the_same_route_and_none_is_no_route() -> None:
    stops = points(70, 9)
    assert shortest_route(stops, ORIGIN).visits == shortest_route(stops, ORIGIN).visits
    assert shortest_route([], ORIGIN) == Route((), 0.0, 0.0)
    same = [Stop(np.array([[5.0, 5.0]])) for _ in range(12)]
    assert shortest_route(same, ORIGIN).length == pytest.approx(np.hypot(5, 5))


def test_a_place_that_is_no_number_is_refused() -> None:
    with pytest.raises(ValueError, match="no number"):
        shortest_route([Stop(np.array([[np.nan, 0.0]]))], ORIGIN)


def test_no_two_ways_cross_where_none_need_to() -> None:
    route = shortest_route(points(60, 2), ORIGIN)
    places = [ORIGIN, *[tuple(points(60, 2)[n].places[0]) for n, _ in route.visits]]
    ways = list(pairwise(np.array(places)))

    def side(a: np.ndarray, b: np.ndarray, c: np.ndarray) -> float:
        return float((b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0]))

    for m, (a, b) in enumerate(ways):
        for c, d in ways[m + 2 :]:
            assert not (side(a, b, c) * side(a, b, d) < 0 and side(c, d, a) * side(c, d, b) < 0)
