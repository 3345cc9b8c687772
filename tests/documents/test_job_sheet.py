"""The job sheet, its pictures and figures, as a reader meets them."""

from __future__ import annotations

import json
import re
from datetime import date
from io import BytesIO
from math import isfinite
from typing import TYPE_CHECKING

import pypdfium2
import pytest
from lxml import etree

import synthetic_job as synthetic
from chape.bench.forming_view import forming_view
from chape.documents.compose import compose_job
from chape.documents.figures import figures_json
from chape.documents.page_setup import feed_words, time_words
from chape.documents.pictures import pictures_of
from chape.documents.program_words import CutterCall, cutter_calls, feed_unit, stops
from chape.errors import InputError
from chape.findings import Finding, Severity
from chape.units import LengthUnit

if TYPE_CHECKING:
    from chape.documents.model import JobResults

HOSTILE = "Erle & <b>Söhne</b> “Ёж” #text(size: 99pt)[x] $1/0$ *bold* _it_ \\ @ref ]] `raw` \x07"


def composed(results: JobResults) -> dict[str, bytes]:
    return compose_job(results, pictures_of(results))


def text_of(pdf: bytes) -> str:
    document = pypdfium2.PdfDocument(BytesIO(pdf))
    pages = (page.get_textpage().get_text_range() for page in document)
    return "\n".join(pages).replace("\u00a0", " ").replace("\r", "")


@pytest.fixture(scope="module")
def files() -> dict[str, bytes]:
    return composed(synthetic.job())


def numbers(value: object) -> list[float]:
    if isinstance(value, dict):
        return [number for part in value.values() for number in numbers(part)]
    if isinstance(value, list):
        return [number for part in value for number in numbers(part)]
    if isinstance(value, bool) or not isinstance(value, int | float):
        return []
    return [value]


def test_a_plate_says_how_its_time_stands_to_the_least(files: dict[str, bytes]) -> None:
    said = " ".join(text_of(files["job.pdf"]).split())
    assert re.search(
        r"40 min \d\.\d times the \d+ min of cutting alone, \d\.\d times that with", said
    )


def test_everything_promised_is_there(files: dict[str, bytes]) -> None:
    expected = {"job.pdf", "template-a4.pdf", "template-letter.pdf", "figures.json"}
    expected |= {f"pictures/{name}.svg" for name in ("home", "flat", "leftover-mould-top")}
    expected |= {f"pictures/{name}.png" for name in ("home", "flat", "mould", "fixture")}
    assert expected <= files.keys()
    assert sum(name.startswith("pictures/section-") for name in files) >= 6


def test_the_same_job_gives_the_same_bytes(files: dict[str, bytes]) -> None:
    assert composed(synthetic.job()) == files


def test_the_sheet_says_what_stops_the_release_and_what_to_do(files: dict[str, bytes]) -> None:
    said = text_of(files["job.pdf"])
    assert "programs held back" in said
    assert "One finding stops the release" in said
    # One error holds every program back, so no setup page may call its own released.
    assert "released" not in said
    assert json.loads(files["figures.json"])["released"] is False
    for finding in synthetic.FINDINGS:
        for words in (finding.code, finding.message, finding.mend, finding.place):
            assert words in said


def test_each_program_has_its_page_with_offset_cutters_and_hash(files: dict[str, bytes]) -> None:
    said = text_of(files["job.pdf"])
    for program in synthetic.job().programs:
        assert program.files in said
        assert program.verdict.hashes[0] in said.replace("\n", "")
    assert "6 mm ball, two flutes, long" in said
    assert "18000 /min" in said
    assert "put the screws through the bored eyelet holes" in said


def test_cautions_stand_where_their_step_is(files: dict[str, bytes]) -> None:
    document = pypdfium2.PdfDocument(BytesIO(files["job.pdf"]))
    pages = [page.get_textpage().get_text_range() for page in document]
    fold = next(page for page in pages if "Form, trim, fold" in page)
    trim = next(page for page in pages if page.count("trim.nc") >= 2 and "Steps" in page)
    assert "hydrogen chloride" in fold
    assert "gloves" in fold
    assert "Parts come free" in trim
    assert "compressed air" in trim


def test_figures_are_finite_and_sorted(files: dict[str, bytes]) -> None:
    figures = json.loads(files["figures.json"])
    found = numbers(figures)
    assert len(found) > 100
    assert all(isfinite(number) for number in found)
    assert list(figures) == sorted(figures)
    assert figures["knife"]["length"] == pytest.approx(230, abs=0.5)
    shares = figures["programs"]["mould-top"]["leftover_shares"]
    assert sum(band["share"] for band in shares) == pytest.approx(1, abs=1e-3)
    trim = figures["programs"]["trim"]
    assert 0 < sum(each["seconds"] for each in trim["cutters"]) <= trim["seconds"]
    assert all(each["name"] for each in trim["cutters"])


def test_the_page_finds_all_of_heating_in_the_figures(files: dict[str, bytes]) -> None:
    view = forming_view(json.loads(files["figures.json"]))
    assert view.fold is not None
    for heat in (view.heat, view.fold):
        assert heat.ready is not None
        coldest = min(heat.curves, key=lambda curve: curve.celsius[-1])
        assert coldest.celsius[0] < heat.wanted < coldest.celsius[-1]
        assert heat.ready.value < coldest.seconds[-1]
        assert len(coldest.seconds) == len(coldest.celsius) <= 200
    assert view.cool.curves[0].celsius[0] > view.cool.stiff > view.cool.curves[0].celsius[-1]
    assert 0 < view.thickness.least <= view.thickness.thinnest <= view.thickness.gauge


def test_a_figure_that_is_no_number_is_refused() -> None:
    with pytest.raises(ValueError, match=r"the figure sheath\.gap is nan"):
        figures_json({"sheath": {"gap": float("nan")}})


def test_drawings_are_well_formed_and_of_their_true_size(files: dict[str, bytes]) -> None:
    drawings = [content for name, content in files.items() if name.endswith(".svg")]
    assert drawings
    for drawing in drawings:
        root = etree.fromstring(drawing)
        _, _, width, height = (float(word) for word in root.get("viewBox").split())
        assert root.get("width") == f"{width:.4f}mm"
        assert root.get("height") == f"{height:.4f}mm"


def test_no_name_can_break_a_page() -> None:
    name = HOSTILE + " and so on for ever" * 30
    finding = Finding("odd-name", Severity.WARNING, HOSTILE, HOSTILE, HOSTILE)
    made = composed(synthetic.job(name=name, findings=(finding,)))
    said = text_of(made["job.pdf"])
    assert "#text(size: 99pt)[x] $1/0$ *bold*" in said
    assert "Ёж" in said
    assert json.loads(made["figures.json"])["findings"][0]["message"] == HOSTILE


def test_no_findings_date_and_inches_on_letter() -> None:
    made = composed(
        synthetic.job(findings=(), unit=LengthUnit.INCH, day=date(2026, 5, 1), paper="letter")
    )
    said = text_of(made["job.pdf"])
    assert "Nothing to remark" in said
    assert "programs released" in said
    assert "2026-05-01" in said
    assert "9.055 in" in said  # 230 mm
    page = pypdfium2.PdfDocument(BytesIO(made["job.pdf"]))[0]
    width, height = (length * 25.4 / 72 for length in page.get_size())
    assert (width, height) == pytest.approx((215.9, 279.4), abs=0.1)


def test_unknown_paper_is_refused() -> None:
    with pytest.raises(InputError, match='found paper "a5"'):
        composed(synthetic.job(paper="a5"))


def test_cutters_are_read_from_the_programs_own_words() -> None:
    assert cutter_calls((synthetic.PROGRAM,)) == (
        CutterCall(1, 18000, 800, 3000),
        CutterCall(2, 20000, 2400, 2400),
    )
    assert stops((synthetic.PROGRAM,)) == 1
    assert feed_unit(("G20 G90",)) == "in/min"
    assert feed_unit((synthetic.PROGRAM,)) == "mm/min"
    assert stops(("G21\nM05\nM30 (M0)\n",)) == 0


@pytest.mark.parametrize(
    ("seconds", "words"),
    [(48, "48 s"), (90, "2 min"), (754, "13 min"), (3900, "1 h 05 min")],
)
def test_times_read_as_on_the_bench(seconds: float, words: str) -> None:
    assert time_words(seconds) == words


@pytest.mark.parametrize(
    ("least", "most", "words"),
    [
        (529.2, 12000.0, "529–12000 mm/min"),
        (600.0, 600.0, "600 mm/min"),
        (None, None, "–"),
    ],
)
def test_feeds_read_as_on_the_machine(least: float | None, most: float | None, words: str) -> None:
    assert feed_words(least, most, "mm/min") == words
