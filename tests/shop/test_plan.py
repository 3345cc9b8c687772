"""The plan of the day: it keeps what cannot wait, knows what runs, and is made anew in time."""

from datetime import UTC, datetime, timedelta
from itertools import pairwise

import pytest

from chape.errors import CannotMakeError, InputError
from chape.shop.batches import choose_batches, wishes_of
from chape.shop.gantt import gantt_svg
from chape.shop.in_work import Done, alone_since, seats, tick
from chape.shop.model import PieceState
from chape.shop.orders import Wanted, find_piece, list_orders, move_piece
from chape.shop.plan import latest_plan, left_of, make_plan
from chape.shop.plan_problem import (
    BlankWork,
    DayWork,
    PieceWork,
    day_problem,
    hours,
)
from chape.shop.route import StepTime, is_past, routes, steps_of
from chape.shop.schedule import Effort
from chape.shop.schedule_rules import broken_rules
from chape.shop.schedule_solve import solve
from chape.shop.stock import Good, Shelf, set_shelf, shelves
from chape.shop.take import take_batch
from small_shop import DUE, NOW, TEXT, enter, order_line, small_shop

#: Little search: these tests look at rules, not at how good a plan is.
QUICK = Effort(seconds=0.5, workers=1, rounds=3)
MORNING = datetime(2026, 3, 4, 8, 0, tzinfo=UTC)


@pytest.fixture
def shop(tmp_path):
    made = small_shop(tmp_path / "shop")
    goods = [Good("sheet", "acrylic-pvc-2.0 300x300", c) for c in ("black", "tan")]
    goods += [Good("eyelet", "eyelet-6.4"), Good("clip", "flat-clip-2")]
    made.change(lambda c: [set_shelf(c, Shelf(good, 500, 1, 1, 1), NOW) for good in goods])
    yield made
    made.close()


def _take(shop, *lines):
    enter(shop, *lines)
    orders, rows = shop.read(lambda c: (list_orders(c, Wanted(limit=None)), shelves(c)))
    choice = choose_batches(shop.file, wishes_of(orders), rows, DUE)
    shop.change(lambda c: [take_batch(c, shop.file, b, DUE, NOW) for b in choice.batches])


def _work(count=5, **more):
    pieces = tuple(
        PieceWork(f"p{n}", PieceState.BATCHED, DUE, n % 2 == 0, f"B1.{n // 4 + 1}")
        for n in range(count)
    )
    blanks = tuple(BlankWork(f"B1.{n + 1}", "camp", "black") for n in range(-(-count // 4)))
    return DayWork(blanks, pieces, MORNING, **more)


def _span(problem, schedule, name):
    (task,) = (task for task in problem.tasks if task.name == name)
    return schedule.starts[name], schedule.starts[name] + task.seconds


def test_hot_sheet_and_warm_folds_do_not_wait(shop):
    problem = day_problem(shop.file, _work())
    plan = solve(problem, QUICK)
    assert broken_rules(problem, plan.starts, plan.changes) == ()
    for blank in ("B1.1", "B1.2"):
        assert plan.starts[f"{blank}.form"] == _span(problem, plan, f"{blank}.heat~")[1]
    for n in range(5):
        wait = plan.starts[f"p{n}.fold"] - _span(problem, plan, f"p{n}.warm~")[1]
        assert 0 <= wait <= 3


def test_one_pair_of_hands_does_one_thing_at_a_time(shop):
    problem = day_problem(shop.file, _work())
    plan = solve(problem, QUICK)
    spans = [_span(problem, plan, use.first) for use in problem.uses if use.resource == "hands"]
    spans += [(change.start, change.end) for change in plan.changes]
    spans.sort()
    assert all(end <= start for (_, end), (start, _) in pairwise(spans))


def test_two_pairs_of_hands_are_sooner_done(tmp_path, shop):
    alone = solve(day_problem(shop.file, _work()), QUICK)
    helped = small_shop(tmp_path / "two", TEXT + "\n[day]\npeople = 2\n")
    problem = day_problem(helped.file, _work())
    plan = solve(problem, QUICK)
    assert plan.finish < alone.finish
    assert broken_rules(problem, plan.starts, plan.changes) == ()
    helped.close()


def test_a_four_up_blank_is_formed_in_the_time_that_is_usual(shop):
    """Three and a half to four minutes from flat to formed (common practice, no source)."""
    problem = day_problem(shop.file, _work(4))
    plan = solve(problem, QUICK)
    formed = _span(problem, plan, "B1.1.form~")[1] - plan.starts["B1.1.heat"]
    start, end = _span(problem, plan, "B1.1.lift")
    assert 210 <= formed + end - start <= 240


def test_nobody_works_in_the_break_or_at_night(shop):
    late = MORNING.replace(hour=11, minute=50)
    problem = day_problem(shop.file, DayWork(_work().blanks, _work().pieces, late))
    closed = hours(shop.file, late)
    assert closed[0] == (600, 2400)
    assert closed[1] == (16_800, 16_800 + 15 * 3600 + 1800)
    plan = solve(problem, QUICK)
    for use in problem.uses:
        if use.resource == "hands":
            start, end = _span(problem, plan, use.first)
            assert not any(a < end and b > start for a, b in closed)
    assert hours(shop.file, MORNING.replace(hour=6))[0] == (0, 7200)
    assert hours(shop.file, MORNING.replace(hour=20))[0] == (0, 12 * 3600)


def test_a_cut_blank_is_set_up_once_for_each_tool(shop):
    problem = day_problem(shop.file, _work(8))
    plan = solve(problem, QUICK)
    assert sorted(change.resource for change in plan.changes) == ["press 1", "router 1", "table 1"]
    ready = _work(8, set_up={"press 1": "black", "table 1": "camp-4up", "router 2": "camp-4up"})
    assert solve(day_problem(shop.file, ready), QUICK).changes == ()


def test_states_say_which_steps_are_over(shop):
    steps = steps_of(shop.file.model("camp"), clip=True)
    past = {
        state: [step.name for step in steps if not is_past(step, state, steps)]
        for state in (PieceState.BATCHED, PieceState.TRIMMED, PieceState.CLOSED)
    }
    assert past[PieceState.BATCHED] == [step.name for step in routes().steps]
    assert past[PieceState.TRIMMED][0] == "edges"
    assert past[PieceState.CLOSED] == ["check", "clip", "pack"]
    assert not any(not is_past(step, PieceState.PACKED, steps) for step in steps)


def test_a_plan_is_kept_and_ticked_to_its_end(shop):
    """Every task that the plan names for the hands can be ticked, in the plan's order."""
    _take(shop, order_line(quantity=2, clip="flat-clip-2"))
    made = make_plan(shop, MORNING, QUICK)
    assert shop.read(latest_plan) == made
    moment = MORNING
    for task in made.tasks:
        if task.hands and ": " not in task.name:
            moment += timedelta(seconds=200)
            shop.change(lambda c, n=task.name, m=moment: tick(c, shop.file, n, None, m))
    for number in (1, 2):
        _, piece = shop.read(lambda c, n=number: find_piece(c, f"2026-0001-{n}"))
        assert piece.state is PieceState.PACKED
    with pytest.raises(CannotMakeError, match="nothing is in work"):
        make_plan(shop, moment, QUICK)


def test_ticks_out_of_order_and_twice_are_refused(shop):
    _take(shop, order_line())
    for task, words in (
        ("B1.1.form", "comes before"),
        ("2026-0001-1.edges", "not cut yet"),
    ):
        with pytest.raises(CannotMakeError, match=words):
            shop.change(lambda c, n=task: tick(c, shop.file, n, None, NOW))
    shop.change(lambda c: tick(c, shop.file, "B1.1.heat", 20, NOW))
    with pytest.raises(CannotMakeError, match="done already"):
        shop.change(lambda c: tick(c, shop.file, "B1.1.heat", 20, NOW))
    for task in ("", "heat", "B9.1.heat", "B1.1.glue", "B1.1.edges", "2026-0001-1.heat"):
        with pytest.raises(InputError, match="nothing in work"):
            shop.change(lambda c, n=task: tick(c, shop.file, n, None, NOW))
    with pytest.raises(InputError, match="-1 s"):
        shop.change(lambda c: tick(c, shop.file, "B1.1.form", -1, NOW))


def test_a_plan_made_anew_begins_with_what_runs(shop):
    """A sheet is in the press with 80 s to go: the table must be ready for it then."""
    _take(shop, order_line(quantity=6))
    first = make_plan(shop, MORNING, QUICK)
    shop.change(lambda c: tick(c, shop.file, "B1.1.heat", 15, MORNING + timedelta(seconds=300)))
    anew = make_plan(shop, MORNING + timedelta(seconds=340), QUICK)
    starts = {task.name: task.start for task in anew.tasks}
    assert starts["B1.1.heat~"] == 0
    assert starts["B1.1.form"] == 80 or anew.relaxed
    assert "B1.1.heat" not in starts
    assert anew.places == first.places
    assert len(left_of(anew, ())) < len(left_of(first, ()))


def test_a_blank_on_the_table_keeps_it_until_it_is_lifted(shop):
    _take(shop, order_line(quantity=8))
    make_plan(shop, MORNING, QUICK)
    for number, step in enumerate(("heat", "form")):
        moment = MORNING + timedelta(seconds=200 * number)
        shop.change(lambda c, s=step, m=moment: tick(c, shop.file, f"B1.1.{s}", None, m))
    anew = make_plan(shop, MORNING + timedelta(hours=1), QUICK)
    starts = {task.name: task.start for task in anew.tasks}
    assert starts["B1.1.lift"] + 15 <= starts["B1.2.form"]
    assert not any(name.startswith("table 1") for name in starts)  # it is set up already


def test_what_runs_alone_is_over_in_time_or_when_the_next_is_ticked():
    done = [Done("B1.heat", 15, NOW), Done("B2.heat", 15, NOW), Done("B2.form", 11, NOW)]
    lengths = {"B1.heat": StepTime(15, 120), "B2.heat": StepTime(15, 120)}
    over, running = alone_since(done, lengths, NOW + timedelta(seconds=50))
    assert running == {"B1.heat~": 70}
    assert "B2.heat~" in over
    over, running = alone_since(done, lengths, NOW + timedelta(seconds=120))
    assert running == {}
    assert "B1.heat~" in over


def test_a_scrapped_piece_leaves_the_plan_and_others_keep_their_blanks(shop):
    _take(shop, order_line(quantity=6))
    before = {s.work.serial: s.work.blank for s in shop.read(lambda c: seats(c, shop.file))}
    shop.change(lambda c: move_piece(c, "2026-0001-1", PieceState.SCRAPPED))
    after = {s.work.serial: s.work.blank for s in shop.read(lambda c: seats(c, shop.file))}
    assert after == {serial: blank for serial, blank in before.items() if serial != "2026-0001-1"}
    anew = make_plan(shop, MORNING, QUICK)
    assert not any(task.name.startswith("2026-0001-1.") for task in anew.tasks)


def test_late_pieces_are_named(shop):
    _take(shop, order_line(due=MORNING.date(), placed=MORNING.date()))
    assert make_plan(shop, MORNING, QUICK).late == ()
    evening = MORNING.replace(hour=15, minute=58)
    assert make_plan(shop, evening, QUICK).late == ("2026-0001-1",)
    # What is overdue goes with the next collection, which can be met again.
    assert make_plan(shop, MORNING + timedelta(days=1), QUICK).late == ()


def test_times_of_the_shop_file_count_first(tmp_path):
    made = small_shop(tmp_path / "own", TEXT + "\n[times.check]\nhands = 7.0\n")
    problem = day_problem(made.file, _work(1, learned={"check": 99.0, "pack": 33.0}))
    seconds = {task.name: task.seconds for task in problem.tasks}
    assert (seconds["p0.check"], seconds["p0.pack"], seconds["p0.eyelets"]) == (7, 33, 48)
    made.close()


def test_the_picture_shows_hands_and_every_station_in_use(shop):
    _take(shop, order_line(quantity=2))
    made = make_plan(shop, MORNING, QUICK)
    picture = gantt_svg(made, 0, made.finish).decode()
    assert picture == gantt_svg(made, 0, made.finish).decode()
    for word in ("Hands", "Press", "Vacuum table", "Router", "Folding jig", "Packing", "set-up"):
        assert f">{word}<" in picture
    assert picture.count("<path") > len(made.tasks)
