"""The plan of blanks from stock, to take to the shears or the saw."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from chape.documents.picture_stock import stock_picture
from chape.documents.to_pdf import pdf_of
from chape.solve.guillotine import REST
from chape.tooling.stock import CutWay
from chape.units import LengthUnit, show_length

if TYPE_CHECKING:
    from collections.abc import Mapping

    from chape.tooling.stock import CutSheet, Parting, StockPlan

CAUTIONS = (
    (
        "Sheet edges and off-cuts are sharp, and shears and saws more so: gloves for carrying, "
        "none near a turning blade; eyes protected; keep to the machine's own guide."
    ),
    "Leave the film on until the blanks are heated, and mark the sheet's batch on each.",
)


def stock_pdf(plan: StockPlan, title: str, paper: str, unit: LengthUnit) -> bytes:
    """Return the plan as a PDF: a page of figures, then one page for each way a sheet is cut."""
    pictures = {
        f"sheet-{n}.svg": stock_picture(plan, sheet, unit) for n, sheet in enumerate(plan.sheets)
    }
    page = {
        "paper": paper,
        "unit": "mm" if unit is LengthUnit.MM else "in",
        "title": title,
        "said": _said(plan),
        "facts": _facts(plan, unit),
        "sizes": _sizes(plan, unit),
        "cautions": CAUTIONS,
        "sheets": [_sheet(plan, sheet, n, unit) for n, sheet in enumerate(plan.sheets)],
    }
    return pdf_of("stock.typ", page, pictures)


def bound_words(plan: StockPlan) -> str:
    """Say how sure it is that no plan takes fewer sheets."""
    if plan.used == plan.bound:
        return "no plan takes fewer"
    return f"no plan takes fewer than {plan.bound}"


def stock_figures(plan: StockPlan) -> Mapping[str, Any]:
    """Return the plan as plain data, lengths in mm."""
    return {
        "sheets": plan.used,
        "bound": plan.bound,
        "yield": round(plan.share, 4),
        "patterns": [
            {
                "times": sheet.times,
                "blanks": [
                    {"name": plan.sizes[p.size].name, "x": round(p.x, 2), "y": round(p.y, 2),
                     "width": round(p.width, 2), "depth": round(p.depth, 2)}
                    for p in sheet.laid if p.size >= 0
                ],
                "cuts": [_cut_figures(cut) for cut in sheet.cuts],
            }
            for sheet in plan.sheets
        ],
    }  # fmt: skip


def _cut_figures(cut: Parting) -> dict[str, Any]:
    axis = "x" if cut.upright else "y"
    return {
        axis: round(cut.at, 2),
        "from": round(cut.start, 2),
        "to": round(cut.end, 2),
    }


def _said(plan: StockPlan) -> str:
    blanks = sum(size.count for size in plan.sizes)
    sheets = "1 sheet" if plan.used == 1 else f"{plan.used} sheets"
    return (
        f"{blanks} blanks from {sheets} of stock; {bound_words(plan)}. "
        f"{100 * plan.share:.1f} % of the stock becomes blanks."
    )


def _facts(plan: StockPlan, unit: LengthUnit) -> list[list[str]]:
    stock = plan.stock
    depth = "as deep as the blanks" if stock.depth is None else show_length(stock.depth, unit)
    cut = "freely" if stock.cut is CutWay.FREE else "by cuts right through"
    return [
        ["Width", show_length(stock.width, unit)],
        ["Depth", depth],
        ["Cut", cut, "blanks may be turned" if stock.turn else "blanks are not turned"],
        ["Kerf", show_length(stock.kerf, unit)],
        ["Cut off all round", show_length(stock.edge, unit)],
        ["Sheets", str(plan.used), bound_words(plan)],
        ["Becomes blanks", f"{100 * plan.share:.1f} %"],
    ]


def _sizes(plan: StockPlan, unit: LengthUnit) -> list[list[str]]:
    return [
        [
            size.name,
            str(size.count),
            f"{show_length(size.width, unit)} × {show_length(size.depth, unit)}",
        ]
        for size in plan.sizes
    ]


def _sheet(plan: StockPlan, sheet: CutSheet, number: int, unit: LengthUnit) -> dict[str, Any]:
    counts = [
        f"{sum(p.size == n for p in sheet.laid)} × {size.name}"
        for n, size in enumerate(plan.sizes)
        if any(p.size == n for p in sheet.laid)
    ]
    times = "Cut 1 sheet like this" if sheet.times == 1 else f"Cut {sheet.times} sheets like this"
    rest = sum(p.width * p.depth for p in sheet.laid if p.size == REST)
    return {
        "title": times,
        "said": "; ".join(counts) + f". Left over: {rest / 1e6:.3f} m²." * bool(sheet.cuts),
        "picture": f"sheet-{number}.svg",
        "cuts": [_words(cut, unit) for cut in sheet.cuts],
    }


def _words(cut: Parting, unit: LengthUnit) -> str:
    at, start, end = (_plain(length, unit) for length in (cut.at, cut.start, cut.end))
    axis, other = ("x", "y") if cut.upright else ("y", "x")
    return f"at {axis} {at}, {other} {start} to {end}"


def _plain(length: float, unit: LengthUnit) -> str:
    return f"{length / unit.in_mm:.5g}"
