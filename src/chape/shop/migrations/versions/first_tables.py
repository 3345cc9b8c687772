"""The first tables."""

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Change the tables."""
    op.create_table(
        "batches",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("model", sa.String(length=60), nullable=False),
        sa.Column("sheet", sa.String(length=60), nullable=False),
        sa.Column("colour", sa.String(length=60), nullable=False),
        sa.Column("mould", sa.String(length=60), nullable=False),
        sa.Column("fixture", sa.String(length=60), nullable=False),
        sa.Column("blanks", sa.Integer(), nullable=False),
        sa.Column("day", sa.Date(), nullable=False),
        sa.Column("taken", sa.DateTime(), nullable=False),
        sa.CheckConstraint("blanks >= 1", name=op.f("ck_batches_blanks")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_batches")),
    )
    with op.batch_alter_table("batches", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_batches_day"), ["day"], unique=False)

    op.create_table(
        "counters",
        sa.Column("name", sa.String(length=60), nullable=False),
        sa.Column("last", sa.Integer(), nullable=False),
        sa.PrimaryKeyConstraint("name", name=op.f("pk_counters")),
    )
    op.create_table(
        "orders",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("reference", sa.String(length=20), nullable=False),
        sa.Column("customer", sa.String(length=60), nullable=False),
        sa.Column("model", sa.String(length=60), nullable=True),
        sa.Column("knife", sa.String(length=200), nullable=True),
        sa.Column(
            "hand",
            sa.String(length=20),
            nullable=False,
        ),
        sa.Column("sheet", sa.String(length=60), nullable=False),
        sa.Column("colour", sa.String(length=60), nullable=False),
        sa.Column("clip", sa.String(length=60), nullable=True),
        sa.Column("marks", sa.String(length=200), nullable=False),
        sa.Column("hold", sa.Float(), nullable=True),
        sa.Column("due", sa.Date(), nullable=False),
        sa.Column("quantity", sa.Integer(), nullable=False),
        sa.Column("placed", sa.Date(), nullable=False),
        sa.Column("note", sa.String(length=200), nullable=False),
        sa.Column(
            "state",
            sa.String(length=20),
            nullable=False,
        ),
        sa.Column("entered", sa.DateTime(), nullable=False),
        sa.CheckConstraint("hand IN ('right', 'left')", name=op.f("ck_orders_hand_word")),
        sa.CheckConstraint(
            "state IN ('open', 'shipped', 'cancelled')", name=op.f("ck_orders_state_word")
        ),
        sa.CheckConstraint(
            "(model IS NULL) <> (knife IS NULL)", name=op.f("ck_orders_model_or_knife")
        ),
        sa.CheckConstraint("quantity >= 1", name=op.f("ck_orders_quantity")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_orders")),
        sa.UniqueConstraint("reference", name=op.f("uq_orders_reference")),
    )
    with op.batch_alter_table("orders", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_orders_customer"), ["customer"], unique=False)
        batch_op.create_index(batch_op.f("ix_orders_state_due"), ["state", "due"], unique=False)

    op.create_table(
        "plans",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("day", sa.Date(), nullable=False),
        sa.Column("made", sa.DateTime(), nullable=False),
        sa.Column("content", sa.JSON(), nullable=False),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_plans")),
    )
    with op.batch_alter_table("plans", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_plans_day"), ["day"], unique=False)

    op.create_table(
        "shipping_notes",
        sa.Column("customer", sa.String(length=60), nullable=False),
        sa.Column("note", sa.Text(), nullable=False),
        sa.Column("written", sa.DateTime(), nullable=False),
        sa.PrimaryKeyConstraint("customer", name=op.f("pk_shipping_notes")),
    )
    op.create_table(
        "stock",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("kind", sa.String(length=20), nullable=False),
        sa.Column("name", sa.String(length=60), nullable=False),
        sa.Column("colour", sa.String(length=60), nullable=False),
        sa.Column("on_hand", sa.Integer(), nullable=False),
        sa.Column("reorder_at", sa.Integer(), nullable=False),
        sa.Column("pack", sa.Integer(), nullable=False),
        sa.Column("pack_cents", sa.Integer(), nullable=False),
        sa.CheckConstraint("on_hand >= 0", name=op.f("ck_stock_on_hand")),
        sa.CheckConstraint("pack >= 1", name=op.f("ck_stock_pack")),
        sa.CheckConstraint("pack_cents >= 0", name=op.f("ck_stock_pack_cents")),
        sa.CheckConstraint("reorder_at >= 0", name=op.f("ck_stock_reorder_at")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_stock")),
        sa.UniqueConstraint("kind", "name", "colour", name=op.f("uq_stock_kind_name_colour")),
    )
    op.create_table(
        "pieces",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("order_id", sa.Integer(), nullable=False),
        sa.Column("number", sa.Integer(), nullable=False),
        sa.Column(
            "state",
            sa.String(length=20),
            nullable=False,
        ),
        sa.Column("batch_id", sa.Integer(), nullable=True),
        sa.CheckConstraint(
            "state IN ('waiting', 'batched', 'formed', 'trimmed', 'folded', 'closed', "
            "'passed', 'packed', 'shipped', 'scrapped', 'cancelled')",
            name=op.f("ck_pieces_state_word"),
        ),
        sa.CheckConstraint("number >= 1", name=op.f("ck_pieces_number")),
        sa.ForeignKeyConstraint(["batch_id"], ["batches.id"], name=op.f("fk_pieces_batch_id")),
        sa.ForeignKeyConstraint(
            ["order_id"], ["orders.id"], name=op.f("fk_pieces_order_id"), ondelete="CASCADE"
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_pieces")),
        sa.UniqueConstraint("order_id", "number", name=op.f("uq_pieces_order_id_number")),
    )
    with op.batch_alter_table("pieces", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_pieces_batch_id"), ["batch_id"], unique=False)
        batch_op.create_index(batch_op.f("ix_pieces_state"), ["state"], unique=False)

    op.create_table(
        "stock_moves",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("stock_id", sa.Integer(), nullable=False),
        sa.Column("change", sa.Integer(), nullable=False),
        sa.Column("reason", sa.String(length=20), nullable=False),
        sa.Column("batch_id", sa.Integer(), nullable=True),
        sa.Column("note", sa.String(length=200), nullable=False),
        sa.Column("at", sa.DateTime(), nullable=False),
        sa.ForeignKeyConstraint(["batch_id"], ["batches.id"], name=op.f("fk_stock_moves_batch_id")),
        sa.ForeignKeyConstraint(["stock_id"], ["stock.id"], name=op.f("fk_stock_moves_stock_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_stock_moves")),
    )
    with op.batch_alter_table("stock_moves", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_stock_moves_batch_id"), ["batch_id"], unique=False)
        batch_op.create_index(batch_op.f("ix_stock_moves_stock_id"), ["stock_id"], unique=False)
