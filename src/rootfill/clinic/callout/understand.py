"""A line typed at the chair, and what it means for the case as it stands."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from rootfill.clinic.callout.keeping import Keeping
from rootfill.clinic.callout.model import Answered, Doubt, Heard, Meaning, Measured, Moved, NotKnown, Understood
from rootfill.clinic.callout.nicknames import words_of
from rootfill.clinic.callout.statement import Reader, Statement, read
from rootfill.clinic.callout.tokens import Token, readings, statements
from rootfill.clinic.callout.words import not_known, spelled
from rootfill.clinic.kept import KeptCase
from rootfill.tray.model import Tray

LONGEST_LINE = 400
"""Characters; a whole canal takes some 70."""


def understand(text: str, kept: KeptCase, tray: Tray) -> Understood:
    """What a line means, statement by statement up to the first that is in doubt. Never raises."""
    line, heard = _Line(text, kept, tray), list[Heard]()
    if len(text) > LONGEST_LINE:
        return Understood((), f"The line is longer than {LONGEST_LINE} characters: type it as two.")
    try:
        for part in statements(text, line.keeping.names):
            heard.extend(line.hear(part))
        line.end()
    except NotKnown as unknown:
        return Understood(tuple(heard), not_known(unknown.word, line.keeping.names))
    except Doubt as doubt:
        return Understood(tuple(heard), str(doubt))
    return Understood(tuple(heard), None)


class _Line:
    """The statements of a line so far: what they change, and what the next one may take over from them."""

    def __init__(self, text: str, kept: KeptCase, tray: Tray) -> None:
        self.keeping = Keeping(kept)
        self._text = text
        self._tray = tray
        self._double = words_of(tray)
        self._canals: tuple[str, ...] = ()
        self._waiting: tuple[str, ...] = ()
        self._reader: Reader | None = None

    def hear(self, part: Sequence[Token]) -> Iterator[Heard]:
        """One statement, kept for each of its canals. Raises Doubt."""
        said, names = self._sure(part)
        if said.meaning is None:
            self._waiting = names
            return
        if names:
            self._canals, self._waiting = names, ()
        self._reader = said.reader
        for name in names or (None,):
            yield self._kept(name, said.meaning)

    def end(self) -> None:
        """Nothing may be left open. Raises Doubt."""
        if self._waiting:
            name = self._waiting[0]
            raise Doubt(f"What of {spelled(self._waiting, 'and')}? Type for example '{name} dry'.")
        self.keeping.agree()

    def _sure(self, part: Sequence[Token]) -> tuple[Statement, tuple[str, ...]]:
        """The statement and its canals, if there is one way to understand it. Raises Doubt."""
        fine, doubts = list[tuple[Statement, tuple[str, ...]]](), list[Doubt]()
        for tokens in readings(part, self._double):
            try:
                said = read(tokens, self._text, self._tray, self._reader)
                one = (said, self._canals_of(said))
            except Doubt as doubt:
                doubts.append(doubt)
                continue
            if one not in fine:
                fine.append(one)
        if any(said.canals and said.meaning is not None for said, _ in fine):
            fine = [one for one in fine if one[0].meaning is not None]
        if len(fine) > 1:
            typed = self._text[part[0].start : part[-1].end][:40]
            raise Doubt(f"'{typed}' can be read in two ways: type 'canal' before the name of the canal.")
        if not fine:
            raise doubts[0]
        return fine[0]

    def _canals_of(self, said: Statement) -> tuple[str, ...]:
        """The canals a statement is kept for; () for the whole tooth. Raises Doubt, never guesses."""
        named = tuple(dict.fromkeys((*self._waiting, *said.canals)))
        if said.every and named:
            raise Doubt(f"All canals, or only {spelled(named, 'and')}? Leave out one of them.")
        if isinstance(said.meaning, Answered):
            return self._whole_tooth(named)
        if isinstance(said.meaning, Moved):
            return () if said.every else self._named_or_whole(named)
        if said.every and self.keeping.names:
            return self._single(self.keeping.names)
        return self._single(named or self._canals or self._only_one())

    def _only_one(self) -> tuple[str, ...]:
        if len(self.keeping.names) == 1:
            return self.keeping.names
        if not self.keeping.names:
            raise Doubt("The case has no canal yet: add the first one.")
        raise Doubt(f"Which canal? {spelled(self.keeping.names)}.")

    def _single(self, names: tuple[str, ...]) -> tuple[str, ...]:
        known = [n.casefold() for n in self.keeping.names]
        double = next((n for n in names if known.count(n.casefold()) > 1), None)
        if double is not None:
            raise Doubt(f"Two canals are called {double}: give each a name of its own first.")
        return names

    def _whole_tooth(self, named: tuple[str, ...]) -> tuple[str, ...]:
        if named:
            raise Doubt(f"This is said of the whole tooth: leave out {spelled(named, 'and')}.")
        return ()

    def _named_or_whole(self, named: tuple[str, ...]) -> tuple[str, ...]:
        if named or not self._canals:
            return self._single(named)
        ways = f"'all reference moved 1' or '{self._canals[0]} reference moved 1'"
        raise Doubt(f"Of the whole tooth, or of {spelled(self._canals, 'and')}? Type {ways}.")

    def _kept(self, name: str | None, meaning: Meaning) -> Heard:
        if isinstance(meaning, Moved):
            return self.keeping.moved(name, meaning)
        if isinstance(meaning, Answered):
            return self.keeping.answered(meaning)
        assert name is not None, "what is said of a canal names one"
        if isinstance(meaning, Measured):
            return self.keeping.measured(name, meaning)
        return self.keeping.entered(name, meaning)
