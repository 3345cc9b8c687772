"""Prove a program from its own text: read it, cut it, and report all that is wrong.

Nothing here is shared with what makes and writes programs, so that the two cannot share a mistake.
A program may be released when no finding is an error; the hash tells which text was proved.
"""

from __future__ import annotations

import hashlib
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np

from chape.cutting.allowed import allowed_of
from chape.cutting.check_engagement import check_engagement
from chape.cutting.check_flip import check_flip_side
from chape.cutting.check_holes import check_holes
from chape.cutting.check_load import check_load, loads_of
from chape.cutting.check_space import check_space
from chape.cutting.check_surface import check_surface
from chape.cutting.check_table import check_table
from chape.cutting.check_trim import check_trim
from chape.cutting.check_words import check_words
from chape.cutting.clock import run_time
from chape.cutting.controller_facts import UNKNOWN
from chape.cutting.evidence import Evidence
from chape.cutting.preview import preview_bytes
from chape.cutting.read import read_texts
from chape.cutting.remove import remove
from chape.cutting.segments import segments_of
from chape.errors import ProgramError
from chape.field.heights import HeightField
from chape.findings import Finding, Severity, errors

if TYPE_CHECKING:
    from collections.abc import Sequence

    from chape.cutting.check_load import CutterLoad
    from chape.cutting.controller_facts import ControllerFacts
    from chape.cutting.model import Setup
    from chape.cutting.parsed import ParsedProgram
    from chape.cutting.remove import Depths
    from chape.field.grid import Floats


@dataclass(frozen=True, slots=True, eq=False)
class Verdict:
    """What was found out about a program. Lengths mm.

    Attributes:
        findings: everything that was seen.
        hashes: SHA-256 of each text that was checked, hexadecimal.
        seconds: running time, without cutter changes and stops.
        cutter_seconds: (cutter number, seconds).
        feed_length, rapid_length: way of the tip.
        moves: how many.
        z_lowest: lowest place of the tip.
        stock_after: the material afterwards.
        leftover: material above the target along its normal, negative where gouged.
        gouge_most: deepest cut below the surface, along its normal; 0 for none.
        leftover_most, leftover_p99: left although the cutters used could reach it.
        rapid_deepest, holder_deepest: how deep rapids and holders went into material.
        at_full_speed: least seconds its way and dwells take on any machine.
        change_seconds: of its cutter changes, besides ``seconds``.
        loads: the hardest work of each cutter.
        preview: for a viewer, laid out as ``preview`` says; empty where the text cannot be read.
    """

    findings: tuple[Finding, ...]
    hashes: tuple[str, ...]
    seconds: float
    cutter_seconds: tuple[tuple[int, float], ...]
    feed_length: float
    rapid_length: float
    moves: int
    z_lowest: float
    stock_after: HeightField
    leftover: HeightField
    gouge_most: float
    leftover_most: float
    leftover_p99: float
    rapid_deepest: float
    holder_deepest: float
    at_full_speed: float = 0.0
    change_seconds: float = 0.0
    loads: tuple[CutterLoad, ...] = ()
    preview: bytes = b""

    @property
    def released(self) -> bool:
        """Whether the program may go to a machine."""
        return not errors(self.findings)


def check_program(text: str, setup: Setup, facts: ControllerFacts | None = None) -> Verdict:
    """Return what is found when a program of one text is cut, as it says, in its setup.

    Args:
        text: the whole program.
        setup: what it is to be run in.
        facts: of the controller; None where no more is known than the setup says.
    """
    return check_texts((text,), setup, facts)


def check_texts(
    texts: Sequence[str], setup: Setup, facts: ControllerFacts | None = None
) -> Verdict:
    """Return what is found when the texts of a program are run one after the other."""
    hashes = tuple(hashlib.sha256(text.encode("utf-8")).hexdigest() for text in texts)
    if facts is None:
        facts = replace(UNKNOWN, changes_at_stop=not setup.machine.tool_changer)
    try:
        program = read_texts(texts, facts)
    except ProgramError as error:
        return _unreadable(error, setup, hashes)
    evidence = gather(program, setup)
    surface = check_surface(evidence)
    loads = loads_of(evidence)
    time = run_time(program, evidence.segments, setup.machine)
    findings = (
        *_empty(evidence),
        *check_table(texts, setup),
        *check_words(evidence, facts),
        *check_space(evidence),
        *surface.findings,
        *check_holes(evidence),
        *check_trim(evidence),
        *check_flip_side(evidence),
        *check_engagement(evidence),
        *check_load(evidence, loads),
    )
    rapid = program.rapid
    heights = program.end[np.isfinite(program.end[:, 2]), 2]
    return Verdict(
        findings=findings,
        hashes=hashes,
        seconds=time.total,
        cutter_seconds=time.by_cutter,
        feed_length=float(program.length[~rapid].sum()),
        rapid_length=float(program.length[rapid].sum()),
        moves=len(program),
        z_lowest=float(heights.min()) if len(heights) else 0.0,
        stock_after=evidence.removal.stock,
        leftover=surface.leftover,
        gouge_most=surface.gouge_most,
        leftover_most=surface.leftover_most,
        leftover_p99=surface.leftover_p99,
        rapid_deepest=float(evidence.depth[rapid].max(initial=0.0)),
        holder_deepest=float(evidence.holder.max(initial=0.0)),
        at_full_speed=time.at_full_speed,
        change_seconds=time.change_seconds,
        loads=loads,
        preview=preview_bytes(evidence),
    )


def gather(program: ParsedProgram, setup: Setup) -> Evidence:
    """Cut a program and return what every part of the check looks at."""
    index_of = {cutter.number: n for n, cutter in enumerate(setup.cutters)}
    ceiling = float(setup.stock.z.max()) + setup.machine.travel[2]
    segments = segments_of(program, index_of, ceiling=ceiling)
    removal = remove(setup.stock, segments, setup.cutters)

    def per_move(values: Depths) -> Floats:
        worst = np.zeros(len(program))
        np.maximum.at(worst, segments.move, values)
        return worst

    return Evidence(
        setup=setup,
        program=program,
        segments=segments,
        allowed=allowed_of(setup),
        removal=removal,
        depth=per_move(removal.cut),
        holder=per_move(removal.holder),
        shank=per_move(removal.shank),
        stray=per_move(removal.stray),
    )


def _empty(evidence: Evidence) -> tuple[Finding, ...]:
    if (evidence.depth > 0).any():
        return ()
    heights = evidence.program.end[np.isfinite(evidence.program.end[:, 2]), 2]
    lowest = f"its lowest place is Z {heights.min():.2f}" if len(heights) else "it goes nowhere"
    return (
        Finding(
            "nothing-cut",
            Severity.ERROR,
            evidence.setup.name,
            f"The program cuts nothing: {lowest}, and the stock's top lies at Z"
            f" {evidence.setup.stock.z.max():.2f}",
            "Check that the program belongs to this setup, and its zero.",
        ),
    )


def _unreadable(error: ProgramError, setup: Setup, hashes: tuple[str, ...]) -> Verdict:
    """Return the verdict on a text that cannot be read: nothing was cut, nothing is released."""
    part = f" part {error.text}" if len(hashes) > 1 else ""
    finding = Finding(
        "program-unreadable",
        Severity.ERROR,
        f"{setup.name}{part}, line {error.line}",
        f"{error.problem[0].upper()}{error.problem[1:]}",
        "Mend the line; a program that is not understood in full is not released.",
    )
    flat = HeightField.flat(setup.stock.grid)
    return Verdict(
        (finding,), hashes, 0.0, (), 0.0, 0.0, 0, 0.0, setup.stock, flat, 0.0, 0.0, 0.0, 0.0, 0.0
    )
