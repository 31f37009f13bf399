"""Find the canals of a kept scan, apart from the page, and keep them with it; name them, set their ends."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from rootfill.clinic.change_picture import change
from rootfill.clinic.found_canals import carried_over, with_end, with_name
from rootfill.clinic.keep_picture import picture
from rootfill.clinic.kept import Fields
from rootfill.clinic.kept_picture import VOLUME, KeptPicture
from rootfill.clinic.ports import Clinic, Unsearched
from rootfill.errors import InputRefused, NotFound, Said

Seeds = tuple[tuple[float, float, float], ...]


@dataclass(frozen=True)
class Search:
    """Where to look: voxels (x, y, z) of the tooth, none for the largest; the kept grey between canal and dentine."""

    seeds: Seeds = ()
    edge: float | None = None


def find_canals(clinic: Clinic, by: str, case: int, key: int, search: Search, gone: Callable[[], bool]) -> KeptPicture:
    """Canals of a kept scan, kept whole or not at all. What was named or set before stays with canals found again.

    Raises InputRefused, NotFound, NotKept.
    """
    one = picture(clinic, case, key)
    read = one.read
    if read.kind != VOLUME:
        raise InputRefused("the picture", Said("a film"), "canals are found in a scan: open one")
    file: Path = clinic.pictures.path(one.file)
    asked = Unsearched(file, read.shape, read.scale, search.seeds, search.edge)
    found = clinic.work.find_canals(asked, gone)
    count = len(found["canals"])
    return change(
        clinic, by, case, key, lambda now: replace(now, canals=carried_over(found, now.canals)),
        f"{count} canal{'' if count == 1 else 's'} found in {one.says}",
    )  # fmt: skip


def name_canal(clinic: Clinic, by: str, case: int, key: int, number: int, name: str) -> KeptPicture:
    """Say which canal of the case it is; '' for none. Raises InputRefused, NotFound."""
    if name and clinic.records.case(case).canal(name) is None:
        raise InputRefused("the canal", name, "choose a canal of this case")
    says = f"Canal {number + 1} in the scan is {name or 'not named'}"
    return change(clinic, by, case, key, lambda now: replace(now, canals=with_name(found_in(now), number, name)), says)


def set_end(clinic: Clinic, by: str, case: int, key: int, number: int, point: Sequence[float] | None) -> KeptPicture:
    """Set the end of a canal, or go back to the one suggested. Raises InputRefused, NotFound."""
    says = f"End of canal {number + 1} in the scan {'set by hand' if point is not None else 'as the picture suggests'}"
    return change(clinic, by, case, key, lambda now: replace(now, canals=with_end(found_in(now), number, point)), says)


def found_in(one: KeptPicture) -> Fields:
    if one.canals is None:
        raise NotFound("No canal was looked for in this picture yet: press Find canals.")
    return one.canals
