"""Who is there, and who may come in."""

from fastapi import APIRouter
from pydantic import BaseModel

from chape import __version__
from chape.bench.bench import AtBench

router = APIRouter()


class Hello(BaseModel):
    """What a page asks first."""

    version: str
    lan: bool
    paired: bool
    device: str | None
    folder_name: str
    has_shop: bool


@router.get("/hello")
def hello(bench: AtBench) -> Hello:
    """Say who is here."""
    return Hello(
        version=__version__,
        lan=bench.lan,
        paired=True,
        device=None,
        folder_name=bench.place.folder.name,
        has_shop=(bench.place.folder / "shop.toml").is_file(),
    )
