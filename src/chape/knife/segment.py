"""Where a knife lies on white paper, in light that is uneven and throws shadows.

Light fades over millimetres: with the lamp, with a soft shadow, with a bend in the paper. A knife's
edge is as sharp as the picture (``chape.knife.sharpness``). So the paper is whatever can be walked
to from the field's rim without crossing a sharp edge; the knife is what cannot be reached, be it
darker than the paper, brighter, coloured, or very nearly the same. The walker is wide, so that a
gap in a faint edge does not let it in. Where the gap is longer than the walker is wide, the edge
often goes on through it, too faint to count by itself: a second walk heeds such edges too, and
where it is kept out of something broad, the first had slipped in.

Not told apart: a hard shadow (a bare lamp, a flash, the sun) has edges as sharp as a knife's, and
is taken for a part of it. The overlay shows it, and soft light prevents it.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import cv2
import numpy as np

from chape.errors import InputError
from chape.knife.sharpness import sharpness

if TYPE_CHECKING:
    import numpy.typing as npt

    from chape.field.grid import Floats
    from chape.knife.light import Light

    Mask = npt.NDArray[np.bool_]
    Bytes = npt.NDArray[np.uint8]

#: Half the width of the walker, mm: an edge may be lost along twice this. The next is tried where
#: one has slipped in.
WALKERS = (0.8, 2.0, 4.0)

#: A sharp edge is at least this long, mm; shorter ones are noise, dust, or grain of the paper.
SHORTEST_EDGE = 4.0

#: An edge this sharp counts on the second walk, where it runs on from one that is sharp; what only
#: that walk is kept out of is a part of the knife where it is broader than this, mm.
FAINT, BROAD = 0.7, 4.0

#: Nothing smaller is a knife; a second thing larger than this is in the way; mm².
SMALLEST_KNIFE, LARGEST_CRUMB = 400.0, 40.0

#: The outline handed on is rounded this much, mm, to have a steady normal.
ROUND = 0.8

#: A knife ends sharper than a walker: parts this long are given back to it, mm.
LONGEST_POINT = 12.0


@dataclass(frozen=True, slots=True, eq=False)
class Flat:
    """A picture of the field as seen straight from above.

    Attributes:
        pixels: (h, w, 3) red, green, blue; the first row is the top.
        step: side of a pixel, mm.
        corner: x, y of the first pixel's middle, mm; y falls with the rows.
        seen: (h, w) what the picture shows; None where it shows all.
        paper: (h, w) what is known to be paper, such as printed marks that are seen whole; or None.
        within: (h, w) what belongs to the field; None where all does.
    """

    pixels: Bytes
    step: float
    corner: tuple[float, float]
    seen: Mask | None = None
    paper: Mask | None = None
    within: Mask | None = None

    def to_mm(self, places: Floats) -> Floats:
        """Return (n, 2) mm of (n, 2) columns and rows."""
        x, y = self.corner
        flat: Floats = np.column_stack([x + places[:, 0] * self.step, y - places[:, 1] * self.step])
        return flat


def silhouette(flat: Flat) -> Floats:
    """Return a line round the one knife in a field, at most a few millimetres outside its edge.

    ``chape.knife.edge`` finds the edge itself from there.

    Returns:
        (n, 2) mm, counter-clockwise, closed by its first point.

    Raises:
        InputError: there is nothing, more than one thing, or the knife reaches out of the field.
    """
    body = _body(flat)
    parts, labels, facts, _ = cv2.connectedComponentsWithStats(body.astype(np.uint8), None)
    sizes = facts[:, cv2.CC_STAT_AREA] * flat.step**2
    sizes[0] = 0
    if parts < 2 or sizes.max() < SMALLEST_KNIFE:
        raise InputError(
            "there is no knife to be made out in the field",
            mend="Lay it on the empty field; if it is there, let it stand out from the paper: "
            "light it from another side, or lower the exposure until the paper is light grey",
        )
    largest = int(np.argmax(sizes))
    _refuse_clipped(labels == largest, flat)
    others = np.delete(sizes, largest)
    if others.max() > LARGEST_CRUMB:
        x, y = _middle_of(labels == int(np.argsort(sizes)[-2]), flat)
        raise InputError(
            f"there is more than the knife in the field: something near x = {x:.0f}, "
            f"y = {y:.0f} mm from the sheet's lower left corner",
            mend="Take away what is not the knife, hard shadows too: light it softly",
        )
    return _ring(labels == largest, flat)


def _body(flat: Flat) -> Mask:
    """Return what lies in the field, faint edges heeded where the walker has slipped in."""
    sharp = sharpness(flat.pixels, flat.step)
    clear = _edges(flat, sharp)
    body = _walled_off(clear, flat)
    more = _walled_off(_with_faint(clear, flat, sharp), flat)
    if body is None and more is None:
        raise InputError(
            "a part of the knife's edge cannot be told from the paper or its shadow",
            mend="Light it from another side or more softly, let the blade mirror something dark, "
            "or lower the exposure until the paper is light grey",
        )
    if body is None:
        return np.asarray(more)
    if more is None:
        return body
    # What is faint all round, a shadow or a bend in the paper, is no part of anything.
    more = _touching(more, body)
    return more if _broadest(more & ~body, flat) > BROAD else body


def _touching(mask: Mask, other: Mask) -> Mask:
    """Return the parts of a mask that share some of another."""
    count, labels = cv2.connectedComponents(mask.astype(np.uint8), None)
    shared = np.zeros(count, dtype=bool)
    shared[np.unique(labels[mask & other])] = True
    return np.asarray(shared[labels])


def _walled_off(edges: Mask, flat: Flat) -> Mask | None:
    """Return what edges keep the slimmest walker out of that does not slip in; None if all do."""
    for walker in WALKERS:
        body, slipped = _whole(_unreached(edges, flat, walker), flat)
        if not slipped:
            return body
    return None


def _broadest(part: Mask, flat: Flat) -> float:
    """Return the width of the largest disc in a part, mm."""
    depth = cv2.distanceTransform(part.astype(np.uint8), cv2.DIST_L2, 5)
    return 2 * float(depth.max()) * flat.step


def _edges(flat: Flat, sharp: Light) -> Mask:
    """Return where light steps sharply along a line, (h, w)."""
    clear = (sharp > 1.0) & _open_to_edges(flat)
    _, labels, facts, _ = cv2.connectedComponentsWithStats(clear.astype(np.uint8), None)
    size = np.maximum(facts[:, cv2.CC_STAT_WIDTH], facts[:, cv2.CC_STAT_HEIGHT]) * flat.step
    long = size >= SHORTEST_EDGE
    long[0] = False
    return np.asarray(long[labels])


def _with_faint(clear: Mask, flat: Flat, sharp: Light) -> Mask:
    """Return sharp edges with the faint ones that run on from them, (h, w) (Canny's hysteresis)."""
    faint = clear | ((sharp > FAINT) & _open_to_edges(flat))
    count, labels = cv2.connectedComponents(faint.astype(np.uint8), None)
    runs_on = np.zeros(count, dtype=bool)
    runs_on[np.unique(labels[clear])] = True
    return np.asarray(runs_on[labels])


def _open_to_edges(flat: Flat) -> Mask:
    """Return what belongs to the field and is no printed mark, (h, w)."""
    free = np.ones(flat.pixels.shape[:2], dtype=bool)
    if flat.paper is not None:
        free &= ~flat.paper
    if flat.within is not None:
        free &= flat.within
    return free


def _unreached(edges: Mask, flat: Flat, radius: float) -> Mask:
    """Return what a wide walker from the rim cannot reach without crossing a sharp edge."""
    free = ~edges if flat.seen is None else ~edges & flat.seen
    walker = _disc(radius, flat.step)
    # Beyond the rim all is free, so that the walker can start from outside.
    edge = len(walker)
    room = cv2.copyMakeBorder(
        free.astype(np.uint8), edge, edge, edge, edge, cv2.BORDER_CONSTANT, value=1
    )
    stands = cv2.erode(room, walker, borderType=cv2.BORDER_CONSTANT, borderValue=1)
    _, labels = cv2.connectedComponents(stands, None, connectivity=4)
    walked = (labels == labels[0, 0]).astype(np.uint8)
    reached = cv2.dilate(walked, walker)[edge:-edge, edge:-edge]
    return np.asarray(reached == 0)


def _disc(radius: float, step: float) -> Bytes:
    size = 2 * max(1, round(radius / step)) + 1
    return np.asarray(cv2.getStructuringElement(cv2.MORPH_ELLIPSE, (size, size)), dtype=np.uint8)


def _whole(hidden: Mask, flat: Flat) -> tuple[Mask, bool]:
    """Return what is wider than a crease, with the points it narrows to, and if an edge is left.

    A long thin part beside it is its other edge, where the walker has slipped in between; if it
    runs out of the field, it is a seam or a crease.
    """
    filled = _filled(hidden)
    core = cv2.morphologyEx(filled.astype(np.uint8), cv2.MORPH_OPEN, _disc(1.2, flat.step)) > 0
    thin = filled & ~core
    _, labels, facts, _ = cv2.connectedComponentsWithStats(thin.astype(np.uint8), None)
    longest = np.maximum(facts[:, cv2.CC_STAT_WIDTH], facts[:, cv2.CC_STAT_HEIGHT]) * flat.step
    near = cv2.dilate(core.astype(np.uint8), np.ones((3, 3), dtype=np.uint8)) > 0
    touching = np.zeros(len(facts), dtype=bool)
    touching[np.unique(labels[near & thin])] = True
    leaving = np.zeros(len(facts), dtype=bool)
    leaving[np.unique(labels[_rim(flat) & thin])] = True
    touching[0] = False
    given_back = touching & (longest < LONGEST_POINT)
    slipped = bool((touching & ~given_back & ~leaving).any())
    body: Mask = core | given_back[labels]
    return body, slipped


def _rim(flat: Flat) -> Mask:
    """Return the outermost millimetre of the field."""
    inner = np.ones(flat.pixels.shape[:2], dtype=np.uint8)
    if flat.within is not None:
        inner[~flat.within] = 0
    wide = _disc(1.0, flat.step)
    eroded = cv2.erode(inner, wide, borderType=cv2.BORDER_CONSTANT, borderValue=0)
    return np.asarray(eroded == 0)


def _filled(mask: Mask) -> Mask:
    rings, _ = cv2.findContours(mask.astype(np.uint8), cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE)
    filled = np.zeros(mask.shape, dtype=np.uint8)
    cv2.drawContours(filled, rings, -1, 1, cv2.FILLED)
    return np.asarray(filled > 0)


def _refuse_clipped(body: Mask, flat: Flat) -> None:
    # The line stands a millimetre outside the knife already.
    grown = cv2.dilate(body.astype(np.uint8), np.ones((3, 3), dtype=np.uint8)) > 0
    if flat.seen is not None and bool((grown & ~flat.seen).any()):
        raise InputError(
            "the knife, or a part of the field beside it, is cut off by the picture's rim",
            mend="Step back until the whole sheet is in the picture",
        )
    out = grown[0].any() or grown[-1].any() or grown[:, 0].any() or grown[:, -1].any()
    if out or (flat.within is not None and bool((grown & ~flat.within).any())):
        raise InputError(
            "the knife reaches out of the sheet's empty field",
            mend="Lay it from corner to corner, or tape two sheets side by side",
        )


def _middle_of(part: Mask, flat: Flat) -> Floats:
    rows, columns = np.nonzero(part)
    middle: Floats = flat.to_mm(np.array([[columns.mean(), rows.mean()]]))[0]
    return middle


def _ring(body: Mask, flat: Flat) -> Floats:
    smooth = cv2.GaussianBlur(body.astype(np.float32), (0, 0), ROUND / flat.step)
    rings, _ = cv2.findContours(
        (smooth > 0.4).astype(np.uint8), cv2.RETR_EXTERNAL, cv2.CHAIN_APPROX_NONE
    )
    longest = max(rings, key=len).reshape(-1, 2).astype(float)
    ring = flat.to_mm(longest)
    x, y = ring.T
    # Twice the area by the shoelace rule: negative when clockwise.
    turned = float((x * np.roll(y, -1) - np.roll(x, -1) * y).sum())
    return ring if turned > 0 else ring[::-1]
