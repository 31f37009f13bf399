"""The first tables.

What stands here stays as it is when the tables change later: it names plain types, none of our own.
"""

from __future__ import annotations

from typing import Any

import sqlalchemy as sa
from alembic import op

revision = "0001"
down_revision = None

MOMENT = sa.DateTime(timezone=True)


def upgrade() -> None:
    """Make every table."""
    _clinic()
    _accounts()
    _cases()
    for name in ("visits", "findings"):
        _part(name)
    _part("canals", _text("name"))
    _marks()
    _plans()
    _documents()


def _clinic() -> None:
    op.create_table(
        "settings", _text("name"), sa.Column("value", sa.JSON(), nullable=False), _primary("settings", "name")
    )
    _numbered("trays", _text("name"), _moment("changed_at"), _json("entered"), _unique("trays", "name"))


def _accounts() -> None:
    _numbered(
        "users", _text("name"), _text("role"), _text("password_hash"), _moment("made_at"), _unique("users", "name")
    )
    op.create_table(
        "sessions",
        _text("token_hash"),
        _number("user"),
        _text("csrf"),
        _moment("made_at"),
        _moment("seen_at"),
        sa.Column("locked", sa.Boolean(), nullable=False),
        _primary("sessions", "token_hash"),
        _belongs("sessions", ["user"], ["users.key"]),
    )
    _index("sessions", "user")


def _cases() -> None:
    _numbered(
        "cases",
        sa.Column("id", sa.String()),
        _text("id_folded"),
        _text("tooth"),
        _text("notation"),
        sa.Column("tray", sa.Integer()),
        _number("revision"),
        _moment("made_at"),
        _moment("changed_at"),
        _json("sections"),
        _unique("cases", "id"),
        sa.ForeignKeyConstraint(["tray"], ["trays.key"], name="fk_cases_tray"),
    )
    _index("cases", "changed_at", "key", "id_folded", "tooth")
    _index("cases", "tray")


def _part(name: str, *columns: sa.Column[Any]) -> None:
    _numbered(name, _number("case"), *columns, _json("entered"), _belongs(name, ["case"], ["cases.key"]))
    _index(name, "case")


def _marks() -> None:
    _numbered(
        "marks",
        _number("case"),
        _number("number"),
        _moment("at"),
        _text("by"),
        _text("says"),
        sa.Column("undone", sa.Boolean(), nullable=False),
        sa.Column("undoes", sa.Integer()),
        _json("edits"),
        _unique("marks", "case", "number"),
        _belongs("marks", ["case"], ["cases.key"]),
    )


def _plans() -> None:
    _numbered(
        "plans",
        _number("case"),
        _number("number"),
        _moment("made_at"),
        _text("program"),
        _text("digest"),
        sa.Column("inputs", sa.LargeBinary(), nullable=False),
        sa.Column("plan", sa.LargeBinary(), nullable=False),
        _unique("plans", "case", "number"),
        _belongs("plans", ["case"], ["cases.key"]),
    )


def _documents() -> None:
    _numbered(
        "documents",
        _number("case"),
        _number("plan"),
        _text("name"),
        _moment("made_at"),
        sa.Column("content", sa.LargeBinary(), nullable=False),
        _belongs("documents", ["case", "plan"], ["plans.case", "plans.number"]),
    )
    _index("documents", "case", "name")
    _index("documents", "case", "plan")


def _numbered(name: str, *parts: sa.schema.SchemaItem) -> None:
    """A table whose numbers are never given twice."""
    op.create_table(name, _number("key"), *parts, _primary(name, "key"), sqlite_autoincrement=True)


def _number(name: str) -> sa.Column[Any]:
    return sa.Column(name, sa.Integer(), nullable=False)


def _text(name: str) -> sa.Column[Any]:
    return sa.Column(name, sa.String(), nullable=False)


def _moment(name: str) -> sa.Column[Any]:
    return sa.Column(name, MOMENT, nullable=False)


def _json(name: str) -> sa.Column[Any]:
    return sa.Column(name, sa.JSON(), nullable=False)


def _primary(table: str, column: str) -> sa.PrimaryKeyConstraint:
    return sa.PrimaryKeyConstraint(column, name=f"pk_{table}")


def _unique(table: str, *columns: str) -> sa.UniqueConstraint:
    return sa.UniqueConstraint(*columns, name=f"uq_{table}_{'_'.join(columns)}")


def _belongs(table: str, columns: list[str], to: list[str]) -> sa.ForeignKeyConstraint:
    return sa.ForeignKeyConstraint(columns, to, name=f"fk_{table}_{'_'.join(columns)}", ondelete="CASCADE")


def _index(table: str, *columns: str) -> None:
    op.create_index(f"ix_{table}_{'_'.join(columns)}", table, list(columns))
