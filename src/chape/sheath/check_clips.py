"""Checks of what is riveted and screwed on: eyelet lengths, and how the clips lie."""

from __future__ import annotations

from typing import TYPE_CHECKING

from chape.catalog.hardware import Fixing
from chape.findings import Finding, Severity
from chape.sheath.stacks import nearest, stacks_of

if TYPE_CHECKING:
    from collections.abc import Iterator

    from chape.sheath.model import Sheath
    from chape.sheath.stacks import Stack

#: A clip that comes to lie further than this from where it is wanted is told of, mm.
ASTRAY = 10.0


def check_clips(sheath: Sheath) -> Iterator[Finding]:
    """Yield what is to be said of eyelets' lengths, of the hole plan and of the clips."""
    for stack in stacks_of(sheath):
        if stack.fixing is Fixing.EYELET:
            yield from _check_stack(sheath, stack)
    yield from _check_plan(sheath)
    for placed in sheath.clips:
        if placed.other is not None:
            yield Finding(
                "clip-handed",
                Severity.NOTE,
                f"clip {placed.clip.name}",
                "The clip's pattern is not its own mirror image: it takes other holes on a "
                "left-hand sheath than on a right-hand one, and the plan has both.",
                "Nothing to mend; a pattern that is the same both ways needs fewer holes.",
            )
        if placed.astray > ASTRAY:
            yield Finding(
                "clip-astray",
                Severity.NOTE,
                f"clip {placed.clip.name}",
                "The clip lies this far from where it is wanted, so that fewer holes or less sheet "
                "serve all clips.",
                'Give it a "within", or wish for the clips at places that suit one another.',
                placed.astray,
                ASTRAY,
            )


def _check_stack(sheath: Sheath, stack: Stack) -> Iterator[Finding]:
    where = "the flanges" if stack.clip is None else f"clip {stack.clip.name}"
    layers = ", ".join(f"{name} {thick:g} mm" for name, thick in stack.layers)
    if stack.eyelet is None:
        family = (sheath.eyelet, *sheath.other_lengths)
        near = nearest(family, stack.grip)
        least, most = near.grip_least.value, near.grip_most.value
        thin = stack.grip < least
        yield Finding(
            "rivet-grip",
            Severity.ERROR,
            where,
            f"No eyelet of this kind clinches the stack ({layers}): it is too "
            f'{"thin" if thin else "thick"} even for "{near.name}".',
            "Choose eyelets, a sheet or a clip that go together, or add your eyelet's length to "
            "workshop.toml.",
            stack.grip,
            least if thin else most,
        )
    elif stack.eyelet.name != sheath.eyelet.name:
        yield Finding(
            "eyelet-other-length",
            Severity.NOTE,
            where,
            f'The stack ({layers}) asks for another length than "{sheath.eyelet.name}": take '
            f'{stack.count} of "{stack.eyelet.name}".',
            "Nothing to mend; have them at hand.",
            stack.grip,
            None,
        )


def _check_plan(sheath: Sheath) -> Iterator[Finding]:
    proof = sheath.proof
    if proof is None or proof.proven:
        return
    fewer = proof.holes - proof.holes_least
    holes = (
        f"a plan with up to {fewer} holes fewer is not ruled out"
        if fewer
        else "none with fewer holes exists"
    )
    yield Finding(
        "hole-plan-open",
        Severity.NOTE,
        "hole plan",
        f"The search for a hole plan ended before its answer was proved the best: {holes}.",
        "Nothing to mend; fewer clips, or clips wanted within narrower bounds, are proved sooner.",
        proof.cost - proof.cost_least,
        None,
        "mm² of sheet and clips astray, at most",
    )
