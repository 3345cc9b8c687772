"""What holds for programs in every dialect found in data: a new one is tested by being there."""

from __future__ import annotations

import json
import re
from dataclasses import replace
from functools import cache
from itertools import pairwise
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
import pytest
from pydantic import ValidationError

from chape.catalog.dialect import CutterChange, Dialect
from chape.catalog.read import catalog, with_workshop
from chape.cutting.check import check_texts
from chape.cutting.dialects import facts_of
from chape.cutting.model import Motion, OperationKind
from chape.cutting.parsed import EventKind, ParsedProgram
from chape.cutting.plan import plan_program
from chape.cutting.read import read_program, read_texts
from chape.cutting.write import write_program
from chape.documents.program_words import restarts
from chape.errors import InputError, ProgramError
from chape.tooling.model import RoundHole
from fault_boards import small_mould, small_trim

if TYPE_CHECKING:
    from chape.cutting.model import Program

NAMES = catalog().names("dialects")
every_dialect = pytest.mark.parametrize("name", NAMES)


@cache
def planned(board: str) -> Program:
    setup = small_mould() if board == "mould" else small_trim()
    return plan_program(replace(setup, offset="G54"))


@cache
def written(board: str, name: str) -> tuple[str, ...]:
    return write_program(planned(board), catalog().dialect(name))


def read(board: str, name: str) -> ParsedProgram:
    return read_texts(written(board, name), facts_of(catalog().dialect(name)))


@every_dialect
@pytest.mark.parametrize("board", ["mould", "trim"])
def test_the_text_of_every_dialect_is_proved(board: str, name: str) -> None:
    dialect = catalog().dialect(name)
    verdict = check_texts(written(board, name), planned(board).setup, facts_of(dialect))
    assert verdict.released, verdict.findings
    assert len(verdict.hashes) == len(written(board, name))


@every_dialect
def test_lines_are_short_plain_and_written_as_the_dialect_says(name: str) -> None:
    dialect = catalog().dialect(name)
    sign = dialect.comment[0]
    for text in written("mould", name):
        lines = text.splitlines()
        assert text.isascii()
        assert max(map(len, lines)) <= dialect.line_longest
        assert not any({"(", ";"} - {sign} & set(line) for line in lines)
        assert ("M6" in text) == (dialect.cutter_change is CutterChange.WORD)
        assert ("G43" in text) == dialect.cutter_lengths
        last = lines[-2] if dialect.percent else lines[-1]
        assert last.split()[-1] == dialect.end
        if not dialect.cycles:
            assert not {"G73", "G81", "G83"} & set(text.split())
        if dialect.line_numbers:
            # The number is that of the line, so that both ways of counting agree.
            for number, line in enumerate(lines, start=1):
                assert line[0] in f"%{sign}" or line.startswith(f"N{number} ")


@every_dialect
def test_each_text_is_whole_by_itself(name: str) -> None:
    facts = facts_of(catalog().dialect(name))
    for text in written("mould", name):
        program = read_program(text, facts)
        first = int(np.flatnonzero(~program.rapid)[0])
        state = program.states[program.state[first]]
        assert state.units_stated
        assert state.distance_stated
        assert state.offset == "G54"
        assert state.cutter
        assert state.spindle > 0
        # Up before across, and high at the end.
        assert np.isnan(program.end[0, :2]).all()
        assert program.end[0, 2] == program.end[:, 2].max()
        assert program.end[-1, 2] > planned("mould").setup.stock.z.max()
        assert program.events[-1].kind is EventKind.END


@every_dialect
def test_waits_are_as_long_as_asked(name: str) -> None:
    dialect = catalog().dialect(name)
    waits = [event.value for event in read("trim", name).events if event.kind is EventKind.DWELL]
    assert waits == pytest.approx([dialect.spin_up] * len(waits))
    assert waits


@every_dialect
def test_nobody_waits_for_a_spindle_that_goes_on_turning(name: str) -> None:
    parts = [text.split("G17 ")[1:] for text in written("mould", name)]
    starts = goes_on = 0
    for part in parts:
        before = None
        for text in part:
            speed = re.search(r"^(?:N\d+ )?(S\d+) M3", text, re.MULTILINE)
            assert speed is not None
            stopped = re.search(r"^(?:N\d+ )?(M0|T\d+)", text, re.MULTILINE)
            starts_again = before is None or stopped is not None or speed[1] != before
            assert ("G4 P" in text) == starts_again
            starts, goes_on, before = starts + starts_again, goes_on + (not starts_again), speed[1]
    assert starts
    assert goes_on


@pytest.mark.parametrize(
    "name", [n for n in NAMES if catalog().dialect(n).cutter_change is CutterChange.FILE]
)
def test_one_file_for_each_cutter_where_there_is_no_changer(name: str) -> None:
    texts = written("mould", name)
    numbers = [operation.cutter.number for operation in planned("mould").operations]
    changes = 1 + sum(a != b for a, b in pairwise(numbers))
    assert len(texts) == changes > 2
    program = read("mould", name)
    assert len(program.before) == changes
    # A mistake in a later file is placed in that file.
    broken = (*texts[:2], texts[2].replace("\nG0 Z", "\nG0 Q1 Z", 1), *texts[3:])
    with pytest.raises(ProgramError) as caught:
        read_texts(broken, facts_of(catalog().dialect(name)))
    assert caught.value.text == 3
    assert "G0 Q1" in texts[2].replace("\nG0 Z", "\nG0 Q1 Z", 1).splitlines()[caught.value.line - 1]
    # In the wrong order, or with one left out, the sequence is not proved.
    setup, facts = planned("mould").setup, facts_of(catalog().dialect(name))
    assert not check_texts(texts[::-1], setup, facts).released
    assert not check_texts(texts[1:], setup, facts).released


def from_line(text: str, restart: int, dialect: Dialect, cutter: int) -> str:
    """What a controller runs when a person starts at a line, having put in the cutter."""
    lines = text.splitlines()
    by_hand = {
        CutterChange.WORD: [f"T{cutter} M6"],
        CutterChange.STOP: [f"T{cutter}", "M0"],
        CutterChange.FILE: [f"T{cutter}"],
    }[dialect.cutter_change]
    top = ["%"] if dialect.percent else []
    return "\n".join([*top, *by_hand, *lines[restart - 1 :]]) + "\n"


@every_dialect
@pytest.mark.parametrize("board", ["mould", "trim"])
def test_starting_again_at_any_line_named_gives_the_same_end(board: str, name: str) -> None:
    dialect = catalog().dialect(name)
    texts, operations = written(board, name), planned(board).operations
    points = restarts(texts)
    assert len(points) == len(operations)
    for point, operation in zip(points, operations, strict=True):
        text = texts[point.part - 1]
        assert point.title.startswith(operation.title[:20])
        assert f"Line {point.line}: T{operation.cutter.number}, " in text
        whole = read_program(text, facts_of(dialect))
        again = read_program(
            from_line(text, point.line, dialect, operation.cutter.number), facts_of(dialect)
        )
        # From the first place in the plane on, every move is the same, in the same state.
        same = len(again) - 2
        assert (again.end[-same:] == whole.end[-same:]).all()
        assert (again.motion[-same:] == whole.motion[-same:]).all()
        assert (again.spindle[-same:] == whole.spindle[-same:]).all()
        assert (again.cutter[-same:] == whole.cutter[-same:]).all()
        assert np.array_equal(again.feed[-same:], whole.feed[-same:], equal_nan=True)
        offsets = {again.states[n].offset for n in again.state}
        lengths = {again.states[n].length_offset for n in again.state[again.motion != Motion.RAPID]}
        assert offsets == {"G54"}
        assert (0 in lengths) != dialect.cutter_lengths
        assert np.isnan(again.end[0, :2]).all()


@every_dialect
def test_each_controller_refuses_what_is_not_its_own(name: str) -> None:
    dialect = catalog().dialect(name)
    facts = facts_of(dialect)
    foreign = {
        "(a note)" if dialect.comment[0] == ";" else "; a note": True,
        "T1 M6": dialect.cutter_change is not CutterChange.WORD,
        "G0 X0 Y0 Z5\nG81 X1 R2 Z-1 F100": not dialect.cycles,
        "G54.1 P49": True,
    }
    for line, refused in foreign.items():
        if refused:
            with pytest.raises(ProgramError):
                read_program(f"{line}\nM2\n", facts)


def test_an_extended_offset_is_called_and_read_back() -> None:
    dialect = catalog().dialect("extended-offsets")
    setup = replace(planned("trim").setup, offset="G54.1 P7")
    texts = write_program(replace(planned("trim"), setup=setup), dialect)
    assert "\nG54.1 P7" in texts[0].replace("N", "\n").replace(" G54", "\nG54")
    assert {state.offset for state in read_texts(texts, facts_of(dialect)).states} == {
        "",
        "G54.1P7",
    }
    assert check_texts(texts, setup, facts_of(dialect)).released
    with pytest.raises(InputError, match=r"G54\.1 P1 to G54\.1 P48"):
        write_program(replace(planned("trim"), setup=replace(setup, offset="G54.1 P49")), dialect)


def test_a_workshop_writes_a_dialect_of_its_own(tmp_path: Path) -> None:
    table = {"dialects": {"ours": {"like": "small-controller", "dwell_unit": "ms"}}}
    ours = with_workshop(catalog(), table, tmp_path / "workshop.toml").dialect("ours")
    assert ours.dwell_unit.seconds == 0.001
    (text,) = write_program(planned("trim"), ours)
    assert "\nG4 P4000\n" in text
    assert check_texts((text,), planned("trim").setup, facts_of(ours)).released


@pytest.mark.parametrize(
    ("changes", "said"),
    [
        ({"offsets": ["G60"]}, "calls no work offset"),
        ({"offsets": ["G54", "G54"]}, "twice"),
        ({"offsets": []}, "at least 1"),
        ({"message": "[{text}]"}, "write a comment"),
        ({"message": "(no place)"}, "write a comment"),
        ({"message": "; {text}"}, "both be in brackets"),
        ({"comment": "# {text}"}, "should be"),
        ({"unit": "inch", "decimals": 3}, "inches need 4"),
        ({"dwell_unit": "minutes"}, "should be"),
        ({"line_longest": 20}, "greater than or equal to 60"),
        ({"spin_up": float("nan")}, "finite"),
        ({"cutter_change": True}, "should be"),
        ({"klingon": 1}, "Extra inputs"),
    ],
)
def test_a_dialect_that_cannot_be_is_refused(changes: dict[str, object], said: str) -> None:
    table = catalog().dialect("generic").model_dump(mode="json") | changes
    with pytest.raises(ValidationError, match=said):
        Dialect.model_validate(table)


def test_holes_of_the_board() -> None:
    """The boards above hold what the dialects differ in: pecks, changes and a stop."""
    assert any(isinstance(hole, RoundHole) for hole in planned("mould").setup.holes)
    assert any(operation.stop_before for operation in planned("trim").operations)


@pytest.mark.parametrize("cycle", ["G73", "G83"])
@pytest.mark.parametrize("name", [n for n in NAMES if catalog().dialect(n).cycles])
def test_drilled_holes_are_cycles_as_deep_as_planned_and_no_faster(name: str, cycle: str) -> None:
    breaking = {"chip_breaking_cycle": cycle == "G73"}
    dialect = catalog().dialect(name).model_copy(update=breaking)
    texts = write_program(planned("mould"), dialect)
    assert {"G73", "G83"} & set("".join(texts).split()) == {cycle}
    program = read_texts(texts, facts_of(dialect))
    last = dialect.unit.in_mm * 10.0**-dialect.decimals
    for operation in planned("mould").operations:
        if operation.kind is not OperationKind.DRILL:
            continue
        cuts = (program.cutter == operation.cutter.number) & ~program.rapid
        run = operation.moves
        assert program.end[cuts, 2].min() == pytest.approx(run.end[:, 2].min(), abs=last)
        # The gentlest feed of what a line stands for, so none but those that were planned.
        slowest, planned_feeds = program.feed[cuts].min(), np.unique(run.feed[~np.isnan(run.feed)])
        assert slowest == pytest.approx(planned_feeds[0], abs=0.06 * dialect.unit.in_mm)
        assert np.abs(program.feed[cuts][:, None] - planned_feeds).min(axis=1).max() < 0.06 * 25.4
        # As deep pecks as planned, where chips are broken; no deeper, where every peck clears.
        deepest = _pecks(run.motion, run.end)
        theirs = _pecks(
            program.motion[program.cutter == operation.cutter.number],
            program.end[program.cutter == operation.cutter.number],
        )
        if cycle == "G73":
            assert theirs == pytest.approx(deepest, abs=2 * last)
        else:
            assert max(theirs) <= max(deepest) + 3 * last


def _pecks(motion: np.ndarray, end: np.ndarray) -> list[float]:
    """Return how much deeper the drill gets each time before it is lifted."""
    depths, low, begun = [], np.inf, np.nan
    for kind, z in zip(motion.tolist(), end[:, 2].tolist(), strict=True):
        if kind == Motion.RAPID:
            if low < begun:
                depths.append(begun - low)
            begun = low = z
        else:
            low = min(low, z)
    return depths


def test_a_controller_without_g73_refuses_it() -> None:
    facts = replace(facts_of(catalog().dialect("extended-offsets")), chip_breaking_cycle=False)
    text = "G0 X0 Y0 Z5\n{} X1 R2 Z-1 Q1 F100\nM2\n"
    with pytest.raises(ProgramError, match="no cycle G73"):
        read_program(text.format("G73"), facts)
    read_program(text.format("G83"), facts)


def test_every_key_and_dialect_is_explained() -> None:
    page = (Path(__file__).parents[2] / "docs/dialects.md").read_text("utf-8")
    rows = dict(re.findall(r"^\| `([a-z_]+)` \|.*\| (required|`.*?`) \|$", page, re.MULTILINE))
    wanted = {}
    for key, field in Dialect.model_fields.items():
        if key != "name":
            shown = json.dumps(field.default) if not field.is_required() else "required"
            wanted[key] = shown if shown == "required" else f"`{shown}`"
    assert rows == wanted
    for name in NAMES:
        assert f"| `{name}` |" in page
