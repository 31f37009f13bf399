"""One table of keys: what each does, wherever its button stands. No key works while a text is being typed.

The browser finds the button that carries the key and presses it; so every key has a button that shows it.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass


@dataclass(frozen=True)
class Key:
    """A key as it is pressed and as it is shown."""

    key: str
    shown: str
    does: str


KEYS: Mapping[str, Key] = {
    key.does: key
    for key in (
        Key("/", "/", "call out"),
        Key("u", "U", "undo"),
        Key("e", "E", "enter numbers"),
        Key("t", "T", "tray card"),
        Key("r", "R", "report"),
        Key("p", "P", "print"),
        Key("d", "D", "PDF"),
        Key("b", "B", "back to the tooth"),
        Key("v", "V", "new visit"),
        Key("w", "W", "how warm it gets"),
        Key("i", "I", "pictures"),
        Key("o", "O", "choose files"),
        Key("1", "1", "coronal"),
        Key("2", "2", "sagittal"),
        Key("3", "3", "axial"),
        Key("j", "J", "slice back"),
        Key("k", "K", "slice on"),
        Key("z", "Z", "closer"),
        Key("x", "X", "wider"),
        Key("q", "Q", "brighter"),
        Key("a", "A", "darker"),
        Key("g", "G", "harder greys"),
        Key("h", "H", "softer greys"),
        Key("0", "0", "as at first"),
        Key("m", "M", "turn"),
        Key("4", "4", "find canals"),
        Key("5", "5", "find canals at the cross"),
        Key("6", "6", "next canal"),
        Key("7", "7", "go to the end"),
        Key("8", "8", "set the end"),
        Key("9", "9", "put into the case"),
        Key("n", "N", "new case"),
        Key("c", "C", "cases"),
        Key("f", "F", "find"),
        Key("y", "Y", "trays"),
        Key("s", "S", "settings"),
        Key("l", "L", "lock"),
        Key("?", "?", "keys"),
    )
}
