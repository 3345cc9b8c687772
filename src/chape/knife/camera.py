"""Where the camera stood, from the markers of a reference sheet in its picture.

A pinhole with radial distortion (Hartley & Zisserman, Multiple View Geometry, chapters 6 and 7): a
point p of the sheet lies before the camera at q = R p + t, and on the picture at
c + f (1 + k1 r² + k2 r⁴)(q_x, q_y)/q_z with r² = (q_x² + q_y²)/q_z². Focal length f, distortion and
pose are what fits the corners best; what one picture of a flat sheet cannot tell (a camera held
square to it says nothing of its focal length) is settled by what the camera noted, or by what
phones usually are.

A point of the knife stands above the sheet. Its ray is followed back to its own height, so that
parallax needs no separate correction: a thing at height a under a camera at height H would
otherwise seem larger by H/(H − a).

Not modelled: tangential distortion, a lens off the middle of the picture, paper that is not flat.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import cv2
import numpy as np
from scipy.optimize import least_squares
from scipy.spatial.transform import Rotation

from chape.errors import InputError

if TYPE_CHECKING:
    from chape.field.grid import Floats
    from chape.knife.picture import Picture
    from chape.knife.reference_sheet import ReferenceSheet

#: Focal length on 35 mm film where the camera noted none, and how far phones are from it, as a
#: factor; where it noted one, how far that may be off (common practice, no source).
USUAL_FOCAL, USUAL_SPREAD, NOTED_SPREAD = 27.0, 0.25, 0.04

#: Diagonal of 35 mm film, mm.
FILM = 43.267

#: Spread of the distortion of phones' pictures, which are corrected in the phone (common practice,
#: no source).
DISTORTION_SPREAD = 0.05

#: Fewer markers than this fix nothing; a corner this far off, in pixels, is no corner.
FEWEST_MARKERS, STRAY = 4, 3.0


@dataclass(frozen=True, slots=True, eq=False)
class Camera:
    """A camera and where it stood over the first sheet.

    Attributes:
        focal: in pixels.
        centre: middle of the picture, pixels.
        distortion: k1, k2.
        rotation: (3, 3) from the sheet to the camera.
        shift: (3,) mm.
        residual: root mean square distance of the corners from where they should be, pixels.
        markers: how many were used.
        placed: sheet index -> (x, y, turn) of every further sheet on the first one's frame.
        focal_spread: what is left unknown of the focal length, as a share.
    """

    focal: float
    centre: tuple[float, float]
    distortion: tuple[float, float]
    rotation: Floats
    shift: Floats
    residual: float
    markers: int
    placed: dict[int, tuple[float, float, float]]
    focal_spread: float

    @property
    def height(self) -> float:
        """How high the camera stood above the sheet, mm."""
        return abs(float(self.position[2]))

    @property
    def position(self) -> Floats:
        """Where it stood, mm on the sheet's frame; z is away from the paper."""
        place: Floats = -self.rotation.T @ self.shift
        return place

    @property
    def tilt(self) -> float:
        """Angle between its axis and the sheet's normal, radians."""
        return float(np.arccos(np.clip(abs(self.rotation[2, 2]), 0.0, 1.0)))

    def to_pixels(self, points: Floats) -> Floats:
        """Return where points (n, 3) of the sheet's frame lie on the picture, (n, 2) pixels."""
        return _project(points, self.focal, self.centre, self.distortion, self.rotation, self.shift)

    def to_plane(self, pixels: Floats, height: float | Floats) -> Floats:
        """Return where the rays of pixels (n, 2) meet a height above the sheet, (n, 2) mm."""
        seen = (pixels - np.array(self.centre)) / self.focal
        rays = np.column_stack([_straightened(seen, self.distortion), np.ones(len(seen))])
        along = rays @ self.rotation
        start = self.position
        reach = (np.asarray(height) - start[2]) / along[:, 2]
        found: Floats = start[:2] + reach[:, None] * along[:, :2]
        return found


def _project(
    points: Floats,
    focal: float,
    centre: tuple[float, float],
    distortion: tuple[float, float],
    rotation: Floats,
    shift: Floats,
) -> Floats:
    before = points @ rotation.T + shift
    flat = before[:, :2] / before[:, 2:]
    square = (flat**2).sum(axis=1, keepdims=True)
    bent = flat * (1 + distortion[0] * square + distortion[1] * square**2)
    pixels: Floats = np.array(centre) + focal * bent
    return pixels


def _straightened(bent: Floats, distortion: tuple[float, float]) -> Floats:
    """Undo the distortion by Newton's rule on the radius."""
    wanted = np.sqrt((bent**2).sum(axis=1))
    radius = wanted.copy()
    for _ in range(12):
        square = radius**2
        value = radius * (1 + distortion[0] * square + distortion[1] * square**2) - wanted
        slope = 1 + 3 * distortion[0] * square + 5 * distortion[1] * square**2
        radius = radius - value / slope
    scale = np.divide(radius, wanted, out=np.ones_like(radius), where=wanted > 0)
    straight: Floats = bent * scale[:, None]
    return straight


def solve_camera(
    seen: dict[int, Floats], sheets: tuple[ReferenceSheet, ...], picture: Picture
) -> Camera:
    """Return the camera that saw the markers where they are.

    Args:
        seen: marker number -> (4, 2) corners, pixels.
        sheets: as printed; the first is the frame, others lie beside it anywhere.
        picture: its size and what was noted.

    Raises:
        InputError: too few markers of the first sheet, or they do not fit a flat sheet.
    """
    by_sheet = {
        sheet.index: [number for number in sheet.corners if number in seen] for sheet in sheets
    }
    first = sheets[0]
    if len(by_sheet[first.index]) < FEWEST_MARKERS:
        raise InputError(
            f"only {len(by_sheet[first.index])} markers of the sheet can be made out",
            mend="Take the picture sharper, straighter from above, with all markers in it",
        )
    used = [sheet for sheet in sheets if len(by_sheet[sheet.index]) >= FEWEST_MARKERS]
    problem = _Fit(used, by_sheet, seen, picture)
    solution, spread = problem.solve()
    return problem.camera(solution, spread)


class _Fit:
    """The corners as a least-squares problem; unknowns in the order of ``camera``."""

    def __init__(
        self,
        sheets: list[ReferenceSheet],
        by_sheet: dict[int, list[int]],
        seen: dict[int, Floats],
        picture: Picture,
    ) -> None:
        width, height = picture.size
        self.centre = ((width - 1) / 2, (height - 1) / 2)
        noted = picture.focal_35
        self.usual = (noted or USUAL_FOCAL) / FILM * float(np.hypot(width, height))
        self.spread = NOTED_SPREAD if noted else USUAL_SPREAD
        self.sheets = sheets
        self.flat = [
            np.concatenate([sheet.corners[n] for n in by_sheet[sheet.index]]) for sheet in sheets
        ]
        self.pixels = np.concatenate(
            [np.concatenate([seen[n] for n in by_sheet[sheet.index]]) for sheet in sheets]
        )
        self.kept = np.ones(len(self.pixels), dtype=bool)

    def solve(self) -> tuple[Floats, float]:
        start = self._start()
        solution = least_squares(self._errors, start, x_scale="jac", loss="soft_l1", f_scale=1.0)
        apart = self._apart(solution.x)
        self.kept = apart < STRAY
        if self.kept.sum() < 4 * FEWEST_MARKERS:
            raise InputError(
                f"the markers do not fit a flat sheet: they are {np.median(apart):.1f} pixels off",
                mend="Tape the sheet flat, and give the length its bar was measured to",
            )
        solution = least_squares(self._errors, solution.x, x_scale="jac")
        noise = max(float(np.sqrt((solution.fun**2).mean())), 0.02)
        slopes = np.asarray(solution.jac, dtype=float)
        covariance = np.linalg.pinv(slopes.T @ slopes) * noise**2
        return solution.x, float(np.sqrt(max(covariance[0, 0], 0.0)))

    def _start(self) -> Floats:
        """Return a start from the first sheet's homography."""
        count = len(self.flat[0])
        matrix = np.array(
            [[self.usual, 0, self.centre[0]], [0, self.usual, self.centre[1]], [0, 0, 1]]
        )
        spots = np.column_stack([self.flat[0], np.zeros(count)])
        good, turn, shift = cv2.solvePnP(
            spots, self.pixels[:count], matrix, None, flags=cv2.SOLVEPNP_IPPE
        )
        if not good:
            raise InputError(
                "the markers lie where no flat sheet could show them",
                mend="Take the picture again, straighter from above",
            )
        start = [0.0, 0.0, 0.0, *np.ravel(turn), *np.ravel(shift)]
        placed = Camera(
            self.usual, self.centre, (0.0, 0.0), Rotation.from_rotvec(np.ravel(turn)).as_matrix(),
            np.ravel(shift), 0.0, 0, {}, 0.0,
        )  # fmt: skip
        for n, flat in enumerate(self.flat[1:], start=1):
            before = sum(len(each) for each in self.flat[:n])
            there = placed.to_plane(self.pixels[before : before + len(flat)], 0.0)
            start += _rigid(flat, there)
        return np.array(start)

    def _points(self, unknown: Floats) -> Floats:
        """Return every corner on the first sheet's frame, (n, 3)."""
        parts = [self.flat[0]]
        for n, flat in enumerate(self.flat[1:]):
            x, y, turn = unknown[9 + 3 * n : 12 + 3 * n]
            spin = np.array([[np.cos(turn), np.sin(turn)], [-np.sin(turn), np.cos(turn)]])
            parts.append(flat @ spin + np.array([x, y]))
        flat = np.concatenate(parts)
        return np.column_stack([flat, np.zeros(len(flat))])

    def _seen(self, unknown: Floats) -> Floats:
        return _project(
            self._points(unknown),
            self.usual * float(np.exp(unknown[0])),
            self.centre,
            (float(unknown[1]), float(unknown[2])),
            Rotation.from_rotvec(unknown[3:6]).as_matrix(),
            unknown[6:9],
        )

    def _apart(self, unknown: Floats) -> Floats:
        apart: Floats = np.hypot(*(self._seen(unknown) - self.pixels).T)
        return apart

    def _errors(self, unknown: Floats) -> Floats:
        """Return the corners' errors in pixels, and what is known beforehand as if it were read."""
        away = ((self._seen(unknown) - self.pixels) * self.kept[:, None]).ravel()
        # A reading of a corner is good to about a tenth of a pixel.
        known = 0.1 * unknown[:3] / np.array([self.spread, DISTORTION_SPREAD, DISTORTION_SPREAD])
        return np.concatenate([away, known])

    def camera(self, unknown: Floats, spread: float) -> Camera:
        apart = self._apart(unknown)[self.kept]
        placed = {
            sheet.index: (float(unknown[9 + 3 * n]), float(unknown[10 + 3 * n]),
                          float(unknown[11 + 3 * n]))
            for n, sheet in enumerate(self.sheets[1:])
        }  # fmt: skip
        return Camera(
            self.usual * float(np.exp(unknown[0])),
            self.centre,
            (float(unknown[1]), float(unknown[2])),
            Rotation.from_rotvec(unknown[3:6]).as_matrix(),
            np.asarray(unknown[6:9]),
            float(np.sqrt((apart**2).mean())),
            int(self.kept.sum()) // 4,
            placed,
            spread,
        )


def _rigid(flat: Floats, there: Floats) -> list[float]:
    """Return the move (x, y, turn) that lays one set of points on another best."""
    a, b = flat - flat.mean(axis=0), there - there.mean(axis=0)
    cross = a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0]
    turn = float(np.arctan2(cross.sum(), (a * b).sum()))
    spin = np.array([[np.cos(turn), np.sin(turn)], [-np.sin(turn), np.cos(turn)]])
    move = there.mean(axis=0) - flat.mean(axis=0) @ spin
    return [float(move[0]), float(move[1]), turn]
