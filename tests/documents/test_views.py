"""The lit views of moulds and fixtures, against what geometry says must be seen."""

from __future__ import annotations

from io import BytesIO
from math import cos, radians, sin

import numpy as np
import pytest
from PIL import Image

from chape.documents.picture_relief import MOULD, Block, View, relief
from chape.documents.relief_light import light_on, sky_and_shadow
from chape.documents.to_png import png_of
from chape.field.grid import Grid
from chape.field.heights import HeightField

GRID = Grid.over(0, 0, 100, 60, 0.5)
VIEW = View(azimuth=0.0, elevation=radians(45), columns=400)


def test_block_fills_the_place_its_projection_has() -> None:
    pixels = relief(Block(HeightField.flat(GRID), 100, 60, -20), MOULD, VIEW)
    # Seen along +y, the block's picture is as high as y sin e + z cos e says.
    block = np.abs(pixels.astype(int) - pixels[0, 0].astype(int)).sum(axis=2) > 60
    rows = np.flatnonzero(block[:, 200])
    per_mm = 400 / (100 * 1.07)
    expected = (60 * sin(VIEW.elevation) + 20 * cos(VIEW.elevation)) * per_mm
    assert rows[-1] - rows[0] + 1 == pytest.approx(expected, abs=8)


def test_a_wall_hides_what_lies_behind_it() -> None:
    _, y = GRID.mesh()
    wall = HeightField(GRID, np.where((y > 20) & (y < 22), 15.0, 0.0))
    hidden = np.array([(50.0, 26.0), (60.0, 26.0)])
    seen = np.array([(50.0, 10.0), (60.0, 10.0)])
    red = (255, 0, 0)

    def reds(points: np.ndarray) -> int:
        pixels = relief(Block(wall, 100, 60, -5, (), ((points, red),)), MOULD, VIEW).astype(int)
        return int(((pixels[..., 0] > 200) & (pixels[..., 1] < 90)).sum())

    assert reds(seen) > 30
    assert reds(hidden) == 0


def test_an_open_plain_sees_the_whole_sky() -> None:
    z = np.zeros((40, 40), np.float32)
    sky, lit = sky_and_shadow(z, 1.0, 20.0, 12, np.array([1.0, 0.0, 1.0, 0.2]))
    assert sky == pytest.approx(1)
    assert lit == pytest.approx(1)


def test_a_long_wall_takes_the_share_of_sky_its_angle_says() -> None:
    # At distance d from an endless wall of height d: over half the directions the horizon
    # stands at tan h = sin(angle to the wall); the mean of cos² h = 1 / (1 + sin²) there.
    z = np.zeros((161, 161), np.float32)
    z[:, 90:] = 10.0
    sky, _ = sky_and_shadow(z, 1.0, 60.0, 64, np.array([1.0, 0.0, 1.0, 0.2]))
    angles = np.linspace(0, np.pi, 2001)
    expected = (1 + np.mean(1 / (1 + np.sin(angles) ** 2))) / 2
    assert sky[80, 80] == pytest.approx(expected, abs=0.02)


def test_shadow_reaches_as_far_as_the_sun_says() -> None:
    z = np.zeros((5, 100), np.float32)
    z[:, 60:] = 10.0
    _, lit = sky_and_shadow(z, 0.5, 40.0, 4, np.array([1.0, 0.0, 1.0, 0.01]))
    # Sun over +x at 45°: the wall of 10 mm shades 10 mm, 20 nodes.
    assert lit[2, 43:58].max() == 0
    assert lit[2, 5:38].min() == 1


def test_light_is_finite_and_brightest_towards_the_sun() -> None:
    x, y = GRID.mesh()
    hill = HeightField(GRID, np.clip(15 - 0.8 * np.hypot(x - 50, y - 30), 0, None))
    light = light_on(hill)
    assert np.isfinite(light).all()
    assert light[70, 88] > light[50, 112]  # upper left against lower right


@pytest.mark.parametrize("channels", [3, 4])
def test_png_reads_back_as_it_was(channels: int) -> None:
    pixels = np.random.default_rng(1).integers(0, 256, (37, 53, channels), dtype=np.uint8)
    image = Image.open(BytesIO(png_of(pixels, pixels_per_mm=8)))
    assert (np.asarray(image) == pixels).all()
    assert image.info["dpi"][0] == pytest.approx(203.2, abs=0.1)


def test_what_is_no_picture_is_refused() -> None:
    with pytest.raises(ValueError, match="not a picture"):
        png_of(np.zeros((4, 4), np.uint8))
