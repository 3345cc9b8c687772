"""1:1 templates, measured on the page as a printer would see it."""

from __future__ import annotations

from datetime import date
from io import BytesIO
from itertools import pairwise
from typing import TYPE_CHECKING

import numpy as np
import pypdfium2
import pytest
from hypothesis import given
from hypothesis import strategies as st

import synthetic_job as synthetic
from chape.documents.page_template import BAR, template_pdf
from chape.documents.tiles import FOOT, MARGIN, OVERLAP, PAPERS, tiling
from chape.field.outline import Outline
from chape.units import LengthUnit
from whole import whole

if TYPE_CHECKING:
    from chape.documents.model import JobResults

DPI = 600
PIXEL = 25.4 / DPI
POINT = 25.4 / 72

# ISO 216 A4; Letter by ANSI/ASME Y14.1 (8.5 x 11 in).
SIZES = {"a4": (210.0, 297.0), "letter": (215.9, 279.4)}


def dark(pdf: bytes, page: int = 0) -> np.ndarray:
    """The page as (rows, columns) booleans at 600 dpi: True where ink lies."""
    bitmap = pypdfium2.PdfDocument(BytesIO(pdf))[page].render(scale=DPI / 72, grayscale=True)
    grey = bitmap.to_numpy()
    return np.asarray(grey.reshape(grey.shape[0], grey.shape[1]) < 128)


def extent(marks: np.ndarray) -> tuple[float, float]:
    """First and last place of any mark, mm."""
    found = np.flatnonzero(marks)
    return found[0] * PIXEL, (found[-1] + 1) * PIXEL


def printed(job: JobResults, paper: str) -> bytes:
    """The template of a folded sheath's one piece."""
    return template_pdf(job, whole(job.sheath), paper)


def rectangle(width: float, height: float) -> Outline:
    x, y = width / 2, height / 2
    return Outline(np.array([(-x, -y), (x, -y), (x, y), (-x, y)]), np.zeros(4))


@pytest.mark.parametrize("paper", SIZES)
def test_page_is_the_size_of_its_paper(paper: str) -> None:
    page = pypdfium2.PdfDocument(BytesIO(printed(synthetic.job(), paper)))[0]
    size = sorted(length * POINT for length in page.get_size())
    assert size == pytest.approx(sorted(SIZES[paper]), abs=0.1)


@pytest.mark.parametrize("paper", SIZES)
def test_check_bar_measures_100_mm(paper: str) -> None:
    ink = dark(printed(synthetic.job(), paper))
    top = SIZES[paper][1] - MARGIN - FOOT + 5
    rows = ink[round(top / PIXEL) + 2 : round((top + 0.35) / PIXEL) - 1]
    left, right = extent(rows.any(axis=0)[: round((MARGIN + BAR + 5) / PIXEL)])
    assert right - left == pytest.approx(100.0, abs=0.1)


def test_pattern_is_drawn_at_its_own_size() -> None:
    ink = dark(printed(synthetic.job(pattern=rectangle(160, 80)), "a4"))
    window = ink[: round((297 - MARGIN - FOOT) / PIXEL)]
    left, right = extent(window.sum(axis=0) > 40 / PIXEL)
    bottom, top = extent(window.sum(axis=1) > 60 / PIXEL)
    line = 0.2  # the cut line lies half inside and half outside
    assert right - left - line == pytest.approx(160, abs=0.1)
    assert top - bottom - line == pytest.approx(80, abs=0.1)


def test_large_pattern_is_spread_over_sheets_that_agree() -> None:
    pdf = printed(synthetic.job(pattern=rectangle(300, 100)), "a4")
    assert len(pypdfium2.PdfDocument(BytesIO(pdf))) == 2
    way = tiling(300 + 8, 100 + 8, PAPERS["a4"])
    first, second = (dark(pdf, page) for page in (0, 1))
    top, bottom = (round(y / PIXEL) for y in (MARGIN + 2, MARGIN + way.window_height - 2))
    overlap = round((OVERLAP - 1) / PIXEL)
    # The shared strip shows the same horizontal lines on both sheets.
    right = round((way.width - MARGIN - 0.5) / PIXEL)
    left = round((MARGIN + 0.5) / PIXEL)
    strip_a = first[top:bottom, right - overlap : right].mean(axis=1) > 0.9
    strip_b = second[top:bottom, left : left + overlap].mean(axis=1) > 0.9
    assert strip_a.any()
    assert extent(strip_a) == pytest.approx(extent(strip_b), abs=0.1)


sizes = st.floats(min_value=1, max_value=1500)


@given(width=sizes, height=sizes, paper=st.sampled_from(sorted(PAPERS)))
def test_tiles_cover_the_drawing_and_overlap(width: float, height: float, paper: str) -> None:
    way = tiling(width, height, PAPERS[paper])
    assert len(way.tiles) == way.columns * way.rows
    for size, starts, window in (
        (width, sorted({tile.x for tile in way.tiles}), way.window_width),
        (height, sorted({tile.y for tile in way.tiles}), way.window_height),
    ):
        assert starts[0] <= 1e-3
        assert starts[-1] + window >= size - 1e-3
        for here, there in pairwise(starts):
            assert here + window - there == pytest.approx(OVERLAP)
    assert way.window_width + 2 * MARGIN <= way.width + 1e-9
    assert way.window_height + FOOT + 2 * MARGIN <= way.height + 1e-9


def test_same_job_gives_the_same_bytes_and_a_date_changes_them() -> None:
    plain = printed(synthetic.job(), "a4")
    assert plain == printed(synthetic.job(), "a4")
    assert plain != printed(synthetic.job(day=date(2026, 5, 1)), "a4")


def test_bar_and_holes_are_written_in_inches_on_request() -> None:
    pdf = printed(synthetic.job(unit=LengthUnit.INCH), "letter")
    text = pypdfium2.PdfDocument(BytesIO(pdf))[0].get_textpage().get_text_range()
    assert "100\u00a0mm (3.937\u00a0in)" in text or "100 mm (3.937 in)" in text
    assert "0.256" in text
