"""The leaf of the job sheet that shows every clip, and which eyelets and screws to have at hand."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from chape.catalog.hardware import Fixing
from chape.documents.page_sheaths import of_which
from chape.documents.picture_clip import clip_stem
from chape.sheath.stacks import stacks_of
from chape.units import show_length

if TYPE_CHECKING:
    from chape.documents.model import JobResults
    from chape.sheath.placed_clip import PlanProof
    from chape.sheath.stacks import Stack
    from chape.units import LengthUnit


def clips_page(results: JobResults) -> dict[str, Any]:
    """Return the data of the leaf; without clips it has no pictures and is left out."""
    sheath, unit = results.sheath, results.unit
    return {
        "clips": [f"{clip_stem(k, placed)}.svg" for k, placed in enumerate(sheath.clips)],
        "clips-said": "" if sheath.proof is None else of_which(results, _proof_words(sheath.proof)),
        "stacks": [_stack_row(stack, unit) for stack in stacks_of(sheath)],
    }


def _proof_words(proof: PlanProof) -> str:
    holes = f"{proof.holes} holes to a half serve every clip on either hand"
    if proof.sheet >= 1:
        holes += f" and take {proof.sheet:.0f} mm² of sheet besides"
    if proof.proven:
        return f"{holes}; no plan has fewer"
    if proof.holes == proof.holes_least:
        return f"{holes}; no plan has fewer, though one may add less sheet"
    return f"{holes}; fewer than {proof.holes_least} are ruled out"


def _stack_row(stack: Stack, unit: LengthUnit) -> list[str]:
    """Return what is gripped, how thick it is, and what grips it."""
    what = "Flanges alone" if stack.clip is None else stack.clip.title
    grip = show_length(stack.grip, unit)
    if stack.fixing is Fixing.SCREW:
        return [what, grip, f"{stack.count} screws through the eyelets"]
    if stack.eyelet is None:
        return [what, grip, "no eyelet of this kind is right, see the findings"]
    return [what, grip, f"{stack.count} × {stack.eyelet.title}"]
