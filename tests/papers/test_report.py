"""The report gives every number with its interval, unit, reason and source, on the page and on paper."""

from __future__ import annotations

import dataclasses
import re
from collections.abc import Callable, Iterator
from dataclasses import replace
from datetime import datetime
from html.parser import HTMLParser

import pytest

from rootfill.papers.figures import CLEARANCE_PLACES, NOT_KNOWN, Sources, share, spelled, tight
from rootfill.papers.report import report_data, report_html, report_pdf
from rootfill.papers.report_text import adds_up, canal_figures, chances
from rootfill.plan.model import Plan
from rootfill.units import Estimate
from tests.drawing import sample
from tests.drawing.sample import PLANS
from tests.papers.pages import fonts_of, largest_letters_pt, reader, smallest_letters_pt, squeezed, text_of

PRINTED = datetime(2026, 11, 24, 10, 42)


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
    ways: tuple[Callable[[Estimate], tuple[str, str]], ...] = (spelled, tight, lambda e: tight(e, CLEARANCE_PLACES))
    forms = [f(e) for e in (estimate, share(estimate)) for f in ways if e.unit or e is not estimate]
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
    assert (chances(cone)[0].count, chances(cone)[0].words) == ("88 in 100", "sit right, held in their last 2 mm")


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


def test_chances_are_said_once_as_a_number_and_never_as_a_certainty() -> None:
    cone = sample.molar().canals[0].cone
    assert cone is not None
    sure = chances(replace(cone, chances={"right": 0.9966, "loose": 0.0034, "all_along": 0.0}))
    assert [c.count for c in sure] == ["over 99 in 100", "under 1 in 100", "under 1 in 100"]
    text = Words(report_html(sample.molar(), PRINTED)).text
    for word in ("usually", "sometimes", "nearlyalways", "neverinthis"):
        assert word not in text


def test_a_share_is_never_said_to_be_all_or_nothing() -> None:
    assert spelled(share(Estimate(0.9999, 0.95, 1.0, "", "", "")))[0] == "over 99 %"
    assert spelled(share(Estimate(0.0001, 0.0, 0.05, "", "", "")))[0] == "under 1 %"


def test_lengths_have_one_decimal_at_most_and_clearances_two() -> None:
    narrow = Estimate(0.123, 0.09, 0.15, "mm", "", "")
    assert spelled(narrow) == ("0.1 mm", "0.1 to 0.1 mm")
    assert tight(narrow, CLEARANCE_PLACES) == ("0.12 mm", "0.09 to 0.15")


def test_a_needle_that_reaches_the_packed_top_is_said_to() -> None:
    canal = replace(sample.incisor().canals[0], blind_gap_mm=sample.mm(0.0, 0.0))
    labels = [f.label for f in canal_figures(canal, Sources(sample.incisor()))]
    assert "the needle can reach the top; its stop leaves half a millimetre" in labels
    assert "needle to packed top" not in labels


def test_a_canal_that_is_not_packed_has_no_technique_and_no_number_of_work() -> None:
    data = report_data(sample.molar_with_exit())
    assert data["canals"][2]["technique"] is None
    assert [step["number"] for step in data["order"]] == [1, 2, None, 3]


def test_a_canal_whose_shape_is_not_valid_is_not_cut_across() -> None:
    plan = sample.molar_with_exit()
    out = plan.canals[2]
    assert out.exit is not None
    c_shaped = replace(out, exit=replace(out.exit, kind="c_shape"))
    data = report_data(replace(plan, canals=(c_shaped,)))
    assert data["canals"][0]["cuts"] == ""


def test_each_increment_says_which_plugger_follows_and_how_long_it_is_pushed() -> None:
    plan = sample.incisor()
    steps = tuple(replace(i, plugger="70", plugger_set_stop_mm=14.5) for i in plan.canals[0].increments)
    pushed = replace(plan, canals=(replace(plan.canals[0], increments=steps),))
    for text in (text_of(report_pdf(pushed, PRINTED)), Words(report_html(pushed, PRINTED)).text):
        assert squeezed("plugger 70 14.5 mm push 5 s") in text


def test_a_canal_that_divides_says_where() -> None:
    canal = replace(sample.incisor().canals[0], splits_at_mm=17.0)
    assert report_data(replace(sample.incisor(), canals=(canal,)))["canals"][0]["joins"] == "divides at 17.0 mm"


def test_the_drawing_of_one_canal_keeps_its_type_size_and_stays_on_the_first_page() -> None:
    pdf = report_pdf(sample.incisor(), PRINTED)
    assert largest_letters_pt(pdf, "22.0") <= 20
    first = squeezed(reader(pdf).pages[0].extract_text())
    assert squeezed("end, set by you") in first
    assert squeezed("Order of work") in first
    shown = re.search(r'style="max-width: (\d+)px', report_html(sample.incisor(), PRINTED))
    assert shown is not None
    assert int(shown[1]) <= 980


@pytest.mark.parametrize("count", [2, 3, 5, 8])
def test_steps_of_one_table_stand_together_on_a_page(count: int) -> None:
    plan = sample.molar()
    canals = []
    for canal in plan.canals:
        steps = tuple(replace(canal.downpack[0], step=i, heated_tip=f"tip S{i}E") for i in range(1, count + 1))
        canals.append(replace(canal, downpack=steps))
    pdf = report_pdf(replace(plan, canals=tuple(canals)), PRINTED)
    for page in reader(pdf).pages:
        text = squeezed(page.extract_text())
        held = {text.count(f"tipS{i}E") for i in range(1, count + 1)}
        assert len(held) == 1


def test_the_drawing_gives_way_until_what_is_said_of_the_tooth_stays_on_its_page() -> None:
    plan = sample.molar()
    more = tuple(f"Caution {i}: the reference moved, take every length of this tooth once more." for i in range(11))
    pages = [squeezed(p.extract_text()) for p in reader(report_pdf(replace(plan, cautions=more), PRINTED)).pages]
    assert squeezed(more[-1]) in pages[0]
    assert pages[1].startswith("MB")


def test_the_heat_of_a_canal_is_told_and_drawn_where_it_was_computed() -> None:
    plan = sample.warmed(sample.molar())
    text = Words(report_html(plan, PRINTED)).text
    for words in (
        "1.5 s at 200 °C, stop by 2 s, then wait 5 s",
        "Counted with wall as entered, 0.1 mm either way, all about the root, and ML heated just before.",
        "Taught: 5 mm softened ahead of the tip (common practice).",
        "sealer at the deepest tip gets to",
        "filling at its end gets to",
    ):
        assert squeezed(words) in text
        assert squeezed(words) in text_of(report_pdf(plan, PRINTED))
    assert squeezed("sealer at the deepest tip") not in Words(report_html(sample.molar(), PRINTED)).text
