"""A knife's outline from a photograph of it on a reference sheet.

The camera is found from the markers, the knife parted from its paper, its edge found in the
picture itself, and every point of it followed along its ray to the height of the knife's mid-plane.

What is left unknown is counted, each about as wide as nineteen of twenty pictures keep to, and put
together as squares:

- as a share of every length: the bar's reading or, unmeasured, what printers do; how little the
  picture says of the camera's height, times the knife's own height; the handle's caliper reading;
- besides: how the corners scatter, how the edge does, how far its faint parts, tip and butt may
  lie off, smoothing, and that a rounded side is seen a little above or below its mid-plane.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np
import shapely

from chape.errors import InputError
from chape.findings import Finding, Severity
from chape.knife.camera import solve_camera
from chape.knife.edge import SMOOTHING_BOUND, find_edge
from chape.knife.field_view import field_view, refuse_on_markers
from chape.knife.laying import Said, lay_outline
from chape.knife.leaning import leaning_between
from chape.knife.light import light_at
from chape.knife.markers import find_markers
from chape.knife.measured import Measured
from chape.knife.picture import read_picture
from chape.knife.reference_sheet import BAR, Paper, reference_sheet
from chape.knife.segment import silhouette

if TYPE_CHECKING:
    from pathlib import Path

    from chape.field.grid import Floats
    from chape.knife.camera import Camera
    from chape.knife.edge import Edge
    from chape.knife.laying import LaidOutline
    from chape.knife.leaning import Leaning
    from chape.knife.light import Light
    from chape.knife.markers import Markers
    from chape.knife.picture import Picture
    from chape.knife.reference_sheet import ReferenceSheet

#: A picture is refused with fewer markers than this, taken from further off square, radians, with
#: more blur, mm, or with corners further from where they should be, mm.
FEWEST_MARKERS, STEEPEST, MOST_BLUR, MOST_ASTRAY = 8, np.radians(35.0), 0.35, 0.3

#: One pixel may show at most this much of the sheet, mm.
COARSEST = 0.4

#: Paper this bright, as light from 0 to 1, is burnt out: a bright blade no longer differs from it.
BURNT, DARK = 0.97, 0.02

#: Printers are true to this share (common practice, no source); a bar is read to this, mm.
PRINTER, BAR_READING = 0.004, 0.2

#: A handle is measured to this with a caliper, and lies as is thought here to this, mm.
HANDLE_READING = 0.4

#: A rounded side is seen this share of its half thickness above or below its mid-plane.
ROUNDED = 0.15

#: With a tip or butt that may lie off by more than this, mm, a picture is refused.
END_UNSURE = 1.8

#: Where no edge can be seen the outline is carried on: more than this share of it is remarked on,
#: and with more than the second the picture is refused.
REMARKED, REFUSED = 0.01, 0.25

#: Where some edge cannot be seen, a part narrower and longer than this, mm, is no blade but one of
#: its sides: the other was not found. The line near the edge stands usually so far outside it, mm.
NARROW, LONG, OUTSIDE = 6.0, 40.0, 1.2

#: What makes a faint edge clear.
BETTER_LIGHT = (
    "Light it from another side or more softly, let the blade mirror something dark, or lower the "
    "exposure until the paper is light grey"
)


@dataclass(frozen=True, slots=True)
class Setting:
    """What the person says of a photograph.

    Attributes:
        thickness: of the handle where it touches the paper, by caliper, mm.
        paper: that the sheet was printed on.
        bar: what its bar measures, mm; None unmeasured.
        tip_height: of the mid-plane above the paper at the tip, mm: about 0 for a knife that simply
            lies there, half the handle's thickness for one propped up level.
    """

    thickness: float
    paper: Paper = Paper.A4
    bar: float | None = None
    tip_height: float = 0.0


def measure_photo(path: Path, setting: Setting, said: Said | None = None) -> Measured:
    """Measure a knife's outline in a photograph.

    Args:
        path: JPEG, PNG, TIFF or HEIC.
        setting: what the person says of it.
        said: of the knife; directions as the upright picture shows them, y up.

    Raises:
        InputError: no such picture, or one that no knife can be measured in; it says why.
    """
    try:
        return measure_picture(read_picture(path), setting, said)
    except InputError as error:
        raise error.in_file(path) if error.file is None else error from None


def measure_picture(picture: Picture, setting: Setting, said: Said | None = None) -> Measured:
    """Measure a knife's outline in a picture that was read; see ``measure_photo``."""
    _check_setting(setting)
    markers = find_markers(picture)
    sheets = _sheets(markers, setting)
    camera = solve_camera(markers.corners, sheets, picture)
    sheets = tuple(s for s in sheets if s is sheets[0] or s.index in camera.placed)
    _refuse_poor(camera, markers)
    near = silhouette(field_view(picture, camera, sheets, markers.corners))
    refuse_on_markers(near, camera, sheets, markers.corners)

    def sample(places: Floats) -> Light:
        flat = places.reshape(-1, 2)
        pixels = camera.to_pixels(np.column_stack([flat, np.zeros(len(flat))]))
        return light_at(picture.pixels, pixels.reshape(places.shape))

    edge = find_edge(near, sample, _blur(camera, markers))
    _refuse_unseen(edge, near)
    pixels = camera.to_pixels(np.column_stack([edge.ring, np.zeros(len(edge.ring))]))
    laid, leaning = _laid(pixels, camera, setting, _on_sheet(said, camera, picture))
    ends = _ends_unsure(edge, laid, leaning, camera)
    scale, parts = _errors(camera, markers, edge, ends, setting, laid)
    return Measured(
        "photo",
        laid,
        picture,
        lambda points: leaning.to_pixels(leaning.shrunk(laid.to_seen(points)), camera),
        scale,
        float(np.sqrt(sum(part**2 for part in parts))),
        _remarks(camera, edge, setting, laid),
    )


def _check_setting(setting: Setting) -> None:
    if not 1 <= setting.thickness <= 80:
        raise InputError(
            f"a handle {setting.thickness:g} mm thick is none",
            mend="Give its full thickness where it touches the paper, 1 to 80 mm",
            field="thickness",
        )
    if not -1 <= setting.tip_height <= 100:
        raise InputError(
            f"the tip's mid-plane cannot lie {setting.tip_height:g} mm above the paper",
            mend="Give 0 for a knife that lies on the paper",
            field="tip_height",
        )


def _sheets(markers: Markers, setting: Setting) -> tuple[ReferenceSheet, ...]:
    """Return the sheets in the picture, the one seen best first."""
    if len(markers.corners) == 0:
        raise InputError(
            "no marker of a reference sheet can be made out",
            mend="Print the sheet with chape sheet, lay the knife in its field, and take the "
            "picture sharp, from straight above, with the whole sheet in it",
        )
    sheets = (reference_sheet(setting.paper, index) for index in markers.sheets)
    if setting.bar is None:
        return tuple(sheets)
    return tuple(sheet.scaled(setting.bar) for sheet in sheets)


def _blur(camera: Camera, markers: Markers) -> float:
    """Return the picture's blur on the sheet, mm."""
    return markers.blur * camera.height / camera.focal


def _refuse_poor(camera: Camera, markers: Markers) -> None:
    pixel = camera.height / camera.focal
    if camera.markers < FEWEST_MARKERS:
        raise InputError(
            f"only {camera.markers} markers of the sheet can be made out, and {FEWEST_MARKERS} are "
            "needed",
            mend="Take the picture with the whole sheet in it, in even light, nothing on the "
            "markers",
        )
    if camera.tilt > STEEPEST:
        raise InputError(
            f"the camera was held {np.degrees(camera.tilt):.0f} degrees off square, more than "
            f"{np.degrees(STEEPEST):.0f}",
            mend="Hold it straight above the knife",
        )
    if pixel > COARSEST:
        raise InputError(
            f"one pixel shows {pixel:.2f} mm of the sheet, more than {COARSEST:g} mm",
            mend="Go nearer, or give the picture at its full size",
        )
    if _blur(camera, markers) > MOST_BLUR:
        raise InputError(
            f"the picture is blurred over {2 * _blur(camera, markers):.1f} mm",
            mend="Tap on the knife to focus, hold the phone still or prop it up, and wipe its lens",
        )
    if camera.residual * pixel > MOST_ASTRAY:
        raise InputError(
            f"the markers lie {camera.residual * pixel:.2f} mm from where a flat sheet shows them",
            mend="Tape the sheet flat on a board; where it is printed on letter paper, say so",
        )
    if markers.paper > BURNT:
        raise InputError(
            "the paper is burnt out: it is as bright as the picture can show",
            mend="Lower the exposure until the paper is light grey",
        )
    if markers.paper < DARK:
        raise InputError("the picture is too dark", mend="Take it in more light")


def _refuse_unseen(edge: Edge, near: Floats) -> None:
    if edge.unseen > REFUSED:
        raise InputError(
            f"{edge.unseen:.0%} of the knife's edge cannot be told from the paper",
            mend=BETTER_LIGHT,
        )
    longest = _longest_strip(near)
    if edge.unseen > REMARKED and longest > LONG:
        raise InputError(
            f"the tip cannot be told from the sheet: over {longest:.0f} mm only a strip less than "
            f"{NARROW:g} mm wide is to be made out",
            mend=BETTER_LIGHT,
        )


def _longest_strip(near: Floats) -> float:
    """Return the length of the longest part narrower than ``NARROW``, mm."""
    body = shapely.Polygon(near).buffer(-OUTSIDE)
    broad = body.buffer(-NARROW / 2).buffer(NARROW / 2 + 0.1)
    strips = shapely.get_parts(body.difference(broad))
    return max((each.length / 2 for each in strips), default=0.0)


def _on_sheet(said: Said | None, camera: Camera, picture: Picture) -> Said:
    """Return what was said with directions of the picture turned onto the sheet."""
    if said is None:
        return Said()
    middle = np.array(picture.size) / 2

    def turned(direction: Floats | None) -> Floats | None:
        if direction is None:
            return None
        # The picture's rows run down.
        ends = np.array([middle, middle + 20 * np.asarray(direction) * np.array([1.0, -1.0])])
        start, end = camera.to_plane(ends, 0.0)
        way: Floats = (end - start) / np.hypot(*(end - start))
        return way

    return replace(said, tip=turned(said.tip), edge=turned(said.edge))


def _laid(
    pixels: Floats, camera: Camera, setting: Setting, said: Said
) -> tuple[LaidOutline, Leaning]:
    """Return the outline measured on the knife's mid-plane, and where that lies."""
    ring = camera.to_plane(pixels, setting.thickness / 4)
    laid = lay_outline(ring, said)
    for _ in range(3):
        tip, butt = _ends(laid)
        leaning = leaning_between(tip, butt, setting.tip_height, setting.thickness / 2)
        ring = leaning.stretched(leaning.seen(pixels, camera))
        laid = lay_outline(ring, said)
    return laid, leaning


def _ends(laid: LaidOutline) -> tuple[Floats, Floats]:
    """Return tip and butt where they were seen, (2,) mm each, at one height of the outline."""
    x_min, y_min, x_max, y_max = laid.outline.bounds
    middle = (y_min + y_max) / 2
    tip, butt = laid.to_seen(np.array([[x_min, middle], [x_max, middle]]))
    return tip, butt


def _ends_unsure(edge: Edge, laid: LaidOutline, leaning: Leaning, camera: Camera) -> float:
    """Return how far tip or butt may lie off, mm, as nineteen of twenty pictures keep to.

    Raises:
        InputError: too far.
    """
    ring = shapely.get_coordinates(laid.outline.exterior)
    ends = laid.to_seen(ring[[int(np.argmin(ring[:, 0])), int(np.argmax(ring[:, 0]))]])
    pixels = leaning.to_pixels(leaning.shrunk(ends), camera)
    unsure = [2 * edge.unsure_near(place) for place in camera.to_plane(pixels, 0.0)]
    for name, far in zip(("tip", "butt"), unsure, strict=True):
        if far > END_UNSURE:
            raise InputError(
                f"the {name} cannot be told from the sheet: it may lie {far:.1f} mm off",
                mend=BETTER_LIGHT,
            )
    return max(unsure)


def _errors(
    camera: Camera, markers: Markers, edge: Edge, ends: float, setting: Setting, laid: LaidOutline
) -> tuple[float, tuple[float, ...]]:
    """Return how far lengths may be off, as a share, and what else may be off, mm."""
    pixel = camera.height / camera.focal
    height = (setting.thickness / 2 + setting.tip_height) / 2
    above = camera.height - height
    printed = PRINTER if setting.bar is None else BAR_READING / BAR
    focal = 2 * camera.focal_spread * height / above
    handle = HANDLE_READING / 2 / above
    scale = float(np.sqrt(printed**2 + focal**2 + handle**2))
    corners = 2 * camera.residual * pixel / np.sqrt(camera.markers)
    faint = max(2 * float(np.percentile(edge.unsure, 95)), ends)
    foot = camera.position[:2]
    ring = laid.to_seen(shapely.get_coordinates(laid.outline.exterior))
    far = float(np.percentile(np.hypot(*(ring - foot).T), 95))
    rounded = ROUNDED * setting.thickness / 2 * far / above
    soft = 0.1 * markers.blur * pixel
    return scale, (corners, 2 * edge.scatter, faint, SMOOTHING_BOUND, rounded, soft)


def _remarks(
    camera: Camera, edge: Edge, setting: Setting, laid: LaidOutline
) -> tuple[Finding, ...]:
    found = []
    length = float(laid.outline.bounds[2])
    if setting.bar is None:
        found.append(
            Finding(
                "photo-bar-unmeasured",
                Severity.WARNING,
                "reference sheet",
                "The sheet's bar was not measured, and printers are true only to about "
                f"{PRINTER:.1%}: {PRINTER * length:.1f} mm on this knife.",
                f"Measure the bar of {BAR:g} mm and give its length.",
                PRINTER * length,
            )
        )
    lean = camera.focal_spread * setting.thickness / 2 / camera.height * length
    if lean > 0.15:
        found.append(
            Finding(
                "photo-height-unsure",
                Severity.WARNING,
                "camera",
                f"The picture hardly tells how high the camera stood (about {camera.height:.0f} "
                f"mm): the knife may be {lean:.1f} mm longer or shorter.",
                "Give the picture as the phone took it, with what it notes of its lens; or hold "
                "it 10 degrees off square; or step back and zoom in.",
                lean,
                0.15,
            )
        )
    unseen = edge.unseen
    if unseen > REMARKED:
        found.append(
            Finding(
                "photo-edge-faint",
                Severity.WARNING,
                "outline",
                f"{unseen:.0%} of the outline cannot be told from the paper, and was carried on "
                "from beside it.",
                "Look at the overlay there; let the blade mirror something dark, or light it from "
                "another side.",
                100 * unseen,
                100 * REMARKED,
                "%",
            )
        )
    return tuple(found)
