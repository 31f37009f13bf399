"""Reading a PDF back: its words, its fonts, its smallest letters."""

from __future__ import annotations

import io
import re
from typing import Any

from pypdf import PdfReader


def reader(pdf: bytes) -> PdfReader:
    return PdfReader(io.BytesIO(pdf))


def text_of(pdf: bytes) -> str:
    """All words, white space taken out: a PDF has no words, only letters that stand near each other."""
    return squeezed(" ".join(page.extract_text() for page in reader(pdf).pages))


def squeezed(text: str) -> str:
    return re.sub(r"\s+", "", text)


def in_order(parts: list[str], text: str) -> str | None:
    """The first part that is not found behind the one before it; None if all are."""
    at = 0
    for part in map(squeezed, parts):
        found = text.find(part, at)
        if found < 0:
            return part
        at = found + len(part)
    return None


def fonts_of(pdf: bytes) -> dict[str, bool]:
    """Name of each font, and whether it is embedded."""
    found = {}
    for page in reader(pdf).pages:
        resources: Any = page["/Resources"]
        fonts = resources["/Font"]
        for reference in fonts.values():
            font = reference.get_object()
            inner = font["/DescendantFonts"][0].get_object()
            descriptor = inner["/FontDescriptor"].get_object()
            embedded = any(key in descriptor for key in ("/FontFile2", "/FontFile3"))
            found[str(font["/BaseFont"])] = embedded
    return found


def smallest_letters_pt(pdf: bytes) -> float:
    """Size of the smallest letters on any page, as they stand on the paper."""
    return min(size for _, size in _letters(pdf))


def largest_letters_pt(pdf: bytes, holding: str) -> float:
    """Size of the largest piece of text that holds these words."""
    return max(size for text, size in _letters(pdf) if holding in text)


def _letters(pdf: bytes) -> list[tuple[str, float]]:
    found: list[tuple[str, float]] = []

    def visit(text: str, cm: list[float], tm: list[float], font: Any, size: float) -> None:
        if text.strip():
            scale = abs(tm[3] * cm[3] - tm[2] * cm[1]) or abs(tm[0] * cm[0])
            found.append((text, size * scale))

    for page in reader(pdf).pages:
        page.extract_text(visitor_text=visit)
    return found
