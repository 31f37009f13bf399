"""Pictures of a case: kept, looked at, turned, removed, and the last of it taken back."""

from __future__ import annotations

import contextlib
import re
from collections import Counter
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace

from rootfill.clinic.kept import Edit, KeptCase, Mark
from rootfill.clinic.kept_picture import FILM, KINDS, PART, VOLUME, KeptPicture, fields_of, picture_of
from rootfill.clinic.ports import Clinic, Incoming, Unread
from rootfill.errors import ChangedMeanwhile, InputRefused, NotFound, NotKept, Said
from rootfill.images.model import Grey

LONGEST_WORDS = 80
MOST_MARKS = 100_000
_KIND = re.compile(r"\.((?:nii\.)?[a-z0-9]{1,5})$", re.IGNORECASE)


@dataclass(frozen=True)
class Told:
    """What somebody says of a picture that comes: what it is, what it shows, its spacing where it is known better."""

    kind: str = VOLUME
    words: str = ""
    spacing_mm: tuple[float, ...] | None = None


def told(typed: Mapping[str, str]) -> Told:
    """What was typed beside the files. Raises InputRefused."""
    kind, words = typed.get("kind", VOLUME), " ".join(typed.get("words", "").split())
    if kind not in KINDS:
        raise InputRefused("kind", kind, "allowed: " + ", ".join(KINDS))
    if len(words) > LONGEST_WORDS:
        raise InputRefused("what it shows", Said("long"), f"say it in {LONGEST_WORDS} signs")
    return Told(kind, words, _spacing(typed.get("spacing", ""), 3 if kind == VOLUME else 2))


def keep_picture(
    clinic: Clinic, by: str, case: int, incoming: Incoming, told: Told, gone: Callable[[], bool]
) -> KeptPicture:
    """Read what came and keep it with the case. Raises InputRefused, NotFound, NotKept; then nothing is kept of it."""
    kept = clinic.records.case(case)
    unread = Unread(incoming.source(), incoming.target, told.kind, told.spacing_mm)
    read = clinic.work.read_picture(unread, gone)
    if same := next((p for p in pictures_of(kept) if p.read.digest == read.digest and p.read.kind == read.kind), None):
        raise InputRefused("the picture", Said(f"kept already: {same.says}"), "open it in the list of this case")
    made_at = clinic.now().isoformat(timespec="seconds")
    file = clinic.pictures.keep(incoming)
    made = KeptPicture(0, told.words, came_as(incoming.names(), incoming.size()), file, made_at, by, read)
    try:
        edit = Edit(PART, None, None, fields_of(made))
        mark = clinic.records.mark(case, [edit], f"Picture kept: {made.says}", by, clinic.now())
    except Exception:
        clinic.pictures.remove(file)
        raise
    with contextlib.suppress(NotKept):  # the row is there, and the next start settles it
        clinic.pictures.settle(file)
    return replace(made, key=mark.edits[0].key or 0)


def picture(clinic: Clinic, case: int, key: int) -> KeptPicture:
    """A picture of this case. Raises NotFound."""
    return _found(clinic.records.case(case), key)


def pictures_of(kept: KeptCase) -> tuple[KeptPicture, ...]:
    """The pictures of a case, the newest first."""
    return tuple(picture_of(row) for row in reversed(kept.pictures))


def slice_of(clinic: Clinic, case: int, key: int, axis: int, index: int) -> Grey:
    """Kept grey values of a slice; ``axis`` counts as the voxel index does: 0 along x, 1 y, 2 z, of a film 2 alone.

    Shapes: (y, x) across z, (z, x) across y, (z, y) across x. Raises NotFound.
    """
    one = picture(clinic, case, key)
    shape = one.read.shape
    if one.read.kind == FILM:
        if (axis, index) != (2, 0):
            raise NotFound("A film is one picture: it has no such slice.")
        return clinic.pictures.slice(one.file, (1, *shape), 0, 0)
    if not 0 <= axis < 3:
        raise NotFound("A scan is cut across x, y and z: there is no such plane.")
    return clinic.pictures.slice(one.file, shape, 2 - axis, index)


def turn_picture(clinic: Clinic, by: str, case: int, key: int) -> KeptPicture:
    """A film a quarter turn clockwise, a volume upside down. Nothing is ever mirrored. Raises NotFound."""
    kept = clinic.records.case(case)
    one = _found(kept, key)
    step = 1 if one.read.kind == FILM else 2
    turned = replace(one, turned=(one.turned + step) % 4)
    _change(clinic, by, kept, key, turned, f"Picture turned: {one.says}")
    return turned


def remove_picture(clinic: Clinic, by: str, case: int, key: int) -> None:
    """Take a picture out; until its time is over it can be taken back. Raises NotFound."""
    kept = clinic.records.case(case)
    one = _found(kept, key)
    clinic.pictures.leave(one.file)
    _change(clinic, by, kept, key, None, f"Picture removed: {one.says}")


def last_step(clinic: Clinic, case: int) -> Mark | None:
    """What undo would take back, where it is about a picture."""
    standing = (m for m in clinic.records.marks(case, 50) if not m.undone and m.undoes is None and m.number > 1)
    newest = next(standing, None)
    return newest if newest is not None and all(edit.part == PART for edit in newest.edits) else None


def take_back(clinic: Clinic, by: str, case: int, number: int) -> None:
    """Undo the step of that number. Raises ChangedMeanwhile where something came after it."""
    last = last_step(clinic, case)
    if last is None or last.number != number:
        raise ChangedMeanwhile("the last step", number, None if last is None else last.says)
    clinic.records.undo(case, by, clinic.now())


def remove_case(clinic: Clinic, case: int) -> None:
    """A case for good, with every picture that it ever had. Raises NotFound."""
    clinic.records.case(case)
    edits = [edit for mark in clinic.records.marks(case, MOST_MARKS) for edit in mark.edits if edit.part == PART]
    clinic.records.remove_case(case)
    for file in {str(fields["file"]) for edit in edits for fields in (edit.before, edit.after) if fields}:
        clinic.pictures.remove(file)


def _change(clinic: Clinic, by: str, kept: KeptCase, key: int, now: KeptPicture | None, says: str) -> None:
    (before,) = (row.entered for row in kept.pictures if row.key == key)
    edit = Edit(PART, key, before, None if now is None else fields_of(now))
    clinic.records.mark(kept.key, [edit], says, by, clinic.now())


def _found(kept: KeptCase, key: int) -> KeptPicture:
    row = kept.row(PART, key)
    if row is None:
        raise NotFound(f"There is no picture {key} of this case here: go back to its pictures.")
    return picture_of(row)


def came_as(names: Sequence[str], size: int) -> str:
    """What it was read from: how many files, of what kind and size. Not their names: those often name the patient.

    >>> came_as(["Doe_John.nii.gz"], 3_145_728), came_as(["a/1.dcm", "a/2.dcm", "readme"], 70_000)
    ('one file, nii.gz, 3.0 MB', '3 files, mostly dcm, 0.1 MB')
    """
    kinds = Counter(found[1].lower() if (found := _KIND.search(name)) else "" for name in names)
    (kind, _), *_ = kinds.most_common(1)
    counted = "one file" if len(names) == 1 else f"{len(names)} files"
    told = f", {'mostly ' if len(kinds) > 1 else ''}{kind}" if kind else ""
    return f"{counted}{told}, {size / 2**20:.1f} MB"


def _spacing(text: str, axes: int) -> tuple[float, ...] | None:
    """'0.2' or '0.2 0.2 0.5'; None for nothing. Raises InputRefused."""
    parts = re.split(r"[\s×x;]+", text.strip().replace(",", "."))
    if parts == [""]:
        return None
    try:
        numbers = tuple(float(part) for part in parts)
    except ValueError:
        numbers = ()
    if len(numbers) not in (1, axes) or not all(0 < number < 10 for number in numbers):
        raise InputRefused("spacing", text, f"type one number in mm such as 0.2, or {axes} of them: x first")
    return numbers * axes if len(numbers) == 1 else numbers
