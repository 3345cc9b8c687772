"""The shop's papers say what is in the store, in both paper sizes, with codes that can be read."""

import cv2
import numpy as np
import pypdfium2
import pytest

from chape.documents.tiles import PAPERS
from chape.errors import InputError
from chape.shop.model import PieceState
from chape.shop.orders import find_order, move_piece
from chape.shop.papers import (
    batch_leaf,
    care_leaf,
    code_name,
    label_leaf,
    packing_slip,
    paper_pdf,
    reorder_leaf,
    safety_leaves,
    traveller,
)
from chape.shop.route import routes
from chape.shop.safety import CARDS
from chape.shop.stock import Good, Purchase
from small_shop import CATALOG, DUE, NOW, enter, order_line, small_shop


@pytest.fixture
def shop(tmp_path):
    made = small_shop(tmp_path / "shop")
    enter(made, order_line(quantity=3, clip="flat-clip-2", marks='J. <b>#1</b> "$x$"'))
    yield made
    made.close()


@pytest.fixture
def order(shop):
    return shop.read(lambda c: find_order(c, "2026-0001"))


def _text(pdf):
    pages = pypdfium2.PdfDocument(pdf)
    return "\n".join(page.get_textpage().get_text_range() for page in pages)


def _codes(pdf, scale=3):
    page = pypdfium2.PdfDocument(pdf)[0]
    picture = np.asarray(page.render(scale=scale).to_pil().convert("L"))
    found, texts, _, _ = cv2.QRCodeDetector().detectAndDecodeMulti(picture)
    return set(texts) - {""} if found else set()


def test_a_traveller_carries_its_order_and_a_code_that_reads(shop, order):
    piece = order.pieces[1]
    pdf = paper_pdf([traveller(shop.file, order, piece)], "foot", "a4", [piece.serial])
    text = _text(pdf)
    for words in (piece.serial, 'J. <b>#1</b> "$x$"', "flat-clip-2", "25 N", "Mount the clip"):
        assert words in text
    assert _codes(pdf) == {piece.serial}


def test_labels_carry_a_code_each(shop, order):
    rows = [(order, piece) for piece in order.pieces]
    serials = [piece.serial for piece in order.pieces]
    pdf = paper_pdf([label_leaf(shop.file, rows)], "foot", "letter", serials)
    assert _codes(pdf) == set(serials)


def test_a_batch_sheet_lists_its_blanks(shop):
    leaf = batch_leaf(shop.file, 7, "camp", "black", {"B7.1": ["a", "b"], "B7.2": ["c"]})
    text = _text(paper_pdf([leaf], "foot", "a4", ["B7"]))
    for words in ("Batch B7", "B7.2", "camp-4up", "3 pieces on 2 blanks"):
        assert words in text


def test_a_slip_lists_what_is_packed_and_the_note(shop, order):
    with pytest.raises(InputError, match="nothing of order"):
        packing_slip(shop.file, order, None)
    shop.change(lambda c: move_piece(c, "2026-0001-2", PieceState.PACKED))
    order = shop.read(lambda c: find_order(c, "2026-0001"))
    leaf = packing_slip(shop.file, order, "Somewhere 1\nAnytown")
    text = _text(paper_pdf([leaf], "foot", "a4", [order.reference]))
    assert "2026-0001-2" in text
    assert "2026-0001-1" not in text
    assert "2 of the order will follow" in text
    assert "Anytown" in text


def test_every_station_has_a_card_and_hot_ones_name_the_lowest_limit():
    assert set(CARDS) == set(routes().stations)
    sheets = [CATALOG.sheet(name) for name in CATALOG.names("sheets")]
    limit = min(sheet.fume_temperature.value for sheet in sheets)
    leaves = {leaf.title: " ".join(leaf.cautions) for leaf in safety_leaves(sheets)}
    for title in ("Press", "Vacuum table", "Strip heater"):
        assert "hydrogen chloride" in leaves[title]
        assert f"{limit:g} °C" in leaves[title]
    assert all("Local codes" in leaf.said for leaf in safety_leaves(sheets))


def test_the_card_for_the_customer_says_what_matters():
    text = " ".join(_text(paper_pdf([care_leaf("X")], "foot", "letter")).split())
    for words in ("edge taped", "Heat softens it", "Laws on carrying knives"):
        assert words in text


def test_what_to_buy_is_listed_even_when_it_is_nothing():
    rows = (Purchase(Good("eyelet", "eyelet-6.4"), 2, 500, 5600),)
    assert "56.00" in _text(paper_pdf([reorder_leaf(rows, "EUR", DUE)], "foot", "a4"))
    assert "Nothing has come" in _text(paper_pdf([reorder_leaf((), "EUR", DUE)], "foot", "a4"))


@pytest.mark.parametrize("paper", sorted(PAPERS))
def test_pages_have_their_size_and_the_same_bytes_each_time(paper):
    leaf = care_leaf("X")
    pdf = paper_pdf([leaf], "foot", paper, day=NOW.date())
    assert pdf == paper_pdf([leaf], "foot", paper, day=NOW.date())
    width, height = pypdfium2.PdfDocument(pdf)[0].get_size()
    assert (width, height) == pytest.approx(
        {"a4": (595.3, 841.9), "letter": (612, 792)}[paper], abs=0.1
    )


def test_an_unknown_paper_is_refused():
    with pytest.raises(InputError, match="legal"):
        paper_pdf([care_leaf("X")], "foot", "legal")
    assert code_name("B7.2/../x") == "code-B7-2----x.svg"
