"""A workshop's folder as a maker begins it, and chape as it is typed there."""

import subprocess
import sys
import uuid

#: Coarser and smaller than the demo, so that the journey is short; every stage is the real one.
SHEATH = """
[sheath]
name = "Journey sheath"
knife = "knife.toml"
spacing = 0.5

[blank]
width = 240
depth = 170
copies = 1

[fixture]
board = "board-240"

[fit]
samples = 16
"""

WORKSHOP = """
[boards.board-240]
title = "Board for 240 x 170 mm plates"
offset = "G55"
pins = [[5, 85], [235, 85]]
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


def begun(folder):
    started = chape("new", "tarn", folder=folder)
    assert started.returncode == 0, started.stderr
    (folder / "tarn/sheath.toml").write_text(SHEATH)
    (folder / "tarn/workshop.toml").write_text(WORKSHOP)
    # What an earlier run of the tests kept shall not answer for this one.
    with (folder / "tarn/knife.toml").open("a") as knife:
        knife.write(f"# {uuid.uuid4()}\n")
    return folder / "tarn"
