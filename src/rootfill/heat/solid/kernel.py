"""One stage of a super-step, compiled: the flow between neighbouring voxels and the stage's recurrence in one sweep.

The only module that imports numba (the extra ``solid``). ``error_model`` leaves out the look for a division by 0, which
would keep a loop from being vectorised.

Arrays are float32, shape (layers, rows, columns) with a rim of one voxel all round; of each row the columns from
``low`` to ``high`` are computed, the others never written.
A voxel gives Σ (T_q − T_p)/(r_p + r_q) times its ``take`` [W·m·K⁻¹ per J·m⁻¹·K⁻¹] per second, where r is 1/k.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from numba import njit, prange
from numpy.typing import NDArray

Field = NDArray[np.float32]
Columns = NDArray[np.int64]
Body = tuple[Field, Field, Columns, Columns]
"""Resistivity, take, and the free columns of each row from ``low`` to ``high``."""


@njit(fastmath=True, error_model="numpy")
def _flow(found: Any, celsius: Any, resist: Any, z: int, y: int, low: int, high: int) -> None:  # pragma: no cover
    """Fills ``found`` with Σ (T_q − T_p)/(r_p + r_q) of a row. In two loops, each short enough to be vectorised."""
    t, r = celsius[z, y, low:high], resist[z, y, low:high]
    left, right = celsius[z, y, low - 1 : high - 1], celsius[z, y, low + 1 : high + 1]
    r_left, r_right = resist[z, y, low - 1 : high - 1], resist[z, y, low + 1 : high + 1]
    for i in range(found.size):
        found[i] = (left[i] - t[i]) / (r[i] + r_left[i]) + (right[i] - t[i]) / (r[i] + r_right[i])
    for turn in range(2):
        dz, dy = turn, 1 - turn
        a, b = celsius[z - dz, y - dy, low:high], celsius[z + dz, y + dy, low:high]
        r_a, r_b = resist[z - dz, y - dy, low:high], resist[z + dz, y + dy, low:high]
        for i in range(found.size):
            found[i] += (a[i] - t[i]) / (r[i] + r_a[i]) + (b[i] - t[i]) / (r[i] + r_b[i])


@njit(parallel=True, fastmath=True, error_model="numpy")
def slopes(out: Any, celsius: Any, body: Any) -> None:  # pragma: no cover
    """``out`` = dT/dt by conduction."""
    resist, take, low, high = body
    for z in prange(1, out.shape[0] - 1):
        row = np.empty(out.shape[2], dtype=np.float32)
        for y in range(1, out.shape[1] - 1):
            a, b = low[y], high[y]
            if a < b:
                flow = row[: b - a]
                _flow(flow, celsius, resist, z, y, a, b)
                c, o = take[z, y, a:b], out[z, y, a:b]
                for i in range(flow.size):
                    o[i] = c[i] * flow[i]


@njit(parallel=True, fastmath=True, error_model="numpy")
def stage(out: Any, last: Any, slope: Any, body: Any, by: Any) -> None:  # pragma: no cover
    """``out`` = by · (last, out itself, dT/dt of ``last`` by conduction, slope)."""
    resist, take, low, high = body
    mu, nu, far, rest = by[0], by[1], by[2], by[3]
    for z in prange(1, out.shape[0] - 1):
        row = np.empty(out.shape[2], dtype=np.float32)
        for y in range(1, out.shape[1] - 1):
            a, b = low[y], high[y]
            if a < b:
                flow = row[: b - a]
                _flow(flow, last, resist, z, y, a, b)
                t, c, s, o = last[z, y, a:b], take[z, y, a:b], slope[z, y, a:b], out[z, y, a:b]
                for i in range(flow.size):
                    o[i] = nu * o[i] + mu * t[i] + far * (c[i] * flow[i]) + rest * s[i]


@njit(parallel=True, fastmath=True, error_model="numpy")
def _fastest_of(resist: Any, take: Any, low: Any, high: Any) -> Any:  # pragma: no cover
    found = np.zeros(resist.shape[0])
    for z in prange(1, resist.shape[0] - 1):
        most = 0.0
        for y in range(1, resist.shape[1] - 1):
            for x in range(low[y], high[y]):
                r = resist[z, y, x]
                total = 1 / (r + resist[z, y, x - 1]) + 1 / (r + resist[z, y, x + 1])
                total += 1 / (r + resist[z, y - 1, x]) + 1 / (r + resist[z, y + 1, x])
                total += 1 / (r + resist[z - 1, y, x]) + 1 / (r + resist[z + 1, y, x])
                most = max(most, total * take[z, y, x])
        found[z] = most
    return found


def fastest(body: Body) -> float:
    """Largest diagonal of −dT/dt over T [1/s]; no eigenvalue is more than twice as large (Gershgorin)."""
    return float(_fastest_of(*body).max())
