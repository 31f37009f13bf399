"""Kinds of columns that are our own."""

from __future__ import annotations

import datetime as dt
import zlib

from sqlalchemy import DateTime, Dialect, LargeBinary
from sqlalchemy.types import TypeDecorator


class Utc(TypeDecorator[dt.datetime]):
    """A moment: goes in with any time zone, comes out in UTC."""

    impl = DateTime(timezone=True)
    cache_ok = True

    def process_bind_param(self, value: dt.datetime | None, _dialect: Dialect) -> dt.datetime | None:
        if value is None:
            return None
        if value.tzinfo is None:
            raise TypeError("a moment without a time zone")
        return value.astimezone(dt.UTC)

    def process_result_value(self, value: dt.datetime | None, _dialect: Dialect) -> dt.datetime | None:
        if value is None or value.tzinfo is not None:
            return value
        return value.replace(tzinfo=dt.UTC)


class Packed(TypeDecorator[str]):
    """A long text, packed: a plan takes a tenth of the room."""

    impl = LargeBinary
    cache_ok = True

    def process_bind_param(self, value: str | None, _dialect: Dialect) -> bytes | None:
        return None if value is None else zlib.compress(value.encode())

    def process_result_value(self, value: bytes | None, _dialect: Dialect) -> str | None:
        return None if value is None else zlib.decompress(value).decode()
