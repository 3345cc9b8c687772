"""The shop's papers: what goes with a batch, with a piece, with a parcel, and on the wall."""

from __future__ import annotations

from dataclasses import asdict, dataclass, field
from io import BytesIO
from typing import TYPE_CHECKING

import segno

from chape.documents.cautions import Caution
from chape.documents.tiles import PAPERS
from chape.documents.to_pdf import pdf_of
from chape.errors import InputError
from chape.shop.fit_record import QUESTIONS
from chape.shop.model import PieceState
from chape.shop.route import routes, step_time, steps_of
from chape.shop.safety import CARE, FIRST, card_of

if TYPE_CHECKING:
    from collections.abc import Sequence
    from datetime import date

    from chape.catalog.model import SheetStock
    from chape.shop.model import Order, Piece
    from chape.shop.shop_file import ShopFile
    from chape.shop.stock import Purchase

TICK = "[ ]"


@dataclass(frozen=True, slots=True)
class Part:
    """A part of a leaf: a heading, rows under heads, and paragraphs."""

    title: str | None
    heads: Sequence[str] = ()
    rows: Sequence[Sequence[str]] = ()
    words: Sequence[str] = ()


@dataclass(slots=True)
class Leaf:
    """One leaf: its head, a code to scan, figures, parts, labels and cautions, large for a wall."""

    title: str
    said: str
    code: str | None = None
    figures: list[list[str]] = field(default_factory=list)
    parts: list[Part] = field(default_factory=list)
    labels: list[dict[str, str]] = field(default_factory=list)
    cautions: list[str] = field(default_factory=list)
    large: bool = False


def paper_pdf(
    leaves: Sequence[Leaf],
    foot: str,
    paper: str,
    codes: Sequence[str] = (),
    day: date | None = None,
) -> bytes:
    """Return leaves as one PDF file.

    Args:
        leaves: in their order.
        foot: printed at the foot of each.
        paper: "a4" or "letter".
        codes: texts that leaves show as codes, by ``code_name``.
        day: noted in the file as the day it was made.

    Raises:
        InputError: the paper is none we know.
    """
    if paper not in PAPERS:
        known = " or ".join(f'"{name}"' for name in PAPERS)
        raise InputError(f'found paper "{paper}"', mend=f"Write {known}", field="paper")
    data = {"paper": paper, "foot": foot, "sheets": [asdict(leaf) for leaf in leaves]}
    return pdf_of("shop.typ", data, {code_name(text): code_svg(text) for text in codes}, day)


def code_name(text: str) -> str:
    """Return the file name under which a leaf shows the code of a text."""
    return "code-" + "".join(letter if letter.isalnum() else "-" for letter in text) + ".svg"


def code_svg(text: str) -> bytes:
    """Return a text as a square code (ISO/IEC 18004), a fifth of which may be soiled."""
    out = BytesIO()
    segno.make(text, error="q", micro=False).save(out, kind="svg", border=2, dark="#1e2b2f")
    return out.getvalue()


def traveller(file: ShopFile, order: Order, piece: Piece) -> Leaf:
    """Return what goes through the shop with a piece."""
    line = order.line
    model = file.model(str(line.model))
    steps = [s for s in steps_of(model, clip=line.clip is not None) if s.per != "blank"]
    hold = line.hold or model.hold
    return Leaf(
        title=piece.serial,
        said=f"{model.title}, {line.colour}, {line.hand.value} hand. Due {line.due:%d %B %Y}.",
        code=code_name(piece.serial),
        figures=[
            ["Customer", line.customer],
            ["Sheet", f"{line.sheet}, {line.colour}"],
            ["Clip", line.clip or "none"],
            ["Marks", line.marks or "none"],
            ["Hold", "as it comes" if hold is None else f"{hold:g} N"],
        ],
        parts=[
            Part(
                "Steps",
                ("", "step", "at", "planned", "took"),
                [
                    [
                        TICK,
                        s.title,
                        routes().stations[s.station].title,
                        f"{step_time(s, model, file, {}).hands} s",
                        "",
                    ]
                    for s in steps
                ],
            ),
            Part(
                "Fit record, the edge covered",
                ("", ""),
                [*([TICK, words] for words in QUESTIONS.values()), [TICK, "Hold:               N"]],
            ),
        ],
        cautions=[str(Caution.EDGE), str(Caution.HOT)],
    )


def batch_leaf(
    file: ShopFile, number: int, model_name: str, colour: str, blanks: dict[str, list[str]]
) -> Leaf:
    """Return the sheet of a batch: its tools, its blanks with their pieces, its steps."""
    model = file.model(model_name)
    steps = [step for step in steps_of(model, clip=False) if step.per == "blank"]
    count = sum(len(serials) for serials in blanks.values())
    return Leaf(
        title=f"Batch B{number}",
        said=f"{model.title}: {count} pieces on {len(blanks)} blanks.",
        code=code_name(f"B{number}"),
        figures=[
            ["Blank", f"{model.blank[0]} × {model.blank[1]} mm, {colour}"],
            ["Mould", model.mould],
            ["Trim fixture", model.fixture],
            ["Eyelets", f"{model.eyelets} of {model.eyelet} in each piece"],
        ],
        parts=[
            Part(
                "Blanks",
                ("blank", *(step.name for step in steps), "pieces"),
                [
                    [name, *([TICK] * len(steps)), ", ".join(serials)]
                    for name, serials in blanks.items()
                ],
            ),
            Part(None, words=[f"{step.name}: {step.title}." for step in steps]),
        ],
        cautions=[str(Caution.HOT), str(Caution.CUTTER), str(Caution.CHIPS)],
    )


def packing_slip(file: ShopFile, order: Order, note: str | None) -> Leaf:
    """Return what lies in the parcel of an order."""
    packed = (PieceState.PACKED, PieceState.SHIPPED)
    line = order.line
    what = file.model(line.model).title if line.model is not None else str(line.knife)
    rows = [[TICK, piece.serial, what, line.colour] for piece in order.pieces
            if piece.state in packed]  # fmt: skip
    if not rows:
        raise InputError(
            f"nothing of order {order.reference} is packed yet",
            mend="Tick its packing, or move its pieces to packed",
        )
    missing = len(order.live) - len(rows)
    follows = [] if not missing else [f"{missing} of the order will follow."]
    to = [] if note is None else [Part("To", words=note.splitlines())]
    return Leaf(
        title=f"Order {order.reference}",
        said=f"{file.shop.name}. {len(rows)} of {line.quantity} in this parcel.",
        code=code_name(order.reference),
        parts=[
            *to,
            Part("In this parcel", ("", "serial number", "what", "colour"), rows, follows),
        ],
        cautions=["Read the card on care and caution before you use it.", str(Caution.LAW)],
    )


def label_leaf(file: ShopFile, pieces: Sequence[tuple[Order, Piece]]) -> Leaf:
    """Return serial labels with their codes, to cut apart."""
    labels = [
        {
            "code": code_name(piece.serial),
            "serial": piece.serial,
            "what": file.model(str(order.line.model)).title,
            "more": f"{order.line.colour}, {order.line.hand.value} hand, due {order.line.due}",
        }
        for order, piece in pieces
    ]
    return Leaf("Serial labels", "Cut along the lines.", labels=labels)


def reorder_leaf(rows: Sequence[Purchase], currency: str, day: date) -> Leaf:
    """Return what to buy."""
    total = sum(row.cents for row in rows) / 100
    nothing = [] if rows else ["Nothing has come down to its reorder point."]
    return Leaf(
        "To buy",
        f"{day:%d %B %Y}. {len(rows)} goods, {total:.2f} {currency} at known prices.",
        parts=[
            Part(
                None,
                ("", "good", "packages", "of", "price"),
                [
                    [
                        TICK,
                        str(row.good),
                        str(row.packs),
                        str(row.pack),
                        f"{row.cents / 100:.2f}" if row.cents else "not known",
                    ]
                    for row in rows
                ],
                nothing,
            )
        ],
    )


def care_leaf(name: str) -> Leaf:
    """Return the card that goes with every sheath."""
    parts = [Part(title, words=words) for title, words in CARE]
    return Leaf("Care and caution", f"For the wearer of a sheath from {name}.", parts=parts)


def safety_leaves(sheets: Sequence[SheetStock]) -> list[Leaf]:
    """Return a card for each station."""
    return [
        Leaf(station.title, FIRST, cautions=list(card_of(name, sheets)), large=True)
        for name, station in routes().stations.items()
    ]
