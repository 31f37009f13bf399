"""What a run of heat costs against its cells and against its seconds of chair time, drawn into docs/heat-cost.svg.

``python -m benchmarks.heat_cost`` measures and draws anew; the median of five runs each.
"""

from __future__ import annotations

import math
import statistics
import time
from collections.abc import Callable, Iterator, Sequence
from pathlib import Path

from benchmarks.bench_heat import BODY_C, PLAIN, TIP, TIP_S_MM
from rootfill.drawing.svg import Point, document, line, opened, tag, words
from rootfill.drawing.tokens import PAPER
from rootfill.heat import Effort, Surroundings, warm
from rootfill.heat.mesh import fitted

TO = Path(__file__).parent.parent / "docs" / "heat-cost.svg"
REFINES, CHAIR_S = (1, 2, 3, 4), (10.0, 20.0, 40.0, 80.0, 160.0)
WIDE, HIGH, LEFT, TOP = 320.0, 220.0, 70.0, 40.0
Curve = Sequence[tuple[float, float]]


def cost_s(seconds: float, refine: int) -> float:
    """Seconds of computing a run takes."""
    taken = []
    for _ in range(5):
        started = time.perf_counter()
        warm(PLAIN, Surroundings(BODY_C), [TIP], seconds, Effort(refine=refine))
        taken.append(time.perf_counter() - started)
    return statistics.median(taken)


def cells(refine: int) -> int:
    """Cells of the mesh."""
    return int(fitted(PLAIN, [TIP_S_MM], Effort(refine=refine)).grid.layer.size)


def panel(x: float, title: str, across: str, curve: Curve) -> Iterator[str]:
    """One plot, both axes logarithmic, every point with its figures."""
    to_x, to_y = _scale([a for a, _ in curve], x, x + WIDE), _scale([b for _, b in curve], TOP + HIGH, TOP)
    points: list[Point] = [(to_x(a), to_y(b)) for a, b in curve]
    yield words(title, x, TOP - 18, 15.0, PAPER.ink, font_weight=600)
    yield line((x, TOP + HIGH), (x + WIDE, TOP + HIGH), PAPER.ink_3, 1.0)
    yield line((x, TOP), (x, TOP + HIGH), PAPER.ink_3, 1.0)
    yield opened(points, PAPER.accent, 2.0)
    for (a, b), (px, py) in zip(curve, points, strict=True):
        yield tag("circle", cx=px, cy=py, r=3.5, fill=PAPER.accent)
        yield words(f"{a:,.0f}", px, TOP + HIGH + 18, 13.0, PAPER.ink_2, text_anchor="middle")
        yield words(f"{1000 * b:.0f} ms", px + 6, py + 17, 13.0, PAPER.ink)
    yield words(across, x + WIDE, TOP + HIGH + 38, 13.0, PAPER.ink_2, text_anchor="end")


def drawing(by_cells: Curve, by_seconds: Curve) -> str:
    """Both plots side by side."""
    body = [
        tag("rect", width=2 * WIDE + 3 * LEFT, height=TOP + HIGH + 60, fill=PAPER.paper),
        *panel(LEFT, "20 s of chair time", "cells (steps refined with them)", by_cells),
        *panel(2 * LEFT + WIDE, f"{cells(2):,} cells", "seconds of chair time", by_seconds),
    ]
    says = "; ".join(f"{a:,.0f}: {1000 * b:.0f} ms" for a, b in (*by_cells, *by_seconds))
    size = (2 * WIDE + 3 * LEFT, TOP + HIGH + 60)
    return document(
        size, "Cost of a run of heat", f"Computing time by cells, then by chair time: {says}", body, prefix="cost"
    )


def _scale(values: Sequence[float], start: float, end: float) -> Callable[[float], float]:
    low, high = math.log(min(values)) - 0.5, math.log(max(values)) + 0.3
    return lambda value: start + (end - start) * (math.log(value) - low) / (high - low)


def main() -> None:
    """Measure and draw."""
    by_cells = [(float(cells(n)), cost_s(20.0, n)) for n in REFINES]
    by_seconds = [(seconds, cost_s(seconds, 2)) for seconds in CHAIR_S]
    TO.write_text(drawing(by_cells, by_seconds) + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()
