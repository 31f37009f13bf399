"""The report gives every number with its interval, unit, reason and source, on the page and on paper."""

from __future__ import annotations

import dataclasses
import re
from collections.abc import Callable, Iterator
from dataclasses import replace
from datetime import datetime
from html.parser import HTMLParser

import pytest

from rootfill.papers.figures import NOT_KNOWN, Sources, share, spelled, tight
from rootfill.papers.report import report_data, report_html, report_pdf
from rootfill.papers.report_text import adds_up, chances
from rootfill.plan.model import Plan
from rootfill.units import Estimate
from tests.drawing import sample
from tests.papers.pages import fonts_of, reader, smallest_letters_pt, squeezed, text_of

PRINTED = datetime(2026, 11, 24, 10, 42)
PLANS: list[Callable[[], Plan]] = [
    sample.molar,
    sample.molar_with_exit,
    sample.premolar,
    sample.incisor,
    sample.absurd,
]


class Words(HTMLParser):
    """Visible words, tags and attributes of a page."""

    def __init__(self, page: str) -> None:
        super().__init__()
        self.words: list[str] = []
        self.tags: list[str] = []
        self.links: list[str] = []
        self._hidden = 0
        self.feed(page)

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append(tag)
        self._hidden += tag == "style"
        self.links += [value or "" for key, value in attrs if key in {"href", "src", "action", "srcset"}]

    def handle_endtag(self, tag: str) -> None:
        self._hidden -= tag == "style"

    def handle_data(self, data: str) -> None:
        if not self._hidden:
            self.words.append(data)

    @property
    def text(self) -> str:
        return squeezed(" ".join(self.words))


def estimates(value: object) -> Iterator[Estimate]:
    """Every estimate anywhere in a plan."""
    if isinstance(value, Estimate):
        yield value
    elif isinstance(value, tuple):
        for part in value:
            yield from estimates(part)
    elif dataclasses.is_dataclass(value):
        for field in dataclasses.fields(value):
            yield from estimates(getattr(value, field.name))


def said_of(estimate: Estimate, text: str) -> bool:
    """Whether value, interval and reason all stand in the text, as a length or, for a share, in percent."""
    forms = [f(e) for e in (estimate, share(estimate)) for f in (spelled, tight) if e.unit or e is not estimate]
    shown = any(squeezed("".join(form)) in text for form in forms) or any(
        squeezed(form[0]) in text and squeezed(form[1]) in text for form in forms
    )
    return shown and squeezed(estimate.because) in text


@pytest.mark.parametrize("plan", PLANS)
def test_every_estimate_of_the_plan_stands_in_the_page_with_interval_and_reason(plan: Callable[[], Plan]) -> None:
    text = Words(report_html(plan(), PRINTED)).text
    assert [e for e in estimates(plan()) if not said_of(e, text)] == []


@pytest.mark.parametrize("plan", PLANS)
def test_every_estimate_of_the_plan_stands_on_paper_with_interval_and_reason(plan: Callable[[], Plan]) -> None:
    text = text_of(report_pdf(plan(), PRINTED))
    assert [e for e in estimates(plan()) if not said_of(e, text)] == []


def test_the_check_for_estimates_misses_nothing() -> None:
    text = Words(report_html(sample.molar(), PRINTED)).text
    assert not said_of(Estimate(12.34, 12.0, 12.9, "mm", "file sizes ±0.02 mm", "geometry"), text)
    assert len(list(estimates(sample.molar()))) > 80


def test_every_source_is_resolved_to_its_text_and_mark() -> None:
    plan = sample.molar()
    data = report_data(plan)
    assert NOT_KNOWN not in {line["mark"] for line in data["sources"]}
    text = Words(report_html(plan, PRINTED)).text
    for line in plan.sources:
        assert squeezed(line.text) in text


def test_a_source_the_plan_does_not_hold_is_found_in_the_tables_or_said_to_be_missing() -> None:
    sources = Sources(replace(sample.molar(), sources=()))
    assert sources.mark("goodman1981") == "published"
    assert sources.mark("nobody2099") == NOT_KNOWN


def test_every_number_that_points_to_a_source_points_to_one_that_is_listed() -> None:
    page = Words(report_html(sample.molar(), PRINTED))
    numbers = {link.removeprefix("#source-") for link in page.links}
    listed = {str(line["number"]) for line in report_data(sample.molar())["sources"]}
    assert numbers
    assert numbers <= listed


@pytest.mark.parametrize("plan", PLANS)
def test_the_page_asks_for_nothing_from_anywhere(plan: Callable[[], Plan]) -> None:
    page = report_html(plan(), PRINTED)
    parsed = Words(page)
    assert all(link.startswith("#") for link in parsed.links)
    assert not set(parsed.tags) & {"script", "link", "img", "iframe", "object", "embed", "form"}
    assert all(address.startswith(("data:", "#")) for address in re.findall(r"url\(['\"]?([^)'\"]+)", page))
    assert "@import" not in page


def test_a_hostile_name_is_words_and_never_markup() -> None:
    page = report_html(sample.absurd(), PRINTED)
    assert squeezed(sample.HOSTILE) in Words(page).text
    assert "<script" not in page


def test_ids_in_the_page_are_each_used_once() -> None:
    ids = re.findall(r'\bid="([^"]+)"', report_html(sample.molar(), PRINTED))
    assert len(ids) == len(set(ids))


@pytest.mark.parametrize("plan", PLANS)
def test_the_report_on_paper_uses_only_our_fonts_and_no_small_print(plan: Callable[[], Plan]) -> None:
    pdf = report_pdf(plan(), PRINTED)
    assert all("AtkinsonHyperlegibleNext" in name and there for name, there in fonts_of(pdf).items())
    assert smallest_letters_pt(pdf) >= 8.99


def test_each_page_says_which_case_it_belongs_to_and_when_it_was_printed() -> None:
    pages = reader(report_pdf(sample.molar(), PRINTED)).pages
    assert len(pages) > 3
    for page in pages:
        assert squeezed("case K-0107 · printed 24 November 2026, 10:42") in squeezed(page.extract_text())


def test_every_instrument_of_the_tray_is_in_the_report_chosen_or_not() -> None:
    text = Words(report_html(sample.molar(), PRINTED)).text
    for name in ("plugger 120", "plugger 90", "heated tip 50", "30 G needle", "23 G needle"):
        assert squeezed(name) in text


def test_an_exit_is_told_and_leaves_no_cone_or_instrument() -> None:
    canal = report_data(sample.molar_with_exit())["canals"][2]
    assert canal["exit"][0] == "not for this method"
    assert canal["cone"] is None
    assert canal["instruments"] == canal["increments"] == canal["downpack"] == []


def test_the_chances_add_up_to_a_hundred_and_come_likeliest_first() -> None:
    cone = sample.molar().canals[0].cone
    assert cone is not None
    thirds = replace(cone, chances={"loose": 1 / 3, "all_along": 1 / 3, "right": 1 / 3, "wrong_place": 0.0})
    for chosen in (cone, thirds):
        numbers = [c.of_hundred for c in chances(chosen)]
        assert sum(numbers) == 100
        assert numbers == sorted(numbers, reverse=True)
    assert chances(cone)[0].words.startswith("held in its last 2 mm")


def test_lengths_and_volumes_are_added_up_and_a_difference_is_shown() -> None:
    canal = sample.molar().canals[0]
    lengths, volumes = adds_up(canal)
    assert lengths == "Lengths: 2.0 + 4.0 = 6.0 mm; packed top 14.5 − fill level 8.5 = 6.0 mm."
    assert volumes.endswith("= 4.10 mm³; the canal holds 4.10 mm³ (difference 0.0 %).")
    lost = replace(canal, increments=canal.increments[:1])
    assert adds_up(lost)[0].startswith("Lengths: 2.0 = 2.0 mm; packed top 14.5")
    assert "difference 26.8 %" in adds_up(lost)[1]


def test_a_number_is_printed_with_a_real_minus_and_no_minus_before_nought() -> None:
    assert spelled(Estimate(-0.001, -1.2, 0.7, "mm", "", ""))[0] == "0.0 mm"
    assert spelled(Estimate(-0.5, -1.2, 0.7, "mm", "", "")) == ("−0.5 mm", "−1.2 to 0.7 mm")


def test_a_number_in_which_nothing_spreads_says_so() -> None:
    assert spelled(Estimate(14.5, 14.5, 14.5, "mm", "", "")) == ("14.5 mm", "no spread")
