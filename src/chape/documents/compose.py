"""From a job's results to its pages, pictures and figures."""

from __future__ import annotations

from typing import TYPE_CHECKING

from chape.documents.figures import figures_json, figures_of
from chape.documents.gauge_drawings import gauge_drawings
from chape.documents.page_fit import FitPage, fit_drawings, fit_pdf
from chape.documents.page_forming import settings_pdf
from chape.documents.page_job import job_page
from chape.documents.page_template import template_pdf
from chape.documents.page_zero import zero_pdf
from chape.documents.pattern import fold_line, stem_of
from chape.documents.tiles import PAPERS
from chape.documents.to_dxf import pattern_dxf
from chape.documents.to_pdf import pdf_of
from chape.documents.to_svg import pattern_svg
from chape.errors import InputError

if TYPE_CHECKING:
    from chape.documents.model import JobResults
    from chape.documents.pictures import Pictures


def compose_job(results: JobResults, pictures: Pictures) -> dict[str, bytes]:
    """Return relative file name -> content of every document of a job.

    The same results give the same bytes.

    Args:
        results: what the job came to.
        pictures: of the same results (``pictures_of``).

    Raises:
        InputError: the paper is none we know.
    """
    if results.paper not in PAPERS:
        known = " or ".join(f'"{name}"' for name in PAPERS)
        raise InputError(f'found paper "{results.paper}"', mend=f"Write {known}", field="paper")
    drawings = {f"{name}.svg": drawing for name, drawing in pictures.drawings.items()}
    views = {f"{name}.png": view for name, view in pictures.views.items()}
    page = job_page(results, [f"{name}.svg" for name in pictures.section_names])
    files = {
        "job.pdf": pdf_of("job.typ", page, drawings | views, results.date),
        "settings.pdf": settings_pdf(results),
        "zero-check.pdf": zero_pdf(results),
        "fit.pdf": fit_pdf(fit_page(results), pictures.fit),
        "figures.json": figures_json(figures_of(results, pictures.sections)),
    }
    files |= _templates(results) | _drawings(results)
    if results.gauges is not None:
        files |= gauge_drawings(results.gauges)
    return files | {f"pictures/{name}": made for name, made in pictures.files.items()}


def compose_other(results: JobResults) -> dict[str, bytes]:
    """Return the documents of a further sheath on a job's blank: its fit, templates, drawings.

    Args:
        results: the job's, with the sheath, its knife and its fit in the place of the first one's.
    """
    fit = fit_drawings(fit_page(results))
    files = {"fit.pdf": fit_pdf(fit_page(results), fit)}
    files |= _templates(results) | _drawings(results)
    if results.gauges is not None:
        files |= gauge_drawings(results.gauges)
    return files


def _templates(results: JobResults) -> dict[str, bytes]:
    """Return every piece's template at 1:1 on every paper."""
    sheath = results.sheath
    return {
        f"{stem_of('template', sheath, piece)}-{paper}.pdf": template_pdf(results, piece, paper)
        for piece in sheath.pieces
        for paper in sorted(PAPERS)
    }


def fit_page(results: JobResults) -> FitPage:
    """Return what the fit page of a job is made from."""
    return FitPage(
        *(results.name, results.sheath, results.fit),
        *(results.unit, results.paper, results.date),
    )


def _drawings(results: JobResults) -> dict[str, bytes]:
    """Return every piece's flat pattern, and its outline alone, as DXF and SVG."""
    sheath = results.sheath
    title = " ".join(results.name.split())
    drawings: dict[str, bytes] = {}
    for piece in sheath.pieces:
        fold = None if sheath.fold is None else fold_line(piece.pattern)
        flat = f"drawings/{stem_of('flat-pattern', sheath, piece)}"
        outline = f"drawings/{stem_of('outline', sheath, piece)}"
        said = title if len(sheath.pieces) == 1 else f"{title}, {piece.name}"
        drawings |= {
            f"{flat}.dxf": pattern_dxf(piece.pattern, piece.holes, fold, said, piece.slots),
            f"{flat}.svg": pattern_svg(piece.pattern, piece.holes, fold, said, piece.slots),
            f"{outline}.dxf": pattern_dxf(piece.pattern, (), None, ""),
            f"{outline}.svg": pattern_svg(piece.pattern, (), None, ""),
        }
    return drawings
