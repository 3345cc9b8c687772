"""Schedules obey every rule, the judge of rules sees each kind of breach, and bounds are bounds."""

from dataclasses import replace
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from chape.errors import CannotMakeError
from chape.shop.schedule import Change, Changes, Due, Effort, Link, Problem, Resource, Task, Use
from chape.shop.schedule_bound import after_open_time, least_finish
from chape.shop.schedule_rules import broken_rules
from chape.shop.schedule_search import improve
from chape.shop.schedule_solve import solve
from chape.shop.schedule_starts import starts_of

ONE = Effort(seconds=20, workers=1)


def _problem():
    """Two sheets through press and table, with a set-up, one pair of hands and a break."""
    tasks, links, uses = [], [], []
    for name, family in (("a", "red"), ("b", "blue")):
        parts = [("load", 2), ("heat", 6), ("move", 1), ("cool", 4), ("lift", 2)]
        tasks += [Task(f"{name}.{part}", seconds) for part, seconds in parts]
        names = [f"{name}.{part}" for part, _ in parts]
        links += [Link(one, two, 0, 0) for one, two in pairwise(names[:4])]
        links.append(Link(names[3], names[4]))
        uses += [Use("hands", each, each) for each in (names[0], names[2], names[4])]
        uses.append(Use("press", names[0], names[1], family=family))
        uses.append(Use("table", names[2], names[4]))
    resources = (
        Resource("hands", closed=((10, 14),)),
        Resource("press", changes=Changes(3, needs=("hands",), at_start="red")),
        Resource("table"),
    )
    dues = (Due("a.lift", 16), Due("b.lift", 40, weight=2))
    return Problem(tuple(tasks), tuple(links), tuple(uses), resources, dues)


def test_a_small_day_is_solved_to_its_proof():
    problem = _problem()
    found = solve(problem, ONE)
    assert found.proved
    assert found.bound == found.cost
    assert broken_rules(problem, found.starts, found.changes) == ()
    assert [(change.before, change.after) for change in found.changes] == [("red", "blue")]


def test_every_kind_of_breach_is_seen():
    """A good schedule is spoiled in one way at a time."""
    problem = _problem()
    good = solve(problem, ONE)
    starts, changes = dict(good.starts), good.changes
    (change,) = changes
    spoiled = [
        ({**starts, "a.move": starts["a.move"] + 1}, changes, "too late"),
        ({**starts, "a.lift": starts["a.cool"]}, changes, "too early"),
        ({**starts, "b.lift": starts["a.lift"]}, changes, "times at"),
        ({**starts, "a.lift": 11}, changes, "closed"),
        (starts, (), "set up for"),
        (starts, (replace(change, end=change.end - 1),), "changed in 2"),
        ({name: at for name, at in starts.items() if name != "a.load"} | {"a.load": -1}, changes,
         "before 0"),
        (starts, (replace(change, start=starts["b.load"], end=starts["b.load"] + 3),), "times at"),
    ]  # fmt: skip
    for other, moved, words in spoiled:
        assert any(words in rule for rule in broken_rules(problem, other, moved)), words


def test_nothing_to_do_is_done_at_once():
    found = solve(Problem(()), ONE)
    assert (found.finish, found.proved, found.gap) == (0, True, 0.0)


@pytest.mark.parametrize(
    ("links", "words"),
    [
        ([Link("a", "b"), Link("b", "a")], "ring|contradict"),
        ([Link("a", "b", 5), Link("a", "b", 0, 2)], "contradict"),
        ([Link("a", "c")], 'names "c"'),
    ],
)
def test_what_contradicts_itself_is_refused(links, words):
    problem = Problem((Task("a", 1), Task("b", 1)), tuple(links))
    with pytest.raises(CannotMakeError, match=words):
        solve(problem, ONE)


@pytest.mark.parametrize(
    ("use", "resource"),
    [
        (Use("r", "a", "a", 3), Resource("r", 2)),
        (Use("r", "a", "a", 0), Resource("r", 2)),
        (Use("s", "a", "a"), Resource("r")),
        (Use("r", "a", "a"), Resource("r", 2, changes=Changes(1))),
    ],
)
def test_more_than_there_is_is_refused(use, resource):
    with pytest.raises(CannotMakeError):
        solve(Problem((Task("a", 1),), (), (use,), (resource,)), ONE)


@given(
    seconds=st.lists(st.integers(1, 9), min_size=2, max_size=6),
    capacity=st.integers(1, 2),
    closed=st.integers(0, 12),
    pairs=st.lists(st.tuples(st.integers(0, 5), st.integers(0, 5)), max_size=4),
)
@settings(max_examples=25, deadline=None)
def test_schedules_obey_their_rules_and_no_bound_is_above_them(seconds, capacity, closed, pairs):
    count = len(seconds)
    links = [Link(str(a), str(b)) for a, b in pairs if a < b < count]
    problem = Problem(
        tuple(Task(str(n), each) for n, each in enumerate(seconds)),
        tuple(links),
        tuple(Use("r", str(n), str(n)) for n in range(count)),
        (Resource("r", capacity, ((closed, closed + 5),)),),
    )
    best = solve(problem, ONE)
    quick = solve(problem, Effort(seconds=0))
    for found in (best, quick):
        assert broken_rules(problem, found.starts, found.changes) == ()
        assert least_finish(problem) <= best.finish <= found.finish
    assert best.proved
    assert solve(problem, ONE).starts == best.starts


def test_a_change_that_takes_no_time_needs_none():
    problem = _problem()
    press = replace(problem.resources[1], changes=Changes(0, at_start="red"))
    problem = replace(problem, resources=(problem.resources[0], press, problem.resources[2]))
    for effort in (ONE, Effort(seconds=0)):
        assert solve(problem, effort).changes == ()


def test_walks_find_the_same_whatever_they_share():
    """On one thread or on two; and what they find obeys every rule."""
    problem = _problem()
    layout, begun = starts_of(problem, least_finish(problem), {})
    found = [
        improve(layout, begun, Effort(seconds=60, workers=workers, rounds=80)).starts
        for workers in (1, 2)
    ]
    assert found[0] == found[1]
    one = solve(problem, ONE)
    walked = improve(layout, begun[-1:], Effort(seconds=60, rounds=80))
    assert one.cost <= walked.cost <= begun[-1].cost
    assert broken_rules(problem, walked.starts, walked.changes) == ()


@given(st.integers(0, 30), st.integers(0, 20))
@settings(max_examples=50)
def test_open_time_is_counted_second_by_second(start, seconds):
    closed = ((4, 6), (9, 15), (20, 21))
    now, left = start, seconds
    while left:
        left -= not any(a <= now < b for a, b in closed)
        now += 1
    found = after_open_time(start, seconds, closed)
    # Where no time is left to pass, or a closed time follows at once, either end of it is right.
    assert found == now or any(a <= now <= found <= b for a, b in closed)


def test_a_change_knows_what_it_takes():
    rules = Changes(5, {("a", "b"): 2})
    assert [rules.seconds(*pair) for pair in (("a", "b"), ("b", "a"), (None, "a"), ("a", "a"))] == [
        2, 5, 5, 0,
    ]  # fmt: skip
    assert Change("r", None, "a", 0, 5).end == 5
