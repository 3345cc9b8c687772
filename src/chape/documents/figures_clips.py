"""Figures of the hole plan, the clips and what eyelets grip."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from chape.sheath.halves import axis_of
from chape.sheath.stacks import stacks_of

if TYPE_CHECKING:
    from chape.sheath.model import Sheath
    from chape.sheath.placed_clip import PlacedClip
    from chape.sheath.stacks import Stack


def hole_plan_figures(sheath: Sheath) -> dict[str, Any]:
    """Return how good the plan is, where each clip lies, and every stack with its eyelet.

    Clips' holes are told from the line v = 0 of the flat frame, seen on the half at v < 0.
    """
    proof = sheath.proof
    return {
        "proof": None
        if proof is None
        else {
            "holes_of_a_half": proof.holes,
            "holes_least": proof.holes_least,
            "added_sheet": proof.sheet,
            "sheet_and_astray": proof.cost,
            "sheet_and_astray_least": proof.cost_least,
            "proven": proof.proven,
        },
        "clips": [_clip(placed, axis_of(sheath)) for placed in sheath.clips],
        "stacks": [_stack(stack) for stack in stacks_of(sheath)],
    }


def _clip(placed: PlacedClip, axis: float) -> dict[str, Any]:
    return {
        "clip": placed.clip.name,
        "half": placed.half,
        "angle": placed.angle,
        "holes": [[float(x), float(y) - axis] for x, y in placed.points],
        "other_hand": None
        if placed.other is None
        else [[float(x), float(y) - axis] for x, y in placed.other],
        "play": placed.play,
        "astray": placed.astray,
    }


def _stack(stack: Stack) -> dict[str, Any]:
    return {
        "under": None if stack.clip is None else stack.clip.name,
        "layers": {f"{k + 1} {name}": thick for k, (name, thick) in enumerate(stack.layers)},
        "held_by": stack.fixing.value,
        "grip": stack.grip,
        "count": stack.count,
        "eyelet": None if stack.eyelet is None else stack.eyelet.name,
    }
