"""Conduction through a plane wall against its series, and textbook walls.

Series: theta = sum C_n exp(-zeta_n^2 Fo) cos(zeta_n x/L), zeta tan zeta = Bi,
C = 4 sin zeta/(2 zeta + sin 2 zeta); Incropera, DeWitt et al., Fundamentals of Heat and Mass
Transfer, section 5.5; Carslaw & Jaeger, Conduction of Heat in Solids, 2nd ed., section 3.
"""

import numpy as np
import pytest
from scipy.optimize import brentq

from chape.solve.conduction import Face, Layer, first_time, warming

#: Half-thickness, conductivity, and so on such that Fo = t and Bi = h: L = 1 m, k = 1, rho c = 1.
WALL = Layer(2000.0, 1.0, 1.0, 1.0, cells=120)


def series(biot, fourier, place):
    roots = [
        brentq(lambda z: z * np.sin(z) - biot * np.cos(z), n * np.pi, n * np.pi + np.pi / 2)
        for n in range(60)
    ]
    z = np.array(roots)
    c = 4 * np.sin(z) / (2 * z + np.sin(2 * z))
    return float((c * np.exp(-(z**2) * fourier) * np.cos(z * place)).sum())


@pytest.mark.parametrize("biot", [0.5, 1.0, 5.0, 10.0])
@pytest.mark.parametrize("fourier", [0.1, 0.2, 0.5, 1.0, 2.0])
def test_both_faces_in_a_fluid(biot, fourier):
    face = Face(0.0, biot)
    run = warming((WALL,), (), face, face, 1.0)
    times = np.array([fourier])
    middle = run.cells(times)[0, 59:61].mean()
    assert middle == pytest.approx(series(biot, fourier, 1 / 120 / 2), abs=2e-4)
    assert run.front_face(times)[0] == pytest.approx(series(biot, fourier, 1.0), abs=2e-4)


@pytest.mark.parametrize(
    ("biot", "fourier", "middle", "surface"),
    [(0.5, 0.2, 0.97260, 0.79015), (1.0, 0.5, 0.77253, 0.50452), (10.0, 1.0, 0.16382, 0.02317)],
)
def test_the_series_is_the_printed_one(biot, fourier, middle, surface):
    assert series(biot, fourier, 0.0) == pytest.approx(middle, abs=2e-5)
    assert series(biot, fourier, 1.0) == pytest.approx(surface, abs=2e-5)


def test_faces_held_at_a_temperature():
    """Fo = 1.03110 for 90 % of the step in the middle (Carslaw & Jaeger, section 3.3)."""
    face = Face(1.0, 1e9)
    run = warming((WALL,), (), face, face, 0.0)
    found = first_time(lambda t: run.cells(t)[:, 59:61].mean(axis=1), 0.9, 3.0)
    assert found == pytest.approx(1.03110, abs=5e-4)


def test_sheet_between_hot_faces():
    """2 mm, k 0.17, rho 1350, c 1250: 10.74 s to 175 °C with faces at 190 °C (series)."""
    layer = Layer(2.0, 0.17, 1350.0, 1250.0, cells=40)
    face = Face(190.0, 1e9)
    run = warming((layer,), (), face, face, 20.0)
    found = first_time(lambda t: run.cells(t)[:, 19:21].mean(axis=1), 175.0, 60.0)
    assert found == pytest.approx(10.74, abs=0.02)


def test_halving_the_thickness_divides_contact_time_by_four():
    def seconds(thickness):
        layer = Layer(thickness, 0.17, 1350.0, 1250.0, cells=40)
        face = Face(190.0, 1e12)
        run = warming((layer,), (), face, face, 20.0)
        return first_time(lambda t: run.cells(t)[:, 20], 175.0, 100.0)

    assert seconds(2.0) / seconds(1.0) == pytest.approx(4.0, rel=1e-5)


def test_brass_plates_in_an_oven():
    """Cengel, Heat Transfer, problem 4-36: 3 cm plates, 10 min at 700 °C, surface 445 °C.

    The book reads zeta = 0.1039 from a table; the root is 0.1043, which gives 448.2 °C.
    """
    layer = Layer(30.0, 110.0, 1.0, 110.0 / 33.9e-6, cells=20)
    face = Face(700.0, 80.0)
    run = warming((layer,), (), face, face, 25.0)
    assert run.front_face(np.array([600.0]))[0] == pytest.approx(448.2, abs=0.3)
    assert run.front_face(np.array([600.0]))[0] == pytest.approx(445.0, abs=4.0)


def test_pipe_wall_heated_inside():
    """Incropera et al., pipeline example: after 8 min 42.9 °C insulated, 45.2 °C heated face."""
    layer = Layer(40.0, 63.9, 7832.0, 434.0, cells=40)
    run = warming((layer,), (), Face(60.0, 500.0), Face(0.0, 0.0), -20.0)
    times = np.array([480.0])
    assert run.back_face(times)[0] == pytest.approx(42.9, abs=0.3)
    assert run.front_face(times)[0] == pytest.approx(45.2, abs=0.3)


def test_contact_of_two_thick_bodies():
    """Face temperature of two half-spaces: weighted by effusivity (Carslaw & Jaeger, 2.15).

    Alloy sheet (0.17, 1350, 1250) at 175 °C on HDPE (0.46, 950, 1900) at 20 °C: 77.4 °C.
    """
    hot = Layer(20.0, 0.17, 1350.0, 1250.0, cells=400)
    cold = Layer(20.0, 0.46, 950.0, 1900.0, cells=400)
    start = np.concatenate([np.full(400, 175.0), np.full(400, 20.0)])
    run = warming((hot, cold), (1e9,), Face(0.0, 0.0), Face(0.0, 0.0), start)
    cells = run.cells(np.array([4.0]))[0]
    share = hot.half_cell / (hot.half_cell + cold.half_cell)
    assert share * cells[399] + (1 - share) * cells[400] == pytest.approx(77.4, abs=0.1)


def test_heat_that_goes_in_stays_in():
    layer = Layer(2.0, 0.17, 1350.0, 1250.0)
    run = warming((layer,), (), Face(20.0, 0.0, flux=5000.0), Face(20.0, 0.0), 20.0)
    rise = run.cells(np.array([30.0])).mean() - 20.0
    assert rise == pytest.approx(5000.0 * 30.0 / (1350 * 1250 * 0.002), rel=1e-9)
