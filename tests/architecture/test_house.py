"""Rules of the house that no linter knows."""

import subprocess
import sys
from pathlib import Path

import pytest
from typer.main import get_command

import chape
from chape.cli.main import app
from chape.pipeline.file import SheathFile

ROOT = Path(__file__).parents[2]
SOURCES = sorted(
    path
    for folder in ("src", "tests", "benchmarks", "examples")
    for path in (ROOT / folder).rglob("*.py")
)
MOST_LINES = 400


@pytest.mark.parametrize("path", SOURCES, ids=lambda path: str(path.relative_to(ROOT)))
def test_no_file_is_long(path):
    assert len(path.read_text("utf-8").splitlines()) <= MOST_LINES


def test_the_public_list_is_what_the_root_offers():
    assert sorted(chape.__all__) == chape.__all__
    for name in chape.__all__:
        assert getattr(chape, name) is not None
    with pytest.raises(AttributeError, match="no_such_name"):
        _ = chape.no_such_name


def test_the_root_and_the_command_line_start_without_numerics():
    code = (
        "import sys, chape, chape.cli.main;"
        "heavy = ('numpy', 'numba', 'scipy', 'shapely', 'typst', 'ezdxf');"
        "print([name for name in heavy if name in sys.modules])"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"


def test_every_command_and_table_is_in_the_documentation():
    text = (ROOT / "docs/cli.md").read_text("utf-8")
    for name in get_command(app).commands:
        assert f"## `chape {name}`" in text, name
    tour = (ROOT / "docs/files.md").read_text("utf-8")
    for table in SheathFile.model_fields:
        assert f"`{table}`" in tour or f"[{table}]" in tour, table
