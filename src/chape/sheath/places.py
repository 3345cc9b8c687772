"""Places that a sheath file names."""

from typing import Annotated

from pydantic import Field

#: No sheath has more eyelets, or more drains, than this to hold where they are.
HELD_MOST = 40

#: A figure of a place, mm.
Place = Annotated[float, Field(ge=-2000, le=2000)]

#: Places (x, y) in the frame of the knife at home, mm.
Places = Annotated[tuple[tuple[Place, Place], ...], Field(max_length=HELD_MOST), "length"]
