"""What is sent to do harm is refused with one sentence, and neither memory nor files pay for it."""

import io
import struct
import zipfile
import zlib

import pytest

from chape.bench.measuring import ToMeasure, measure_upload
from chape.bench.uploads import Sort, Upload, take_in
from chape.errors import ChapeError
from chape.pipeline.measure import Asked
from shop_bench import TOMORROW, stocked_bench

#: Entities that each name the one before ten times: a few hundred bytes that would fill a disk.
ENTITIES = "".join(
    f'<!ENTITY e{n} "{f"&e{n - 1};" * 10 if n else "harm" * 25}">' for n in range(12)
)
SVG = '<?xml version="1.0"?><!DOCTYPE svg [{}]><svg xmlns="http://www.w3.org/2000/svg">{}</svg>'


def png_that_claims(width, height):
    """A picture of a few bytes that would unpack to gigabytes."""

    def chunk(kind, content):
        check = struct.pack(">I", zlib.crc32(kind + content))
        return struct.pack(">I", len(content)) + kind + content + check

    head = struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)
    packed = zlib.compress(bytes(1_000_000))
    body = chunk(b"IHDR", head) + chunk(b"IDAT", packed) + chunk(b"IEND", b"")
    return b"\x89PNG\r\n\x1a\n" + body


def mesh_that_lies():
    """A 3MF whose list of files says that one of them is small."""
    packed = io.BytesIO()
    with zipfile.ZipFile(packed, "w", zipfile.ZIP_DEFLATED) as whole:
        whole.writestr("3D/3dmodel.model", b" " * 30_000_000)
    content = bytearray(packed.getvalue())
    for at, mark in ((22, b"PK\x03\x04"), (24, b"PK\x01\x02")):
        struct.pack_into("<I", content, content.index(mark) + at, 100)
    return bytes(content)


@pytest.mark.parametrize(
    ("sort", "content"),
    [
        (Sort.PHOTO, png_that_claims(30_000, 30_000)),
        (Sort.SCAN, png_that_claims(2_000_000_000, 1)),
        (Sort.SCAN, png_that_claims(0, 0)),
        (Sort.DRAWING, SVG.format(ENTITIES, "<desc>&e11;</desc>").encode()),
        (
            Sort.DRAWING,
            SVG.format('<!ENTITY x SYSTEM "file:///etc/passwd">', "<desc>&x;</desc>").encode(),
        ),
        (Sort.DRAWING, SVG.format("", "<script>fetch('/api/knives')</script>").encode()),
        (Sort.MESH, mesh_that_lies()),
    ],
    ids=["30k picture", "long picture", "no picture", "entities", "a file", "script", "mesh"],
)
def test_a_file_made_to_do_harm_is_one_sentence(tmp_path, sort, content):
    path = take_in(Upload("knife", io.BytesIO(content)), sort, tmp_path / "in")
    folder = tmp_path / "knives/harm"
    with pytest.raises(ChapeError) as refused:
        measure_upload(lambda *_: None, ToMeasure(path, sort, Asked(name="Harm"), None, {}, folder))
    assert "root:" not in str(refused.value)
    assert not folder.exists()


@pytest.fixture(scope="module")
def client(tmp_path_factory):
    return stocked_bench(tmp_path_factory.mktemp("attacked") / "bench")


@pytest.mark.parametrize("path", ["backup.zip", "export.zip", "orders.csv", "papers/care.pdf"])
def test_a_page_of_elsewhere_takes_nothing_from_the_shop(client, path):
    for site in ("cross-site", "same-site"):
        answer = client.get(f"/api/shop/{path}", headers={"Sec-Fetch-Site": site})
        assert answer.status_code == 403
    assert client.get(f"/api/shop/{path}").headers["cross-origin-resource-policy"] == "same-origin"


def test_a_form_of_elsewhere_brings_nothing_into_the_shop(client):
    """A form with a file is sent by a browser without asking first."""
    files = {"file": ("orders.csv", b"customer\n", "text/csv")}
    answer = client.post(
        "/api/shop/orders/table", files=files, headers={"Origin": "http://evil.test"}
    )
    assert answer.status_code == 403


@pytest.mark.parametrize(
    "path",
    [
        "pieces/..%2f..%2fshop.toml",
        "orders/..%2fshop.db",
        "papers/..%2fcare.pdf",
        "rush/..%2f..%2fkey",
        "customers/..%2f..%2f..%2fetc%2fpasswd/note",
    ],
)
def test_no_name_in_the_shop_is_a_way_to_a_file(client, path):
    answer = client.get(f"/api/shop/{path}")
    assert answer.status_code in {200, 404, 422}
    assert "[models" not in answer.text
    assert "root:" not in answer.text


def test_a_table_that_never_ends_is_refused(client):
    row = b"c,camp,acrylic-pvc-2.0,black,2026-12-01\n"
    large = b"customer,model,sheet,colour,due\n" + row * 210_000
    answer = client.post("/api/shop/orders/table", files={"file": ("orders.csv", large)})
    assert answer.status_code == 413


def test_a_cell_does_not_become_a_second_row(client):
    line = f'c1,camp,acrylic-pvc-2.0,black,{TOMORROW},1,"one\nc2,camp"\n'
    table = b"customer,model,sheet,colour,due,quantity,note\n" + line.encode()
    answer = client.post("/api/shop/orders/table", files={"file": ("o.csv", table)}).json()
    assert answer["entered"] == []
    assert [row["field"] for row in answer["bad"]] == ["note"]
