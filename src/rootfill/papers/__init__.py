"""Documents out: the tray card, the report."""

from rootfill.papers.card import card_pdf
from rootfill.papers.card_text import card_rows
from rootfill.papers.report import report_html, report_pdf

__all__ = ["card_pdf", "card_rows", "report_html", "report_pdf"]
