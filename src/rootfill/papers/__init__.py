"""Documents out: the tray card, the report."""

from rootfill.clinic.card_rows import card_rows
from rootfill.papers.card import card_pdf, card_png
from rootfill.papers.report import report_html, report_pdf

__all__ = ["card_pdf", "card_png", "card_rows", "report_html", "report_pdf"]
