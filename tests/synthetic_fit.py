"""A made-up fit: smooth curves, a little play, many knives, for pages and findings."""

from __future__ import annotations

from functools import cache

import numpy as np

from chape.fit.bands import Band
from chape.fit.clearance import DrawClearance
from chape.fit.fit import Fit
from chape.fit.model import ContactMap, DrawCurve, FitChoices
from chape.fit.play import Motion, Play, Way
from chape.fit.share import Influence, Share
from chape.fit.vary import INPUTS, knives_at
from chape.fit.words import Weight

STEPS = 41


def curve(peak: float = 30.0) -> DrawCurve:
    travel = np.linspace(0.0, 20.0, STEPS)
    pull = peak * np.sin(np.pi * travel / 20.0) ** 2
    nothing = np.zeros(STEPS)
    points = np.array([[130.0, -2.0, 8.0], [132.0, 0.0, 8.2], [134.0, 1.0, 8.4]])
    contact = ContactMap(points, np.array([2.0, 1.0, 0.0]), np.array([2.0, 0.0, 0.0]))
    strain = 0.003 * pull / max(peak, 1.0)
    return DrawCurve(
        travel, pull, 0.8 * pull, 3 * pull, nothing + 125, nothing + 140, 0.01 * pull, strain,
        0.8 * strain, nothing + 12, nothing, contact,
    )  # fmt: skip


def play() -> Play:
    touches = np.array([[122.0, -5.0, 3.0]])
    motions = {
        way: Motion(way, 0.1 * (1 + number), touches, 0.4, 0.001, way is Way.OUT)
        for number, way in enumerate(Way)
    }
    return Play(motions, 0.0)


def clearance() -> DrawClearance:
    travel = np.arange(0.0, 160.0)
    closed = np.minimum(3.0, 0.7 + 0.02 * travel)
    spread = np.where((travel > 4) & (travel < 18), closed - 0.2, closed)
    places = np.column_stack([60 + 0 * travel, 0 * travel, 0.3 + 0 * travel])
    return DrawClearance(travel, closed, places, closed - spread, spread, 9.0)


def share(choices: FitChoices) -> Share:
    random = np.random.default_rng(1)
    holds = 30.0 + 6.0 * random.standard_normal(64)
    knives = knives_at(random.random((64, 7)), choices, lambda _: 2300.0)
    influences = tuple(
        Influence(name, 0.5 / (1 + k), 0.05, 0.6 / (1 + k), 0.05)
        for k, (name, _) in enumerate(INPUTS)
    )
    return Share(30.0, 22.5, 37.5, knives, holds, 0.78, 0.67, 0.87, influences)


@cache
def fit() -> Fit:
    choices = FitChoices(hold=30.0, samples=64)
    return Fit(
        choices=choices,
        snap_depth=0.58,
        solved=None,
        curve=curve(),
        slick=curve(25.0),
        rough=curve(35.0),
        cold=1.2,
        hot=0.85,
        clearance=clearance(),
        play=play(),
        weight=Weight(0.16, 0.05, weighed=False, pull=8.0, needed=12.0),
        bands=(Band("friction", "", (0.2, 0.3), (25.0, 35.0)),),
        share=share(choices),
        strain_limit=0.012,
        softens=57.0,
        condensed=None,
    )
