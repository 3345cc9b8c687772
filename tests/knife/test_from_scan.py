"""Scans drawn at a known scale come out at their true size; a card on the glass mends a wrong one.

The card's size is that of ISO/IEC 7810 ID-1 (from memory of the standard).
"""

from functools import cache

import numpy as np
import pytest
import shapely

from chape.errors import InputError
from chape.knife.from_scan import measure_scan
from chape.knife.laying import Said, lay_outline
from rendered_photos import knife_outline
from rendered_scans import card_outline, moved, scan

RING, BLADE = knife_outline("drop point", 120.0)
TRUE = lay_outline(RING)


@cache
def with_card(noted=150.0, lid=0.9):
    knife = (moved(RING, (12, 76), 0.03), 0.15)
    card = (moved(card_outline(), (70, 36), 0.1), 0.5)
    return scan([knife, card], noted=noted, lid=lid)


@cache
def measured_with_card():
    return measure_scan(with_card())


def off(measured, dpi=150.0):
    """How far the outline lies from where it was drawn, mm, on the scan itself."""
    seen = measured.to_pixels(shapely.get_coordinates(measured.outline.exterior)) + 0.5
    points = shapely.points(np.array([0, 116]) + seen * [25.4 / dpi, -25.4 / dpi])
    drawn = shapely.LinearRing(moved(RING, (12, 76), 0.03))
    return shapely.distance(points, drawn)


def test_a_scan_with_a_card_is_true_to_a_fifth_of_a_millimetre():
    measured = measured_with_card()
    assert measured.length == pytest.approx(TRUE.outline.bounds[2], abs=0.3)
    assert np.percentile(off(measured), 95) < 0.2
    (remark,) = measured.remarks
    assert remark.code == "scan-scale"
    assert abs(remark.measured) < 0.05
    assert off(measured).max() < measured.uncertainty
    assert measured.landmarks.blade_length == pytest.approx(BLADE, abs=1.5)


def test_the_outline_lies_where_the_picture_shows_it():
    measured = measured_with_card()
    tip = measured.to_pixels(np.array([[0.0, measured.outline.exterior.coords[0][1]]]))
    assert np.abs(tip).max() < 900
    corners = shapely.get_coordinates(measured.outline.exterior)
    pixels = measured.to_pixels(corners)
    # Drawn at 150 dots per inch with the tip at (12, 76) mm from the lower left of 116 mm.
    first = pixels[np.argmin(corners[:, 0])] * 25.4 / 150
    tip_at = moved(RING[np.argmin(RING[:, 0])][None], (12, 76), 0.03)[0]
    assert first[0] == pytest.approx(tip_at[0], abs=0.5)
    assert 116 - first[1] == pytest.approx(tip_at[1], abs=0.5)


def test_a_card_mends_a_scale_that_is_a_little_off():
    measured = measure_scan(with_card(noted=152.25))
    assert measured.length == pytest.approx(TRUE.outline.bounds[2], abs=0.4)
    assert measured.remarks[0].measured == pytest.approx(1.5, abs=0.1)


def test_a_card_belies_a_wrong_resolution():
    with pytest.raises(InputError, match=r"Give --dpi 150\."):
        measure_scan(with_card(), 300.0)


def test_an_open_lid_is_as_good_as_a_white_one():
    measured = measure_scan(with_card(lid=0.01))
    assert measured.length == pytest.approx(TRUE.outline.bounds[2], abs=0.4)
    assert measured.remarks[0].code == "scan-scale"


def test_without_a_card_the_scale_is_not_sure():
    picture = scan([(moved(RING, (12, 18), -0.02), 0.15)], size=(140.0, 60.0))
    measured = measure_scan(picture)
    assert measured.length == pytest.approx(TRUE.outline.bounds[2], abs=0.3)
    assert measured.remarks[0].code == "scan-unchecked"
    assert measured.scale_error == 0.005
    assert measured.uncertainty > measured_with_card().uncertainty


@pytest.mark.parametrize("corner", [0.0, 9.0])
def test_what_is_no_card_is_in_the_way(corner):
    thing = (moved(card_outline(corner=corner), (70, 36), 0.1), 0.5)
    picture = scan([(moved(RING, (12, 76), 0.03), 0.15), thing])
    with pytest.raises(InputError, match="more than the knife"):
        measure_scan(picture)


def test_the_person_says_where_the_tip_points():
    measured = measure_scan(with_card(), said=Said(tip=np.array([1.0, 0.0])))
    assert measured.laid.turned[0, 0] < 0


@pytest.mark.parametrize(("dpi", "words"), [(30.0, "30 dots"), (9000.0, "9000 dots")])
def test_a_resolution_that_cannot_be_is_refused(dpi, words):
    with pytest.raises(InputError, match=words):
        measure_scan(with_card(), dpi)


def test_a_scan_without_resolution_or_knife_is_refused():
    picture = scan([], size=(120.0, 80.0))
    with pytest.raises(InputError, match="no knife"):
        measure_scan(picture)
    silent = type(picture)(picture.pixels, None, None)
    with pytest.raises(InputError, match="does not say its resolution"):
        measure_scan(silent)
