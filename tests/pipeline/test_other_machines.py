"""A job on another machine, from other stock, in another dialect: its programs are proved.

The grid is coarse, so that narrow vents fall between its nodes. The fixture's program, which has
nothing that the mould's has not, is left out for the time it takes.
"""

from __future__ import annotations

from importlib.resources import files

import pytest

from chape.pipeline.clamp import setups_of
from chape.pipeline.file import read_request
from chape.pipeline.keep import Keep
from chape.pipeline.run import dialect_of, make_program, run_knife, run_sheath, run_tooling
from chape.pipeline.stages import Stages

CHANGES = {
    "acrylic-pvc-2.0": "acrylic-pvc-1.5",
    "spacing = 0.2": "spacing = 0.8",
    "hold = 12": "#",
    "[fixture]": '[mould]\nmaterial = "MDF"\n\n[fixture]',
}
MACHINE = '\n[machine]\nrouter = "router-1200"\ndialect = "extended-offsets-inch"\n'


@pytest.fixture(scope="module")
def clamped(tmp_path_factory):
    """The setups of the slender knife's job, and the dialect they are written in."""
    folder = tmp_path_factory.mktemp("job")
    demo = files("chape.demo")
    (folder / "slender-knife.toml").write_text((demo / "slender-knife.toml").read_text("utf-8"))
    text = (demo / "slender-sheath.toml").read_text("utf-8")
    for old, new in CHANGES.items():
        assert old in text
        text = text.replace(old, new)
    (folder / "sheath.toml").write_text(text + MACHINE)
    request, stages = read_request(folder / "sheath.toml"), Stages(Keep(None), lambda _: None)
    knife_key, knife = run_knife(request, stages)
    sheath_key, (sheath, _) = run_sheath(request, stages, knife_key, knife, None)
    _, tooling = run_tooling(request, stages, sheath_key, sheath)
    return setups_of(request, tooling.mould, tooling.fixture), dialect_of(request)


@pytest.mark.parametrize("number", [0, 1, 3], ids=["top", "back", "trim"])
def test_a_program_of_the_job_is_proved(clamped, number):
    setups, dialect = clamped
    texts, verdict, _ = make_program(setups[number], dialect)
    assert verdict.released, verdict.findings
    assert "G20" in texts[0]
    assert setups[number].machine.name == "router-1200"
    assert verdict.moves > 20
