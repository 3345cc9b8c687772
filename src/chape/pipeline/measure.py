"""From a picture of a knife to a folder with a knife file and an overlay to confirm."""

from __future__ import annotations

import tempfile
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np

from chape.documents.outline_drawing import outline_svg
from chape.documents.picture_overlay import Overlay, overlay_png
from chape.errors import InputError
from chape.knife.caliper import Disagreement, caliper_rows, corrected
from chape.knife.check import check_knife
from chape.knife.file import Direction, KnifeFile
from chape.knife.from_photo import FEWEST_MARKERS, Setting, measure_picture
from chape.knife.from_scan import measure_scan
from chape.knife.laying import Said
from chape.knife.markers import find_markers
from chape.knife.model import Edges
from chape.knife.picture import read_picture
from chape.knife.read import read_knife, read_knife_file
from chape.knife.reference_sheet import Paper
from chape.knife.spine_photo import SpineThickness, spine_of_picture
from chape.knife.write import DRAWING, USUAL_HANDLE, Told, guesses_of, knife_text
from chape.pipeline.measured import KNIFE, OVERLAY, Measurement
from chape.units import LengthUnit, show_length

if TYPE_CHECKING:
    from datetime import date

    from chape.findings import Finding
    from chape.knife.caliper import Rows
    from chape.knife.measured import Measured
    from chape.knife.picture import Picture

#: A handle whose thickness was guessed may be 6 mm thicker or thinner: under a camera 600 mm up its
#: mid-plane is off by 3 mm, and lengths by this share.
GUESSED_HANDLE = 0.005

#: Pictures that note fewer dots per inch do so by habit, and were not scanned.
SCANNED = 100.0

#: The knife is checked on a grid this wide, mm.
CHECKED_ON = 0.5


@dataclass(frozen=True, slots=True)
class Asked:
    """What the person says of a picture. Lengths in mm; None where it was not said.

    Attributes:
        name: of the knife; None takes the picture's.
        day: the knife was measured on; None takes the day the camera noted.
        tip, edge: where they point in the upright picture.
        blade_length: tip to the front of guard or handle.
        turn: turned further by this, degrees, counter-clockwise.
        edges: one or two.
        paper, bar: of the reference sheet, and what its bar measures.
        tip_height: of the blade's mid-plane above the paper at the tip.
        dpi: of a scan.
        spine: a photograph of the knife from above its spine.
        spine_rows, handle_rows: caliper readings, rows of x and full thickness; a row without a
            place (x is NaN) holds for the thickest one.
        caliper: a knife file whose thickness tables were measured with a caliper.
        unit: lengths are shown in.
    """

    name: str | None = None
    day: date | None = None
    tip: Direction | None = None
    edge: Direction | None = None
    blade_length: float | None = None
    turn: float = 0.0
    edges: Edges = Edges.SINGLE
    paper: Paper = Paper.A4
    bar: float | None = None
    tip_height: float = 0.0
    dpi: float | None = None
    spine: Path | None = None
    spine_rows: Rows = ()
    handle_rows: Rows = ()
    caliper: Path | None = None
    unit: LengthUnit = LengthUnit.MM


def measure_file(path: Path, asked: Asked) -> Measurement:
    """Measure the knife in a photograph or scan.

    Raises:
        InputError: no picture, no knife in it, or what was asked does not fit it.
    """
    picture = read_picture(path)
    tables = _caliper_tables(asked)
    said = Said(
        None if asked.tip is None else np.array(asked.tip.vector),
        None if asked.edge is None else np.array(asked.edge.vector),
        asked.blade_length,
        float(np.radians(asked.turn)),
        asked.edges,
    )
    try:
        measured = _measured(picture, asked, said, tables["handle"])
    except InputError as error:
        raise error.in_file(path) if error.file is None else error from None
    seen = None if asked.spine is None else _spine(asked.spine, asked, measured)
    if seen is not None:
        # Only now is it known where the knife gets thicker, and how high above the paper it lies.
        said = replace(said, blade_length=said.blade_length or seen.blade_end)
        butt, blade = measured.landmarks.butt, said.blade_length or measured.landmarks.blade_length
        rows = tables["handle"] or seen.handle_rows(blade, butt)
        measured = _measured(picture, asked, said, rows)
    spine, handle, differ = _thickness(measured, tables, seen)
    more = () if seen is None else seen.remarks
    told = Told(
        _name(asked.name) or path.stem[:80], f"{measured.how} {path.name}"[:200],
        asked.day or picture.taken,
        asked.edges, spine, handle,
    )  # fmt: skip
    return whole(measured, told, asked.unit, differ, more)


def _name(name: str | None) -> str:
    """Return a name in one line."""
    return " ".join((name or "").split())[:80]


def _caliper_tables(asked: Asked) -> dict[str, Rows]:
    """Return caliper readings of spine and handle: typed ones, else those of a knife file."""
    tables = {"spine": asked.spine_rows, "handle": asked.handle_rows}
    if asked.caliper is None:
        return tables
    file = read_knife_file(asked.caliper)
    if not isinstance(file, KnifeFile):
        raise InputError(
            "this is the file of a scanned knife, without thickness tables",
            mend="Name a knife file with [blade] and [handle]",
            file=asked.caliper,
        )
    file = file.in_mm()
    return {
        "spine": tables["spine"] or file.blade.spine_thickness,
        "handle": tables["handle"] or file.handle.thickness,
    }


def _measured(picture: Picture, asked: Asked, said: Said, handle: Rows) -> Measured:
    if asked.dpi is not None:
        if len(find_markers(picture).corners) >= FEWEST_MARKERS:
            raise InputError(
                "this is a photograph on the reference sheet, which has no dots per inch",
                mend="Leave out --dpi",
                field="dpi",
            )
        return measure_scan(picture, asked.dpi, said)
    noted = picture.focal_35 is None and (picture.dpi or 0.0) >= SCANNED
    if noted and not find_markers(picture).corners:
        return measure_scan(picture, None, said)
    thickness = max((row[1] for row in handle), default=USUAL_HANDLE)
    setting = Setting(thickness, asked.paper, asked.bar, asked.tip_height)
    measured = measure_picture(picture, setting, said)
    if handle:
        return measured
    return replace(measured, scale_error=float(np.hypot(measured.scale_error, GUESSED_HANDLE)))


def _spine(path: Path, asked: Asked, side: Measured) -> SpineThickness:
    setting = Setting(USUAL_HANDLE, asked.paper, asked.bar)
    try:
        return spine_of_picture(read_picture(path), setting, side)
    except InputError as error:
        raise error.in_file(path) if error.file is None else error from None


def _thickness(
    measured: Measured, tables: dict[str, Rows], seen: SpineThickness | None
) -> tuple[Rows | None, Rows | None, tuple[Disagreement, ...]]:
    """Return rows of spine and handle, and where caliper and photograph differ."""
    blade, butt = measured.landmarks.blade_length, measured.landmarks.butt
    if seen is None:
        spine = caliper_rows(tables["spine"], 0.0, blade, "blade")
        handle = caliper_rows(tables["handle"], blade, butt, "handle")
        return spine or None, handle or None, ()
    rows = seen.spine_rows(blade, tables["spine"])
    spine, first = corrected(rows, tables["spine"], 0.0, blade, "blade")
    rows = seen.handle_rows(blade, butt, tables["handle"])
    handle, second = corrected(rows, tables["handle"], blade, butt, "handle")
    return spine, handle, (*first, *second)


def whole(
    measured: Measured,
    told: Told,
    unit: LengthUnit,
    differ: tuple[Disagreement, ...],
    more: tuple[Finding, ...],
) -> Measurement:
    """Return what comes of a measured outline, its files read back as the reader will read them.

    Args:
        measured: the outline.
        told: what stands in the knife file beside it.
        unit: lengths are shown in.
        differ: where caliper and spine photograph differ.
        more: seen on the way, beside what ``measured`` remarks.

    Raises:
        InputError: no knife can be made of it.
    """
    guesses = guesses_of(measured, told)
    files = {
        KNIFE: knife_text(measured, told).encode("utf-8"),
        DRAWING: outline_svg(measured.outline, told.name),
    }
    with tempfile.TemporaryDirectory(prefix="chape-") as folder:
        for name, content in files.items():
            (Path(folder) / name).write_bytes(content)
        try:
            knife = read_knife(Path(folder) / KNIFE, CHECKED_ON)
        except InputError as error:
            raise InputError(error.problem, mend=error.mend, field=error.field) from None
    said = [f"To be measured yet: {', '.join(guesses)}."] if guesses else []
    if measured.laid.doubts:
        said.append(f"Guessed on weak signs: {'; '.join(measured.laid.doubts)}.")
    if not said:
        blade = show_length(measured.landmarks.blade_length, unit)
        said.append(f"Blade {blade}; x runs along the {measured.laid.along}.")
    overlay = Overlay(measured, knife.edge_band, told.name, tuple(said), unit)
    files[OVERLAY] = overlay_png(overlay)
    findings = (*measured.findings, *more, *check_knife(knife))
    return Measurement(files, measured, knife, guesses, differ, findings)
