"""From what a sheath made by hand comes to, to its papers, drawings, meshes and figures."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from chape.documents.figures import figures_json
from chape.documents.figures_outline import gauge_figures
from chape.documents.gauge_drawings import gauge_drawings
from chape.documents.meshes import mesh_files, tried_with
from chape.documents.page_by_hand import by_hand_pdf
from chape.documents.page_template import shortened, template_pdf, tiled_pdf
from chape.documents.pattern import fold_line, stem_of
from chape.documents.picture_boards import layer_drawing, plate_drawing, profile_drawing
from chape.documents.picture_margins import margin_map
from chape.documents.picture_plan import flat_pattern, knife_in_sheath
from chape.documents.to_dxf import pattern_dxf
from chape.documents.to_svg import pattern_svg
from chape.field.surface import solid_below
from chape.tooling.drill_guide import PILOT
from chape.tooling.profile_boards import DOWEL
from chape.units import show_length

if TYPE_CHECKING:
    from chape.documents.page_by_hand import ByHand
    from chape.documents.sketch import Sketch
    from chape.tooling.profile_boards import Former

#: Plate below the flange plane of a former that is printed, mm.
BASE = 3.0

#: A printed former follows its surface within this, mm.
FAITHFUL = 0.02


def compose_by_hand(work: ByHand) -> dict[str, bytes]:
    """Return relative file name -> content of everything for a sheath made by hand.

    The same sheath gives the same bytes.
    """
    sheath, unit = work.sheath, work.unit
    files = {
        "by-hand.pdf": by_hand_pdf(work),
        "figures.json": figures_json(_figures(work)),
        "pictures/home.svg": knife_in_sheath(sheath, unit).svg(),
    }
    for piece, former in zip(sheath.pieces, work.formers, strict=True):
        stem = stem_of("template", sheath, piece)
        files[f"templates/{stem}.pdf"] = template_pdf(work, piece, work.paper)
        for layer in former.layers:
            name = stem_of(f"layer-{layer.number}", sheath, piece)
            drawing = layer_drawing(former, layer, piece, unit)
            files[f"templates/{name}.pdf"] = _of_former(work, former, drawing)
        profiles = stem_of("profiles", sheath, piece)
        files[f"templates/{profiles}.pdf"] = _of_former(work, former, profile_drawing(former, unit))
        flat, margins = stem_of("flat", sheath, piece), stem_of("margins", sheath, piece)
        files[f"pictures/{flat}.svg"] = flat_pattern(sheath, piece, unit).svg()
        files[f"pictures/{margins}.svg"] = margin_map(sheath, piece, unit).svg()
        fold = None if sheath.fold is None else fold_line(piece.pattern)
        pattern = f"drawings/{stem_of('flat-pattern', sheath, piece)}"
        drawn = (piece.pattern, piece.holes, fold, " ".join(work.name.split()), piece.slots)
        files[f"{pattern}.dxf"] = pattern_dxf(*drawn)
        files[f"{pattern}.svg"] = pattern_svg(*drawn)
    files |= _plates(work)
    bodies = tried_with(work.dummy, work.gauges)
    for piece in sheath.pieces:
        bodies[stem_of("former", sheath, piece)] = solid_below(piece.formed, -BASE, FAITHFUL)
    return files | gauge_drawings(work.gauges) | mesh_files(bodies)


def _plates(work: ByHand) -> dict[str, bytes]:
    """Return the drill guides and the fold gauge at 1:1, to saw from board or sheet."""
    files = {}
    for guide in work.gauges.guides:
        drawing = plate_drawing(guide.shape, f"Drill guide, {guide.name}")
        files[f"templates/drill-guide-{guide.name}.pdf"] = _true_size(
            work,
            drawing,
            f"drill guide, {guide.name}, seen from the sheath's outside",
            f"Solid: saw, and drill {show_length(PILOT, work.unit)}. It lies on the flange.",
        )
    if work.gauges.fold is not None:
        drawing = plate_drawing(work.gauges.fold.shape, "Fold gauge")
        files["templates/fold-gauge.pdf"] = _true_size(
            work, drawing, "fold gauge", "Notched slots must go on, the others must not."
        )
    return files


def _of_former(work: ByHand, former: Former, drawing: Sketch) -> bytes:
    return _true_size(
        work,
        drawing,
        f"former of the {former.name}",
        f"Solid: saw. Broken: the next layer. Circles: dowels, {show_length(DOWEL, work.unit)}.",
    )


def _true_size(work: ByHand, drawing: Sketch, said: str, how: str) -> bytes:
    words = {
        "name": shortened(work.name, 80),
        "said": said + ("" if work.date is None else f", {work.date.isoformat()}"),
        "print-said": "Print at 100 %, no fitting to the page.",
        "holes-said": how,
    }
    return tiled_pdf(drawing, words, work.paper, work.unit, work.date)


def _figures(work: ByHand) -> dict[str, Any]:
    press, heating = work.press, work.heating
    return {
        "name": work.name,
        "shown_in": work.unit.value,
        "made": "by hand",
        "snap_depth": work.sheath.choices.snap_depth,
        "formers": {
            former.name: {
                "board": former.board,
                "layers": [layer.z_top for layer in former.layers],
                "profiles": [profile.u for profile in former.profiles],
            }
            for former in work.formers
        },
        "press": {
            "sheet": list(press.sheet),
            "board": list(press.board),
            "foam": press.foam,
            "pressure": press.pressure,
            "force": press.force,
            "clamps": press.clamps,
        },
        "heater": work.heater.name,
        "heating_seconds": None if heating.ready is None else heating.ready.value,
        "gauges": gauge_figures(work.gauges),
        "findings": [
            {"code": f.code, "severity": f.severity.value, "place": f.place, "message": f.message}
            for f in work.findings
        ],
    }
