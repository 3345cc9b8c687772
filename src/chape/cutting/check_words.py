"""Whether a program says everything a machine must be told before it cuts."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from chape.catalog.model import CutterKind
from chape.cutting.parsed import EventKind
from chape.findings import Finding, Severity

if TYPE_CHECKING:
    from chape.cutting.controller_facts import ControllerFacts
    from chape.cutting.evidence import Evidence, Mask
    from chape.cutting.parsed import State

#: A straight plunge that removes less than this is a touch, mm.
TOUCH = 0.2
#: A feed written to a tenth of an inch a minute may have been rounded up by this, mm/min.
FEED_ROUNDING = 1.3
#: A wait may be shorter by this, s: it is written in so many digits.
WAIT_ROUNDING = 1e-3


def check_words(evidence: Evidence, facts: ControllerFacts) -> tuple[Finding, ...]:
    """Return what is missing or wrong among units, offset, cutter, spindle and feed."""
    return (
        *_modes(evidence),
        *_cutters(evidence),
        *_spindle_and_feed(evidence),
        *_spin_ups(evidence, facts),
        *_stops(evidence),
    )


def _where(evidence: Evidence, wrong: list[bool]) -> Mask:
    """Return the moves whose state is wrong."""
    chosen: Mask = np.array(wrong, dtype=np.bool_)[evidence.program.state]
    return chosen


def _modes(evidence: Evidence) -> tuple[Finding, ...]:
    states, setup = evidence.program.states, evidence.setup
    wanted = setup.offset.replace(" ", "")
    return (
        *evidence.first(
            "units-missing",
            _where(evidence, [not state.units_stated for state in states]),
            "{count} moves come before the program says mm or inch",
            "Put G21 or G20 before the first move.",
        ),
        *evidence.first(
            "distance-mode-missing",
            _where(evidence, [not state.distance_stated for state in states]),
            "{count} moves come before the program says absolute or incremental",
            "Put G90 or G91 before the first move.",
        ),
        *evidence.first(
            "offset-missing",
            _where(evidence, [state.offset == "" for state in states]),
            "{count} moves come before a work offset is called",
            f"Put {setup.offset} before the first move.",
        ),
        *evidence.first(
            "offset-wrong",
            _where(evidence, [state.offset not in ("", wanted) for state in states]),
            f"{{count}} moves run in another work offset than {setup.offset} of this setup",
            f"Call {setup.offset}, or check the program against the setup it was made for.",
        ),
    )


def _cutters(evidence: Evidence) -> tuple[Finding, ...]:
    states, setup = evidence.program.states, evidence.setup
    rack = {cutter.number for cutter in setup.cutters}

    def wrong_length(state: State) -> bool:
        if state.length_offset == 0:
            return setup.machine.tool_changer and state.cutter != 0
        return state.length_offset != state.cutter

    plunging = [
        c.number for c in setup.cutters if c.kind in (CutterKind.FLAT, CutterKind.BULL_NOSE)
    ]
    program = evidence.program
    # Heights above everything are infinite; the way between two of them says nothing.
    with np.errstate(invalid="ignore"):
        step = np.abs(program.end - program.start)
    upright = (step[:, 0] < 1e-6) & (step[:, 1] < 1e-6) & (program.end[:, 2] < program.start[:, 2])
    upright &= (program.sweep == 0) & np.isin(program.cutter, plunging) & evidence.cutting
    return (
        *evidence.first(
            "cutter-missing",
            _where(evidence, [state.cutter == 0 for state in states]) & evidence.cutting,
            "{count} cutting moves come before a cutter is called",
            "Call a cutter (T and M6) before the first cut.",
        ),
        *evidence.first(
            "cutter-unknown",
            _where(evidence, [state.cutter not in rack | {0} for state in states]),
            "{count} moves use a cutter that is not in the rack",
            "Call a cutter of the rack, or add this one to it.",
        ),
        *evidence.first(
            "length-offset-wrong",
            _where(evidence, [wrong_length(state) for state in states]) & evidence.cutting,
            "{count} cutting moves run without the length offset of their own cutter",
            "Put G43 with the cutter's own number after each change.",
        ),
        *evidence.worst(
            "plunge-full-width",
            evidence.depth,
            upright & (evidence.depth > TOUCH),
            "A cutter that may not cut at its middle goes straight down {value} mm into material"
            " ({count} such plunges)",
            "Ramp or bore in, or drill first.",
            limit=TOUCH,
            severity=Severity.WARNING,
        ),
    )


def _spindle_and_feed(evidence: Evidence) -> tuple[Finding, ...]:
    program, machine = evidence.program, evidence.setup.machine
    cutting, spindle = evidence.cutting, program.spindle
    speed = np.abs(spindle)
    outside = (speed > 0) & ((speed < machine.spindle_least) | (speed > machine.spindle_most))
    feed = np.nan_to_num(program.feed)
    return (
        *evidence.first(
            "spindle-off",
            cutting & (spindle == 0),
            "{count} cutting moves run with the spindle off",
            "Start the spindle with M3 and S after each cutter change and stop.",
        ),
        *evidence.first(
            "spindle-reversed",
            cutting & (spindle < 0),
            "{count} cutting moves run with the spindle turning backwards",
            "Start the spindle with M3.",
        ),
        *evidence.worst(
            "spindle-out-of-range",
            speed,
            cutting & outside,
            f"The spindle is told {{value}} rev/min; it runs from {machine.spindle_least:g} to"
            f" {machine.spindle_most:g}",
            "Choose a speed the machine has.",
            limit=machine.spindle_most,
            unit="rev/min",
        ),
        *evidence.first(
            "feed-missing",
            cutting & ~(program.feed > 0),
            "{count} cutting moves have no feed",
            "Put F on the first cutting move.",
        ),
        *evidence.worst(
            "feed-above-machine",
            feed,
            cutting & (feed > machine.feed_most + FEED_ROUNDING),
            f"A feed of {{value}} mm/min is above the machine's {machine.feed_most:g} mm/min"
            " ({count} moves)",
            "Lower the feed.",
            limit=machine.feed_most,
            unit="mm/min",
        ),
    )


def _spin_ups(evidence: Evidence, facts: ControllerFacts) -> tuple[Finding, ...]:
    """A cutter that meets material before it turns at its speed is overloaded."""
    return evidence.first(
        "spindle-not-at-speed",
        evidence.cutting & _coming_up(evidence, facts.spin_up),
        f"{{count}} cutting moves come before the spindle has had {facts.spin_up:g} s to come up to"
        " its speed",
        "Put a wait (G4) of that length after each start of the spindle and each change of speed.",
    )


def _coming_up(evidence: Evidence, spin_up: float) -> Mask:
    """Return the moves before which the spindle was started, and not waited for since."""
    coming = np.zeros(len(evidence.program), dtype=np.bool_)
    turning, left, since = 0.0, 0.0, 0
    for event in evidence.program.events:
        before = left
        if event.kind is EventKind.SPINDLE and event.value != turning:
            turning, left = event.value, spin_up if event.value else 0.0
        elif event.kind in (EventKind.CUTTER, EventKind.STOP):
            # Whoever changes the cutter stops the spindle.
            turning, left = 0.0, 0.0
        elif event.kind is EventKind.DWELL:
            left -= event.value
        else:
            continue
        coming[since : event.move] |= before > WAIT_ROUNDING
        since = event.move
    coming[since:] |= left > WAIT_ROUNDING
    return coming


def _stops(evidence: Evidence) -> tuple[Finding, ...]:
    """Hands are near the cutter at a stop: it must stand still and high."""
    program, setup = evidence.program, evidence.setup
    top = float(setup.stock.z.max())
    wrong = np.zeros(len(program), dtype=np.bool_)
    low = np.zeros(len(program), dtype=np.bool_)
    for event in program.events:
        if event.kind not in (EventKind.STOP, EventKind.CUTTER, EventKind.END) or event.move == 0:
            continue
        move = event.move - 1
        low[move] |= not (program.end[move, 2] >= top or np.isnan(program.end[move, 2]))
        running = event.kind is EventKind.STOP and _turning(evidence, event.move, event.line)
        wrong[move] |= running
    return (
        *evidence.first(
            "stop-spindle-on",
            wrong,
            "The program stops for a person while the spindle turns ({count} times)",
            "Put M5 before M0.",
        ),
        *evidence.first(
            "stop-low",
            low,
            "The program stops, changes the cutter or ends below the top of the stock"
            " ({count} times)",
            "Retract above the stock first.",
        ),
    )


def _turning(evidence: Evidence, move: int, line: int) -> bool:
    """Return whether the spindle turns at an event, from the events before it."""
    speed = 0.0
    for event in evidence.program.events:
        if event.line > line or event.move > move:
            break
        if event.kind is EventKind.SPINDLE:
            speed = event.value
        elif event.kind is EventKind.CUTTER:
            speed = 0.0
    return speed != 0.0
