"""What was done and what it taught."""

import sqlalchemy as sa
from alembic import op

revision = "0002"
down_revision = "0001"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Change the tables."""
    op.create_table(
        "learned",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("what", sa.String(length=80), nullable=False),
        sa.Column("value", sa.Float(), nullable=False),
        sa.Column("evidence", sa.JSON(), nullable=False),
        sa.Column("accepted", sa.DateTime(), nullable=False),
        sa.CheckConstraint("value > 0", name=op.f("ck_learned_value")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_learned")),
        sa.UniqueConstraint("what", name=op.f("uq_learned_what")),
    )
    op.create_table(
        "runs",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("task", sa.String(length=80), nullable=False),
        sa.Column("step", sa.String(length=20), nullable=False),
        sa.Column("model", sa.String(length=60), nullable=False),
        sa.Column("sheet", sa.String(length=60), nullable=False),
        sa.Column("batch_id", sa.Integer(), nullable=False),
        sa.Column("seconds", sa.Integer(), nullable=False),
        sa.Column("ended", sa.DateTime(), nullable=False),
        sa.CheckConstraint("seconds >= 0", name=op.f("ck_runs_seconds")),
        sa.ForeignKeyConstraint(["batch_id"], ["batches.id"], name=op.f("fk_runs_batch_id")),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_runs")),
        sa.UniqueConstraint("task", name=op.f("uq_runs_task")),
    )
    with op.batch_alter_table("runs", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_runs_batch_id"), ["batch_id"], unique=False)
        batch_op.create_index(batch_op.f("ix_runs_ended"), ["ended"], unique=False)
        batch_op.create_index(batch_op.f("ix_runs_step_model"), ["step", "model"], unique=False)

    op.create_table(
        "fit_records",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("piece_id", sa.Integer(), nullable=False),
        sa.Column("at", sa.DateTime(), nullable=False),
        sa.Column("hold", sa.Float(), nullable=True),
        sa.Column("faults", sa.String(length=200), nullable=False),
        sa.Column("passed", sa.Integer(), nullable=False),
        sa.Column("note", sa.String(length=200), nullable=False),
        sa.CheckConstraint("passed IN (0, 1)", name=op.f("ck_fit_records_passed")),
        sa.ForeignKeyConstraint(
            ["piece_id"], ["pieces.id"], name=op.f("fk_fit_records_piece_id"), ondelete="CASCADE"
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_fit_records")),
    )
    with op.batch_alter_table("fit_records", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_fit_records_piece_id"), ["piece_id"], unique=False)
