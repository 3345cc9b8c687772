"""Pictures as phones and scanners write them, and what only looks like one."""

from __future__ import annotations

import io
import struct
import tracemalloc
import zlib

import numpy as np
import pillow_heif
import pytest
from PIL import Image

from chape.errors import InputError
from chape.knife.picture import read_picture

SIZE = (900, 700)


def _upright():
    """A picture of which no turn or mirror image looks the same."""
    pixels = np.zeros((SIZE[1], SIZE[0], 3), dtype=np.uint8)
    pixels[:350, :450] = (250, 40, 40)
    pixels[:350, 450:] = (40, 250, 40)
    pixels[350:, :450] = (40, 40, 250)
    pixels[:60, :200] = (255, 255, 255)
    return pixels


#: What a camera held so does to an upright picture (EXIF 2.32, tag 0x0112, from memory).
HELD = {
    1: lambda p: p,
    2: lambda p: p[:, ::-1],
    3: lambda p: p[::-1, ::-1],
    4: lambda p: p[::-1],
    5: lambda p: p.transpose(1, 0, 2),
    6: lambda p: p[:, ::-1].transpose(1, 0, 2),
    7: lambda p: p[::-1, ::-1].transpose(1, 0, 2),
    8: lambda p: p[::-1].transpose(1, 0, 2),
}


@pytest.mark.parametrize("orientation", HELD)
def test_every_way_of_holding_a_camera_comes_out_upright(tmp_path, orientation):
    path = tmp_path / "held.png"
    exif = Image.Exif()
    exif[0x0112] = orientation
    Image.fromarray(np.ascontiguousarray(HELD[orientation](_upright()))).save(path, exif=exif)
    assert np.array_equal(read_picture(path).pixels, _upright())


def test_heic_comes_back_as_it_went(tmp_path):
    path = tmp_path / "phone.heic"
    pillow_heif.from_pillow(Image.fromarray(_upright())).save(path, quality=95)
    picture = read_picture(path)
    assert picture.size == SIZE
    middles = picture.pixels[[150, 150, 500], [300, 700, 200]].astype(int)
    assert np.abs(middles - _upright()[[150, 150, 500], [300, 700, 200]]).max() <= 6


def test_the_lens_and_the_scanner_are_read(tmp_path):
    path = tmp_path / "photo.jpg"
    exif = Image.Exif()
    exif.get_ifd(0x8769)[0xA405] = 26
    Image.fromarray(_upright()[:675]).save(path, exif=exif, dpi=(300, 300))
    picture = read_picture(path)
    assert picture.focal_35 == 26.0
    assert picture.dpi == pytest.approx(300.0)
    # No camera writes 900 x 650 pixels: this one was cut.
    Image.fromarray(_upright()[:650]).save(path, exif=exif)
    assert read_picture(path).focal_35 is None
    Image.fromarray(_upright()).save(path)
    assert read_picture(path).focal_35 is None


@pytest.mark.parametrize("mode", ["L", "RGBA", "I;16", "CMYK"])
def test_any_kind_of_pixel_becomes_colour(tmp_path, mode):
    grey = Image.new("L", SIZE, 128)
    path = tmp_path / "any.tif"
    (Image.new("I;16", SIZE, 32896) if mode == "I;16" else grey.convert("RGB").convert(mode)).save(
        path
    )
    picture = read_picture(path)
    assert picture.pixels.shape == (SIZE[1], SIZE[0], 3)
    assert np.abs(picture.pixels.astype(int) - 128).max() <= 2


def _refused(path):
    with pytest.raises(InputError) as caught:
        read_picture(path)
    assert str(path.name) in str(caught.value)
    assert "\n" not in str(caught.value)
    return str(caught.value)


def _png_of_size(width, height):
    """A PNG that claims a size and holds next to nothing."""

    def chunk(kind, content):
        body = kind + content
        return struct.pack(">I", len(content)) + body + struct.pack(">I", zlib.crc32(body))

    head = struct.pack(">IIBBBBB", width, height, 8, 2, 0, 0, 0)
    zeros = zlib.compress(bytes(1000))
    content = chunk(b"IHDR", head) + chunk(b"IDAT", zeros) + chunk(b"IEND", b"")
    return b"\x89PNG\r\n\x1a\n" + content


@pytest.mark.parametrize(("width", "height"), [(20000, 10000), (200000, 200000)])
def test_two_hundred_million_pixels_are_refused_before_they_are_read(tmp_path, width, height):
    path = tmp_path / "huge.png"
    path.write_bytes(_png_of_size(width, height))
    tracemalloc.start()
    said = _refused(path)
    _, most = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    assert "million" in said
    # Their pixels would take 600 MB and more; the file itself may be read up to 80 MB.
    assert most < 100_000_000


def test_what_is_no_picture(tmp_path):
    text = tmp_path / "notes.jpg"
    text.write_text("blade 4 mm\n" * 50)
    assert "no picture" in _refused(text)
    empty = tmp_path / "empty.jpg"
    empty.write_bytes(b"")
    _refused(empty)
    _refused(tmp_path / "missing.jpg")
    folder = tmp_path / "folder.jpg"
    folder.mkdir()
    _refused(folder)


@pytest.mark.parametrize("kind", ["JPEG", "PNG", "TIFF"])
@pytest.mark.parametrize("share", [0.02, 0.5, 0.95])
def test_a_picture_cut_short(tmp_path, kind, share):
    stream = io.BytesIO()
    noisy = np.random.default_rng(1).integers(0, 255, (SIZE[1], SIZE[0], 3), dtype=np.uint8)
    Image.fromarray(noisy).save(stream, kind)
    path = tmp_path / f"cut.{kind.lower()}"
    path.write_bytes(stream.getvalue()[: int(share * len(stream.getvalue()))])
    _refused(path)


def test_a_heic_cut_short(tmp_path):
    path = tmp_path / "cut.heic"
    pillow_heif.from_pillow(Image.fromarray(_upright())).save(path, quality=95)
    path.write_bytes(path.read_bytes()[:-400])
    _refused(path)


def test_a_thumbnail_is_too_small(tmp_path):
    path = tmp_path / "small.png"
    Image.new("RGB", (640, 480)).save(path)
    assert "640 x 480" in _refused(path)
