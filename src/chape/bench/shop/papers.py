"""What is printed, and what hangs on the wall."""

from typing import Literal

from fastapi import APIRouter, Response
from pydantic import BaseModel

from chape.bench.bench import AtBench
from chape.bench.shop.desk import shop_of, today
from chape.shop.paper_sets import shop_paper
from chape.shop.route import routes
from chape.shop.safety import FIRST, card_of
from chape.shop.shop_file import shop_catalog

router = APIRouter()

Kind = Literal["batch", "travellers", "labels", "slip", "care", "safety", "reorder"]


class StationCard(BaseModel):
    """What can hurt at a station."""

    name: str
    title: str
    cautions: list[str]


class SafetyLeaf(BaseModel):
    """The card of every station; ``first`` goes before all of them."""

    first: str
    stations: list[StationCard]


@router.get("/papers/{kind}.pdf", response_class=Response)
def paper(
    bench: AtBench, kind: Kind, of: str | None = None, paper: Literal["a4", "letter"] = "a4"
) -> Response:
    """Print one of the shop's papers."""
    with shop_of(bench) as shop:
        content = shop_paper(shop, kind, of or None, paper, today())
    name = "-".join(part for part in (kind, of) if part)
    safe = "".join(letter for letter in name if letter.isalnum() or letter in "-.")
    return Response(
        content,
        media_type="application/pdf",
        headers={"Content-Disposition": f'inline; filename="{safe}.pdf"'},
    )


@router.get("/safety")
def safety(bench: AtBench) -> SafetyLeaf:
    """Show the cautions of every station."""
    with shop_of(bench) as shop:
        catalog = shop_catalog(shop.folder)
    sheets = [catalog.sheet(name) for name in catalog.names("sheets")]
    return SafetyLeaf(
        first=FIRST,
        stations=[
            StationCard(name=name, title=station.title, cautions=list(card_of(name, sheets)))
            for name, station in routes().stations.items()
        ],
    )
