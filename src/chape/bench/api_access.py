"""Who is there, and who may come in."""

from io import BytesIO
from typing import Annotated

from fastapi import APIRouter, Request, Response
from pydantic import BaseModel, Field

from chape import __version__
from chape.bench.access import cookie_name, visitor_of
from chape.bench.bench import AtBench
from chape.bench.devices import LASTS
from chape.bench.problem import MISSING, NOT_PAIRED, RefusedError

router = APIRouter(tags=["access"])


class Hello(BaseModel):
    """What a page asks first.

    Attributes:
        lan: other devices may be paired.
        paired: the one that asks may use the bench.
        device: its name; null for this computer itself and for one that is not paired.
        folder_name: null for one that is not paired.
    """

    version: str
    lan: bool
    paired: bool
    device: str | None
    folder_name: str | None
    has_shop: bool


class Pair(BaseModel):
    """A wish to be paired.

    Attributes:
        code: as typed.
        device: what its person calls it.
    """

    code: Annotated[str, Field(max_length=40)]
    device: Annotated[str, Field(max_length=200)] = ""


class DeviceAnswer(BaseModel):
    """A paired device.

    Attributes:
        paired, seen: milliseconds since 1970.
        this: it is the one that asks.
    """

    id: str
    name: str
    paired: int
    seen: int
    this: bool


@router.get("/hello")
def hello(request: Request, bench: AtBench) -> Hello:
    """Say who is here; a new code is put on the terminal for one who is not paired."""
    visitor = visitor_of(request.scope)
    if not visitor.welcome:
        bench.pairing.offer()
    folder = bench.place.folder
    return Hello(
        version=__version__,
        lan=bench.lan,
        paired=visitor.welcome,
        device=visitor.name,
        folder_name=folder.name if visitor.welcome else None,
        has_shop=visitor.welcome and (folder / "shop.toml").is_file(),
    )


@router.post("/pair")
def pair(wish: Pair, request: Request, response: Response, bench: AtBench) -> Hello:
    """Pair a device by the code on the terminal."""
    if not bench.lan:
        raise RefusedError(
            NOT_PAIRED, "This bench takes no other devices", mend="Start it with --lan"
        )
    bench.pairing.use(wish.code)
    device, cookie = bench.devices.add(wish.device)
    secure = request.url.scheme == "https"
    response.set_cookie(
        cookie_name(request.headers["host"]),
        cookie,
        max_age=LASTS,
        path="/",
        httponly=True,
        samesite="strict",
        secure=secure,
    )
    folder = bench.place.folder
    return Hello(
        version=__version__,
        lan=True,
        paired=True,
        device=device.name,
        folder_name=folder.name,
        has_shop=(folder / "shop.toml").is_file(),
    )


@router.post("/pair/code", status_code=204)
def new_code(request: Request, bench: AtBench) -> None:
    """Put a code on the terminal; only this computer may ask."""
    if not visitor_of(request.scope).own:
        raise RefusedError(NOT_PAIRED, "Only the bench's own computer can do that")
    bench.pairing.offer()


@router.get("/doors")
def doors(bench: AtBench) -> list[str]:
    """List the addresses by which other devices reach the bench."""
    return list(bench.doors)


@router.get("/doors/{number}.svg", response_class=Response)
def door_code(number: int, bench: AtBench) -> Response:
    """Draw an address as a code for a phone's camera."""
    import segno  # noqa: PLC0415 - only for this picture

    if not 0 <= number < len(bench.doors):
        raise RefusedError(MISSING, "There is no such address", mend="Load the page anew")
    drawn = BytesIO()
    code = segno.make(bench.doors[number], error="m", micro=False)
    code.save(drawn, kind="svg", border=2, scale=4, dark="#23201c", light="#fbf8f2")
    return Response(drawn.getvalue(), media_type="image/svg+xml")


@router.get("/devices")
def devices(request: Request, bench: AtBench) -> list[DeviceAnswer]:
    """List the paired devices, the one seen last first."""
    own = visitor_of(request.scope).device
    return [
        DeviceAnswer(
            id=each.id, name=each.name, paired=each.paired, seen=each.seen, this=each.id == own
        )
        for each in bench.devices.all()
    ]


@router.delete("/devices/{key}", status_code=204)
def revoke(key: str, request: Request, bench: AtBench) -> None:
    """Revoke a device; a device may revoke itself, this computer any."""
    visitor = visitor_of(request.scope)
    if not visitor.own and visitor.device != key:
        raise RefusedError(NOT_PAIRED, "Only the bench's own computer can do that")
    bench.devices.remove(key)
    bench.events.dismiss(key)
