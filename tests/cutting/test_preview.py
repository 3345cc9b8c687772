"""What a viewer is given of a program, and what is said of full cuts and of cutter tables."""

from __future__ import annotations

import struct
import time
from dataclasses import replace

import numpy as np
import pytest

from chape.catalog.model import CutterKind
from chape.cutting.check import gather
from chape.cutting.check_engagement import check_engagement
from chape.cutting.check_table import check_table
from chape.cutting.preview import JUMP, RAPID, preview_bytes, read_preview
from chape.cutting.read import read_program
from chape.errors import InputError
from chape.field.heights import HeightField
from chape.findings import Severity
from cutting.proof_setups import END, block_setup, faced, start, text_of

BLOCK = block_setup()


def evidence_of(text: str, setup=BLOCK):
    return gather(read_program(text), setup)


def test_a_preview_says_where_when_how_deep_and_how_wide() -> None:
    evidence = evidence_of(text_of(faced(), END))
    preview = read_preview(preview_bytes(evidence))
    assert preview.box == (0, 0, -20, 40, 40, 2)
    assert [cutter[0] for cutter in preview.cutters] == [1, 2, 3, 4, 5]
    assert preview.flags[0] == RAPID | JUMP
    drawn = (preview.flags & JUMP) == 0
    assert drawn.sum() == len(evidence.segments.move)
    assert np.all(np.diff(preview.seconds) >= 0)
    assert preview.seconds[-1] == pytest.approx(preview.total, rel=1e-6)
    cuts = drawn & (preview.flags == 0) & (preview.depth > 0)
    assert np.all(preview.depth[cuts] == 200)
    # Lines 2 mm apart with a cutter of 6 mm: a third of its width, but for the first.
    widths = preview.width[cuts] / 255
    assert np.median(widths) == pytest.approx(1 / 3, abs=0.03)
    assert [int(preview.cutters[n][0]) for n in np.unique(preview.cutter[drawn])] == [2]
    assert preview.line[-1] == len(faced()) + 1


def test_the_same_program_gives_the_same_bytes() -> None:
    text = text_of(faced(), END)
    assert preview_bytes(evidence_of(text)) == preview_bytes(evidence_of(text))


def test_the_kinds_keep_the_numbers_that_the_page_gives_them() -> None:
    kinds = ["ball", "flat", "bull-nose", "drill", "vee", "tapered-ball"]
    assert [kind.value for kind in CutterKind] == kinds


def test_the_head_is_laid_out_as_documented() -> None:
    content = preview_bytes(evidence_of(text_of(faced(), END)))
    magic, version, size, pieces, cutters = struct.unpack_from("<4sHHII", content)
    assert (magic, version, cutters) == (b"CHPV", 1, 5)
    assert size % 8 == 0
    assert len(content) == size + pieces * (12 + 4 + 4 + 2 + 2 + 1 + 1)
    (z,) = struct.unpack_from("<f", content, size + 12 * (pieces - 1) + 8)
    assert z == 10


@pytest.mark.parametrize("spoil", [lambda b: b[:-1], lambda b: b"x" + b[1:], lambda _: b""])
def test_what_is_no_preview_is_refused(spoil) -> None:
    content = preview_bytes(evidence_of(text_of(faced(), END)))
    with pytest.raises(InputError, match="preview"):
        read_preview(spoil(content))


def test_a_preview_of_another_form_is_refused() -> None:
    content = preview_bytes(evidence_of(text_of(faced(), END)))
    with pytest.raises(InputError, match="form 9"):
        read_preview(content[:4] + b"\x09" + content[5:])


@pytest.mark.parametrize(
    ("depth", "severity"), [(5.0, None), (7.0, Severity.WARNING), (13.0, Severity.ERROR)]
)
def test_a_slot_deeper_than_its_width_is_warned_of(depth: float, severity) -> None:
    setup = replace(BLOCK, stock=HeightField.flat(BLOCK.stock.grid, 0.0))
    slot = ["G0 X-5 Y20", "G0 Z2", f"G1 Z{-depth} F300", "G1 X45 F900"]
    found = check_engagement(evidence_of(text_of(start(2), slot, END), setup))
    assert [f.severity for f in found if f.code == "engagement-high"] == (
        [severity] if severity else []
    )
    for finding in found:
        # 25 rows of nodes 0.25 mm apart lie within 3 mm of the slot's middle.
        assert finding.measured == pytest.approx(6.25 * depth * 40.25 / 40 / 36, rel=0.02)


def test_a_cut_deeper_than_the_flutes_is_an_error() -> None:
    setup = replace(BLOCK, stock=HeightField.flat(BLOCK.stock.grid, 4.0))
    side = ["G0 X-5 Y-2", "G0 Z6", "G1 Z-16.5 F300", "G1 X45 F900"]
    found = check_engagement(evidence_of(text_of(start(2), side, END), setup))
    (deep,) = (f for f in found if f.code == "cut-over-flutes")
    assert deep.measured == pytest.approx(0.5)


@pytest.mark.parametrize(
    ("comment", "differs"),
    [
        ("(T1: 6 mm ball, stick-out 30 mm)", False),
        ("(T1 D=6. CR=3. - ball)", False),
        ("(T1 D=8. CR=4.)", True),
        ("; T1 8 mm ball", True),
        ("(T1: 6 mm flat)", True),
        ("(T1 1/4 inch ball)", True),
        ("(T01  6.0mm BALL)", False),
        ("(T9 8 mm ball)", False),
        ("(Turn it over)", False),
    ],
)
def test_the_cutter_table_in_comments_is_held_against_the_rack(comment, differs) -> None:
    found = check_table([comment + "\n" + text_of(faced(), END)], BLOCK)
    assert [f.code for f in found] == (["cutter-table-differs"] if differs else [])


def test_a_table_in_inch_is_read_in_inch() -> None:
    text = text_of(faced(), END).replace("G21", "G20")
    assert check_table(["(T1 D=0.2362)\n" + text], BLOCK) == ()
    assert len(check_table(["(T1 D=6.)\n" + text], BLOCK)) == 1


def test_a_long_program_is_searched_line_by_line() -> None:
    """Twice the text takes about twice the time, not four times."""
    begun = time.process_time()
    assert check_table(["N10G21 X1.5 Y2.5\n" * 200_000], BLOCK) == ()
    assert time.process_time() - begun < 5
