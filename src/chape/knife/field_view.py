"""The empty field of one or more sheets as seen straight from above."""

from __future__ import annotations

from typing import TYPE_CHECKING

import cv2
import numpy as np
import shapely

from chape.errors import InputError
from chape.knife.reference_sheet import ROUND
from chape.knife.segment import Flat

if TYPE_CHECKING:
    from shapely import Polygon

    from chape.field.grid import Floats
    from chape.knife.camera import Camera
    from chape.knife.light import Light
    from chape.knife.picture import Picture
    from chape.knife.reference_sheet import ReferenceSheet

#: Side of a pixel of the view, mm: fine enough to part a knife from its paper.
STEP = 0.2

#: The field is taken this much smaller, mm: sheets are not cut or printed truly.
MARGIN = 0.5

#: The camera is worked out only every so many pixels of the view; between them it is straight.
NET = 16


def placed_on_first(points: Floats, camera: Camera, sheet: ReferenceSheet) -> Floats:
    """Return points (n, 2) of a sheet on the first sheet's frame, mm."""
    x, y, turn = camera.placed.get(sheet.index, (0.0, 0.0, 0.0))
    spin = np.array([[np.cos(turn), np.sin(turn)], [-np.sin(turn), np.cos(turn)]])
    placed: Floats = points @ spin + np.array([x, y])
    return placed


def field_of(sheets: tuple[ReferenceSheet, ...], camera: Camera) -> Polygon:
    """Return the empty field of sheets taped together, mm: what lies between their markers."""
    corners = []
    for sheet in sheets:
        x_min, y_min, x_max, y_max = sheet.field
        box = shapely.get_coordinates(shapely.box(x_min, y_min, x_max, y_max).buffer(-MARGIN))
        corners.append(placed_on_first(box, camera, sheet))
    return shapely.convex_hull(shapely.multipoints(np.concatenate(corners)))


def field_view(
    picture: Picture,
    camera: Camera,
    sheets: tuple[ReferenceSheet, ...],
    seen: dict[int, Floats],
) -> Flat:
    """Return the field of sheets from straight above.

    Args:
        picture: the photograph.
        camera: that took it.
        sheets: in the order the camera was solved with.
        seen: the markers that were found.
    """
    field = field_of(sheets, camera)
    x_min, y_min, x_max, y_max = field.bounds
    columns, rows = round((x_max - x_min) / STEP), round((y_max - y_min) / STEP)
    places = _pixels(camera, (x_min, y_max), (rows, columns))
    across, down = np.ascontiguousarray(places[..., 0]), np.ascontiguousarray(places[..., 1])
    pixels = cv2.remap(
        _shrunk_to(picture, camera), across, down, cv2.INTER_LINEAR, borderMode=cv2.BORDER_REPLICATE
    )
    width, height = picture.size
    shown = (across > 0) & (across < width - 1) & (down > 0) & (down < height - 1)
    flat = Flat(np.asarray(pixels, dtype=np.uint8), STEP, (x_min, y_max), shown)
    within = _mask(flat, [shapely.get_coordinates(field.exterior)])
    marks = [
        placed_on_first(corners, camera, sheet)
        for sheet in sheets
        for number, corners in sheet.corners.items()
        if number in seen
    ]
    paper = _mask(flat, [_grown(mark, ROUND / 4) for mark in marks])
    return Flat(flat.pixels, STEP, flat.corner, shown, paper, within)


def refuse_on_markers(
    outline: Floats,
    camera: Camera,
    sheets: tuple[ReferenceSheet, ...],
    seen: dict[int, Floats],
) -> None:
    """Refuse a knife on a row of printed markers: they would be taken for parts of it.

    A row that is folded under shows none of its markers, and hides none of the knife.

    Raises:
        InputError: it lies on one.
    """
    knife = shapely.Polygon(outline).buffer(1.0)
    field = field_of(sheets, camera)
    for sheet in sheets:
        rows: dict[tuple[bool, float], list[int]] = {}
        for number, corners in sheet.corners.items():
            x, y = corners.mean(axis=0)
            rows.setdefault((True, round(float(x), 1)), []).append(number)
            rows.setdefault((False, round(float(y), 1)), []).append(number)
        for row in rows.values():
            if len(row) < 3 or not any(number in seen for number in row):
                continue
            boxes = [placed_on_first(sheet.corners[number], camera, sheet) for number in row]
            hidden = [
                shapely.Polygon(box)
                for number, box in zip(row, boxes, strict=True)
                if number not in seen
            ]
            if any(knife.intersects(box) and field.intersects(box) for box in hidden):
                raise InputError(
                    "the knife lies on printed markers",
                    mend="Where two sheets meet, fold their rows of markers under, and tape the "
                    "folds together",
                )


def _pixels(camera: Camera, corner: tuple[float, float], shape: tuple[int, int]) -> Light:
    """Return where the picture shows each pixel of the view, (rows, columns, 2)."""
    rows, columns = shape
    net_rows, net_columns = -(-rows // NET) + 2, -(-columns // NET) + 2
    # A net's value stands for the middle of its block of pixels; the first block is outside.
    x = corner[0] + STEP * (NET * (np.arange(net_columns) - 0.5) - 0.5)
    y = corner[1] - STEP * (NET * (np.arange(net_rows) - 0.5) - 0.5)
    spots = np.stack(np.meshgrid(x, y), axis=-1).reshape(-1, 2)
    found = camera.to_pixels(np.column_stack([spots, np.zeros(len(spots))]))
    net = found.reshape(net_rows, net_columns, 2).astype(np.float32)
    size = (net_columns * NET, net_rows * NET)
    fine = cv2.resize(net, size, interpolation=cv2.INTER_LINEAR)
    return np.asarray(fine[NET : NET + rows, NET : NET + columns], dtype=np.float32)


def _shrunk_to(picture: Picture, camera: Camera) -> cv2.typing.MatLike:
    """Return the picture, averaged a little where its pixels are much finer than the view's."""
    pixels_of_view = STEP * camera.focal / camera.height
    if pixels_of_view < 2:
        return picture.pixels
    wide = 2 * round(pixels_of_view / 2) + 1
    return cv2.blur(picture.pixels, (wide, wide))


def _mask(flat: Flat, rings: list[Floats]) -> np.ndarray[tuple[int, ...], np.dtype[np.bool_]]:
    mask = np.zeros(flat.pixels.shape[:2], dtype=np.uint8)
    x, y = flat.corner
    for ring in rings:
        places = np.column_stack([(ring[:, 0] - x) / flat.step, (y - ring[:, 1]) / flat.step])
        cv2.fillPoly(mask, [np.rint(places).astype(np.int32)], 1)
    return mask > 0


def _grown(corners: Floats, by: float) -> Floats:
    middle = corners.mean(axis=0)
    away = corners - middle
    grown: Floats = middle + away * (1 + by / np.abs(away).max())
    return grown
