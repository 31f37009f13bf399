"""Published measurements beside the model: every study's unknowns as bands, nothing tuned."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
from scipy.stats import qmc

from prove.heat_published import SETUPS
from prove.heat_setups import UNKNOWNS, Measured, Setup, unknown
from rootfill.heat import Effort, Warming, warm

COVERS = ["src/rootfill/heat", "prove/heat_setups.py", "prove/heat_published.py"]
DRAWS = 32


def run(seed: int) -> dict[str, Any]:
    """Every study with as many draws; no study is left out."""
    rows = [row for number, setup in enumerate(SETUPS) for row in _rows(setup, 100 * seed + number)]
    inside = sum(row["inside"] for row in rows)
    return {"draws": DRAWS, "values": len(rows), "inside": inside, "rows": rows}


def _rows(setup: Setup, seed: int) -> list[dict[str, Any]]:
    runs = [_warmed(setup, shares) for shares in qmc.Sobol(UNKNOWNS, seed=seed).random(DRAWS)]
    return [_row(setup, measured, np.array([measured.answer(run) for run in runs])) for measured in setup.measured]


def _warmed(setup: Setup, shares: np.ndarray) -> Warming:
    drawn = unknown(shares)
    contents = setup.contents(drawn)
    end = contents[-1].until_s + setup.watched_s
    watched = (*contents[:-1], replace(contents[-1], until_s=end))
    return warm(setup.section(drawn), setup.around(drawn), watched, end, Effort(refine=1))


def _row(setup: Setup, measured: Measured, values: np.ndarray) -> dict[str, Any]:
    low, middle, high = (round(float(x), 2) for x in np.quantile(values, [0.05, 0.5, 0.95]))
    bound = measured.reported.startswith("below")
    return {
        "study": setup.study,
        "act": setup.act,
        "source": setup.source,
        "what": measured.what,
        "reported": measured.reported,
        "value": measured.value,
        "unit": measured.unit,
        "base": measured.base,
        "low": low,
        "middle": middle,
        "high": high,
        "inside": bool(high < measured.value) if bound else bool(low <= measured.value <= high),
    }
