"""Named specimens that many tests share."""

from __future__ import annotations

from functools import cache
from importlib import resources
from pathlib import Path
from typing import TYPE_CHECKING

from chape.knife.read import read_knife

if TYPE_CHECKING:
    from chape.knife.model import Knife

DEMO = Path(str(resources.files("chape.demo")))


@cache
def camp_knife(spacing: float = 0.4) -> Knife:
    """Single edge, finger guard and handle swell, about 230 mm long."""
    return read_knife(DEMO / "camp-knife.toml", spacing)


@cache
def slender_knife(spacing: float = 0.4) -> Knife:
    """Double edge, short guard block, about 210 mm long."""
    return read_knife(DEMO / "slender-knife.toml", spacing)
