"""Use cases: what a clinic does with a case, whichever face asks."""

from rootfill.clinic.casefile import LARGEST_FILE, read_case, read_tray, text_of
from rootfill.clinic.new_case import new_case
from rootfill.clinic.plan_case import (
    case_schema,
    demo_case,
    generic_tray_text,
    make_documents,
    plan_case,
    program,
    tray_json,
)
from rootfill.clinic.ports import Papers, TrayShelf
from rootfill.clinic.result import plan_data, plan_json

__all__ = [
    "LARGEST_FILE",
    "Papers",
    "TrayShelf",
    "case_schema",
    "demo_case",
    "generic_tray_text",
    "make_documents",
    "new_case",
    "plan_case",
    "plan_data",
    "plan_json",
    "program",
    "read_case",
    "read_tray",
    "text_of",
    "tray_json",
]
