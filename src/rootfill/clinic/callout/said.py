"""What is left of one statement while its meaning is taken out of it, piece by piece."""

from __future__ import annotations

from collections.abc import Callable, Sequence

from rootfill.clinic.callout.model import Doubt, NotKnown
from rootfill.clinic.callout.tokens import Token
from rootfill.clinic.callout.words import FILLERS

_IDLE = ("at", "to")
"""Words that say nothing more once their number was taken."""


class Said:
    """The tokens of a statement without the canals it speaks of. Whatever is not taken is a doubt in the end."""

    def __init__(self, tokens: Sequence[Token]) -> None:
        self.left = list(tokens)

    def has(self, *words: str) -> bool:
        return any(t.is_word(*words) for t in self.left)

    def take(self, *words: str) -> str | None:
        """The first of these words, taken wherever it stands; None where there is none. The others stay."""
        found = next((t.means for t in self.left if t.is_word(*words)), None)
        if found is not None:
            self.skip(found)
        return found

    def skip(self, *words: str) -> None:
        """Take every one of these words."""
        self.left = [t for t in self.left if not t.is_word(*words)]

    def negated(self) -> bool:
        """Whether it is said that something is not so; said twice, nobody knows."""
        if sum(t.is_word("not") for t in self.left) > 1:
            raise Doubt("'not' stands there twice: say it once, or leave it out.")
        return self.take("not") is not None

    def number_after(self, *words: str, most: float = float("inf")) -> Token | None:
        """The number that follows one of these words, both taken; only one that is not above ``most``."""
        return self._beside(1, words, lambda t: t.kind == "number" and t.value <= most)

    def number_before(self, *words: str) -> Token | None:
        """The number just before one of these words, both taken."""
        return self._beside(-1, words, lambda t: t.kind == "number")

    def canal_after(self, *words: str) -> str | None:
        """The canal that follows one of these words, both taken."""
        found = self._beside(1, words, lambda t: t.kind == "canal")
        return None if found is None else found.means

    def shape(self) -> Token | None:
        """A size with its taper, taken."""
        found = next((t for t in self.left if t.kind == "shape"), None)
        self.left = [t for t in self.left if t is not found]
        return found

    def numbers(self) -> list[Token]:
        return [t for t in self.left if t.kind == "number"]

    def number(self, what: str, example: str) -> Token:
        """The one number that is left, taken. Raises Doubt for none or several."""
        self.refuse_unknown()
        found = self.numbers()
        if not found:
            raise Doubt(f"{what} is missing: type '{example}'.")
        if len(found) > 1:
            self._refuse_left_over([t for t in self.left if t.kind != "number"])
            raise Doubt(f"'{found[0].text}' and '{found[1].text}' could both be {what.lower()}: leave one.")
        self.drop(found[0])
        return found[0]

    def drop(self, *tokens: Token) -> None:
        self.left = [t for t in self.left if t not in tokens]

    def close(self) -> None:
        """Every word must have been understood. Raises Doubt, NotKnown."""
        self.refuse_unknown()
        self._refuse_left_over(self.left)

    def refuse_unknown(self) -> None:
        unknown = next((t for t in self.left if is_unknown(t)), None)
        if unknown is not None:
            raise NotKnown(unknown.text)

    @staticmethod
    def _refuse_left_over(tokens: Sequence[Token]) -> None:
        over = next((t for t in tokens if not is_idle(t)), None)
        if over is not None:
            raise Doubt(f"'{over.text}' is left over: leave it out, or put a comma before another statement.")

    def _beside(self, step: int, words: Sequence[str], fits: Callable[[Token], bool]) -> Token | None:
        for i, token in enumerate(self.left):
            near = i + step
            while 0 <= near < len(self.left) and is_filler(self.left[near]):
                near += step
            if token.is_word(*words) and 0 <= near < len(self.left) and fits(self.left[near]):
                found = self.left[near]
                self.drop(token, found)
                return found
        return None


def is_filler(token: Token) -> bool:
    return token.kind == "word" and token.text.casefold() in FILLERS


def is_idle(token: Token) -> bool:
    return is_filler(token) or token.is_word(*_IDLE)


def is_unknown(token: Token) -> bool:
    return token.kind == "odd" or (token.kind == "word" and not token.means and not is_filler(token))
