"""Pictures kept with a case.

What stands here stays as it is when the tables change later: it names plain types, none of our own.
"""

from __future__ import annotations

import sqlalchemy as sa
from alembic import op

revision = "0002"
down_revision = "0001"


def upgrade() -> None:
    """Make the table of pictures; their grey values lie in files beside the database."""
    op.create_table(
        "pictures",
        sa.Column("key", sa.Integer(), nullable=False),
        sa.Column("case", sa.Integer(), nullable=False),
        sa.Column("file", sa.String(), nullable=False),
        sa.Column("entered", sa.JSON(), nullable=False),
        sa.PrimaryKeyConstraint("key", name="pk_pictures"),
        sa.ForeignKeyConstraint(["case"], ["cases.key"], name="fk_pictures_case", ondelete="CASCADE"),
        sqlite_autoincrement=True,
    )
    op.create_index("ix_pictures_case", "pictures", ["case"])
