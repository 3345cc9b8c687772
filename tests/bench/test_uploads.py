"""What comes in is told by what it holds; what is too much or something else is refused."""

import io
import json
import zipfile

import numpy as np
import pytest
from PIL import Image
from starlette.testclient import TestClient

from chape.bench import uploads
from chape.bench.app import create_app
from chape.bench.bench import Bench
from chape.bench.measuring import ToMeasure, flat_picture, measure_upload
from chape.bench.place import open_place
from chape.bench.uploads import Sort, Upload, ending_of, take_in
from chape.documents.outline_drawing import outline_svg
from chape.errors import InputError
from chape.knife import from_drawing, picture
from chape.knife.laying import lay_outline
from chape.knife.measured import Measured
from chape.knife.picture import Picture
from chape.pipeline.measure import Asked
from specimens import camp_knife


@pytest.mark.parametrize(
    ("head", "size", "ending"),
    [
        (b"\xff\xd8\xff\xe0", 4, "jpg"),
        (b"\x89PNG\r\n\x1a\n", 8, "png"),
        (b"\0\0\0\x18ftypheic", 12, "heic"),
        (b"solid knife\n", 12, "stl"),
        (bytes(80) + b"\2\0\0\0", 184, "stl"),
        (bytes(80) + b"\2\0\0\0", 185, None),
        (b"ply\nformat", 10, "ply"),
        (b"# a mesh\nv 0 0 0\n", 17, "obj"),
        (b"<?xml version='1.0'?>\n<svg xmlns='x'>", 37, "svg"),
        (b"<html>", 6, None),
        (b"  0\r\nSECTION\r\n", 14, "dxf"),
        (b"MZ\0\0", 4, None),
        (b"", 0, None),
        (b"hello", 5, None),
    ],
)
def test_a_file_is_told_by_what_it_holds(head, size, ending):
    assert ending_of(head, size) == ending


def taken(content, sort, folder, name="IMG 1.exe"):
    return take_in(Upload(name, io.BytesIO(content)), sort, folder)


def test_a_name_keeps_its_letters_and_gets_the_right_ending(tmp_path):
    path = taken(b"\xff\xd8\xff", Sort.PHOTO, tmp_path, "..\\..\\/etc/My knife ß.toml")
    assert path == tmp_path / "My-knife.jpg"
    assert path.read_bytes() == b"\xff\xd8\xff"


def test_another_kind_and_too_much_are_refused(tmp_path, monkeypatch):
    with pytest.raises(InputError, match="no mesh that chape can read"):
        taken(b"\xff\xd8\xff", Sort.MESH, tmp_path)
    with pytest.raises(InputError, match="the file is empty"):
        taken(b"", Sort.PHOTO, tmp_path)
    monkeypatch.setattr(uploads, "LARGEST_PICTURE", 100)
    with pytest.raises(InputError, match="larger than"):
        taken(b"\xff\xd8\xff" + bytes(200), Sort.PHOTO, tmp_path)
    assert list(tmp_path.iterdir()) == []


def test_a_packed_mesh_that_unpacks_to_far_too_much_is_refused(tmp_path, monkeypatch):
    monkeypatch.setattr(uploads, "LARGEST_UNPACKED", 1_000_000)
    packed = io.BytesIO()
    with zipfile.ZipFile(packed, "w", zipfile.ZIP_DEFLATED) as whole:
        whole.writestr("3D/3dmodel.model", bytes(2_000_000))
    with pytest.raises(InputError, match="unpacks to more"):
        taken(packed.getvalue(), Sort.MESH, tmp_path)
    with pytest.raises(InputError, match="damaged"):
        taken(packed.getvalue()[:60], Sort.MESH, tmp_path)


def test_the_readers_hold_to_the_same_bounds():
    assert uploads.LARGEST_DRAWING == from_drawing.LARGEST_DRAWING
    assert uploads.LARGEST_PICTURE == picture.LARGEST_FILE


def test_a_drawing_becomes_a_knife_with_its_guesses_named(tmp_path):
    content = outline_svg(camp_knife(0.8).outline, "camp")
    path = taken(content, Sort.DRAWING, tmp_path / "in", "camp.svg")
    folder = tmp_path / "knives/camp"
    wanted = ToMeasure(path, Sort.DRAWING, Asked(name="Camp"), None, {}, folder)
    stages = []
    found = measure_upload(lambda stage, _: stages.append(stage), wanted)
    assert found["length"] == pytest.approx(230, abs=0.05)
    assert found["to_measure"] == ["blade.spine_thickness", "handle.thickness"]
    assert stages == ["Find the knife", "Write its files"]
    assert sorted(each.name for each in folder.iterdir()) == ["knife.toml", "outline.svg"]
    json.dumps(found)


def test_the_picture_lies_under_its_outline():
    ring = np.array([[0, 20], [60, 2], [200, 0], [200, 25], [60, 30.0]])
    laid = lay_outline(ring)

    def to_pixels(points):
        return 4.0 * points + 100.0

    # Black where x < 100, white beyond.
    pixels = np.full((300, 1100, 3), 255, np.uint8)
    pixels[:, :500] = 0
    measured = Measured("scan", laid, Picture(pixels, None, None), to_pixels, 0.0, 0.1)
    files = flat_picture(measured)
    place = json.loads(files["photo.json"])
    picture = np.asarray(Image.open(io.BytesIO(files["photo.jpg"])).convert("L"))
    assert place["mm_per_pixel"] == pytest.approx(0.25)
    row = picture[picture.shape[0] // 2]
    edge = place["left"] + (np.argmax(row[100:] > 128) + 100) * place["mm_per_pixel"]
    assert edge == pytest.approx(100, abs=0.3)


def test_a_file_is_refused_before_any_work(tmp_path):
    bench = Bench(open_place(tmp_path))
    client = TestClient(
        create_app(bench), base_url="http://127.0.0.1:8017", client=("127.0.0.1", 50000)
    )

    def sent(content, **fields):
        fields = {"name": "otter", "kind": "photo", **fields}
        files = {"file": ("otter.jpg", content)}
        return client.post("/api/knives/from-file", data=fields, files=files)

    assert sent(b"nothing").status_code == 422
    assert sent(b"\xff\xd8\xff", name="../x").status_code == 422
    assert sent(b"\xff\xd8\xff", tip="north").json()["problem"]["field"] == "tip"
    assert sent(b"\xff\xd8\xff", bar="nan").status_code == 422
    assert sent(b"\xff\xd8\xff", handle_thickness="thick").status_code == 422
    assert bench.works.all() == []
    assert not any((tmp_path / ".chape").rglob("*.jpg"))
