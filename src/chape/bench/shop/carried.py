"""What is carried in and out: orders as a table, the whole shop as a backup or as open tables."""

import shutil
import tempfile
import zipfile
from io import BytesIO
from pathlib import Path
from typing import Annotated

from fastapi import APIRouter, Form, Response, UploadFile
from fastapi.responses import FileResponse
from pydantic import BaseModel, ConfigDict
from starlette.background import BackgroundTask

from chape.bench.bench import AtBench
from chape.bench.problem import problem_of
from chape.bench.shop.desk import changed_shop, now, shop_of, today
from chape.bench.shop.orders import StateWord, order_state
from chape.shop.folder import backup
from chape.shop.order_file import order_csv, order_rows
from chape.shop.orders import Wanted, add_orders, list_orders
from chape.shop.rows import export_files
from chape.shop.shop_file import shop_catalog

router = APIRouter()


class OrderTable(BaseModel):
    """An order file, and whether its good rows are entered though others are bad."""

    model_config = ConfigDict(extra="forbid")

    file: UploadFile
    keep_good: bool = False


class BadRow(BaseModel):
    """A row that cannot be entered.

    Attributes:
        place: the file and its line.
        field: the column, where one is to blame.
        sentence: what is wrong.
        mend: what to write instead.
    """

    place: str
    field: str | None
    sentence: str
    mend: str


class Entered(BaseModel):
    """What came of an order file.

    Attributes:
        entered: references of the orders that were entered.
        good: rows that can be entered.
    """

    entered: list[str]
    good: int
    bad: list[BadRow]


@router.post("/orders/table")
def enter_table(bench: AtBench, table: Annotated[OrderTable, Form()]) -> Entered:
    """Enter the orders of a CSV file: all, or only the good ones where that is asked for."""
    name = Path(Path(table.file.filename or "orders.csv").name[:100])
    content = table.file.file.read()
    with shop_of(bench) as shop:
        rows = order_rows(content, name, shop.file, shop_catalog(shop.folder), today())
    keep = bool(rows.good) and (table.keep_good or not rows.bad)
    entered: list[str] = []
    if keep:
        lines = [line for _, line in rows.good]
        with changed_shop(bench) as shop:
            orders = shop.change(lambda c: add_orders(c, lines, now()))
        entered = [order.reference for order in orders]
    bad = []
    for error in rows.bad:
        told = problem_of(error)
        bad.append(
            BadRow(
                place=told.file or str(name),
                field=told.field,
                sentence=told.sentence,
                mend=told.mend,
            )
        )
    return Entered(entered=entered, good=len(rows.good), bad=bad)


@router.get("/orders.csv", response_class=Response)
def order_table(bench: AtBench, state: StateWord = "all") -> Response:
    """Send orders as a CSV file, which can be read in again."""
    wanted = Wanted(order_state(state), limit=None)
    with shop_of(bench) as shop:
        rows = shop.read(lambda c: list_orders(c, wanted))
    return Response(order_csv(rows), media_type="text/csv", headers=_saved_as("orders.csv"))


@router.get("/backup.zip", response_class=FileResponse)
def whole_backup(bench: AtBench) -> FileResponse:
    """Send everything of the shop as of one moment; ``chape shop restore`` brings it back."""
    folder = Path(tempfile.mkdtemp(prefix="chape-backup-"))
    try:
        target = folder / "shop.zip"
        with shop_of(bench) as shop:
            backup(shop, target)
    except BaseException:
        shutil.rmtree(folder, ignore_errors=True)
        raise
    return FileResponse(
        target,
        media_type="application/zip",
        headers=_saved_as(f"shop-{today():%Y-%m-%d}.zip"),
        background=BackgroundTask(shutil.rmtree, folder, ignore_errors=True),
    )


@router.get("/export.zip", response_class=Response)
def open_tables(bench: AtBench) -> Response:
    """Send every table as CSV and as JSON, for other programs."""
    with shop_of(bench) as shop:
        files = shop.read(export_files)
    packed = BytesIO()
    with zipfile.ZipFile(packed, "w", zipfile.ZIP_DEFLATED) as package:
        for name, content in files.items():
            package.writestr(name, content)
    name = f"shop-tables-{today():%Y-%m-%d}.zip"
    return Response(packed.getvalue(), media_type="application/zip", headers=_saved_as(name))


def _saved_as(name: str) -> dict[str, str]:
    return {"Content-Disposition": f'attachment; filename="{name}"'}
