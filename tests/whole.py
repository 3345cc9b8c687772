"""The one piece of a folded sheath, and the same sheath with something of it changed."""

from dataclasses import replace


def whole(sheath):
    """Return the piece a folded sheath is cut from."""
    (piece,) = sheath.pieces
    return piece


def remade(sheath, **changed):
    """Return the sheath with other heights, outline or holes."""
    return replace(sheath, pieces=(replace(whole(sheath), **changed),))
