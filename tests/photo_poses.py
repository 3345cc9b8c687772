"""Seeded poses of camera, knife and light, and how far what was measured lies from the truth."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely
from scipy.spatial import KDTree

from chape.knife.edge import resampled
from rendered_photos import HANDLES, Lying, RealCamera, Scene, knife_outline, photograph, picture_of

KINDS = ("drop point", "straight", "dagger")
FILM_DIAGONAL = 43.267


@dataclass(frozen=True)
class Posed:
    picture: object
    scene: Scene
    camera: RealCamera
    thickness: float


@dataclass(frozen=True)
class Apart:
    """Distances both ways between outlines laid on each other, mm; scale and length errors."""

    distances: np.ndarray
    scale: float
    length: float

    @property
    def most(self):
        """Nineteen of twenty points lie nearer."""
        return float(np.percentile(self.distances, 95))


def lying_in_the_middle(outline, turn, thickness, random, *, mirrored=False):
    """The knife laid on its handle and tip, its middle near the field's."""
    frame = Lying((0.0, 0.0), turn, mirrored=mirrored, butt_height=thickness / 2)
    _, along, across = frame.frame(np.ptp(outline[:, 0]))
    middle = np.array([148.5, 105.0]) + random.uniform(-6, 6, 2)
    tip = middle - along[:2] * outline[:, 0].mean() - across[:2] * outline[:, 1].mean()
    return Lying(tuple(tip), turn, mirrored=mirrored, butt_height=thickness / 2)


def posed(seed, size=(2000, 1500)):
    """A photograph by a phone's lens of 24 to 50 mm, up to 22 degrees off square, in any light.

    Three of four note their lens, which is up to 1.5 % off.
    """
    random = np.random.default_rng(seed)
    width, height = size
    noted = float(random.choice([24, 26, 28, 35, 50]))
    focal = noted / FILM_DIAGONAL * np.hypot(width, height) * random.uniform(0.985, 1.015)
    above = focal / width * 297 * random.uniform(1.12, 1.35)
    way, tilt = random.uniform(0, 2 * np.pi), np.radians(random.uniform(0, 22))
    outline, blade_length = knife_outline(KINDS[seed % 3], random.uniform(150, 205))
    thickness = random.uniform(10, 26)
    turn = random.choice([0, np.pi]) + random.uniform(-0.3, 0.3)
    mirrored = bool(random.integers(2))
    scene = Scene(
        outline,
        blade_length,
        lying_in_the_middle(outline, turn, thickness, random, mirrored=mirrored),
        blade=random.uniform(0.35, 0.9),
        handle=list(HANDLES)[seed % len(HANDLES)],
        light=(*random.uniform(-0.2, 0.2, 2), random.uniform(-0.15, 0.05)),
        warmth=random.uniform(-0.05, 0.1),
        shadow=(*random.uniform(-6, 6, 2), random.uniform(2, 6), random.uniform(0.1, 0.45)),
        contact=random.uniform(0.05, 0.4),
    )
    aside = above * np.tan(tilt)
    camera = RealCamera(
        size,
        focal,
        (148 + aside * np.cos(way), 105 + aside * np.sin(way), above),
        (148 + random.uniform(-8, 8), 105 + random.uniform(-8, 8)),
        random.uniform(-0.1, 0.1),
        tuple(random.uniform(-8, 8, 2)),
        random.uniform(-0.03, 0.03),
        random.uniform(-0.01, 0.01),
    )
    pixels = photograph(
        scene,
        camera,
        seed,
        blur=random.uniform(0.6, 1.6),
        noise=random.uniform(1, 4),
        exposure=random.uniform(0.75, 1.0),
    )
    return Posed(picture_of(pixels, noted if seed % 4 else None), scene, camera, thickness)


def apart(measured, truth):
    """Lay a measured outline on the true one by closest points, and compare."""
    ring = resampled(shapely.get_coordinates(measured.exterior)[:-1], 0.2)
    true = resampled(truth, 0.2)
    line = shapely.LinearRing(true)
    tree = KDTree(resampled(truth, 0.02))
    laid = ring - ring.min(axis=0) + true.min(axis=0)
    for _ in range(40):
        near = tree.data[tree.query(laid)[1]]
        a, b = laid - laid.mean(axis=0), near - near.mean(axis=0)
        turn = np.arctan2((a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0]).sum(), (a * b).sum())
        spin = np.array([[np.cos(turn), np.sin(turn)], [-np.sin(turn), np.cos(turn)]])
        laid = a @ spin + near.mean(axis=0)
    there = shapely.distance(line, shapely.points(laid))
    back = shapely.distance(shapely.LinearRing(laid), shapely.points(true))
    scale = float(np.sqrt((a**2).sum() / (b**2).sum()) - 1)
    length = float(np.ptp(laid[:, 0]) - np.ptp(true[:, 0]))
    return Apart(np.concatenate([there, back]), scale, length)
