"""Every finding of the fit is made when it should be, and newtons are said in a maker's words."""

from dataclasses import replace

import numpy as np
import pytest

import synthetic_fit
from chape.findings import Severity, errors
from chape.fit.check import check_fit
from chape.fit.model import FitChoices
from chape.fit.play import Way
from chape.fit.words import estimated_mass, scale_reading, scale_words, weight_of
from specimens import camp_knife


def codes(**changes):
    return {finding.code for finding in check_fit(replace(synthetic_fit.fit(), **changes))}


def chosen(**changes):
    return synthetic_fit.fit().choices.model_copy(update=changes)


def test_a_good_fit_has_notes_alone():
    found = check_fit(synthetic_fit.fit())
    assert {finding.severity for finding in found} == {Severity.NOTE}
    assert {"edge-clearance", "hold", "shake-held", "play", "knives-pass"} == {
        finding.code for finding in found
    }


def test_each_fault_is_seen():
    fit = synthetic_fit.fit()
    assert "edge-clearance-low" in codes(choices=chosen(edge_margin=2.0))
    assert "pad-on-edge" in codes(clearance=replace(fit.clearance, pads=0.0))
    assert "hold-missed" in codes(choices=chosen(hold=20.0))
    assert "hold-none" in codes(choices=chosen(hold=None), curve=synthetic_fit.curve(0.0))
    assert "shake-not-held" in codes(weight=replace(fit.weight, needed=25.0))
    assert "eyelet-strain-high" in codes(strain_limit=0.001)
    fold = replace(fit.curve, strain_fold=0.02 + fit.curve.strain_fold)
    assert "fold-draw-strain-high" in codes(curve=fold)
    assert "worn-too-hot" in codes(choices=chosen(hot=70.0))
    assert "few-knives-pass" in codes(share=replace(fit.share, passing=0.3, low=0.2, high=0.4))
    motions = dict(fit.play.motions)
    motions[Way.TIP_BACK] = replace(motions[Way.TIP_BACK], amount=2.0, edge=0.01)
    assert {"rattle", "edge-near-in-play"} <= codes(play=replace(fit.play, motions=motions))


def test_a_knife_that_locks_is_an_error_and_nothing_is_said_of_its_hold():
    locked = replace(synthetic_fit.curve(), pull=np.full(synthetic_fit.STEPS, np.inf))
    found = check_fit(replace(synthetic_fit.fit(), curve=locked, share=None))
    assert "knife-locks" in {finding.code for finding in errors(found)}
    assert not {"hold", "hold-none"} & {finding.code for finding in found}


def test_a_kitchen_scale_reads_kilograms():
    assert scale_reading(9.80665) == pytest.approx(1.0)
    assert scale_words(30.0) == "30.0 N, 3.06 kg on a kitchen scale"
    assert "locked" in scale_words(np.inf)


def test_a_shake_asks_for_the_knifes_weight_and_more():
    """0.2 kg, three times the earth's pull on top of its own, twice for safety."""
    choices = FitChoices(knife_mass=0.2, shake=3.0, safety=2.0)
    weight = weight_of(camp_knife(), choices)
    assert weight.weighed
    assert weight.needed == pytest.approx(2.0 * 0.2 * 9.80665 * 4.0)


def test_a_knifes_mass_follows_from_its_volume():
    mass, spread = estimated_mass(camp_knife())
    # A blade of 115 x 28 x 2.2 mm of steel weighs 55 g; the handle holds about 37 cm³.
    assert 0.12 < mass < 0.20
    assert 0.0 < spread < mass / 2
