"""The tables of the store, the same for every database.

Names of constraints are spelled out by a rule, so that a migration can find them again; moments
are kept in UTC, whatever the database does with time zones.
"""

from __future__ import annotations

from datetime import UTC, datetime
from typing import TYPE_CHECKING

from sqlalchemy import (
    JSON,
    CheckConstraint,
    Column,
    Date,
    DateTime,
    Enum,
    Float,
    ForeignKey,
    Index,
    Integer,
    MetaData,
    String,
    Table,
    Text,
    TypeDecorator,
    UniqueConstraint,
)

from chape.forming.trials import Outcome
from chape.sheath.model import Hand
from chape.shop.model import OrderState, PieceState

if TYPE_CHECKING:
    from enum import StrEnum

    from sqlalchemy.engine import Dialect

METADATA = MetaData(
    naming_convention={
        "ix": "ix_%(table_name)s_%(column_0_N_name)s",
        "uq": "uq_%(table_name)s_%(column_0_N_name)s",
        "ck": "ck_%(table_name)s_%(constraint_name)s",
        "fk": "fk_%(table_name)s_%(column_0_N_name)s",
        "pk": "pk_%(table_name)s",
    }
)


class Moment(TypeDecorator[datetime]):
    """A moment in UTC; a moment without a time zone is refused."""

    impl = DateTime
    cache_ok = True

    def process_bind_param(self, value: datetime | None, dialect: Dialect) -> datetime | None:
        """Keep it without its zone."""
        del dialect
        if value is None:
            return None
        if value.tzinfo is None:
            raise TypeError("a moment without a time zone")
        return value.astimezone(UTC).replace(tzinfo=None)

    def process_result_value(self, value: datetime | None, dialect: Dialect) -> datetime | None:
        """Give it back its zone."""
        del dialect
        return None if value is None else value.replace(tzinfo=UTC)


def words_of(kind: type[StrEnum]) -> Enum:
    """Return a column type for one of our words, kept as text with a check."""
    return Enum(
        kind,
        native_enum=False,
        create_constraint=False,
        length=20,
        values_callable=lambda words: [word.value for word in words],
    )


def _one_of(column: str, kind: type[StrEnum]) -> CheckConstraint:
    """Return the check that a column holds one of our words."""
    words = ", ".join(f"'{word.value}'" for word in kind)
    return CheckConstraint(f"{column} IN ({words})", name=f"{column}_word")


#: The counters that references and serial numbers are drawn from, so that no number is used twice.
COUNTERS = Table(
    "counters",
    METADATA,
    Column("name", String(60), primary_key=True),
    Column("last", Integer, nullable=False),
)

ORDERS = Table(
    "orders",
    METADATA,
    Column("id", Integer, primary_key=True),
    Column("reference", String(20), nullable=False, unique=True),
    Column("customer", String(60), nullable=False, index=True),
    Column("model", String(60)),
    Column("knife", String(200)),
    Column("hand", words_of(Hand), nullable=False),
    Column("sheet", String(60), nullable=False),
    Column("colour", String(60), nullable=False),
    Column("clip", String(60)),
    Column("marks", String(200), nullable=False),
    Column("hold", Float),
    Column("due", Date, nullable=False),
    Column("quantity", Integer, nullable=False),
    Column("placed", Date, nullable=False),
    Column("note", String(200), nullable=False),
    Column("state", words_of(OrderState), nullable=False),
    Column("entered", Moment, nullable=False),
    CheckConstraint("quantity >= 1", name="quantity"),
    CheckConstraint("(model IS NULL) <> (knife IS NULL)", name="model_or_knife"),
    _one_of("hand", Hand),
    _one_of("state", OrderState),
    Index(None, "state", "due"),
)

BATCHES = Table(
    "batches",
    METADATA,
    Column("id", Integer, primary_key=True),
    Column("model", String(60), nullable=False),
    Column("sheet", String(60), nullable=False),
    Column("colour", String(60), nullable=False),
    Column("mould", String(60), nullable=False),
    Column("fixture", String(60), nullable=False),
    Column("blanks", Integer, nullable=False),
    Column("day", Date, nullable=False, index=True),
    Column("taken", Moment, nullable=False),
    CheckConstraint("blanks >= 1", name="blanks"),
)

PIECES = Table(
    "pieces",
    METADATA,
    Column("id", Integer, primary_key=True),
    Column("order_id", ForeignKey("orders.id", ondelete="CASCADE"), nullable=False),
    Column("number", Integer, nullable=False),
    Column("state", words_of(PieceState), nullable=False),
    Column("batch_id", ForeignKey("batches.id"), index=True),
    CheckConstraint("number >= 1", name="number"),
    _one_of("state", PieceState),
    UniqueConstraint("order_id", "number"),
    Index(None, "state"),
)

SHIPPING_NOTES = Table(
    "shipping_notes",
    METADATA,
    Column("customer", String(60), primary_key=True),
    Column("note", Text, nullable=False),
    Column("written", Moment, nullable=False),
)

STOCK = Table(
    "stock",
    METADATA,
    Column("id", Integer, primary_key=True),
    Column("kind", String(20), nullable=False),
    Column("name", String(60), nullable=False),
    Column("colour", String(60), nullable=False),
    Column("on_hand", Integer, nullable=False),
    Column("reorder_at", Integer, nullable=False),
    Column("pack", Integer, nullable=False),
    Column("pack_cents", Integer, nullable=False),
    CheckConstraint("on_hand >= 0", name="on_hand"),
    CheckConstraint("reorder_at >= 0", name="reorder_at"),
    CheckConstraint("pack >= 1", name="pack"),
    CheckConstraint("pack_cents >= 0", name="pack_cents"),
    UniqueConstraint("kind", "name", "colour"),
)

STOCK_MOVES = Table(
    "stock_moves",
    METADATA,
    Column("id", Integer, primary_key=True),
    Column("stock_id", ForeignKey("stock.id"), nullable=False, index=True),
    Column("change", Integer, nullable=False),
    Column("reason", String(20), nullable=False),
    Column("batch_id", ForeignKey("batches.id"), index=True),
    Column("note", String(200), nullable=False),
    Column("at", Moment, nullable=False),
)

PLANS = Table(
    "plans",
    METADATA,
    Column("id", Integer, primary_key=True),
    Column("day", Date, nullable=False, index=True),
    Column("made", Moment, nullable=False),
    Column("content", JSON, nullable=False),
)

#: What was done at the bench: one row for each part of a step, so that nothing is ticked twice.
RUNS = Table(
    "runs",
    METADATA,
    Column("id", Integer, primary_key=True),
    Column("task", String(80), nullable=False, unique=True),
    Column("step", String(20), nullable=False),
    Column("model", String(60), nullable=False),
    Column("sheet", String(60), nullable=False),
    Column("batch_id", ForeignKey("batches.id"), nullable=False, index=True),
    Column("seconds", Integer, nullable=False),
    Column("ended", Moment, nullable=False, index=True),
    CheckConstraint("seconds >= 0", name="seconds"),
    Index(None, "step", "model"),
)

FIT_RECORDS = Table(
    "fit_records",
    METADATA,
    Column("id", Integer, primary_key=True),
    Column("piece_id", ForeignKey("pieces.id", ondelete="CASCADE"), nullable=False, index=True),
    Column("at", Moment, nullable=False),
    Column("hold", Float),
    Column("faults", String(200), nullable=False),
    Column("passed", Integer, nullable=False),
    Column("note", String(200), nullable=False),
    CheckConstraint("passed IN (0, 1)", name="passed"),
)

#: Heat trials: a sheet that was heated for so long, and how it came out.
HEATS = Table(
    "heats",
    METADATA,
    Column("id", Integer, primary_key=True),
    Column("step", String(20), nullable=False),
    Column("heater", String(60), nullable=False),
    Column("sheet", String(60), nullable=False, index=True),
    Column("gauge", Float, nullable=False),
    Column("setting", Float),
    Column("seconds", Float, nullable=False),
    Column("outcome", words_of(Outcome), nullable=False),
    Column("room", Float, nullable=False),
    Column("note", String(200), nullable=False),
    Column("at", Moment, nullable=False),
    CheckConstraint("gauge > 0", name="gauge"),
    CheckConstraint("seconds > 0", name="seconds"),
    _one_of("outcome", Outcome),
)

#: What the run log taught and a person accepted: "check" or "scrap camp", and its figure.
LEARNED = Table(
    "learned",
    METADATA,
    Column("id", Integer, primary_key=True),
    Column("what", String(80), nullable=False, unique=True),
    Column("value", Float, nullable=False),
    Column("evidence", JSON, nullable=False),
    Column("accepted", Moment, nullable=False),
    CheckConstraint("value > 0", name="value"),
)
