"""Invented temperature traces and an independent account of them.

Writes reference/safety/lethality_traces.csv (the readings) and lethality_traces_expected.csv:
- log reduction by adaptive quadrature (scipy.integrate.quad) of 10**((T-Tref)/z)/D on the straight lines between
  readings, zero below the lowest temperature counted, capped at the highest credited, stretches between two readings
  longer than the monitoring interval left out;
- seconds at or above 140, 145, 150 and 158 degF by counting each interval at its colder end less the tolerance;
- seconds of unknown time.
Run: python reference/scripts/lethality_traces.py   (numpy, scipy)
"""
import csv
import math
import pathlib

import numpy as np
from scipy.integrate import quad

HERE = pathlib.Path(__file__).resolve().parent.parent / "safety"
D_S, TREF_C, Z_K, LOW_C, HIGH_C = 105.0, 60.0, 50.0 / 9.0, 54.0, 72.0
ROWS_F = (140.0, 145.0, 150.0, 158.0)


def ramp(points, step):
    t, y = zip(*points)
    grid = np.arange(t[0], t[-1] + 1e-9, step)
    return [(float(a), float(np.interp(a, t, y))) for a in grid]


def traces():
    """(id, monitoring interval s, tolerance K, readings)"""
    yield "steady_hold", 60, 0.0, ramp([(0, 61.0), (1800, 61.0)], 30)
    yield "come_up", 60, 0.3, ramp([(0, 5.0), (3600, 66.0), (5400, 66.0)], 60)
    yield "come_up_coarse", 300, 0.5, ramp([(0, 5.0), (3600, 70.5), (7200, 70.5), (9000, 40.0)], 300)
    yield "above_the_cap", 60, 0.0, ramp([(0, 50.0), (600, 85.0), (900, 85.0), (1500, 50.0)], 20)
    yield "below_the_lowest", 60, 0.0, ramp([(0, 20.0), (3600, 53.9)], 60)
    yield "swing", 60, 0.25, [(float(s), 62.0 + 3.0 * math.sin(s / 180.0)) for s in range(0, 5401, 15)]
    yield "dip", 60, 0.2, ramp([(0, 64.0), (900, 64.0), (960, 45.0), (1500, 45.0), (1620, 64.0), (2400, 64.0)], 10)
    r = ramp([(0, 30.0), (1200, 67.0), (3600, 67.0)], 30)
    yield "one_gap", 60, 0.3, [p for p in r if not 1500 < p[0] < 2100]
    yield "many_gaps", 45, 0.1, [p for p in r if int(p[0] // 30) % 7 not in (3, 4)]
    yield "gap_in_come_up", 60, 0.0, [p for p in r if not 300 < p[0] < 900]
    yield "uneven_steps", 120, 0.4, [
        (s, 45.0 + 25.0 * (1 - math.exp(-s / 900.0)))
        for s in np.cumsum([0] + [17, 41, 5, 88, 119, 3, 60] * 14).astype(float).tolist()
    ]
    yield "two_plateaus", 60, 0.5, ramp([(0, 58.0), (900, 58.0), (901, 68.0), (1100, 68.0), (1101, 58.0), (2400, 58.0)], 1)
    yield "sawtooth", 30, 0.0, [(float(s), 60.0 + (s % 240) / 20.0) for s in range(0, 3601, 10)]


def rate(c):
    if c < LOW_C:
        return 0.0
    return 10.0 ** ((min(c, HIGH_C) - TREF_C) / Z_K) / D_S


def account(longest, tol, points):
    logs, unknown, rows = 0.0, 0.0, [0.0] * len(ROWS_F)
    for (a, ta), (b, tb) in zip(points, points[1:]):
        if b - a > longest:
            unknown += b - a
            continue
        breaks = [a + (x - ta) / (tb - ta) * (b - a) for x in (LOW_C, HIGH_C) if ta != tb]
        breaks = sorted({a, b, *[x for x in breaks if a < x < b]})
        for lo, hi in zip(breaks, breaks[1:]):
            # the integrand is smooth inside; the open interval keeps the jump at LOW_C out
            f = lambda s: rate(ta + (tb - ta) * (s - a) / (b - a))
            logs += quad(f, lo + 1e-12, hi - 1e-12, epsabs=1e-13, epsrel=1e-12)[0]
        cold = min(ta, tb) - tol
        for i, row in enumerate(ROWS_F):
            if cold >= (row - 32.0) / 1.8:
                rows[i] += b - a
    return logs, unknown, rows


def main():
    with open(HERE / "lethality_traces.csv", "w", newline="") as f, open(
        HERE / "lethality_traces_expected.csv", "w", newline=""
    ) as g:
        readings, out = csv.writer(f, lineterminator="\n"), csv.writer(g, lineterminator="\n")
        readings.writerow(["trace_id", "elapsed_s", "temperature_c"])
        out.writerow(
            ["trace_id", "monitoring_interval_s", "tolerance_k", "log10_exact", "unknown_s"]
            + [f"seconds_at_{r:.0f}F" for r in ROWS_F]
            + ["kind", "basis"]
        )
        for name, longest, tol, points in traces():
            points = [(s, float(f"{c:.6f}")) for s, c in points]
            for s, c in points:
                readings.writerow([name, f"{s:g}", f"{c:.6f}"])
            logs, unknown, rows = account(longest, tol, points)
            out.writerow(
                [name, longest, tol, f"{logs:.10g}", f"{unknown:g}", *[f"{r:g}" for r in rows], "INVENTED", "COMPUTED"]
            )


main()
