"""Sheaths of two sheets for the specimens' knives, on a coarse grid."""

from functools import cache

from chape.catalog.read import catalog
from chape.fit.model import Conditions
from chape.sheath.design import design_sheath
from chape.sheath.model import Mouth, SheathChoices, Style, ThumbRamp, TipPads
from specimens import camp_knife, slender_knife

PLAIN = Conditions(friction=0.25, modulus=2300.0)


def choices(**more):
    plain = {
        "name": "paired",
        "knife": "paired.toml",
        "style": Style.PAIRED,
        "spacing": 0.8,
        "mouth": Mouth(wrap=30.0),
        "tip_pads": TipPads(),
    }
    return SheathChoices(**(plain | more))


@cache
def paired_camp(**more):
    return design_sheath(camp_knife(0.8), choices(**more), catalog())


def paired_slender(knife=None):
    own = slender_knife(0.8) if knife is None else knife
    return design_sheath(own, choices(thumb_ramp=ThumbRamp(height=0)), catalog())
