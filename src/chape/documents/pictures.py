"""Every picture of a job, as drawings and as pixels."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from chape.documents import palette
from chape.documents.page_fit import FitPage, fit_drawings
from chape.documents.pattern import stem_of
from chape.documents.picture_clip import clip_on_sheath, clip_stem
from chape.documents.picture_fold import compensation, over_the_spine
from chape.documents.picture_leftover import leftover_picture
from chape.documents.picture_margins import margin_map
from chape.documents.picture_plan import flat_pattern, knife_in_sheath
from chape.documents.picture_relief import FIXTURE, MOULD, Block, relief
from chape.documents.picture_section import section_at, section_picture, stations
from chape.documents.to_pdf import png_of_svg
from chape.documents.to_png import png_of

if TYPE_CHECKING:
    from chape.documents.model import JobResults
    from chape.documents.picture_section import Section
    from chape.field.grid import Floats
    from chape.field.outline import Outline
    from chape.tooling.model import Fixture, Mould

#: Drawings are turned into pixels this finely.
PIXELS_PER_MM = 8.0


@dataclass(frozen=True, slots=True, eq=False)
class Pictures:
    """The pictures of a job.

    Attributes:
        drawings: name without ending -> SVG.
        views: name without ending -> PNG of a view that has no drawing.
        files: file name -> content of every picture, drawings also as pixels.
        sections: what the sections show, from tip to mouth.
        fit: name -> SVG of the pictures of the fit page.
    """

    drawings: dict[str, bytes]
    views: dict[str, bytes]
    files: dict[str, bytes]
    sections: tuple[Section, ...]
    fit: dict[str, bytes]

    @property
    def section_names(self) -> list[str]:
        """Names of the sections' drawings, from tip to mouth."""
        return [section_name(section) for section in self.sections]


def pictures_of(results: JobResults) -> Pictures:
    """Draw every picture of a job."""
    sheath, unit = results.sheath, results.unit
    walls = results.forming.walls
    sections = tuple(section_at(sheath, walls, x, title) for x, title in stations(sheath))
    drawings = {"home": knife_in_sheath(sheath, unit).svg()}
    if sheath.fold is not None:
        drawings["fold-strip"] = compensation(sheath.fold, unit).svg()
        drawings["fold-spine"] = over_the_spine(sheath, sheath.fold, unit).svg()
    for piece in sheath.pieces:
        drawings[stem_of("flat", sheath, piece)] = flat_pattern(sheath, piece, unit).svg()
        drawings[stem_of("margins", sheath, piece)] = margin_map(sheath, piece, unit).svg()
    for number, placed in enumerate(sheath.clips):
        picture = clip_on_sheath(sheath, placed, unit)
        drawings[clip_stem(number, placed)] = picture.svg()
    for section in sections:
        drawings[section_name(section)] = section_picture(section, sheath, unit).svg()
    for program in results.programs:
        picture = leftover_picture(program.setup, program.verdict.leftover, unit)
        drawings[f"leftover-{program.setup.name}"] = picture.svg()
    views = {
        "mould": png_of(relief(mould_block(results.mould), MOULD)),
        "fixture": png_of(relief(fixture_block(results.fixture), FIXTURE)),
    }
    fit = fit_drawings(FitPage(results.name, sheath, results.fit, unit))
    shown = drawings | {f"fit-{name}": drawing for name, drawing in fit.items()}
    return Pictures(drawings, views, _files(shown, views), sections, fit)


def _files(drawings: dict[str, bytes], views: dict[str, bytes]) -> dict[str, bytes]:
    files = {f"{name}.svg": drawing for name, drawing in drawings.items()}
    files |= {
        f"{name}.png": png_of_svg(drawing, PIXELS_PER_MM) for name, drawing in drawings.items()
    }
    return files | {f"{name}.png": view for name, view in views.items()}


def section_name(section: Section) -> str:
    """Return the name of a section's picture: "section-024"."""
    return f"section-{round(section.x):03d}"


def mould_block(mould: Mould) -> Block:
    """Return the mould as the eye sees it."""
    holes = (*mould.vents, *mould.dowels)
    return Block(mould.surface, mould.width, mould.depth, mould.z_bottom, holes)


def fixture_block(fixture: Fixture) -> Block:
    """Return the fixture as the eye sees it, the trim paths drawn on it."""
    lines = tuple((_ring(path), palette.COPPER) for path in fixture.trim_paths)
    holes = (*fixture.inserts, *fixture.pins, *fixture.reliefs)
    return Block(fixture.surface, fixture.width, fixture.depth, fixture.z_bottom, holes, lines)


def _ring(outline: Outline) -> Floats:
    points = outline.flattened(0.05)
    return np.vstack([points, points[:1]])
