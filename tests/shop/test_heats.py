"""Heat trials of the shop: kept, weighed, proposed, and planned with once accepted."""

import pytest
from typer.testing import CliRunner

from chape.cli.main import app
from chape.errors import InputError
from chape.shop.heats import advice_of, heats_of, note_heat
from chape.shop.in_work import learned_figures
from chape.shop.learn import accept, proposals
from chape.shop.model import PieceState
from chape.shop.plan_problem import BlankWork, DayWork, PieceWork, day_problem
from small_shop import CATALOG, DUE, NOW, small_shop

SHEET = "acrylic-pvc-2.0"
WHAT = f"heat {SHEET}"


@pytest.fixture
def shop(tmp_path):
    made = small_shop(tmp_path / "shop")
    yield made
    made.close()


def _note(shop, seconds, outcome, step="heat", **more):
    told = {"sheet": SHEET, "seconds": seconds, "outcome": outcome, **more}
    return shop.change(lambda c: note_heat(c, CATALOG, step, told, NOW))


def _proposed(shop):
    return {each.what: each for each in shop.read(lambda c: proposals(c, shop.file, CATALOG))}


def test_good_trials_propose_a_time_that_the_plan_then_uses(shop):
    for seconds, outcome in ((150, "cold"), (180, "good"), (190, "good")):
        _note(shop, seconds, outcome)
    assert WHAT not in _proposed(shop)  # two good ones are not enough
    _note(shop, 185, "good")
    trials = shop.read(heats_of)["heat", SHEET]
    found = _proposed(shop)[WHAT]
    assert (found.now, found.count) == (120, 4)
    assert found.value == advice_of(CATALOG, trials).seconds > 150
    shop.change(lambda c: accept(c, shop.file, WHAT, NOW, CATALOG))
    assert WHAT not in _proposed(shop)
    pieces = (PieceWork("p", PieceState.BATCHED, DUE, clip=False, blank="B1.1"),)
    learned = shop.read(learned_figures)
    for sheet, seconds in ((SHEET, round(found.value)), ("another", 120)):
        blanks = (BlankWork("B1.1", "camp", "black", sheet=sheet),)
        problem = day_problem(shop.file, DayWork(blanks, pieces, NOW, learned=learned))
        assert {t.name: t.seconds for t in problem.tasks}["B1.1.heat~"] == seconds


def test_trials_of_another_heater_or_step_are_kept_apart(shop):
    _note(shop, 100, "cold")
    _note(shop, 60, "good", step="warm")
    _note(shop, 300, "good", heater="oven")
    found = shop.read(heats_of)
    assert {key: len(trials) for key, trials in found.items()} == {
        ("heat", SHEET): 1, ("warm", SHEET): 1
    }  # fmt: skip
    assert found["heat", SHEET][0].heater == "oven"


@pytest.mark.parametrize(
    "told",
    [
        {"seconds": 0}, {"seconds": float("nan")}, {"outcome": "burnt"}, {"sheet": "no-such"},
        {"heater": "no-such"}, {"step": "cool"}, {"gauge": -1.0}, {"room": 200.0},
    ],
)  # fmt: skip
def test_what_cannot_be_is_refused(shop, told):
    given = {"seconds": 100, "outcome": "good", **told}
    with pytest.raises(InputError):
        _note(shop, given.pop("seconds"), given.pop("outcome"), **given)
    assert shop.read(heats_of) == {}


def test_the_command_says_what_to_try_next(shop):
    given = ["shop", "heat", SHEET, "--seconds", "170", "--outcome", "good"]
    said = CliRunner().invoke(app, [*given, "--shop", str(shop.folder)])
    assert said.exit_code == 0, said.output
    assert "1 trial: use" in said.output
    assert "Hot sheet burns" in said.output
