"""Plans and documents as the faces ask for them."""

from __future__ import annotations

import datetime as dt

import pytest

from rootfill import clinic
from rootfill.clinic.plan_case import first_look, full_plan, make_documents
from rootfill.errors import RootfillError
from rootfill.plan import Plan
from tests.plan.cases import NoTrays

PRINTED = dt.datetime(2026, 11, 24, 10, 42)


class NamedPapers:
    """Each document says what it is, of which case, and when."""

    def card_pdf(self, plan: Plan, printed: dt.datetime) -> bytes:
        return f"card {plan.id} {printed:%H:%M}".encode()

    def card_png(self, plan: Plan, printed: dt.datetime) -> bytes:
        return f"picture {plan.id} {printed:%H:%M}".encode()

    def report_html(self, plan: Plan, printed: dt.datetime) -> str:
        return f"page {plan.id} {printed:%H:%M}"

    def report_pdf(self, plan: Plan, printed: dt.datetime) -> bytes:
        return f"report {plan.id} {printed:%H:%M}".encode()


def test_no_document_is_made_of_a_first_look():
    quick = first_look(*clinic.read_case(clinic.demo_case(), NoTrays()), {})
    with pytest.raises(RootfillError, match="first look"):
        make_documents(quick, NamedPapers(), PRINTED)


def test_of_a_full_plan_those_documents_are_made_that_are_asked_for():
    full = full_plan(*clinic.read_case(clinic.demo_case(), NoTrays()), {})
    assert full == clinic.plan_case(clinic.demo_case(), NoTrays())
    made = make_documents(full, NamedPapers(), PRINTED, ["card.png", "report.html"])
    assert made == {"card.png": b"picture DEMO-1 10:42", "report.html": b"page DEMO-1 10:42"}
    handed_out = make_documents(full, NamedPapers(), PRINTED)
    assert list(handed_out) == ["plan.json", "card.pdf", "report.html", "report.pdf"]
    assert handed_out["plan.json"] == clinic.plan_json(full).encode()
