"""The demo's camp knife, photographed from its side and from above its spine, for several tests."""

from functools import cache

import numpy as np
import shapely
from PIL import Image

from chape.knife.read import read_knife_file
from rendered_photos import Lying, RealCamera, Scene, photograph
from specimens import DEMO, camp_knife

CAMERA = RealCamera((2400, 1800), 2000.0, (150, 95, 640), (148, 105), roll=0.03, k1=0.02)
FOCAL_35 = 29


def camp_file():
    return read_knife_file(DEMO / "camp-knife.toml")


def camp_ring():
    ring = shapely.get_coordinates(camp_knife(0.8).outline.exterior)[:-1]
    return ring - [ring[:, 0].min(), ring[:, 1].min()]


def thickness_of(x):
    """Full thickness of the demo at x, straight between the rows of its file."""
    file = camp_file()
    blade, handle = np.array(file.blade.spine_thickness), np.array(file.handle.thickness)
    return np.where(x < file.blade.length, np.interp(x, *blade.T), np.interp(x, *handle.T))


@cache
def side_pixels():
    # Tip on the paper, the handle's half thickness under the butt's mid-plane.
    lying = Lying((32.5, 85), 0.12, butt_height=9.4)
    return photograph(Scene(camp_ring(), 115.0, lying, blade=0.3), CAMERA, seed=3)


@cache
def spine_pixels():
    x = np.linspace(0, 230, 460)
    half = thickness_of(x) / 2
    ring = np.vstack([np.column_stack([x, -half]), np.column_stack([x, half])[::-1]])
    lying = Lying((38, 70), 0.28, tip_height=36.0, butt_height=14.0)
    return photograph(Scene(ring, 115.0, lying, blade=0.3), CAMERA, seed=4)


def save(pixels, path, *, focal_35=FOCAL_35):
    """Save a photograph as a phone would note it."""
    noted = Image.Exif()
    inner = noted.get_ifd(0x8769)
    inner[0xA405], inner[0x9003] = focal_35, "2026:03:14 09:26:53"
    Image.fromarray(pixels).save(path, exif=noted, quality=97, subsampling=0)
    return path
