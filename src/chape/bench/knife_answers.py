"""What the page is told of a knife; nothing here needs numerics. Lengths mm, knife frame."""

from pydantic import BaseModel

from chape.bench.finding import FindingAnswer
from chape.bench.problem import Problem
from chape.bench.sheath_answers import Corners


class Landmark(BaseModel):
    """A place on a knife that has a name.

    Attributes:
        path: of the value in the knife file that says where along x it is; null for none.
    """

    label: str
    path: str | None
    x: float
    y: float


class GivenThickness(BaseModel):
    """A table of thicknesses as the knife file gives it.

    Attributes:
        path: of the table in the file.
        rows: x and full thickness.
        guessed: nobody has measured it yet.
    """

    path: str
    label: str
    rows: Corners
    guessed: bool


class PhotoView(BaseModel):
    """The photograph a knife was measured on, and how it lies under the outline.

    Attributes:
        url: below the server's address.
        left, top: x and y of its upper left corner; y is up.
    """

    url: str
    mm_per_pixel: float
    left: float
    top: float


class KnifeView(BaseModel):
    """A knife as it is drawn.

    Attributes:
        outline: all round.
        edge: rims of the band that nothing may touch.
        given: thickness tables of the file; none of a scanned knife.
        used: x and greatest full thickness there, as every design uses it.
        blade_length: from the tip to where guard or handle begins.
        uncertainty: the measurements may be off by this.
    """

    length: float
    thickness: float
    blade_length: float
    uncertainty: float
    outline: Corners
    edge: list[Corners]
    landmarks: list[Landmark]
    given: list[GivenThickness]
    used: Corners
    photo: PhotoView | None
    findings: list[FindingAnswer]


class KnifeViewAnswer(BaseModel):
    """A knife, or the problem that there is none."""

    sequence: int = 0
    seconds: float = 0.0
    dropped: bool = False
    view: KnifeView | None = None
    problem: Problem | None = None
