"""The shop from its command line, as a maker types it."""

import json
import subprocess
import sys
from pathlib import Path

import pytest
from typer.main import get_command
from typer.testing import CliRunner

from chape.cli.main import app
from chape.errors import ChapeError
from small_shop import small_shop

ROOT = Path(__file__).parents[2]
RUNNER = CliRunner()


@pytest.fixture
def shop(tmp_path, monkeypatch):
    small_shop(tmp_path / "shop").close()
    monkeypatch.setenv("CHAPE_SHOP", str(tmp_path / "shop"))
    return tmp_path


def run(*words):
    done = RUNNER.invoke(app, ["shop", *map(str, words)])
    if isinstance(done.exception, ChapeError):
        raise done.exception
    assert done.exception is None or isinstance(done.exception, SystemExit), done.exception
    return done


def order(*more):
    return run(
        *("order", "add", "--customer", "c1", "--model", "camp", "--sheet", "acrylic-pvc-2.0"),
        *("--colour", "black", "--due", "2099-12-01", *more),
    )


def test_help_starts_without_the_database_and_the_solver():
    code = (
        "import sys, chape.cli.main;"
        "print([n for n in ('sqlalchemy', 'alembic', 'ortools', 'numpy') if n in sys.modules])"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"


def test_every_command_of_the_shop_is_in_the_documentation():
    page = (ROOT / "docs/cli.md").read_text("utf-8").split("\n## `chape shop`\n")[1]

    def walk(command, path):
        inner = getattr(command, "commands", {})
        for name, each in inner.items():
            walk(each, f"{path} {name}")
        if not inner:
            assert f"`{path}" in page, path
            named = [o for p in command.params for o in p.opts if o.startswith("--")]
            missing = [o for o in named if o not in page]
            assert missing == [], path

    walk(get_command(app).commands["shop"], "chape shop")


@pytest.mark.usefixtures("shop")
def test_an_order_from_entry_to_parcel():
    assert "2099-12-01" in order("--quantity", 2, "--placed", "2026-11-01").output
    (reference,) = {
        each["reference"] for each in json.loads(run("order", "list", "--json").output)["orders"]
    }
    assert "scrapped" in run("order", "move", f"{reference}-1", "scrapped").output
    for number in (2, 3):
        run("order", "move", f"{reference}-{number}", "shipped")
    assert json.loads(run("order", "list", "--json").output)["count"] == 0
    shown = json.loads(run("order", "show", reference, "--json").output)
    assert shown["state"] == "shipped"
    assert [piece["state"] for piece in shown["pieces"]] == ["scrapped", "shipped", "shipped"]


def test_rows_are_entered_all_or_none_unless_asked(shop):
    path = shop / "in.csv"
    row = "c1,camp,acrylic-pvc-2.0,black,"
    path.write_text(f"customer,model,sheet,colour,due\n{row}2099-12-01\n{row}soon\n")
    done = run("order", "import", path)
    assert done.exit_code == 2
    assert "line 3, due" in done.output
    assert json.loads(run("order", "list", "--json").output)["count"] == 0
    done = run("order", "import", path, "--keep-good")
    assert done.exit_code == 2
    assert json.loads(run("order", "list", "--json").output)["count"] == 1


def test_a_shop_goes_into_one_file_and_comes_back(shop):
    order()
    run("note", "c1", "Somewhere 1")
    run("backup", shop / "kept.zip")
    run("restore", shop / "kept.zip", shop / "again")
    assert "Somewhere 1" in run("note", "c1", "--shop", shop / "again").output
    run("forget", "c1")
    assert "no note" in run("note", "c1").output
    run("export", shop / "tables")
    assert (shop / "tables/orders.csv").read_text().count("\n") == 2
    assert "nothing to do" in run("upgrade").output


def test_a_folder_without_a_shop_says_so(tmp_path):
    with pytest.raises(ChapeError, match="no shop's folder"):
        run("order", "list", "--shop", tmp_path)


@pytest.mark.usefixtures("shop")
def test_a_batch_is_refused_until_the_goods_are_there():
    order("--quantity", 4)
    left = json.loads(run("batch", "propose", "--by", "2099-12-01", "--json").output)
    assert left["batches"] == []
    assert len(left["left_out"]) == 4
    sheet = ("sheet", "acrylic-pvc-2.0 300x300", "--colour", "black")
    run("stock", "set", *sheet, "--pack", 8, "--reorder-at", 2)
    run("stock", "set", "eyelet", "eyelet-6.4", "--on-hand", 100)
    assert run("stock", "receive", *sheet[:2], 1, *sheet[2:]).output.endswith(": 8\n")
    taken = json.loads(run("batch", "take", "--by", "2099-12-01", "--json").output)
    assert [each["blanks"] for each in taken["batches"]] == [1]
    assert taken["gap"] == 0
    on_hand = {
        s["name"]: s["on_hand"] for s in json.loads(run("stock", "list", "--json").output)["stock"]
    }
    assert on_hand == {"acrylic-pvc-2.0 300x300": 7, "eyelet-6.4": 76}
    assert json.loads(run("stock", "buy", "--json").output)["buy"] == []
    with pytest.raises(ChapeError, match="300x300"):
        run("stock", "set", "sheet", "acrylic-pvc-2.0")
    with pytest.raises(ChapeError, match="has no"):
        run("stock", "set", "clip", "no-clip")


@pytest.mark.usefixtures("shop")
def test_a_day_is_planned_ticked_and_drawn(shop):
    order("--quantity", 2, "--clip", "flat-clip-2")
    for words in (
        ("sheet", "acrylic-pvc-2.0 300x300", "--colour", "black"),
        ("eyelet", "eyelet-6.4"),
        ("clip", "flat-clip-2"),
    ):
        run("stock", "set", *words, "--on-hand", 100)
    with pytest.raises(ChapeError, match="nothing is in work"):
        run("plan", "make")
    run("batch", "take", "--by", "2099-12-01")
    with pytest.raises(ChapeError, match="no plan yet"):
        run("plan", "show")
    made = json.loads(run("plan", "make", "--seconds", 0.3, "--json").output)
    assert made["left"] > 20
    assert "1.heat" in made["next"][0]["task"] or ": " in made["next"][0]["task"]
    assert "2 pieces" in run("plan", "tick", "B1.1.heat", "--took", 20).output
    shown = run("plan", "show").output
    assert "alone     B1.1.heat" in shown
    assert "The last parcel is ready" in shown
    run("plan", "make", "--anew")
    run("plan", "gantt", shop / "day.svg", "--hours", 1)
    assert (shop / "day.svg").read_text().startswith("<svg")
    with pytest.raises(ChapeError, match="Write it as"):
        run("plan", "make", "--at", "tomorrow")


def test_the_demo_shop_is_the_same_for_the_same_seed(tmp_path):
    for name in ("one", "two"):
        run("demo", tmp_path / name, "--day", "2026-03-02")
        run("export", tmp_path / f"{name}-tables", "--shop", tmp_path / name)
    files = sorted(path.name for path in (tmp_path / "one-tables").iterdir())
    assert "runs.csv" in files
    for name in files:
        one, two = ((tmp_path / f"{n}-tables" / name).read_bytes() for n in ("one", "two"))
        assert one == two, name
    status = json.loads(run("status", "--shop", tmp_path / "one", "--json").output)
    assert status["open_orders"] == 60
