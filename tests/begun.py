"""A workshop's folder as a maker begins it, and chape as it is typed there."""

import contextlib
import io
import os
import re
import subprocess
import sys
import uuid
from unittest import mock

from chape.cli.main import run

#: What an earlier run of the tests kept shall not answer for this one; within one it may.
RUN = os.environ.get("PYTEST_XDIST_TESTRUNUID") or uuid.uuid4().hex

#: Coarser and smaller than the demo, so that the journey is short; every stage is the real one.
SHEATH = """
[sheath]
name = "Journey sheath"
knife = "knife.toml"
spacing = 0.8

[blank]
width = 160
depth = 120
copies = 1

[fixture]
board = "board-160"

[fit]
samples = 16
"""

WORKSHOP = """
[boards.board-160]
title = "Board for 160 x 120 mm plates"
offset = "G55"
pins = [[5, 60], [155, 60]]
pin_diameter = 6
"""


def chape(*arguments, folder, **options):
    return subprocess.run(
        [sys.executable, "-c", "from chape.cli.main import run; run()", *map(str, arguments)],
        cwd=folder,
        capture_output=True,
        text=True,
        timeout=300,
        check=False,
        env=options.get("env"),
    )


def typed(*arguments, folder):
    """chape as it is typed, but in this process: Python and its libraries start once for all."""
    told, said = io.StringIO(), io.StringIO()
    with (
        contextlib.chdir(folder),
        mock.patch.object(sys, "argv", ["chape", *map(str, arguments)]),
        contextlib.redirect_stdout(told),
        contextlib.redirect_stderr(said),
    ):
        try:
            run()
            code = 0
        except SystemExit as ended:
            code = ended.code or 0
    return subprocess.CompletedProcess(arguments, code, told.getvalue(), said.getvalue())


def smaller(knife):
    """The text of a knife file whose knife is three fifths as large."""

    def row(found):
        return "[" + ", ".join(f"{float(number) * 0.6:.4g}" for number in found[1].split(",")) + "]"

    return re.sub(r"\[([-\d., ]+)\]", row, knife).replace("length = 115", "length = 69")


def begun(folder):
    started = typed("new", "tarn", folder=folder)
    assert started.returncode == 0, started.stderr
    (folder / "tarn/sheath.toml").write_text(SHEATH)
    (folder / "tarn/workshop.toml").write_text(WORKSHOP)
    knife = folder / "tarn/knife.toml"
    knife.write_text(of_this_run(knife.read_text()))
    return folder / "tarn"


def of_this_run(knife):
    """The text of a knife file whose knife is smaller, and that no earlier run knows."""
    return f"{smaller(knife)}\n# {RUN}\n"
