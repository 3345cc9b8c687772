"""Bounds on a schedule: what is proved holds for every schedule, and is met where it should be."""

from itertools import pairwise, product, starmap

from hypothesis import given, settings
from hypothesis import strategies as st
from ortools.sat.python import cp_model

from chape.shop.schedule import Changes, Due, Effort, Link, Problem, Resource, Task, Use
from chape.shop.schedule_bound import least_finish, least_lateness
from chape.shop.schedule_forced import least_idle, least_set_up
from chape.shop.schedule_model import SolverModel
from chape.shop.schedule_rules import broken_rules
from chape.shop.schedule_solve import solve

ONE = Effort(seconds=20, workers=1)


def _sheets(families, times, *, at_start=(None, None), change=(3, 5), pause=()):
    """Sheets that are heated and then formed at once, each in a colour and on a mould."""
    tasks, links, uses = [], [], []
    for number, (colour, mould) in enumerate(families):
        names = [f"{number}.{part}" for part in ("load", "heat", "move", "lift")]
        load, heat, move, lift = names
        tasks += starmap(Task, zip(names, times, strict=True))
        links += [Link(one, two, 0, 0) for one, two in pairwise((load, heat, move))]
        links.append(Link(move, lift))
        uses += [Use("hands", each, each) for each in (load, move, lift)]
        uses.append(Use("press", load, heat, family=colour))
        uses.append(Use("table", move, lift, family=mould))
    resources = (
        Resource("hands", closed=tuple(pause)),
        Resource("press", changes=Changes(change[0], needs=("hands",), at_start=at_start[0])),
        Resource("table", changes=Changes(change[1], needs=("hands",), at_start=at_start[1])),
    )
    return Problem(tuple(tasks), tuple(links), tuple(uses), resources)


def test_set_ups_of_two_stations_in_one_order_are_counted_together():
    """Two colours on each of two moulds: one mould after the other, and back to a colour once."""
    pairs = tuple(product(("red", "blue"), ("small", "large")))
    problem = _sheets(pairs, (2, 6, 1, 2))
    hands, press, table = problem.resources
    # By themselves: two colours at 3, two moulds at 5. Together one more change of colour.
    assert (least_set_up(problem, press), least_set_up(problem, table)) == (6, 10)
    assert least_set_up(problem, hands) == 6 + 10 + 3
    ready = _sheets(pairs, (2, 6, 1, 2), at_start=("red", "small"))
    assert least_set_up(ready, ready.resources[0]) == 3 + 5 + 3


def test_hands_wait_for_the_first_hot_sheet():
    """Nothing can be done meanwhile but a set-up that is short enough and needs no press."""
    long = _sheets((("red", "small"), ("red", "small")), (2, 6, 1, 2), change=(3, 7))
    assert least_idle(long, long.resources[0]) == 6
    short = _sheets((("red", "small"), ("red", "small")), (2, 6, 1, 2), change=(3, 4))
    assert least_idle(short, short.resources[0]) == 2
    extra = Problem(
        (*long.tasks, Task("sweep", 5)),
        long.links,
        (*long.uses, Use("hands", "sweep", "sweep")),
        long.resources,
    )
    assert least_idle(extra, extra.resources[0]) == 1
    found = solve(long, ONE)
    assert found.proved
    assert least_finish(long) <= found.finish


def test_more_work_than_time_is_late():
    """Three pieces of 2, 3 and 4 s by one pair of hands, all due at 4: ready at 2, 5 and 9."""
    tasks = tuple(Task(str(each), each) for each in (4, 2, 3))
    uses = tuple(Use("hands", task.name, task.name) for task in tasks)
    dues = tuple(Due(task.name, 4, 5) for task in tasks)
    problem = Problem(tasks, (), uses, (Resource("hands"),), dues)
    assert least_lateness(problem) == 5 * (0 + 1 + 5)
    assert solve(problem, Effort(seconds=0)).lateness >= 30
    assert solve(problem, ONE).lateness == 30


def _proved_optimum(problem):
    """Return the least cost there is, found by a model that is told no bound."""
    built = SolverModel(problem, problem.horizon())
    built.build(0)
    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    assert solver.solve(built.model) == cp_model.OPTIMAL
    return round(solver.objective_value)


@given(
    families=st.lists(
        st.tuples(st.sampled_from("rb"), st.sampled_from("sl")), min_size=1, max_size=3
    ),
    times=st.tuples(*(st.integers(1, 4), st.integers(0, 9), st.integers(1, 4), st.integers(1, 4))),
    at_start=st.tuples(st.sampled_from(("r", None)), st.sampled_from(("l", None))),
    change=st.tuples(st.integers(0, 9), st.integers(0, 9)),
    pause=st.sampled_from(((), ((8, 12),), ((0, 5), (30, 33)))),
    sweeps=st.lists(st.integers(1, 9), max_size=2),
    dues=st.lists(st.tuples(st.integers(0, 40), st.integers(1, 3)), max_size=3),
)
@settings(max_examples=25, deadline=None)
def test_no_schedule_is_finished_before_its_bound(
    families, times, at_start, change, pause, sweeps, dues
):
    """Small days are solved to their proof, by a model that knows nothing of the bound."""
    problem = _sheets(families, times, at_start=at_start, change=change, pause=pause)
    names = [f"sweep {number}" for number in range(len(sweeps))]
    problem = Problem(
        (*problem.tasks, *starmap(Task, zip(names, sweeps, strict=True))),
        problem.links,
        (*problem.uses, *(Use("hands", name, name) for name in names)),
        problem.resources,
        tuple(Due(f"{number}.lift", *due) for number, due in enumerate(dues[: len(families)])),
    )
    best = _proved_optimum(problem)
    assert least_finish(problem) + least_lateness(problem) <= best
    quick = solve(problem, Effort(seconds=0))
    assert broken_rules(problem, quick.starts, quick.changes) == ()
    assert quick.cost >= best
