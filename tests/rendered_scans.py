"""Flat-bed scans of knives and cards of known size, drawn for the tests alone."""

import cv2
import numpy as np
import shapely

from chape.knife.picture import Picture
from rendered_photos import coverage


def card_outline(length=85.60, width=53.98, corner=3.18):
    """A card about the origin, corners rounded."""
    box = shapely.box(-length / 2, -width / 2, length / 2, width / 2)
    rounded = box.buffer(-corner).buffer(corner, quad_segs=24) if corner else box
    return shapely.get_coordinates(rounded.exterior)[:-1]


def moved(ring, place, turn, *, mirrored=False):
    c, s = np.cos(turn), np.sin(turn)
    turned = (ring * [1, -1 if mirrored else 1]) @ np.array([[c, s], [-s, c]])
    return turned + np.array(place)


def scan(things, dpi=150.0, size=(140.0, 116.0), noted=None, *, lid=0.9, noise=2.0, seed=0):
    """A scan (Picture) of rings with a linear grey each, x right, y up from its lower left, mm."""
    per_mm = dpi / 25.4
    width, height = round(size[0] * per_mm), round(size[1] * per_mm)
    light = np.full((height, width), lid, dtype=np.float32)
    for ring, grey in things:
        covered = coverage([ring], (0.0, height / per_mm), (height, width), fine=per_mm)
        light = light * (1 - covered) + grey * covered
    light = cv2.GaussianBlur(light, (0, 0), 0.7)
    coded = np.where(light <= 0.0031308, 12.92 * light, 1.055 * light ** (1 / 2.4) - 0.055) * 255
    random = np.random.default_rng(seed)
    pixels = coded[..., None] + noise * random.standard_normal((height, width, 3))
    pixels = np.clip(np.rint(pixels), 0, 255).astype(np.uint8)
    return Picture(pixels, None, dpi if noted is None else noted)
