"""How a scanned knife is laid into the knife frame.

1. Principal axes of its surface, each triangle with the weight of its area: length, width, then
   thickness.
2. Its mid-plane: the plane nearest to the middles between front and back, the thinnest places
   counting most, for the blade tells the plane better than a carved handle.
3. The tip is at the thinner end, the edge on the blade's thinner side, unless the person says.
4. x runs along the straightest side of the blade.
5. The person's nudge.

The steps look at the knife on a grid ``COARSE`` mm wide.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import atan, cos, degrees, radians, sin
from typing import TYPE_CHECKING

import numpy as np

from chape.errors import InputError
from chape.field.grid import Grid
from chape.field.pieces import areas
from chape.field.raster import reach_of, top_of
from chape.field.silhouette import silhouette_of
from chape.knife.file_mesh import Heading
from chape.knife.landmarks import reach_at
from chape.knife.model import Edges
from chape.knife.profile import Profile, blade_end, straightest, thin_end, thin_side

if TYPE_CHECKING:
    import numpy.typing as npt

    from chape.field.grid import Floats
    from chape.knife.file_mesh import MeshTable

COARSE = 0.5

#: The blade's end is found again on a finer one, mm.
FINE = 0.1

#: The mid-plane is found by turning towards it so often; each turn leaves a hundredth.
PLANE_TURNS = 3

#: Middles further than about this from the plane count less, mm: from the first to the last of the
#: steps in which it is found.
PLANE_SCALES = (2.0, 1.0, 0.5, 0.25, 0.1, 0.1, 0.1, 0.1)

#: Both sides are nowhere nearer to one another than this, mm; the same triangle lies on itself.
SKIN = 1e-6

#: An axis the person names must lie within 60 degrees of the knife's own.
LEAST_ALONG = 0.5


@dataclass(frozen=True, slots=True, eq=False)
class Laid:
    """A mesh in the knife frame.

    Attributes:
        triangles: (n, 3, 3) corners, mm; tip at x = 0, lowest point at y = 0, mid-plane z = 0.
        blade_length: found, or as the person said, mm.
        tip, edge: where they point in the mesh's own file.
        along: what x runs along: "edge", "spine" or "axis".
    """

    triangles: Floats
    blade_length: float
    tip: Heading
    edge: Heading
    along: str


@dataclass(frozen=True, slots=True, eq=False)
class Seen:
    """A mesh from both sides: highest and lowest z over each node, infinite where there is none."""

    grid: Grid
    top: Floats
    bottom: Floats

    @property
    def solid(self) -> npt.NDArray[np.bool_]:
        """Where both sides are there: through a hole in one the other is seen from within."""
        return np.isfinite(self.top) & (self.top > self.bottom + SKIN)

    def profile(self) -> Profile:
        """Return reach and thickness of each column that holds something."""
        there = self.solid
        some = there.any(axis=0)
        columns = there[:, some]
        y = self.grid.y
        low = y[np.argmax(columns, axis=0)]
        high = y[len(y) - 1 - np.argmax(columns[::-1], axis=0)]
        full = np.zeros(columns.shape)
        full[columns] = self.top[:, some][columns] - self.bottom[:, some][columns]
        return Profile(self.grid.x[some], low, high, y, full)


def seen(triangles: Floats, spacing: float, margin: float = 1.0) -> Seen:
    """Return a mesh from both sides over a grid around it."""
    reach = reach_of(triangles)
    low, high = reach[0] - margin, reach[1] + margin
    return seen_on(triangles, Grid.over(low[0], low[1], high[0], high[1], spacing))


def seen_on(triangles: Floats, grid: Grid) -> Seen:
    """Return a mesh from both sides over the nodes of a grid."""
    below = triangles * np.array([1.0, 1.0, -1.0])
    return Seen(grid, top_of(triangles, grid), -top_of(below, grid))


def lay(triangles: Floats, table: MeshTable, edges: Edges) -> Laid:
    """Lay a mesh into the knife frame.

    Args:
        triangles: (n, 3, 3) corners, mm, in the mesh's own axes.
        table: what the person says of it, lengths in mm.
        edges: one or two.

    Raises:
        InputError: tip, edge or blade's end cannot be told, or an axis that was named lies across.
    """
    middle = reach_of(triangles).mean(axis=0)
    rotation = _principal(triangles)
    placed = _turned(triangles - middle, rotation)
    for _ in range(PLANE_TURNS):
        tilt, height = _plane(seen(placed, COARSE))
        placed = _turned(placed, tilt) - [0.0, 0.0, height]
        rotation = tilt @ rotation
    over = _over_ends(seen(placed, COARSE), rotation, table)
    placed, rotation = _turned(placed, over), over @ rotation
    profile = seen(placed, COARSE).profile()
    length = _blade_length(profile, _span(placed), table)
    over = _over_sides(profile, length, rotation, table, edges)
    placed, rotation = _turned(placed, over), over @ rotation
    slope, along = _slope(placed, length, single=edges is Edges.SINGLE)
    nudge = _nudge(-degrees(atan(slope)) + table.turn, table.roll, table.pitch)
    placed, rotation = _turned(placed, nudge), nudge @ rotation
    least = reach_of(placed)[0]
    placed -= [least[0], least[1], -table.shift]
    if table.blade_length is None:
        length = blade_end(seen(placed, FINE).profile())
    tip, edge = Heading.nearest(-rotation[0]), Heading.nearest(-rotation[1])
    return Laid(placed, length, tip, edge, along)


def _turned(triangles: Floats, rotation: Floats) -> Floats:
    turned: Floats = triangles.reshape(-1, 3) @ rotation.T
    return turned.reshape(-1, 3, 3)


def _principal(triangles: Floats) -> Floats:
    """Return the rotation (3, 3) whose rows are the axes of length, width and thickness."""
    weight = areas(triangles)
    centres = triangles.mean(axis=1)
    centres -= np.average(centres, axis=0, weights=weight)
    spread = (centres * weight[:, None]).T @ centres
    _, axes = np.linalg.eigh(spread)
    x, y = axes[:, 2], axes[:, 1]
    # The sign of an axis is a matter of rounding; a fixed one keeps the frame the same each time.
    x, y = (axis * np.sign(axis[np.argmax(np.abs(axis))]) for axis in (x, y))
    return np.array([x, y, np.cross(x, y)])


def _plane(view: Seen) -> tuple[Floats, float]:
    """Return the turn that levels the mid-plane, and how high it lies then."""
    there = view.solid
    x, y = (axis[there] for axis in view.grid.mesh())
    middle = (view.top[there] + view.bottom[there]) / 2
    thick = view.top[there] - view.bottom[there]
    rows = np.column_stack([np.ones(len(x)), x, y])
    base = 1 / (0.5 + thick)
    weight: Floats = base
    plane: Floats = np.zeros(3)
    for scale in PLANE_SCALES:
        plane = np.linalg.lstsq(rows * weight[:, None], middle * weight, rcond=None)[0].astype(
            float
        )
        off = (middle - rows @ plane) / scale
        weight = base / np.sqrt(1 + off * off)
    normal = np.array([-plane[1], -plane[2], 1.0])
    normal /= np.linalg.norm(normal)
    along = np.array([1.0, 0.0, plane[1]])
    along /= np.linalg.norm(along)
    return np.array([along, np.cross(normal, along), normal]), float(plane[0] * normal[2])


def _over_ends(view: Seen, rotation: Floats, table: MeshTable) -> Floats:
    """Return the half turn in the plane that brings the tip to the left, or none."""
    if table.tip is not None:
        at_left = _agrees(-rotation[0], table.tip, "tip", "along")
    else:
        at_left = thin_end(view.profile())
    return np.eye(3) if at_left else np.diag([-1.0, -1.0, 1.0])


def _over_sides(
    profile: Profile, length: float, rotation: Floats, table: MeshTable, edges: Edges
) -> Floats:
    """Return the half turn about the length that brings the edge down, or none."""
    if table.edge is not None:
        down = _agrees(-rotation[1], table.edge, "edge", "across")
    else:
        down = thin_side(profile, length, single=edges is Edges.SINGLE)
    return np.eye(3) if down else np.diag([1.0, -1.0, -1.0])


def _blade_length(profile: Profile, whole: float, table: MeshTable) -> float:
    """Return how long the blade is, as the person says, or as the profile tells it."""
    if table.blade_length is None:
        return blade_end(profile)
    if table.blade_length >= whole:
        raise InputError(
            f"the blade is {table.blade_length:.1f} mm long, but the whole knife {whole:.1f} mm",
            mend="Measure the blade from its tip to the front of guard or handle",
            field="mesh.blade_length",
        )
    return table.blade_length


def _span(placed: Floats) -> float:
    """Return how long a mesh is along x."""
    low, high = reach_of(placed)[:, 0]
    return float(high - low)


def _slope(placed: Floats, length: float, *, single: bool) -> tuple[float, str]:
    """Return the slope of what x shall run along, and its name, as ``straightest`` tells it."""
    outline = silhouette_of(placed, FINE)
    if outline is None:
        raise InputError("the mesh holds no region as large as a knife", mend="Scan it again")
    tip = outline.bounds[0]
    x = tip + np.arange(0.15 * length, 0.93 * length, COARSE)
    low, high = reach_at(outline, x)
    return straightest(x, low, high, single=single)


def _agrees(direction: Floats, heading: Heading, key: str, how: str) -> bool:
    """Say whether a direction points as the person says rather than the other way."""
    share = float(direction @ heading.vector)
    if abs(share) >= LEAST_ALONG:
        return share > 0
    axis = Heading.nearest(direction).value[1]
    raise InputError(
        f'the knife does not lie {how} {heading.value[1]} in this mesh, but {key} = "{heading}"',
        mend=f'Write "+{axis}" or "-{axis}"',
        field=f"mesh.{key}",
    )


def _nudge(turn: float, roll: float, pitch: float) -> Floats:
    """Return the rotation about z, then x, then y, by angles in degrees."""
    a, b, c = radians(turn), radians(roll), radians(pitch)
    about_z = np.array([[cos(a), -sin(a), 0], [sin(a), cos(a), 0], [0, 0, 1]])
    about_x = np.array([[1, 0, 0], [0, cos(b), -sin(b)], [0, sin(b), cos(b)]])
    about_y = np.array([[cos(c), 0, -sin(c)], [0, 1, 0], [sin(c), 0, cos(c)]])
    nudge: Floats = about_y @ about_x @ about_z
    return nudge
