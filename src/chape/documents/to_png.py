"""Pictures of pixels, written as PNG.

Only what our own renderings need: eight bits a channel, no interlace, fixed settings, so that the
same pixels give the same bytes.
"""

from __future__ import annotations

import struct
import zlib
from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    import numpy.typing as npt

#: Compression effort: beyond this the files shrink little and the time doubles.
EFFORT = 5

_SIGNATURE = b"\x89PNG\r\n\x1a\n"
_COLOUR_TYPE = {3: 2, 4: 6}
_FILTER_UP = 2


def png_of(pixels: npt.NDArray[np.uint8], pixels_per_mm: float | None = None) -> bytes:
    """Return a PNG file (ISO/IEC 15948).

    Args:
        pixels: (rows, columns, 3 or 4) red, green, blue and, with four, opacity.
        pixels_per_mm: noted in the file where given.

    Raises:
        ValueError: the array is not a picture.
    """
    if pixels.dtype != np.uint8 or pixels.ndim != 3 or pixels.shape[2] not in _COLOUR_TYPE:
        raise ValueError(f"not a picture: {pixels.dtype} {pixels.shape}")
    rows, columns, channels = pixels.shape
    flat = np.ascontiguousarray(pixels).reshape(rows, columns * channels)
    # Each row is stored as its difference from the row above, which compresses smooth shading.
    above = np.vstack([np.zeros((1, flat.shape[1]), np.uint8), flat[:-1]])
    lines = np.empty((rows, flat.shape[1] + 1), np.uint8)
    lines[:, 0] = _FILTER_UP
    lines[:, 1:] = flat - above
    header = struct.pack(">IIBBBBB", columns, rows, 8, _COLOUR_TYPE[channels], 0, 0, 0)
    parts = [_SIGNATURE, _chunk(b"IHDR", header)]
    if pixels_per_mm is not None:
        per_metre = round(pixels_per_mm * 1000)
        parts.append(_chunk(b"pHYs", struct.pack(">IIB", per_metre, per_metre, 1)))
    parts += [_chunk(b"IDAT", zlib.compress(lines.tobytes(), EFFORT)), _chunk(b"IEND", b"")]
    return b"".join(parts)


def _chunk(kind: bytes, data: bytes) -> bytes:
    """Return one chunk: length, kind, data, checksum."""
    return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))
