"""From a scanned knife's mesh to a folder with a knife file, the mesh and an overlay."""

from __future__ import annotations

import json
import tempfile
from pathlib import Path
from typing import TYPE_CHECKING, cast

import numpy as np

from chape.catalog.files import read_bytes
from chape.documents.picture_overlay import Overlay, overlay_png
from chape.errors import InputError
from chape.field.mesh_file import LARGEST_MESH
from chape.knife.check import check_knife
from chape.knife.file_mesh import Heading
from chape.knife.from_mesh import measure_mesh
from chape.knife.landmarks import Landmarks
from chape.knife.laying import LaidOutline
from chape.knife.measured import Measured
from chape.knife.picture import Picture
from chape.knife.read import knife_of_mesh, read_knife_file
from chape.pipeline.measured import KNIFE, OVERLAY, Measurement
from chape.units import show_length

if TYPE_CHECKING:
    from datetime import date

    from chape.field.grid import Floats
    from chape.field.heights import HeightField
    from chape.knife.file_mesh import MeshKnifeFile
    from chape.knife.model import Edges, Knife
    from chape.units import LengthUnit

#: Hand-held scanners keep to this, mm; common practice, no source: yours is in its papers.
SCANNER = 0.2

#: The overlay shows the knife on a grid this wide, mm.
SHOWN_ON = 0.2


def measure_mesh_file(
    path: Path,
    name: str | None,
    day: date | None,
    edges: Edges,
    said: dict[str, str | float],
    unit: LengthUnit,
) -> Measurement:
    """Measure the knife of a mesh.

    Args:
        path: a .stl, .ply, .obj or .3mf file.
        name: of the knife; None takes the file's.
        day: of the scan.
        edges: one or two.
        said: keys of the ``[mesh]`` table that the person gave, mm.
        unit: lengths are shown in.

    Raises:
        InputError: the mesh cannot be read, or is no knife.
    """
    content = read_bytes(path, LARGEST_MESH)
    title = (name or path.stem)[:80]
    text = _text(title, path.name, day, edges, said)
    with tempfile.TemporaryDirectory(prefix="chape-") as folder:
        (Path(folder) / path.name).write_bytes(content)
        (Path(folder) / KNIFE).write_text(text, "utf-8")
        try:
            knife, found = _read(Path(folder) / KNIFE)
        except InputError as error:
            raise InputError(error.problem, mend=error.mend, file=path, field=error.field) from None
    # What was found is written down, so that another version finds no other knife in the mesh.
    text = _text(title, path.name, day, edges, {**found, **said})
    measured = _measured(knife)
    blade = show_length(knife.blade_length, unit)
    thick = show_length(knife.thickness, unit)
    lines = (f"Blade {blade}, {thick} thick at most. Brighter is thicker.",)
    files = {
        KNIFE: text.encode("utf-8"),
        path.name: content,
        OVERLAY: overlay_png(Overlay(measured, knife.edge_band, title, lines, unit)),
    }
    return Measurement(files, measured, knife, (), (), check_knife(knife))


def _read(path: Path) -> tuple[Knife, dict[str, str | float]]:
    """Return the knife of a knife file, and how its mesh was found to lie."""
    file = cast("MeshKnifeFile", read_knife_file(path)).in_mm()
    mesh = measure_mesh(file.mesh, file.knife.edges, SHOWN_ON, path.parent)
    found: dict[str, str | float] = {} if mesh.unit is None else {"unit": str(mesh.unit)}
    return knife_of_mesh(file, mesh), {**found, "tip": str(mesh.tip), "edge": str(mesh.edge)}


def headings(words: dict[str, str | None]) -> dict[str, str]:
    """Return where tip and edge point in a mesh's file, checked.

    Raises:
        InputError: no axis of a mesh.
    """
    for key, word in words.items():
        if word is not None and word not in set(Heading):
            raise InputError(f'found --{key} "{word}"', mend='Write an axis of the mesh, "-x"')
    return {key: word for key, word in words.items() if word is not None}


def _text(
    name: str, mesh: str, day: date | None, edges: Edges, said: dict[str, str | float]
) -> str:
    measured = "" if day is None else f"measured = {day.isoformat()}\n"
    more = "".join(f"{key} = {json.dumps(value)}\n" for key, value in said.items())
    return f"""\
# A scanned knife. Compare length, width and thickness with a caliper before you trust it.

[knife]
name = {json.dumps(name, ensure_ascii=False)}
edges = "{edges}"
source = {json.dumps(f"scan {mesh}"[:200], ensure_ascii=False)}
{measured}uncertainty = {SCANNER:g}        # usual for a hand-held scanner; yours is in its papers

[mesh]
file = {json.dumps(mesh, ensure_ascii=False)}
{more}"""


def _measured(knife: Knife) -> Measured:
    """Return the knife with a picture of its half-thickness, brighter where it is thicker."""
    grid = knife.half.grid
    marks = Landmarks(knife.blade_length, None, knife.blade_length, knife.outline.bounds[2])
    laid = LaidOutline(knife.outline, np.eye(2), np.zeros(2), marks, "edge", ())

    def to_pixels(points: Floats) -> Floats:
        columns = (points[:, 0] - grid.x[0]) / grid.spacing
        rows = (grid.y[-1] - points[:, 1]) / grid.spacing
        return np.column_stack([columns, rows])

    return Measured("mesh", laid, _shaded(knife.half), to_pixels, 0.0, knife.uncertainty)


def _shaded(half: HeightField) -> Picture:
    share = half.z / max(float(half.z.max()), 1e-9)
    grey = np.where(half.z > 0, 70 + 170 * np.sqrt(share), 255.0)[::-1]
    pixels = np.repeat(np.rint(grey)[..., None], 3, axis=2).astype(np.uint8)
    return Picture(np.ascontiguousarray(pixels), None, None)
