"""How wide a word is in the project font: good enough to keep labels apart, no font file needed."""

from __future__ import annotations

from typing import Final

# Advance widths of U+0020 to U+007E, thousandths of the size, read from the fonts in data/fonts.
_REGULAR_TEXT: Final = """
280 286 301 651 592 919 731 160 299 299 485 606 210 362 210 387 648 648 648 648 648 648 648 648 648
648 210 210 553 628 553 480 778 626 613 645 669 569 552 694 694 392 512 631 541 824 693 714 592 724
614 592 558 690 593 856 623 575 607 317 387 344 552 372 243 525 566 485 564 538 314 558 550 252 245
492 262 845 550 548 566 574 349 471 326 540 461 684 481 449 460 344 237 344 555
"""
_BOLD_TEXT: Final = """
312 303 390 765 610 969 725 210 335 335 485 595 271 373 272 440 659 659 659 659 659 659 659 659 659
659 272 272 569 612 569 547 781 678 643 658 688 597 566 718 701 424 561 663 552 858 717 746 629 756
650 610 607 686 644 886 685 650 618 340 440 344 582 400 288 552 596 510 596 563 365 593 571 300 259
555 318 882 571 576 596 599 376 508 376 567 530 740 539 521 505 381 254 381 537
"""
_REGULAR: Final = tuple(int(units) for units in _REGULAR_TEXT.split())
_BOLD: Final = tuple(int(units) for units in _BOLD_TEXT.split())
_WIDEST: Final = 1000


def width(text: str, size: float, *, bold: bool = False) -> float:
    """Width of ``text`` in the unit of ``size``; digits as wide as the widest, other letters as they are high.

    >>> round(width("19.5", 10), 2)
    21.54
    """
    table = _BOLD if bold else _REGULAR
    units = sum(table[ord(c) - 32] if 32 <= ord(c) < 127 else _WIDEST for c in text)
    return units * size / 1000


def shortened(text: str, size: float, room: float, *, bold: bool = False) -> str:
    """``text`` cut in its middle to fit ``room``, with '…' where something was cut; '' if nothing would be left.

    Both ends stay: names of canals differ at their ends.

    >>> shortened("Mesiobuccal 2", 10, 54)
    'Mesio…al 2'
    """
    if width(text, size, bold=bold) <= room:
        return text
    for kept in range(len(text) - 1, 0, -1):
        tail = kept // 2
        cut = f"{text[: kept - tail].rstrip()}…{text[len(text) - tail :].lstrip()}"
        if width(cut, size, bold=bold) <= room:
            return cut
    return ""


def wrapped(text: str, size: float, room: float, *, bold: bool = False) -> list[str]:
    """``text`` broken into lines no wider than ``room``; a single word that is wider is cut."""
    lines: list[str] = []
    for word in text.split():
        longer = f"{lines[-1]} {word}" if lines else word
        if lines and width(longer, size, bold=bold) <= room:
            lines[-1] = longer
        else:
            lines.append(shortened(word, size, room, bold=bold))
    return lines
