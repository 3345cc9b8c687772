"""The sheet, its markers in a picture, and the camera that follows from them."""

from __future__ import annotations

import cv2
import numpy as np
import pytest

from chape.errors import InputError
from chape.knife.camera import solve_camera
from chape.knife.markers import find_markers
from chape.knife.picture import Picture
from chape.knife.reference_sheet import PER_SHEET, SHEETS, Paper, marker_cells, reference_sheet
from rendered_photos import CODED, Lying, RealCamera, Scene, knife_outline, photograph, picture_of


def test_papers_have_their_standard_sizes():
    # ISO 216 A4, and ANSI/ASME Y14.1 letter of 8.5 by 11 inches, in landscape.
    assert reference_sheet(Paper.A4).size == (297.0, 210.0)
    assert reference_sheet(Paper.LETTER).size == pytest.approx((11 * 25.4, 8.5 * 25.4))
    # ISO/IEC 7810 ID-1 is 85.60 by 53.98 mm: a card lies in either field beside a knife.
    for paper in Paper:
        x_min, y_min, x_max, y_max = reference_sheet(paper).field
        assert x_max - x_min > 200
        assert y_max - y_min > 53.98 + 60


@pytest.mark.parametrize("paper", Paper)
@pytest.mark.parametrize("index", range(SHEETS))
def test_markers_lie_on_the_paper_and_off_the_field(paper, index):
    sheet = reference_sheet(paper, index)
    assert len(sheet.corners) == PER_SHEET
    x_min, y_min, x_max, y_max = sheet.field
    for corners in sheet.corners.values():
        low, high = corners.min(axis=0), corners.max(axis=0)
        assert (low >= 8).all()
        assert (high <= np.array(sheet.size) - 8).all()
        assert low[0] >= x_max or high[0] <= x_min or low[1] >= y_max or high[1] <= y_min


def test_numbers_of_four_sheets_are_all_different():
    numbers = [n for index in range(SHEETS) for n in reference_sheet(Paper.A4, index).corners]
    assert len(set(numbers)) == SHEETS * PER_SHEET
    assert len({marker_cells(number).tobytes() for number in numbers}) == len(numbers)


def test_there_is_no_fifth_sheet_and_no_bar_of_inches():
    with pytest.raises(InputError, match="sheet 5"):
        reference_sheet(Paper.A4, 4)
    with pytest.raises(InputError, match="bar"):
        reference_sheet(Paper.A4).scaled(7.87)


def _seen_flat(image, matrix, size, random):
    """A drawn board through a homography, blurred by 1 pixel in light, with noise of 4 steps."""
    bent = cv2.warpPerspective(image, matrix, size, flags=cv2.INTER_AREA, borderValue=255)
    light = cv2.GaussianBlur(bent.astype(np.float32) / 255, (0, 0), 1.0)
    soft = CODED[(light * (len(CODED) - 1)).astype(int)]
    noisy = soft + random.normal(0, 4, soft.shape)
    return np.repeat(np.clip(np.rint(noisy), 0, 255).astype(np.uint8)[..., None], 3, axis=2)


@pytest.mark.parametrize("seed", range(12))
def test_corners_of_the_libraries_own_boards(seed):
    # The drawing library puts an edge between two pixels: half a pixel before the middle of the
    # first black one. Who overlooks that is off by half a pixel of the drawing.
    dictionary = cv2.aruco.getPredefinedDictionary(cv2.aruco.DICT_4X4_100)
    board = cv2.aruco.GridBoard((7, 5), 20.0, 8.0, dictionary)
    wide, tall = 1880, 1320
    image = board.generateImage((wide, tall), marginSize=0, borderBits=1)
    random = np.random.default_rng(seed)
    corners = np.array([[0, 0], [wide, 0], [wide, tall], [0, tall]], dtype=np.float32)
    moved = corners * 0.85 + 100 + random.uniform(-70, 70, (4, 2)).astype(np.float32)
    matrix = cv2.getPerspectiveTransform(corners, moved)
    picture = Picture(_seen_flat(image, matrix, (1900, 1400), random), None, None)
    markers = find_markers(picture)
    assert len(markers.corners) == 35
    pixels_per_mm = wide / (7 * 20.0 + 6 * 8.0)
    away, places, true = [], [], []
    for number, points in zip(board.getIds().ravel(), board.getObjPoints(), strict=True):
        drawn = np.asarray(points)[:, :2] * pixels_per_mm - 0.5
        there = cv2.perspectiveTransform(drawn[None].astype(np.float64), matrix)[0]
        away.append(markers.corners[int(number)] - there)
        back = np.linalg.inv(matrix)
        found = cv2.perspectiveTransform(markers.corners[int(number)][None], back)[0]
        places.append((found + 0.5) / pixels_per_mm)
        true.append(np.asarray(points)[:, :2])
    away = np.concatenate(away)
    assert np.sqrt((away**2).sum(axis=1).mean()) < 0.3
    assert np.abs(away.mean(axis=0)).max() < 0.1
    assert np.hypot(*(np.concatenate(places) - np.concatenate(true)).T).max() < 0.1


def _camera(seed):
    random = np.random.default_rng(seed)
    focal = random.uniform(1300, 2600)
    above = focal / 2000 * 297 * random.uniform(1.12, 1.35)
    way, tilt = random.uniform(0, 2 * np.pi), np.radians(random.uniform(6, 20))
    aside = above * np.tan(tilt)
    return RealCamera(
        (2000, 1500), focal,
        (148 + aside * np.cos(way), 105 + aside * np.sin(way), above), (148.0, 105.0),
        np.pi * random.integers(2) + random.uniform(-0.08, 0.08), k1=random.uniform(-0.05, 0.05),
    )  # fmt: skip


@pytest.mark.parametrize("seed", range(4))
def test_a_camera_is_found_though_nothing_is_noted(seed):
    camera = _camera(seed)
    outline, blade = knife_outline("drop point", 180.0)
    scene = Scene(outline, blade, Lying((40.0, 90.0), 0.0), knife=False)
    picture = picture_of(photograph(scene, camera, seed))
    sheet = reference_sheet(Paper.A4)
    markers = find_markers(picture)
    found = solve_camera(markers.corners, (sheet,), picture)
    assert found.markers == PER_SHEET
    assert found.focal == pytest.approx(camera.focal, rel=0.03)
    assert found.residual < 0.2
    assert markers.blur == pytest.approx(1.0, abs=0.25)
    random = np.random.default_rng(seed)
    for height, most in ((0.0, 0.06), (12.0, 0.15)):
        points = np.column_stack(
            [random.uniform((28, 28), (269, 182), (200, 2)), np.full(200, height)]
        )
        there = found.to_plane(camera.sees(points), height)
        assert np.hypot(*(there - points[:, :2]).T).max() < most
        assert np.abs(found.to_pixels(points) - camera.sees(points)).max() < 1.0


def test_to_plane_undoes_to_pixels():
    camera = _camera(9)
    sheet = reference_sheet(Paper.A4)
    flat = {n: camera.sees(np.column_stack([c, np.zeros(4)])) for n, c in sheet.corners.items()}
    picture = picture_of(np.zeros((1500, 2000, 3), dtype=np.uint8))
    found = solve_camera(flat, (sheet,), picture)
    random = np.random.default_rng(2)
    points = np.column_stack(
        [random.uniform(0, 290, 50), random.uniform(0, 200, 50), random.uniform(0, 30, 50)]
    )
    assert (
        np.abs(found.to_plane(found.to_pixels(points), points[:, 2]) - points[:, :2]).max() < 1e-6
    )
    assert found.height == pytest.approx(camera.stands[2], rel=1e-3)


def test_markers_that_fit_no_flat_sheet():
    camera = _camera(3)
    sheet = reference_sheet(Paper.A4)
    random = np.random.default_rng(0)
    seen = {
        n: camera.sees(np.column_stack([c, np.zeros(4)])) + random.normal(0, 25, (4, 2))
        for n, c in sheet.corners.items()
    }
    with pytest.raises(InputError, match="flat sheet"):
        solve_camera(seen, (sheet,), picture_of(np.zeros((1500, 2000, 3), dtype=np.uint8)))


def test_three_markers_fix_nothing():
    sheet = reference_sheet(Paper.A4)
    seen = {n: sheet.corners[n] for n in list(sheet.corners)[:3]}
    with pytest.raises(InputError, match="only 3 markers"):
        solve_camera(seen, (sheet,), picture_of(np.zeros((1500, 2000, 3), dtype=np.uint8)))
