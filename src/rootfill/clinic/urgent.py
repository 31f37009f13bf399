"""What is urgent when core lies beyond the end of a root: the same sentences for films and for scans."""

from __future__ import annotations

from rootfill.tables import source, table
from rootfill.tooth.anatomy import nerve_near
from rootfill.tooth.notation import tooth_number


def urgent_path(tooth: int | None, core_mm: float) -> tuple[str, ...]:
    """Sentences for core of this length beyond the end of a tooth (ISO 3950); none where no nerve canal is near.

    Without a tooth the first sentence says for which teeth they hold. Raises InputRefused for a tooth there is not.
    """
    if not core_mm > 0:
        return ()
    if tooth is None:
        about = f"URGENT if this is a lower molar or premolar: {core_mm:.1f} mm of core lies beyond the end."
    elif nerve_near(found := tooth_number(tooth, "iso3950")) is not None:
        where = "mental foramen" if found.kind.endswith("premolar") else "nerve canal of the lower jaw"
        about = f"URGENT: {core_mm:.1f} mm of core lies beyond the end of tooth {tooth}, near the {where}."
    else:
        return ()
    return (about, *(f"{row['words']} ({source(row['source']).mark})" for row in table("urgent")))
