"""What a program does, piece by piece, as a small binary that a viewer loads without parsing.

All numbers are little-endian. Each array follows the one before without a gap, longest items
first, so that a viewer can lay typed arrays over the file as it is.

    offset  what
    0       "CHPV"
    4       uint16 version, 1
    6       uint16 size of the head in bytes, a multiple of 8; the arrays begin there
    8       uint32 pieces n
    12      uint32 cutters m
    16      float32[6] box of the piece: x, y, z least, then greatest, mm
    40      float64 seconds of the whole program, cutter changes and stops left out
    48      m times: uint16 T number, uint16 kind (order of CutterKind), float32 diameter, corner,
            flute length, stick-out, shank diameter, holder diameter (mm), point angle (degrees)
    head    float32[n][3] where each piece ends, mm; it starts where the one before ended
            float32[n] seconds at its end
            uint32[n] line of the text, counted on from one text of a program to the next
            uint16[n] deepest cut, hundredths of a millimetre
            uint16[n] which cutter, from 0
            uint8[n] mean width of cut, 255ths of the cutter's diameter
            uint8[n] flags: 1 rapid, 2 a jump (where it started is not known; draw nothing)
"""

from __future__ import annotations

import struct
from dataclasses import dataclass
from math import inf
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

from chape.catalog.model import CutterKind
from chape.cutting.check_engagement import way_over_piece
from chape.cutting.clock import Limits, piece_seconds
from chape.cutting.parsed import EventKind
from chape.errors import InputError

if TYPE_CHECKING:
    from chape.cutting.evidence import Evidence
    from chape.field.grid import Floats

MAGIC, VERSION = b"CHPV", 1
RAPID, JUMP = 1, 2
_HEAD = struct.Struct("<4sHHII6fd")
_CUTTER = struct.Struct("<HH7f")
_ARRAYS = (
    ("end", "<f4", 3), ("seconds", "<f4", 1), ("line", "<u4", 1), ("depth", "<u2", 1),
    ("cutter", "<u2", 1), ("width", "<u1", 1), ("flags", "<u1", 1),
)  # fmt: skip


@dataclass(frozen=True, slots=True, eq=False)
class Preview:
    """A preview, read back. Arrays are as in the file.

    Attributes:
        box: x, y, z least, then greatest, mm.
        total: seconds.
        cutters: T number, kind, diameter and the other figures of each.
        end: (n, 3) mm.
        seconds: (n,) at the end of each piece.
        line: (n,) of the text.
        depth: (n,) hundredths of a millimetre.
        cutter: (n,) index into ``cutters``.
        width: (n,) 255ths of the diameter.
        flags: (n,) of ``RAPID`` and ``JUMP``.
    """

    box: tuple[float, ...]
    total: float
    cutters: tuple[tuple[float, ...], ...]
    end: npt.NDArray[np.float32]
    seconds: npt.NDArray[np.float32]
    line: npt.NDArray[np.uint32]
    depth: npt.NDArray[np.uint16]
    cutter: npt.NDArray[np.uint16]
    width: npt.NDArray[np.uint8]
    flags: npt.NDArray[np.uint8]


def preview_bytes(evidence: Evidence) -> bytes:
    """Return the preview of a program that was cut in simulation."""
    setup, segments = evidence.setup, evidence.segments
    ends, count = segments.ends, len(segments.move)
    begins = np.ones(count, dtype=np.bool_)
    begins[1:] = np.any(ends[1:, :3] != ends[:-1, 3:], axis=1)
    # Where a piece does not start at the end of the one before, a jump leads there.
    place = np.arange(count) + np.cumsum(begins)
    total = count + int(begins.sum())
    columns = {name: np.zeros((total, size), dtype) for name, dtype, size in _ARRAYS}
    jumps = place[begins] - 1
    spent = np.cumsum(_seconds(evidence))
    line = evidence.program.line[segments.move]
    columns["end"][place], columns["end"][jumps] = ends[:, 3:], ends[begins, :3]
    for name, values in (
        ("seconds", spent),
        ("line", line),
        ("depth", np.minimum(np.rint(evidence.removal.cut * 100), 65535)),
        ("width", np.rint(width_shares(evidence) * 255)),
        ("cutter", segments.cutter),
        ("flags", np.where(segments.rapid, RAPID, 0)),
    ):
        columns[name][place, 0] = values
    columns["seconds"][jumps, 0] = np.concatenate([[0.0], spent])[np.flatnonzero(begins)]
    columns["line"][jumps, 0], columns["cutter"][jumps, 0] = line[begins], segments.cutter[begins]
    columns["flags"][jumps, 0] = RAPID | JUMP
    kinds = list(CutterKind)
    rack = b"".join(
        _CUTTER.pack(
            cutter.number, kinds.index(cutter.kind), cutter.diameter, cutter.corner,
            cutter.flute_length, cutter.stick_out, cutter.shank_diameter, cutter.holder_diameter,
            cutter.point_angle,
        )
        for cutter in setup.cutters
    )  # fmt: skip
    size = -(-(_HEAD.size + len(rack)) // 8) * 8
    x_min, y_min, x_max, y_max = setup.box
    box = (x_min, y_min, setup.z_bottom, x_max, y_max, float(setup.stock.z.max()))
    seconds = float(spent[-1]) if count else 0.0
    head = _HEAD.pack(MAGIC, VERSION, size, total, len(setup.cutters), *box, seconds) + rack
    arrays = [np.ascontiguousarray(columns[name]).tobytes() for name, _, _ in _ARRAYS]
    return head.ljust(size, b"\0") + b"".join(arrays)


def read_preview(content: bytes) -> Preview:
    """Return a preview as it was written.

    Raises:
        InputError: it is none, of another version, or cut short.
    """
    if len(content) < _HEAD.size or content[:4] != MAGIC:
        raise InputError("this is no preview of a program", mend="Make the job again")
    _, version, size, count, cutters, *box, total = _HEAD.unpack_from(content)
    if version != VERSION:
        raise InputError(
            f"the preview has the form {version}, and form {VERSION} is read",
            mend="Make the job again with this chape",
        )
    whole = size + count * sum(np.dtype(kind).itemsize * n for _, kind, n in _ARRAYS)
    if len(content) != whole or size < _HEAD.size + cutters * _CUTTER.size:
        raise InputError("the preview is cut short", mend="Make the job again")
    rack = tuple(
        _CUTTER.unpack_from(content, _HEAD.size + n * _CUTTER.size) for n in range(cutters)
    )
    arrays, offset = [], size
    for _, kind, items in _ARRAYS:
        array = np.frombuffer(content, kind, count * items, offset)
        arrays.append(array.reshape(count, items) if items > 1 else array)
        offset += array.nbytes
    return Preview(tuple(box), total, rack, *arrays)


def width_shares(evidence: Evidence) -> Floats:
    """Return (segments,) the mean width of cut as a share of the cutter's diameter, 0 to 1.

    That is volume over depth and way over the piece; one that goes straight down, or cuts from
    beside the piece, counts as a whole width.
    """
    ends, removal = evidence.segments.ends, evidence.removal
    way = way_over_piece(evidence.setup, ends)
    depth = removal.cut.astype(np.float64)
    diameter = np.array([cutter.diameter for cutter in evidence.setup.cutters])
    swept = way * depth * diameter[evidence.segments.cutter]
    share = np.where(swept > 0, removal.volume / np.where(swept > 0, swept, 1.0), depth > 0)
    clipped: Floats = np.clip(share, 0.0, 1.0)
    return clipped


def _seconds(evidence: Evidence) -> Floats:
    """Return (segments,) seconds of each piece, a wait counted to the piece that follows it."""
    program, segments = evidence.program, evidence.segments
    feed = np.where(segments.rapid, inf, program.feed[segments.move]) / 60
    halts = np.zeros(len(segments.move) + 1, dtype=np.bool_)
    waits = np.zeros(len(segments.move) + 1)
    for event in program.events:
        piece = int(np.searchsorted(segments.move, event.move))
        halts[piece] = True
        if event.kind is EventKind.DWELL:
            waits[piece] += event.value
    speed = np.where(feed > 0, feed, inf)
    limits = Limits.of(evidence.setup.machine)
    return piece_seconds(segments.ends, speed, halts, limits) + waits[:-1]
