"""Reads photographs and scans, upright, within bounded memory.

JPEG, PNG, TIFF and HEIC. What the camera noted about itself is read for its focal length and for
which way is up and the day; nothing else of it is kept.
"""

from __future__ import annotations

import io
import warnings
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING

import numpy as np
import pillow_heif
from PIL import ExifTags, Image, ImageOps, UnidentifiedImageError

from chape.catalog.files import read_bytes
from chape.errors import InputError

if TYPE_CHECKING:
    from pathlib import Path

    import numpy.typing as npt

#: No photograph or scan of a knife is larger, bytes and pixels.
LARGEST_FILE, MOST_PIXELS = 80_000_000, 120_000_000

#: A picture with fewer pixels along its shorter side shows too little of a knife.
FEWEST = 600

#: Cameras write pictures of these shapes, longer to shorter side, to this share. One of another
#: shape was cut, and the lens that is noted saw more than is left.
SHAPES, SHAPE_SPREAD = (4 / 3, 3 / 2), 0.012


@dataclass(frozen=True, slots=True, eq=False)
class Picture:
    """A picture, upright.

    Attributes:
        pixels: (h, w, 3) red, green, blue, 0 to 255.
        focal_35: focal length on 35 mm film that sees as wide, mm; None where it is not noted, or
            noted of more than is left of the picture.
        dpi: noted by a scanner, dots per inch; None without.
        taken: the day it was taken, where the camera noted it.
    """

    pixels: npt.NDArray[np.uint8]
    focal_35: float | None
    dpi: float | None
    taken: date | None = None

    @property
    def size(self) -> tuple[int, int]:
        """Width and height in pixels."""
        return self.pixels.shape[1], self.pixels.shape[0]


def read_picture(path: Path) -> Picture:
    """Read a photograph or scan.

    Raises:
        InputError: missing, no picture, damaged, far too large or far too small.
    """
    content = read_bytes(path, LARGEST_FILE)
    pillow_heif.register_heif_opener()
    try:
        with warnings.catch_warnings():
            # Its own warning about large pictures; the limit is checked below, before decoding.
            warnings.simplefilter("ignore", Image.DecompressionBombWarning)
            opened = Image.open(io.BytesIO(content), formats=("JPEG", "PNG", "TIFF", "HEIF"))
        _check_size(opened.size, path)
        noted = _noted(opened)
        upright = _eight_bits(ImageOps.exif_transpose(opened)).convert("RGB")
    except UnidentifiedImageError:
        raise InputError(
            "this is no picture chape can read",
            mend="Give a JPEG, PNG, TIFF or HEIC as it comes from the phone or scanner",
            file=path,
        ) from None
    except Image.DecompressionBombError:
        raise InputError(
            "the picture has far more pixels than the "
            f"{MOST_PIXELS / 1e6:.0f} million that chape reads",
            mend="Make it smaller; 12 million are plenty",
            file=path,
        ) from None
    except (OSError, ValueError, SyntaxError, MemoryError) as error:
        if isinstance(error, InputError):
            raise
        raise InputError(
            f"the picture is damaged ({' '.join(str(error).split())})",
            mend="Copy it anew from the phone",
            file=path,
        ) from None
    return Picture(np.asarray(upright, dtype=np.uint8), *noted)


def _eight_bits(picture: Image.Image) -> Image.Image:
    """Return the upper eight of 16 bits, as scanners write; the library would cut those off."""
    if not picture.mode.startswith("I;16"):
        return picture
    return Image.fromarray((np.asarray(picture) >> 8).astype(np.uint8))


def _check_size(size: tuple[int, int], path: Path) -> None:
    width, height = size
    if width * height > MOST_PIXELS:
        raise InputError(
            f"the picture has {width * height / 1e6:.0f} million pixels, and chape reads at most "
            f"{MOST_PIXELS / 1e6:.0f} million",
            mend="Make it smaller; 12 million are plenty",
            file=path,
        )
    if min(width, height) < FEWEST:
        raise InputError(
            f"the picture is only {width} x {height} pixels",
            mend="Give the picture at its full size",
            file=path,
        )


def _noted(opened: Image.Image) -> tuple[float | None, float | None, date | None]:
    """Return focal length on 35 mm film, scanner's resolution and day, where they are noted."""
    exif = opened.getexif()
    inner = exif.get_ifd(ExifTags.IFD.Exif)
    shape = max(opened.size) / min(opened.size)
    whole = any(abs(shape / each - 1) < SHAPE_SPREAD for each in SHAPES)
    focal = _positive(inner.get(ExifTags.Base.FocalLengthIn35mmFilm)) if whole else None
    dpi = opened.info.get("dpi")
    across = _positive(dpi[0]) if isinstance(dpi, tuple) and dpi else None
    taken = inner.get(ExifTags.Base.DateTimeOriginal) or exif.get(ExifTags.Base.DateTime)
    return focal, across, _day(taken)


def _day(noted: object) -> date | None:
    """Return the day of "2026:03:14 09:26:53", as cameras write it."""
    try:
        return date(*(int(part) for part in str(noted)[:10].split(":")))
    except (TypeError, ValueError):
        return None


def _positive(value: object) -> float | None:
    try:
        number = float(value)  # type: ignore[arg-type]
    except (TypeError, ValueError, ZeroDivisionError):
        return None
    return number if np.isfinite(number) and number > 0 else None
