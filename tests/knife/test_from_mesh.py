"""Knives from scanned meshes: in any pose and unit, spoilt and nudged; what cannot be, refused."""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest
import shapely
from scipy.spatial import ConvexHull
from shapely import affinity

from chape.errors import InputError
from chape.field.pieces import joined_corners
from chape.knife.compare import best_fit, signed_distance
from chape.knife.file_mesh import Heading, Keep, MeshTable
from chape.knife.from_mesh import DEFAULT_BEVEL, knife_pieces, measure_mesh
from chape.knife.mesh_half import halves_of
from chape.knife.model import Edges
from chape.knife.read import read_any_knife, read_knife
from scanned import BEVEL, BLADE, LENGTH, SCRIPT, any_turn, stl, whole_knife

SPACING = 0.4


@cache
def truth() -> shapely.Polygon:
    x = np.concatenate(
        [np.linspace(0.0, BLADE - 0.01, 800), np.linspace(BLADE + 0.01, LENGTH, 800)]
    )
    low, high = SCRIPT["reach"](x)
    return shapely.Polygon(np.vstack([np.column_stack([x, low]), np.column_stack([x, high])[::-1]]))


def true_half(x: float, y: float) -> float:
    section = SCRIPT["section"](x)
    return float(np.interp(y, section[:, 0], section[:, 1]))


def measured(folder, triangles, edges=Edges.SINGLE, spacing=SPACING, **table):
    (folder / "scan.stl").write_bytes(stl(triangles))
    return measure_mesh(MeshTable(file="scan.stl", **table), edges, spacing, folder)


def codes(knife) -> set[str]:
    return {remark.code for remark in knife.remarks}


@pytest.mark.parametrize("seed", range(4))
def test_any_pose_gives_the_same_knife(tmp_path, seed):
    turn = any_turn(seed)
    knife = measured(tmp_path, whole_knife() @ turn.T + [30.0, -80.0, 200.0])
    assert knife.tip is Heading.nearest(-turn[:, 0])
    assert knife.edge is Heading.nearest(-turn[:, 1])
    assert knife.blade_length == pytest.approx(BLADE, abs=0.2)
    assert knife.bevel_width == pytest.approx(BEVEL, abs=0.1)
    # Front and back are cut into triangles along different diagonals.
    assert knife.apart < 0.03
    x_min, y_min, x_max, _ = knife.outline.bounds
    assert (x_min, y_min) == pytest.approx((0, 0), abs=0.015)
    assert x_max == pytest.approx(LENGTH, abs=0.02)
    # The spine is straight and lies along x in the drawing too: no turn is left.
    placement = best_fit(truth(), knife.outline)
    assert abs(placement.turn) < 0.001
    off = signed_distance(truth(), placement.of(shapely.get_coordinates(knife.outline.exterior)))
    assert np.quantile(np.abs(off), 0.95) < 0.05


def test_thickness_is_that_of_the_sections(tmp_path):
    knife = measured(tmp_path, whole_knife() @ any_turn(7).T)
    placement = best_fit(truth(), knife.outline)
    grid = knife.half.grid
    x, y = (axis.ravel() for axis in grid.mesh())
    at = placement.of(np.column_stack([x, y]))
    calm = truth().buffer(-0.8).difference(shapely.box(BLADE - 1, -20, BLADE + 7, 40))
    inside = np.flatnonzero(shapely.contains_xy(calm, at))[::23]
    error = [knife.half.z.ravel()[k] - true_half(*at[k]) for k in inside]
    assert len(error) > 500
    assert np.abs(error).max() < 0.12
    assert np.quantile(np.abs(error), 0.95) < 0.03
    assert knife.half.z[:, (grid.x < 0) | (grid.x > LENGTH + 0.1)].max() == 0


def test_the_edge_band_covers_bevel_and_margin(tmp_path):
    knife = measured(tmp_path, whole_knife(), bevel_width=1.1, edge_margin=0.7)
    assert knife.bevel_width == 1.1
    band = knife.edge_band
    assert band.bounds[2] == pytest.approx(knife.blade_length)
    lower = shapely.LineString([(70, -10), (70, 50)]).intersection(band)
    assert lower.length == pytest.approx(1.8, abs=0.02)


@pytest.mark.parametrize(
    ("factor", "unit"), [(1.0, "mm"), (0.1, "cm"), (1 / 25.4, "inch"), (0.001, "m")]
)
def test_units_are_taken_or_guessed(tmp_path, factor, unit):
    told = measured(tmp_path, whole_knife() * factor, unit=unit)
    guessed = measured(tmp_path, whole_knife() * factor)
    assert told.outline.bounds[2] == pytest.approx(LENGTH, abs=0.02)
    assert guessed.outline.bounds == told.outline.bounds
    assert "mesh-unit-guessed" in codes(guessed) - codes(told)


def test_inches_read_as_mm_are_refused(tmp_path):
    with pytest.raises(InputError, match=r'mesh is 7\.9 mm long.*perhaps to "inch"'):
        measured(tmp_path, whole_knife() / 25.4, unit="mm")
    with pytest.raises(InputError, match="is no knife in any unit"):
        measured(tmp_path, whole_knife() / 300)


def test_specks_and_table_are_left_out_and_parts_kept():
    knife = whole_knife()
    table = np.array([[[0, -60, -15], [300, -60, -15], [0, 60, -15.0]]])
    rod = np.array([[0, 0, 0], [0, 4, 0], [0, 0, 4], [60, 0, 0], [60, 4, 0], [60, 0, 4.0]])
    faces = [[0, 2, 1], [3, 4, 5], [0, 1, 4], [0, 4, 3], [1, 2, 5], [1, 5, 4], [2, 0, 3], [2, 3, 5]]
    near, far = rod[faces] + [130, 10, 7], rod[faces] + [130, 10, 60]
    kept, (count, share) = knife_pieces(np.concatenate([knife, table, near, far]), Keep.KNIFE)
    assert len(kept) == len(knife) + len(near)
    assert count == 2
    assert 0.5 < share < 0.8
    everything, left = knife_pieces(np.concatenate([knife, table]), Keep.ALL)
    assert (len(everything), left) == (len(knife) + 1, (0, 0.0))


def test_a_hole_is_spanned_and_said(tmp_path):
    triangles = whole_knife()
    centre = triangles.mean(axis=1)
    hole = (np.hypot(centre[:, 0] - 150, centre[:, 1] - 11) < 8) & (centre[:, 2] > 0)
    whole = measured(tmp_path, triangles)
    holed = measured(tmp_path, triangles[~hole])
    assert "mesh-holes" in codes(holed)
    assert "mesh-holes" not in codes(whole)
    # The other side shows how thick it is.
    assert np.abs(holed.half.z - whole.half.z).max() < 0.1


def test_one_side_alone_is_refused(tmp_path):
    triangles = whole_knife()
    upper = triangles[triangles.mean(axis=1)[:, 2] > 0]
    with pytest.raises(
        InputError, match=r"one side of the knife is missing|no knife|cannot be told"
    ):
        measured(tmp_path, upper)


def test_the_thicker_side_counts_and_is_said(tmp_path):
    triangles = whole_knife()
    palm = (triangles[:, :, 2] > 0) & (triangles[:, :, 0] > BLADE + 8)
    triangles[palm, 2] *= 1.3
    knife = measured(tmp_path, triangles)
    plain = measured(tmp_path, whole_knife())
    assert "knife-lopsided" in codes(knife)
    assert "knife-lopsided" not in codes(plain)
    # A tenth is lost where the mid-plane follows the palm swell a little.
    assert knife.half.z.max() == pytest.approx(1.3 * plain.half.z.max(), abs=0.15)
    assert knife.apart == pytest.approx(0.3 * plain.half.z.max(), rel=0.2)


def test_what_the_person_says_counts(tmp_path):
    found = measured(tmp_path, whole_knife())
    assert (found.tip, found.edge) == (Heading.MINUS_X, Heading.MINUS_Y)
    over = measured(tmp_path, whole_knife(), edge="+y", blade_length=90)
    assert over.edge is Heading.PLUS_Y
    assert over.blade_length == 90
    turned = affinity.scale(found.outline, 1, -1, origin=(0, 0))
    assert best_fit(turned, over.outline).turn == pytest.approx(0, abs=0.001)
    nudged = measured(tmp_path, whole_knife(), turn=2.0, shift=0.5, roll=1.0, pitch=-1.0)
    back = best_fit(found.outline, nudged.outline)
    assert np.degrees(back.turn) == pytest.approx(-2.0, abs=0.05)
    assert nudged.apart > 0.8
    with pytest.raises(InputError, match=r'does not lie along z.*tip = "-z".*Write "\+x" or "-x"'):
        measured(tmp_path, whole_knife(), tip="-z")


def test_what_cannot_be_told_is_asked(tmp_path):
    bar = np.array([[-100, -12, -2], [100, 12, 2.0]])
    corners = np.array(np.meshgrid(*bar.T)).reshape(3, -1).T
    slab = corners[ConvexHull(corners).simplices]
    with pytest.raises(InputError, match="tip cannot be told"):
        measured(tmp_path, slab, unit="mm")
    with pytest.raises(InputError, match="blade's end cannot be told"):
        measured(tmp_path, slab, unit="mm", tip="-x")
    with pytest.raises(InputError, match="edge cannot be told"):
        measured(tmp_path, slab, unit="mm", tip="-x", blade_length=100)
    slab[:, :, 1] *= 9
    with pytest.raises(InputError, match="no knife alone"):
        measured(tmp_path, slab, unit="mm")
    knife = measured(tmp_path, whole_knife(), edges=Edges.DOUBLE)
    assert len(knife.edge_band.geoms) in (1, 2)
    with pytest.raises(InputError, match=r"blade is 250\.0 mm long, but the whole knife 20"):
        measured(tmp_path, whole_knife(), blade_length=250)


def test_no_bevel_shows_without_one(tmp_path):
    triangles = whole_knife()
    # Blade flattened to a plate of even thickness: nothing rises from the edge.
    plate = triangles[:, :, 0] < BLADE
    triangles[plate, 2] = np.sign(triangles[plate, 2]) * 1.5
    knife = measured(tmp_path, triangles, edge="-y")
    assert knife.bevel_width == DEFAULT_BEVEL


FILE = '[knife]\nname = "x"\nunit = "inch"\n[mesh]\nfile = "scan.stl"\nblade_length = 3.6\n'


def test_a_knife_file_names_its_mesh(tmp_path):
    (tmp_path / "scan.stl").write_bytes(stl(whole_knife()))
    path = tmp_path / "knife.toml"
    path.write_text(FILE)
    knife = read_knife(path, 0.8)
    # Lengths in the file are inches; the mesh has its own unit.
    assert knife.blade_length == pytest.approx(91.44)
    assert knife.length == pytest.approx(LENGTH, abs=0.02)
    assert knife.remarks
    assert knife.half.z.tobytes() == read_knife(path, 0.8).half.z.tobytes()
    alone = read_any_knife(tmp_path / "scan.stl", 0.8)
    # x runs along the blade, whose end is said in one file and found in the other.
    assert alone.outline.hausdorff_distance(knife.outline) < 0.03


@pytest.mark.parametrize(
    ("text", "said"),
    [
        (
            FILE + "[blade]\nlength = 3\n",
            r"blade: the file has a \[mesh\].*and a \[blade\] besides",
        ),
        (FILE.replace("scan.stl", "scan.txt"), "mesh.file: 'scan.txt' is no .stl"),
        (FILE.replace("scan.stl", "none.stl"), "none.stl: there is no such file"),
        (FILE.replace("blade_length", "length"), "mesh.length: chape does not know this key"),
        (FILE + 'tip = "left"\n', "mesh.tip: found 'left'"),
        (FILE + "turn = 90\n", "mesh.turn: found 90"),
        (FILE + "shift = nan\n", "mesh.shift: found nan"),
        (FILE + 'unit = "feet"\n', "mesh.unit: found 'feet'"),
    ],
)
def test_bad_files_say_what_and_where(tmp_path, text, said):
    (tmp_path / "knife.toml").write_text(text)
    with pytest.raises(InputError, match=said) as caught:
        read_knife(tmp_path / "knife.toml", 1.0)
    assert "\n" not in str(caught.value)


def test_halves_of_a_hole_at_the_rim_stay_whole():
    # A slit that opens to the rim: spanned from inside, never pulled down to 0.
    triangles = whole_knife()
    centre = triangles.mean(axis=1)
    slit = (np.abs(centre[:, 0] - 150) < 2) & (centre[:, 2] > 0)
    low = triangles[~slit]
    halves = halves_of(low, truth(), 0.4)
    column = halves.half.z[:, round((150 - halves.half.grid.x0) / 0.4)]
    assert column.max() == pytest.approx(9.2, abs=0.2)


def test_needles_of_a_scan_are_left_out(tmp_path):
    triangles = whole_knife()
    for _ in range(2):
        a, b, c = np.moveaxis(triangles, 1, 0)
        ab, bc, ca = (a + b) / 2, (b + c) / 2, (c + a) / 2
        parts = [(a, ab, ca), (ab, b, bc), (ca, bc, c), (ab, bc, ca)]
        triangles = np.concatenate([np.stack(part, axis=1) for part in parts])
    corners = joined_corners(triangles)
    random = np.random.default_rng(5)
    moves = np.zeros((int(corners.max()) + 1, 3))
    # Near tip and butt a needle may be the knife's own.
    x = np.zeros(len(moves))
    x[corners.ravel()] = triangles.reshape(-1, 3)[:, 0]
    some = random.choice(np.flatnonzero((x > 20) & (x < LENGTH - 20)), 40, replace=False)
    moves[some] = random.normal(0, 5, (40, 3))
    spiked = triangles + moves[corners.ravel()].reshape(-1, 3, 3)
    clean, knife = measured(tmp_path, triangles), measured(tmp_path, spiked)
    assert knife.outline.hausdorff_distance(clean.outline) < 0.6
    assert knife.half.z.max() == pytest.approx(clean.half.z.max(), abs=0.05)
