"""Quantiles, tail probabilities, exact binomial limits and the runs test: writes ../fit/statistics.csv.

    pip install scipy==1.17.1
    python statistics_values.py

The runs test is by listing every order of the signs.
"""
import csv
import itertools
import pathlib

import scipy
from scipy import stats

rows = []
for p in (0.005, 0.1, 0.5, 0.9, 0.975, 0.9995):
    rows.append(("normal_quantile", p, "", "", stats.norm.ppf(p)))
    for d in (1, 3, 10, 57.5, 400):
        rows.append(("student_quantile", p, d, "", stats.t.ppf(p, d)))
        rows.append(("chi_squared_quantile", p, d, "", stats.chi2.ppf(p, d)))
for v in (0.3, 1.0, 2.5, 9.0):
    for a, b in ((1, 5), (2, 30), (6, 12)):
        rows.append(("f_beyond", v, a, b, stats.f.sf(v, a, b)))
for held, of, confidence in ((0, 5, 0.95), (5, 5, 0.9), (8, 10, 0.95), (37, 200, 0.8), (161, 200, 0.99), (1, 40, 0.95)):
    limits = stats.binomtest(held, of).proportion_ci(confidence, method="exact")
    rows.append(("share_low", held, of, confidence, limits.low))
    rows.append(("share_high", held, of, confidence, limits.high))
for above, below, runs in ((4, 4, 2), (4, 4, 8), (7, 5, 4), (3, 8, 3), (6, 6, 10), (1, 9, 2), (9, 3, 5)):
    counts = []
    for places in itertools.combinations(range(above + below), above):
        signs = [i in places for i in range(above + below)]
        counts.append(1 + sum(a != b for a, b in zip(signs, signs[1:])))
    few = sum(c <= runs for c in counts) / len(counts)
    many = sum(c >= runs for c in counts) / len(counts)
    rows.append(("runs_few", above, below, runs, few))
    rows.append(("runs_many", above, below, runs, many))
out = pathlib.Path(__file__).parent.parent / "fit" / "statistics.csv"
with out.open("w", newline="") as f:
    w = csv.writer(f)
    w.writerow(["what", "a", "b", "c", "value", "source", "basis"])
    for r in rows:
        w.writerow([*r[:4], f"{r[4]:.14g}", f"scipy {scipy.__version__}", "COMPUTED"])
