"""The workshop's alphabet: every letter has a shape, and its size is what is asked for."""

import string

import numpy as np
import pytest

from chape.tooling.strokes import unwritten, written


@pytest.mark.parametrize("letter", string.ascii_uppercase + string.digits)
def test_a_letter_is_one_high_and_stands_on_the_line(letter):
    corners = np.vstack(written(letter))
    assert corners[:, 1].max() == pytest.approx(1.0, abs=0.01)
    assert corners[:, 1].min() == pytest.approx(-0.05 if letter == "Q" else 0.0, abs=0.01)
    assert corners[:, 0].min() == pytest.approx(0.0, abs=0.06)
    assert 0 <= np.ptp(corners[:, 0]) <= 1.0


def test_small_letters_are_written_as_capitals():
    for small, capital in zip(written("tarn"), written("TARN"), strict=True):
        assert np.array_equal(small, capital)


def test_a_text_runs_to_the_right_and_its_letters_keep_apart():
    lines = written("HO")
    first, second = np.vstack(lines[:3]), np.vstack(lines[3:])
    assert second[:, 0].min() - first[:, 0].max() >= 0.3


def test_accents_stand_above_their_letter():
    plain, accented = np.vstack(written("O")), np.vstack(written("Ö"))
    assert accented[:, 1].max() > plain[:, 1].max() + 0.2
    assert np.ptp(accented[:, 0]) == pytest.approx(np.ptp(plain[:, 0]), abs=1e-9)


def test_what_the_alphabet_lacks_is_told():
    assert unwritten("TARN 7") == []
    assert unwritten("ЖЩ €") == ["Ж", "Щ", "€"]
