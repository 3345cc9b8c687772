"""Gauges and drill guides as drawings of their true size, to saw or to cut from sheet."""

from __future__ import annotations

from typing import TYPE_CHECKING

from shapely import Polygon

from chape.documents.to_dxf import pattern_dxf
from chape.documents.to_svg import pattern_svg
from chape.field.outline import fit_outline
from chape.sheath.model import Hole, HoleUse
from chape.tooling.drill_guide import PILOT

if TYPE_CHECKING:
    from chape.tooling.gauges import Gauges


def gauge_drawings(gauges: Gauges) -> dict[str, bytes]:
    """Return file name -> content of the fold gauge's and the drill guides' drawings."""
    plates: list[tuple[str, Polygon, tuple[tuple[float, float], ...]]] = [
        (f"drill-guide-{guide.name}", guide.shape, guide.holes) for guide in gauges.guides
    ]
    if gauges.fold is not None:
        plates.append(("fold-gauge", gauges.fold.shape, ()))
    files = {}
    for name, shape, pilots in plates:
        outline = fit_outline(Polygon(shape.exterior))
        holes = tuple(Hole(u, v, PILOT, HoleUse.EYELET, PILOT / 2) for u, v in pilots)
        title = name.replace("-", " ")
        files[f"drawings/{name}.dxf"] = pattern_dxf(outline, holes, None, title)
        files[f"drawings/{name}.svg"] = pattern_svg(outline, holes, None, title)
    return files
