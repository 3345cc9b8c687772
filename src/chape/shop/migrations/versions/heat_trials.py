"""Heat trials."""

import sqlalchemy as sa
from alembic import op

revision = "0003"
down_revision = "0002"
branch_labels = None
depends_on = None


def upgrade() -> None:
    """Change the tables."""
    op.create_table(
        "heats",
        sa.Column("id", sa.Integer(), nullable=False),
        sa.Column("step", sa.String(length=20), nullable=False),
        sa.Column("heater", sa.String(length=60), nullable=False),
        sa.Column("sheet", sa.String(length=60), nullable=False),
        sa.Column("gauge", sa.Float(), nullable=False),
        sa.Column("setting", sa.Float(), nullable=True),
        sa.Column("seconds", sa.Float(), nullable=False),
        sa.Column("outcome", sa.String(length=20), nullable=False),
        sa.Column("room", sa.Float(), nullable=False),
        sa.Column("note", sa.String(length=200), nullable=False),
        sa.Column("at", sa.DateTime(), nullable=False),
        sa.CheckConstraint("gauge > 0", name=op.f("ck_heats_gauge")),
        sa.CheckConstraint("seconds > 0", name=op.f("ck_heats_seconds")),
        sa.CheckConstraint(
            "outcome IN ('cold', 'good', 'overheated')", name=op.f("ck_heats_outcome_word")
        ),
        sa.PrimaryKeyConstraint("id", name=op.f("pk_heats")),
    )
    with op.batch_alter_table("heats", schema=None) as batch_op:
        batch_op.create_index(batch_op.f("ix_heats_sheet"), ["sheet"], unique=False)
