"""Grey pictures as PNG: 8 or 16 bits, no scale in it; the same picture gives the same bytes."""

from __future__ import annotations

import struct
import zlib
from typing import Any

import numpy as np
from numpy.typing import NDArray

from rootfill.errors import InputRefused

START = b"\x89PNG\r\n\x1a\n"


def png(values: NDArray[Any], remark: str) -> bytes:
    """A picture (rows, columns). Raises InputRefused for other grey values than unsigned ones of 8 or 16 bits."""
    if values.ndim != 2 or values.dtype not in (np.uint8, np.uint16):
        raise InputRefused("values", str(values.dtype), "a picture of 8 or 16 bit whole numbers can be written")
    bits = 8 * values.dtype.itemsize
    rows = np.ascontiguousarray(values, dtype=values.dtype.newbyteorder(">"))
    raw = np.zeros((rows.shape[0], 1 + rows.shape[1] * rows.itemsize), dtype=np.uint8)
    raw[:, 1:] = rows.view(np.uint8)
    head = struct.pack(">IIBBBBB", rows.shape[1], rows.shape[0], bits, 0, 0, 0, 0)
    said = b"Comment\0" + remark.encode("latin-1", "replace")
    pieces = ((b"IHDR", head), (b"tEXt", said), (b"IDAT", zlib.compress(raw.tobytes(), 6)), (b"IEND", b""))
    return START + b"".join(_piece(name, content) for name, content in pieces)


def _piece(name: bytes, content: bytes) -> bytes:
    return struct.pack(">I", len(content)) + name + content + struct.pack(">I", zlib.crc32(name + content))
