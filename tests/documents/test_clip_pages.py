"""A clip's pattern at its true size, and clips on their sheath."""

from __future__ import annotations

import re
import subprocess
import sys
from itertools import combinations
from math import dist

import numpy as np
import pypdfium2
import pytest

from chape.catalog.read import catalog
from chape.documents.figures_clips import hole_plan_figures
from chape.documents.page_pattern import pattern_pdf
from chape.documents.picture_clip import clip_on_sheath, clip_pattern
from chape.documents.tiles import PAPERS
from chape.units import LengthUnit
from specimens import camp_sheath, slender_sheath

CIRCLE = re.compile(r'<circle cx="([\d.]+)" cy="([\d.]+)" r="([\d.]+)"')
PIXELS_PER_MM = 8


def circles(sketch):
    return [tuple(float(part) for part in one) for one in CIRCLE.findall(sketch.svg().decode())]


@pytest.mark.parametrize("name", catalog().names("clips"))
def test_every_pattern_is_drawn_at_its_true_size(name):
    clip = catalog().clip(name)
    drawn = circles(clip_pattern(clip, LengthUnit.MM))
    assert [r for *_, r in drawn] == pytest.approx([clip.hole.value / 2] * len(clip.holes))
    spans = [dist(a[:2], b[:2]) for a, b in combinations(drawn, 2)]
    assert spans == pytest.approx([dist(a, b) for a, b in combinations(clip.holes, 2)], abs=1e-3)
    # Its outside lies up: not mirrored. Paper counts down.
    if len(drawn) > 2:
        turns = [turn_of(points) for points in ([one[:2] for one in drawn], clip.holes)]
        assert turns[0] == pytest.approx(-turns[1], abs=0.01)


def turn_of(points):
    """Twice the area of the first three points, positive when they turn counter-clockwise."""
    (x0, y0), (x1, y1), (x2, y2) = points[:3]
    return (x1 - x0) * (y2 - y0) - (x2 - x0) * (y1 - y0)


@pytest.mark.parametrize("paper", sorted(PAPERS))
def test_the_printed_page_measures_true(paper):
    clip = catalog().clip("plate-4")
    document = pypdfium2.PdfDocument(pattern_pdf(clip, paper, LengthUnit.MM))
    assert len(document) == 1
    size = [part / 72 * 25.4 for part in document[0].get_size()]
    assert sorted(size) == pytest.approx([PAPERS[paper].width, PAPERS[paper].height], abs=0.1)
    page = document[0].render(scale=PIXELS_PER_MM * 25.4 / 72).to_numpy()
    dark = page[..., :3].mean(axis=2) < 100
    # The bar's upper rim is the longest run of ink of the lower half of the page.
    lower = dark[dark.shape[0] // 2 :]
    row = lower[int(np.argmax(lower.sum(axis=1)))]
    across = np.flatnonzero(row[: int(130 * PIXELS_PER_MM)])
    assert np.ptp(across) / PIXELS_PER_MM == pytest.approx(100.0, abs=0.3)


def test_the_same_clip_gives_the_same_page():
    clip = catalog().clip("plate-6")
    assert pattern_pdf(clip, "a4", LengthUnit.MM) == pattern_pdf(clip, "a4", LengthUnit.MM)


@pytest.mark.parametrize("sheath", [camp_sheath, slender_sheath])
def test_a_clip_s_screws_stand_in_the_sheath_s_holes(sheath):
    made = sheath(0.8)
    for placed in made.clips:
        sketch = clip_on_sheath(made, placed, LengthUnit.MM)
        text = sketch.svg().decode()
        assert placed.clip.title in text
        assert f"on the {placed.half} half" in text
        drawn = circles(sketch)
        heads = drawn[-len(placed.clip.holes) :]
        holes = drawn[: -len(placed.clip.holes)]
        for x, y, _ in heads:
            nearest = min(dist((x, y), hole[:2]) for hole in holes)
            assert nearest <= sketch.scale * (placed.play + 0.01)


def test_figures_say_where_each_clip_lies_and_what_eyelets_grip():
    figures = hole_plan_figures(camp_sheath(0.8))
    assert figures["proof"]["proven"]
    assert figures["proof"]["holes_of_a_half"] == figures["proof"]["holes_least"]
    assert [clip["clip"] for clip in figures["clips"]] == ["belt-loop-2", "flat-clip-2"]
    assert figures["stacks"][0]["grip"] == pytest.approx(4.0)
    assert figures["stacks"][0]["eyelet"] == "eyelet-6.4"


def chape(*words, folder):
    command = [sys.executable, "-c", "from chape.cli.main import run; run()", *words]
    return subprocess.run(command, cwd=folder, capture_output=True, text=True, check=False)


def test_a_pattern_of_one_s_own_is_printed_from_the_workshop_file(tmp_path):
    (tmp_path / "workshop.toml").write_text(
        '[clips.mine]\nlike = "belt-loop-2"\nholes = [[0, 0], [44.5, 0]]\n', encoding="utf-8"
    )
    done = chape("pattern", "mine", folder=tmp_path)
    assert done.returncode == 0, done.stderr
    assert (tmp_path / "pattern-mine.pdf").read_bytes().startswith(b"%PDF")
    for words, said in (
        (("pattern", "nothing"), "belt-loop-2"),
        (("pattern", "mine", "--paper", "a5"), "--paper"),
        (("pattern", "mine", "--out", "x.png"), "Name a .pdf file"),
    ):
        wrong = chape(*words, folder=tmp_path)
        assert wrong.returncode == 2
        assert said in wrong.stderr
