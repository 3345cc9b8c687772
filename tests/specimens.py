"""Named specimens that many tests share."""

from __future__ import annotations

import tomllib
from functools import cache
from importlib import resources
from pathlib import Path
from typing import TYPE_CHECKING

from chape.catalog.read import catalog
from chape.knife.read import read_knife
from chape.sheath.design import design_sheath
from chape.sheath.model import SheathChoices
from chape.tooling.fixture import make_fixture
from chape.tooling.layout import lay_out
from chape.tooling.model import BlankChoices, FixtureChoices, MouldChoices
from chape.tooling.mould import make_mould

if TYPE_CHECKING:
    from chape.knife.model import Knife
    from chape.sheath.model import Sheath
    from chape.tooling.model import Fixture, Layout, Mould

DEMO = Path(str(resources.files("chape.demo")))


@cache
def camp_knife(spacing: float = 0.4) -> Knife:
    """Single edge, finger guard and handle swell, about 230 mm long."""
    return read_knife(DEMO / "camp-knife.toml", spacing)


@cache
def slender_knife(spacing: float = 0.4) -> Knife:
    """Double edge, short guard block, about 210 mm long."""
    return read_knife(DEMO / "slender-knife.toml", spacing)


@cache
def camp_sheath(spacing: float = 0.4) -> Sheath:
    """The demo: right hand, clip, thumb ramp, tip pads, snap depth 0.6 mm."""
    return _demo_sheath("camp-sheath.toml", camp_knife(spacing), spacing)


@cache
def slender_sheath(spacing: float = 0.4) -> Sheath:
    """Left hand, a double edge whose spine side may not be touched either, no thumb ramp."""
    return _demo_sheath("slender-sheath.toml", slender_knife(spacing), spacing)


def _demo_sheath(file: str, knife: Knife, spacing: float) -> Sheath:
    tables = tomllib.loads((DEMO / file).read_text(encoding="utf-8"))
    choices = SheathChoices.model_validate({**tables["sheath"], "spacing": spacing})
    return design_sheath(knife, choices, catalog())


#: Roomy, so that tests of tooling do not hang on the sheath's last millimetre.
CAMP_BLANK = BlankChoices(width=320.0, depth=320.0)


@cache
def camp_layout(spacing: float = 0.4) -> Layout:
    """Four camp sheaths as a pinwheel on a blank of 320 x 320 mm."""
    return lay_out(camp_sheath(spacing), CAMP_BLANK)


@cache
def camp_mould(spacing: float = 0.4) -> Mould:
    """The mould of ``camp_layout``, scaled for the sheet's own shrinkage."""
    return make_mould(camp_layout(spacing), MouldChoices())


@cache
def camp_fixture(spacing: float = 0.4) -> Fixture:
    """The trim fixture of ``camp_layout``, four screws to a sheath."""
    return make_fixture(camp_layout(spacing), FixtureChoices(), catalog())
