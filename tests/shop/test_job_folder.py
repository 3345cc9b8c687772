"""What a model's job folder teaches the shop: router time, friction, and how cutters wear."""

import json
from datetime import timedelta

import pytest
from sqlalchemy import insert
from typer.testing import CliRunner

from chape.cli.main import app
from chape.errors import InputError
from chape.shop.batches import batches_of, needs_of, wishes_of
from chape.shop.check import check_shop
from chape.shop.cutter_wear import cutters_of, note_changed
from chape.shop.fit_record import record_fit
from chape.shop.in_work import blanks_past, learned_figures
from chape.shop.job_folder import Job, jobs_of, read_job
from chape.shop.learn import accept, proposals
from chape.shop.model import PieceState
from chape.shop.orders import Wanted, list_orders, move_piece
from chape.shop.route import routes, step_time
from chape.shop.stock import Shelf, set_shelf
from chape.shop.tables import BATCHES
from chape.shop.take import take_batch
from small_shop import NOW, TEXT, enter, order_line, small_shop

FIGURES = {
    "programs": {
        "trim": {
            "seconds": 430.0,
            "cutters": [
                {"number": 4, "name": "drill-3", "seconds": 40.0},
                {"number": 2, "name": "flat-3", "seconds": 300.0},
            ],
        }
    },
    "fit": {
        "friction": 0.25,
        "hold": 26.0,
        "bands": [{"name": "friction", "ends": [0.2, 0.3], "holds": [20.0, 34.0]}],
    },
}
MORE = "\n[cutters.flat-3]\nlife = 60\n"


@pytest.fixture
def shop(tmp_path):
    job = tmp_path / "shop-job"
    job.mkdir()
    (job / "figures.json").write_text(json.dumps(FIGURES))
    text = TEXT.replace("per_blank = 4\n", 'per_blank = 4\njob = "../shop-job"\n') + MORE
    made = small_shop(tmp_path / "shop", text)
    yield made
    made.close()


def _take(shop, blanks):
    row = {
        "model": "camp", "sheet": "s", "colour": "black", "mould": "m", "fixture": "f",
        "blanks": blanks, "day": NOW.date(), "taken": NOW,
    }  # fmt: skip
    shop.change(lambda c: c.execute(insert(BATCHES).values(row)))


def _proposed(shop):
    return {each.what: each for each in shop.read(lambda c: proposals(c, shop.file))}


def test_hold_and_friction_go_together():
    job = Job(1.0, {}, 0.25, ((0.2, 20.0), (0.25, 26.0), (0.3, 34.0)))
    assert job.friction_at(26.0) == pytest.approx(0.25)
    assert job.friction_at(23.0) == pytest.approx(0.225)
    assert job.friction_at(30.0) == pytest.approx(0.275)
    assert job.friction_at(42.0) == pytest.approx(0.35)  # the last line drawn on
    assert job.friction_at(14.0) == pytest.approx(0.15)
    assert job.friction_at(-10.0) is None
    assert Job(1.0, {}, None, ()).friction_at(20.0) is None
    assert Job(1.0, {}, 0.2, ((0.2, 20.0), (0.3, 20.0))).friction_at(20.0) is None


def test_router_time_is_that_of_the_checked_program(shop):
    found = _proposed(shop)["router camp-4up"]
    assert (found.now, found.value) == (290.0, 430.0)
    shop.change(lambda c: accept(c, shop.file, "router camp-4up", NOW))
    learned = shop.read(learned_figures)
    steps = {step.name: step for step in routes().steps}
    model = shop.file.model("camp")
    times = [step_time(steps[n], model, shop.file, learned).alone for n in ("bore", "outline")]
    assert sum(times) == 430
    assert times[0] / times[1] == pytest.approx(90 / 200, rel=0.02)
    assert "router camp-4up" not in _proposed(shop)


def test_friction_is_what_makes_the_computed_hold_the_measured_one(shop):
    """Ten readings around 30 N, which the job computes at 0.275; an own hold does not count."""
    enter(shop, order_line(quantity=10), order_line(hold=40.0))
    for number in range(1, 11):
        serial = f"2026-0001-{number}"
        shop.change(lambda c, s=serial: move_piece(c, s, PieceState.CLOSED))
        # A first reading that was a slip is replaced by the second.
        for at, hold in enumerate((3.0, 29.55 + 0.1 * number)):
            moment = NOW + timedelta(minutes=at)
            shop.change(lambda c, s=serial, h=hold, m=moment: record_fit(c, s, h, ["clean"], "", m))
    found = _proposed(shop)["friction camp"]
    assert found.count == 10
    assert found.now == 0.25
    assert found.low < found.value < found.high
    assert found.value == pytest.approx(0.275 + 0.1 * 0.05 / 8, abs=1e-6)


def test_cutters_wear_with_every_blank_and_begin_anew_when_changed(shop):
    jobs, wrong = jobs_of(shop.file)
    assert wrong == {}
    _take(shop, 10)
    worn = {each.name: each for each in shop.read(lambda c: cutters_of(c, shop.file, jobs))}
    assert worn["flat-3"].minutes == pytest.approx(50.0)
    assert (worn["flat-3"].life, worn["drill-3"].life) == (60.0, None)

    def codes():
        found = shop.read(lambda c: check_shop(c, shop.file, NOW.date()))
        return [each.code for each in found]

    assert "cutter-worn" not in codes()
    _take(shop, 1)
    assert "cutter-worn" in codes()
    shop.change(lambda c: note_changed(c, shop.file, "flat-3"))
    assert "cutter-worn" not in codes()
    said = CliRunner().invoke(app, ["shop", "cutters", "--shop", str(shop.folder)])
    assert said.exit_code == 0
    assert "flat-3" in said.output
    assert "0.0 of 60 min" in said.output
    with pytest.raises(InputError, match="no job of the shop uses"):
        shop.change(lambda c: note_changed(c, shop.file, "flat-9"))


@pytest.mark.parametrize(
    "content",
    [
        "", "[]", "{}", '{"programs": {}}', "\ud800",
        '{"programs": {"trim": {"seconds": -1, "cutters": []}}}',
        '{"programs": {"trim": {"seconds": NaN, "cutters": []}}}',
        '{"programs": {"trim": {"seconds": 1, "cutters": [{"name": "x"}]}}}',
        '{"programs": {"trim": {"seconds": 1, "cutters": []}}, "fit": {"bands": 3}}',
    ],
)  # fmt: skip
def test_figures_that_cannot_be_used_are_told_of_and_stop_nothing(shop, content):
    path = shop.folder.parent / "shop-job" / "figures.json"
    path.write_bytes(content.encode("utf-8", "surrogatepass"))
    with pytest.raises(InputError):
        read_job(path.parent)
    found = shop.read(lambda c: check_shop(c, shop.file, NOW.date()))
    assert [each.code for each in found if each.place == "model camp"] == ["job-unreadable"]
    assert "router camp-4up" not in _proposed(shop)
    path.unlink()
    with pytest.raises(InputError, match="no job's folder"):
        read_job(path.parent)


def test_a_blank_wears_cutters_once_it_is_cut_and_its_mould_once_it_is_formed(shop):
    """Two blanks are taken into work; each counts as its own pieces come off mould and router."""
    enter(shop, order_line(quantity=8))
    wishes = wishes_of(shop.read(lambda c: list_orders(c, Wanted())))
    (batch,) = batches_of(shop.file, wishes)
    for good in needs_of(shop.file, batch):
        shop.change(lambda c, g=good: set_shelf(c, Shelf(g, 99, 0, 1, 0), NOW))
    shop.change(lambda c: take_batch(c, shop.file, batch, NOW.date(), NOW))
    jobs, _ = jobs_of(shop.file)

    def counted():
        worn = {each.name: each for each in shop.read(lambda c: cutters_of(c, shop.file, jobs))}
        formed = shop.read(lambda c: blanks_past(c, shop.file, PieceState.FORMED))
        return formed["camp", "camp-4up"], worn["flat-3"].minutes

    assert counted() == (0, 0.0)
    for state, expected in ((PieceState.FORMED, (1, 0.0)), (PieceState.TRIMMED, (1, 5.0))):
        for number in range(1, 5):
            shop.change(lambda c, n=number, s=state: move_piece(c, f"2026-0001-{n}", s))
        assert counted() == expected
