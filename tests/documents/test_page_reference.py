"""The reference sheet as it is printed."""

from __future__ import annotations

import io

import numpy as np
import pypdfium2
import pytest

from chape.documents.page_reference import reference_pdf
from chape.knife.markers import find_markers
from chape.knife.picture import Picture
from chape.knife.reference_sheet import PER_SHEET, Paper, reference_sheet


@pytest.mark.parametrize("paper", Paper)
def test_printed_markers_lie_where_the_sheet_says(paper):
    sheets = (reference_sheet(paper, 0), reference_sheet(paper, 1))
    document = pypdfium2.PdfDocument(io.BytesIO(reference_pdf(sheets)))
    assert len(document) == 3
    dots_per_mm = 15.0
    for page, sheet in zip(document, sheets, strict=False):
        points = np.array(page.get_size()) / 72 * 25.4
        assert points == pytest.approx(sheet.size, abs=0.1)
        drawn = page.render(scale=dots_per_mm * 25.4 / 72).to_pil().convert("RGB")
        found = find_markers(Picture(np.asarray(drawn), None, None)).corners
        assert set(found) == set(sheet.corners)
        assert len(found) == PER_SHEET
        for number, corners in found.items():
            there = (corners + 0.5) * np.array(sheet.size) / drawn.size
            there[:, 1] = sheet.size[1] - there[:, 1]
            # The renderer fills every pixel that a rectangle touches.
            assert np.abs(there - sheet.corners[number]).max() < 0.12
            assert np.abs((there - sheet.corners[number]).mean(axis=0)).max() < 0.08
