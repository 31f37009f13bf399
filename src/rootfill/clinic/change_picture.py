"""One kept picture changed in one mark, as it stands at that moment."""

from __future__ import annotations

from collections.abc import Callable

from rootfill.clinic.kept import Edit
from rootfill.clinic.kept_picture import PART, KeptPicture, fields_of, picture_of
from rootfill.clinic.ports import Clinic
from rootfill.errors import NotFound


def change(
    clinic: Clinic, by: str, case: int, key: int, does: Callable[[KeptPicture], KeptPicture], says: str
) -> KeptPicture:
    """The picture after ``does``. Raises NotFound where it was removed meanwhile, and whatever ``does`` raises."""
    row = clinic.records.case(case).row(PART, key)
    if row is None:
        raise NotFound(f"There is no picture {key} of this case here: go back to its pictures.")
    now = does(picture_of(row))
    clinic.records.mark(case, [Edit(PART, key, row.entered, fields_of(now))], says, by, clinic.now())
    return now
