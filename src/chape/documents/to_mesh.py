"""Solids as files that slicers and mesh viewers open: binary STL and 3MF. Units mm."""

from __future__ import annotations

import re
from io import BytesIO
from typing import TYPE_CHECKING
from xml.sax.saxutils import quoteattr
from zipfile import ZIP_DEFLATED, ZipFile, ZipInfo

import numpy as np

if TYPE_CHECKING:
    import numpy.typing as npt

    from chape.field.grid import Floats
    from chape.field.solid import Solid

#: An STL whose header begins with "solid" is taken for text; no date, so that bytes repeat.
STL_HEADER = b"chape: binary STL, mm".ljust(80)

#: Decimals of a vertex, mm.
DECIMALS = 5

#: Earliest date a zip can carry.
NO_DATE = (1980, 1, 1, 0, 0, 0)

CONTENT_TYPES = """<?xml version="1.0" encoding="UTF-8"?>
<Types xmlns="http://schemas.openxmlformats.org/package/2006/content-types">
<Default Extension="rels" ContentType="application/vnd.openxmlformats-package.relationships+xml"/>
<Default Extension="model" ContentType="application/vnd.ms-package.3dmanufacturing-3dmodel+xml"/>
</Types>
"""

RELATIONSHIPS = """<?xml version="1.0" encoding="UTF-8"?>
<Relationships xmlns="http://schemas.openxmlformats.org/package/2006/relationships">
<Relationship Target="/3D/3dmodel.model" Id="rel0"\
 Type="http://schemas.microsoft.com/3dmanufacturing/2013/01/3dmodel"/>
</Relationships>
"""

#: Characters that XML does not allow at all.
_FORBIDDEN = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\ud800-\udfff\ufffe\uffff]")


def stl_bytes(solid: Solid) -> bytes:
    """Write a solid as binary STL: 50 bytes a triangle, float32."""
    rounded = solid.vertices.round(DECIMALS).astype(np.float32).astype(np.float64)
    vertices, triangles = _welded(rounded, solid)
    corners = vertices[triangles]
    normals = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    lengths = np.linalg.norm(normals, axis=1, keepdims=True)
    facets = np.zeros(
        len(triangles), dtype=[("normal", "<f4", 3), ("corners", "<f4", (3, 3)), ("spare", "<u2")]
    )
    facets["normal"] = np.divide(normals, lengths, out=np.zeros_like(normals), where=lengths > 0)
    facets["corners"] = corners
    return STL_HEADER + len(triangles).to_bytes(4, "little") + bytes(facets.tobytes())


def threemf_bytes(solid: Solid, name: str) -> bytes:
    """Write a solid as 3MF (core specification), one object called ``name``."""
    vertices, triangles = _welded(solid.vertices.round(DECIMALS), solid)
    title = quoteattr(_FORBIDDEN.sub("", name))
    point = f'<vertex x="%.{DECIMALS}f" y="%.{DECIMALS}f" z="%.{DECIMALS}f"/>\n'
    corner = '<triangle v1="%d" v2="%d" v3="%d"/>\n'
    model = (
        '<?xml version="1.0" encoding="UTF-8"?>\n'
        '<model unit="millimeter" xml:lang="en-US" '
        'xmlns="http://schemas.microsoft.com/3dmanufacturing/core/2015/02">\n'
        f'<resources>\n<object id="1" type="model" name={title}>\n<mesh>\n<vertices>\n'
        + (point * len(vertices)) % tuple(vertices.ravel().tolist())
        + "</vertices>\n<triangles>\n"
        + (corner * len(triangles)) % tuple(triangles.ravel().tolist())
        + "</triangles>\n</mesh>\n</object>\n</resources>\n"
        '<build>\n<item objectid="1"/>\n</build>\n</model>\n'
    )
    packed = BytesIO()
    with ZipFile(packed, "w") as package:
        for path, text in (
            ("[Content_Types].xml", CONTENT_TYPES),
            ("_rels/.rels", RELATIONSHIPS),
            ("3D/3dmodel.model", model),
        ):
            entry = ZipInfo(path, NO_DATE)
            entry.compress_type = ZIP_DEFLATED
            entry.external_attr = 0o644 << 16
            entry.create_system = 3
            package.writestr(entry, text.encode("utf-8"), compresslevel=4)
    return packed.getvalue()


def _welded(vertices: Floats, solid: Solid) -> tuple[Floats, npt.NDArray[np.int64]]:
    """Join vertices that rounding has made one, and drop the triangles that it has closed up."""
    vertices = vertices + 0.0  # turns -0 into 0
    order = np.lexsort(vertices.T[::-1])
    ordered = vertices[order]
    fresh = np.ones(len(order), dtype=bool)
    fresh[1:] = np.any(ordered[1:] != ordered[:-1], axis=1)
    number = np.empty(len(order), dtype=np.int64)
    number[order] = np.cumsum(fresh) - 1
    triangles = number[solid.triangles]
    a, b, c = triangles.T
    return ordered[fresh], triangles[(a != b) & (b != c) & (c != a)]
