"""The shop's own solver on problems whose optima are proved and published (see the data)."""

from itertools import permutations

import pytest

from chape.shop.schedule import Effort
from chape.shop.schedule_bound import least_finish
from chape.shop.schedule_rules import broken_rules
from chape.shop.schedule_solve import solve
from published_schedules import (
    FT06,
    FT10,
    FT10_CORRUPTED,
    J301_1,
    J301_1_CAPACITIES,
    LA01,
    flow_shop,
    job_shop,
    projects,
)

ONE = Effort(seconds=120, workers=1)

#: Best order and makespan. The first two are a textbook's (Stevenson, Operations Management), the
#: first with the last operation that a stored answer of 26 leaves out.
JOHNSON = [
    ([(10, 2), (5, 4), (7, 5), (3, 6), (1, 7)], (4, 3, 2, 1, 0), 28),
    ([(5, 5), (4, 3), (8, 9), (2, 7), (6, 8), (12, 15)], (3, 4, 2, 5, 0, 1), 51),
    ([(3, 6), (7, 2), (4, 7), (5, 3), (7, 4)], (0, 2, 4, 3, 1), 28),
]


@pytest.mark.parametrize(
    ("text", "optimum"),
    [(FT06, 55), (LA01, 666), (FT10, 930), (FT10_CORRUPTED, 940)],
    ids=["FT06", "LA01", "FT10", "FT10 corrupted"],
)
def test_job_shops(text, optimum):
    problem = job_shop(text)
    found = solve(problem, ONE)
    assert (found.finish, found.bound, found.proved) == (optimum, optimum, True)
    assert broken_rules(problem, found.starts) == ()
    assert least_finish(problem) <= optimum


def test_a_project_with_four_resources():
    """43 is the optimum; a serial scheme with a usual rank gives more, and must not call it so."""
    problem = projects(J301_1, J301_1_CAPACITIES)
    found = solve(problem, ONE)
    assert (found.finish, found.proved) == (43, True)
    assert least_finish(problem) >= 38  # the longest way over the links
    quick = solve(problem, Effort(seconds=0))
    assert quick.finish >= 43
    assert quick.proved == (quick.finish == quick.bound)
    assert quick.bound <= 43


def _in_order(jobs, order):
    first = second = 0
    for job in order:
        first += jobs[job][0]
        second = max(first, second) + jobs[job][1]
    return second


@pytest.mark.parametrize(("jobs", "order", "makespan"), JOHNSON)
def test_two_machines_in_a_row(jobs, order, makespan):
    """Johnson's rule gives the order; every other order is tried as well."""
    assert _in_order(jobs, order) == makespan
    assert min(_in_order(jobs, each) for each in permutations(range(len(jobs)))) == makespan
    found = solve(flow_shop(jobs), ONE)
    assert (found.finish, found.proved) == (makespan, True)
