"""The tables. What is searched or must be unique is a column; the rest of a row is what was entered, as JSON.

Long columns stand last: a row is then read without them where they are not asked for.
"""

from __future__ import annotations

import datetime as dt
from typing import Any

from sqlalchemy import JSON, ForeignKey, ForeignKeyConstraint, Index, LargeBinary, MetaData, UniqueConstraint
from sqlalchemy.orm import DeclarativeBase, Mapped, mapped_column

from rootfill.store.columns import Packed, Utc

NEVER_AGAIN = {"sqlite_autoincrement": True}
"""The number of a row that is gone is not given to another."""


class Base(DeclarativeBase):
    """What the tables have in common: how their rules are named, how Python's types are kept."""

    metadata = MetaData(
        naming_convention={
            "ix": "ix_%(table_name)s_%(column_0_N_name)s",
            "uq": "uq_%(table_name)s_%(column_0_N_name)s",
            "fk": "fk_%(table_name)s_%(column_0_N_name)s",
            "pk": "pk_%(table_name)s",
        }
    )
    type_annotation_map = {dt.datetime: Utc, dict[str, Any]: JSON, list[dict[str, Any]]: JSON}  # noqa: RUF012


class CaseRow(Base):
    """A case. Its id, tooth and notation are repeated from its sections for the list."""

    __tablename__ = "cases"
    __table_args__ = (Index(None, "changed_at", "key", "id_folded", "tooth"), NEVER_AGAIN)

    key: Mapped[int] = mapped_column(primary_key=True)
    id: Mapped[str | None] = mapped_column(unique=True)
    id_folded: Mapped[str]
    tooth: Mapped[str]
    notation: Mapped[str]
    tray: Mapped[int | None] = mapped_column(ForeignKey("trays.key"), index=True)
    revision: Mapped[int]
    made_at: Mapped[dt.datetime]
    changed_at: Mapped[dt.datetime]
    sections: Mapped[dict[str, Any]]


class Part(Base):
    """A row of a case: visit, canal, finding or picture."""

    __abstract__ = True

    key: Mapped[int] = mapped_column(primary_key=True)
    case: Mapped[int] = mapped_column(ForeignKey("cases.key", ondelete="CASCADE"), index=True)
    entered: Mapped[dict[str, Any]] = mapped_column(sort_order=1)


class VisitRow(Part):
    """A visit."""

    __tablename__ = "visits"
    __table_args__ = (NEVER_AGAIN,)


class CanalRow(Part):
    """A canal; its name is repeated for the list of cases."""

    __tablename__ = "canals"
    __table_args__ = (NEVER_AGAIN,)

    name: Mapped[str]


class FindingRow(Part):
    """A finding."""

    __tablename__ = "findings"
    __table_args__ = (NEVER_AGAIN,)


class PictureRow(Part):
    """A picture; the name of the file of its grey values is repeated for sweeping."""

    __tablename__ = "pictures"
    __table_args__ = (NEVER_AGAIN,)

    file: Mapped[str]


class MarkRow(Base):
    """What was entered in one go. Rows are only ever added, and marked as undone."""

    __tablename__ = "marks"
    __table_args__ = (UniqueConstraint("case", "number"), NEVER_AGAIN)

    key: Mapped[int] = mapped_column(primary_key=True)
    case: Mapped[int] = mapped_column(ForeignKey("cases.key", ondelete="CASCADE"))
    number: Mapped[int]
    at: Mapped[dt.datetime]
    by: Mapped[str]
    says: Mapped[str]
    undone: Mapped[bool]
    undoes: Mapped[int | None]
    edits: Mapped[list[dict[str, Any]]]


class PlanRow(Base):
    """One version of a plan; ``digest`` is that of its inputs."""

    __tablename__ = "plans"
    __table_args__ = (UniqueConstraint("case", "number"), NEVER_AGAIN)

    key: Mapped[int] = mapped_column(primary_key=True)
    case: Mapped[int] = mapped_column(ForeignKey("cases.key", ondelete="CASCADE"))
    number: Mapped[int]
    made_at: Mapped[dt.datetime]
    program: Mapped[str]
    digest: Mapped[str]
    inputs: Mapped[str] = mapped_column(Packed)
    plan: Mapped[str] = mapped_column(Packed)


class DocumentRow(Base):
    """A document made of a plan."""

    __tablename__ = "documents"
    __table_args__ = (
        ForeignKeyConstraint(["case", "plan"], ["plans.case", "plans.number"], ondelete="CASCADE"),
        Index(None, "case", "name"),
        Index(None, "case", "plan"),
        NEVER_AGAIN,
    )

    key: Mapped[int] = mapped_column(primary_key=True)
    case: Mapped[int]
    plan: Mapped[int]
    name: Mapped[str]
    made_at: Mapped[dt.datetime]
    content: Mapped[bytes] = mapped_column(LargeBinary)


class TrayRow(Base):
    """A tray of the clinic."""

    __tablename__ = "trays"
    __table_args__ = (NEVER_AGAIN,)

    key: Mapped[int] = mapped_column(primary_key=True)
    name: Mapped[str] = mapped_column(unique=True)
    changed_at: Mapped[dt.datetime]
    entered: Mapped[dict[str, Any]]


class UserRow(Base):
    """Somebody who may sign in."""

    __tablename__ = "users"
    __table_args__ = (NEVER_AGAIN,)

    key: Mapped[int] = mapped_column(primary_key=True)
    name: Mapped[str] = mapped_column(unique=True)
    role: Mapped[str]
    password_hash: Mapped[str]
    made_at: Mapped[dt.datetime]


class SessionRow(Base):
    """One sign-in."""

    __tablename__ = "sessions"

    token_hash: Mapped[str] = mapped_column(primary_key=True)
    user: Mapped[int] = mapped_column(ForeignKey("users.key", ondelete="CASCADE"), index=True)
    csrf: Mapped[str]
    made_at: Mapped[dt.datetime]
    seen_at: Mapped[dt.datetime]
    locked: Mapped[bool]


class SettingRow(Base):
    """A setting of the clinic."""

    __tablename__ = "settings"

    name: Mapped[str] = mapped_column(primary_key=True)
    value: Mapped[Any] = mapped_column(JSON)
