"""What dimensional spreads do to the seat and to the reach."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from rootfill.fit import VERDICTS, Spreads, held, seat_s_mm, trimmed_by_gauge, trimmed_by_ruler
from rootfill.tooth import from_rows, tapered

CANAL = tapered(30, 0.04, 12.0)
# cone SD 0.039: Cunningham 2006; files ±0.02 uniform: ADA 28; gauge hole SD 0.01: our choice
SPREADS = Spreads(file_tol_mm=0.02, cone_spread="measured", cone_mm=0.039, gauge_sd_mm=0.01)
TRIM = {"gauge": trimmed_by_gauge, "ruler": trimmed_by_ruler}


def seats(by: str, spreads: Spreads = SPREADS, size: int = 200_000) -> np.ndarray:
    """Seats of a 20/.04 trimmed to 30, nominally at the end."""
    draws = spreads.draw(np.random.default_rng(7), size)
    return seat_s_mm(CANAL, TRIM[by](0.20, 0.04, 0.30, draws), draws.file_mm)


@pytest.mark.parametrize(
    # SD = sqrt(0.01² + 0.02²/3)/0.04 = 0.38 and sqrt(0.039² + 0.02²/3)/0.04 = 1.02
    ("by", "sd", "within"),
    [("gauge", 0.38, 0.80), ("ruler", 1.0, 0.38)],
)
def test_the_seat_scatters_by_0_38_mm_when_trimmed_by_gauge_and_by_1_mm_by_ruler(by, sd, within):
    got = seats(by)
    assert got.std() == pytest.approx(sd, abs=0.02)
    assert np.mean(np.abs(got) <= 0.5) == pytest.approx(within, abs=0.01)


@given(st.floats(0.1, 3.0), st.sampled_from(["gauge", "ruler"]))
def test_the_scatter_grows_in_proportion_to_the_spreads(factor, by):
    # cones far thinner than the hole at any factor, so that all are cut
    grown = Spreads(0.02 * factor, "measured", 0.005 * factor, 0.005 * factor)
    small = Spreads(0.02, "measured", 0.005, 0.005)
    assert seats(by, grown, 500) == pytest.approx(seats(by, small, 500) * factor, abs=1e-9)


@pytest.mark.parametrize("by", ["gauge", "ruler"])
def test_no_spread_at_all_leaves_one_seat(by):
    assert np.ptp(seats(by, Spreads(0.0, "measured", 0.0, 0.0), 1000)) == 0


@pytest.mark.parametrize(("claim", "bound"), [("split", 0.05), ("flat", 0.05)])
def test_the_two_claims_are_uniform_and_never_leave_their_bounds(claim, bound):
    draws = Spreads(0.02, claim, bound, 0.01).draw(np.random.default_rng(3), 100_000)
    assert np.abs(draws.cone_mm).max() <= bound
    assert draws.cone_mm.std() == pytest.approx(bound / np.sqrt(3), rel=0.01)
    assert np.abs(draws.file_mm).max() <= 0.02
    assert draws.file_mm.std() == pytest.approx(0.02 / np.sqrt(3), rel=0.01)


def test_the_measured_spread_is_normal():
    draws = SPREADS.draw(np.random.default_rng(3), 200_000)
    assert draws.cone_mm.std() == pytest.approx(0.039, rel=0.01)
    # 31.7 % of a normal lie beyond one standard deviation, 4.55 % beyond two
    assert np.mean(np.abs(draws.cone_mm) > 0.039) == pytest.approx(0.317, abs=0.005)
    assert np.mean(np.abs(draws.cone_mm) > 0.078) == pytest.approx(0.0455, abs=0.003)
    assert draws.gauge_mm.std() == pytest.approx(0.01, rel=0.01)


def test_the_errors_of_file_cone_and_gauge_have_nothing_to_do_with_each_other():
    draws = SPREADS.draw(np.random.default_rng(3), 100_000)
    correlation = np.corrcoef([draws.file_mm, draws.cone_mm, draws.gauge_mm])
    assert np.abs(correlation - np.eye(3)).max() < 0.015


def brute_chances(rows: list[tuple[float, float]], tip: float, taper: float, draws: int = 1_000_000) -> list[float]:
    """Shares of the four verdicts, written plainly: each seat by halving, each gap station by station."""
    rng = np.random.default_rng(20)
    canal = rng.uniform(-0.02, 0.02, draws)
    tips = np.maximum(rng.normal(tip, 0.01, draws), rng.normal(tip - 0.1, 0.039, draws))
    stations, widths = (np.array(column) for column in zip(*rows, strict=True))

    def gap(s: np.ndarray, at: np.ndarray) -> np.ndarray:
        inside = (s >= np.maximum(at, 0) - 1e-12) & (s <= stations[-1])
        return np.where(inside, (np.interp(s, stations, widths) + canal - tips - taper * (s - at)) / 2, np.inf)

    low, high = np.full(draws, -12.0), np.full(draws, stations[-1])
    for _ in range(30):
        at = (low + high) / 2
        fits = np.min([gap(np.maximum(at, 0), at), *(gap(np.full(draws, s), at) for s in stations)], axis=0) >= 0
        low, high = np.where(fits, low, at), np.where(fits, at, high)
    at = high
    places = [np.maximum(at, 0), at + 2, at + 4, *(np.full(draws, s) for s in stations)]
    gaps = [gap(s, at) for s in places]
    limit = np.min(gaps, axis=0) + 0.02
    tight = [g <= limit for g in gaps]
    low_contact = np.any([t & (s - at <= 2 + 1e-9) for t, s in zip(tight, places, strict=True)], axis=0)
    high_contact = np.any([t & (s - at >= 4 - 1e-9) for t, s in zip(tight, places, strict=True)], axis=0)
    loose = at < -0.2
    along, right = ~loose & low_contact & high_contact, ~loose & low_contact & ~high_contact
    return [float(x.mean()) for x in (loose, along, right, ~(loose | along | right))]


@pytest.mark.parametrize(
    ("rows", "taper"),
    [
        ([(0.0, 0.30), (12.0, 0.78)], 0.02),
        ([(0.0, 0.30), (4.0, 0.50), (12.0, 0.745)], 0.04),
    ],
)
def test_the_chances_agree_with_a_million_plainly_drawn_cones(rows, taper):
    profile = from_rows([(s, d, d) for s, d in rows])
    draws = SPREADS.draw(np.random.default_rng(11), 50_000)
    cones = trimmed_by_gauge(0.20, taper, 0.30, draws)
    at = seat_s_mm(profile, cones, draws.file_mm)
    chances = np.bincount(held(profile, cones, draws.file_mm, at), minlength=len(VERDICTS)) / at.size
    assert chances.sum() == pytest.approx(1.0)
    assert chances == pytest.approx(brute_chances(rows, 0.30, taper), abs=0.015)
    assert np.count_nonzero(chances > 0.02) >= 2
