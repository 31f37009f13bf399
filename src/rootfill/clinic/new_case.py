"""A case file to start from: usual canals of the tooth, required keys first, the rest left out."""

from __future__ import annotations

from rootfill.tooth.anatomy import look_for, usual_canals
from rootfill.tooth.notation import tooth_number

_HEAD = """\
# {words}. Fill in what you know; the rest may be left out: the plan says what it assumed.
# Lengths in mm from each canal's reference, typed as 19.5 or "19,5".
[case]
id = "new-{number}"
tooth = {number}
notation = "{notation}"
# baseline.pulp = "vital"      # or necrotic, treated

[[visits]]
id = 1
# isolated = true              # also: anaesthetised, consent, rinsed, cone_film_seen
"""

_CANAL = """
[[canals]]
name = "{name}"
reference = "{reference}"
working_length_mm = {hint}    # 8 to 40, from the reference to where you want the filling to end
orifice_at_mm = {hint}        # depth of the orifice from the reference
made = {{ size = {hint}, taper = {hint} }}   # last file taken to length, such as 25 and 0.06
# curvature = []               # seen to be straight; or [{{ angle_deg = 30, radius_mm = 8, from_mm = 2 }}]
# drying = "dry"               # dry, damp, blood
"""

HINT = '"?"'


def new_case(number: object, notation: str) -> str:
    """TOML text with one block per usual canal. Raises InputRefused for a tooth that is refused."""
    tooth = tooth_number(number, notation)
    entered = tooth.iso3950 if notation == "iso3950" else tooth.universal
    canals = usual_canals(tooth)
    head = _HEAD.format(words=tooth.words.capitalize(), number=entered, notation=notation)
    blocks = [_CANAL.format(name=c.name, reference=c.reference, hint=HINT) for c in canals]
    hints = [f"# {one.sentence}\n" for one in look_for(tooth, [c.name for c in canals])]
    return head + "".join(blocks) + ("\n" if hints else "") + "".join(hints)
