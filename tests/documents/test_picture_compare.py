"""Pictures of two measurements, and of a knife in another's sheath, say what was found."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from chape.documents.picture_compare import comparison_picture, stock_picture
from chape.fit.stock import stock_fit
from chape.knife.compare import compare
from chape.units import LengthUnit
from specimens import camp_knife, camp_sheath


def thicker():
    knife = camp_knife(0.8)
    x, _ = knife.half.grid.mesh()
    return replace(
        knife, name="A & B", half=knife.half.with_z(knife.half.z * np.where(x > 117, 1.08, 1.0))
    )


def test_both_measurements_are_named_and_their_difference_told():
    knife, other = camp_knife(0.8), thicker()
    picture = (
        comparison_picture(knife, other, compare(knife, other), LengthUnit.INCH).svg().decode()
    )
    assert "A &amp; B: broken line" in picture
    assert "Tarn camp knife: filled" in picture
    assert "thickness +0.05" in picture
    assert (
        picture
        == comparison_picture(knife, other, compare(knife, other), LengthUnit.INCH).svg().decode()
    )


def test_places_that_do_not_fit_are_marked():
    fits = stock_picture(stock_fit(camp_sheath(0.8), camp_knife(0.8))).svg().decode()
    presses = stock_picture(stock_fit(camp_sheath(0.8), thicker())).svg().decode()
    assert "least room" in fits
    assert "in the sheet by" in presses
    assert presses.count("<circle") > fits.count("<circle") + 20
