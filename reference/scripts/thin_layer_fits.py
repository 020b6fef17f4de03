"""Curves of moisture ratio from published thin-layer parameters with noise, one measured curve, and their least-squares
fits by SciPy and lmfit: writes ../fit/thin_layer_curves.csv and ../fit/thin_layer_fits.csv.

    pip install numpy==2.4.6 scipy==1.17.1 lmfit==1.3.4
    python thin_layer_fits.py

SciPy: least_squares, method lm, Jacobian by the complex step, best of several starts; covariance s^2 (J'J)^-1 at the end.
lmfit: leastsq with the same Jacobian. Where the Jacobian with columns scaled to length 1 has a condition above 1e5 the fit is
marked degenerate: its parameters are not told by the data.
"""
import csv
import pathlib

import lmfit
import numpy as np
import scipy
from scipy.optimize import least_squares

here = pathlib.Path(__file__).parent.parent
foods = list(csv.DictReader((here / "foods" / "thin_layer_parameters.csv").open()))


def slab(p, t):
    i = np.arange(400)[:, None]
    odd = (2 * i + 1) ** 2
    series = 8 / np.pi**2 * np.sum(np.exp(-odd * np.pi**2 * p[0] * t / 4) / odd, axis=0)
    return np.where(t == 0, 1.0, series)


EQUATIONS = {
    "Lewis": (["k"], lambda p, t: np.exp(-p[0] * t)),
    "Page": (["k", "n"], lambda p, t: np.exp(-p[0] * t ** p[1])),
    "HendersonPabis": (["a", "k"], lambda p, t: p[0] * np.exp(-p[1] * t)),
    "Logarithmic": (["a", "k", "c"], lambda p, t: p[0] * np.exp(-p[1] * t) + p[2]),
    "TwoTerm": (["a", "k0", "b", "k1"], lambda p, t: p[0] * np.exp(-p[1] * t) + p[2] * np.exp(-p[3] * t)),
    "Midilli": (["a", "k", "n", "b"], lambda p, t: p[0] * np.exp(-p[1] * t ** p[2]) + p[3] * t),
    "Weibull": (["alpha", "beta"], lambda p, t: np.exp(-((t / p[0]) ** p[1]))),
    "SlabDiffusion": (["D/L2"], slab),
}


def row_of(food, model, temperature, rh=""):
    for r in foods:
        if (r["food"].startswith(food) and r["model"].startswith(model) and r["air_temperature_C"] == temperature
                and r["rh_pct"] == rh and r["k"]):
            return r
    raise SystemExit(f"no row {food} {model} {temperature} {rh}")


def published(row):
    """Parameters in h and the equation of a row."""
    name = row["model"].split(" (")[0].replace("-", "")
    k = float(row["k"])
    n = float(row["n"]) if row["n"] else 1.0
    if row["time_unit"] == "min":
        k *= 60.0**n
    a = float(row["a"]) if row["a"] else 1.0
    if name == "Midilli":
        return name, [a, k, n, float(row["b"]) * (60.0 if row["time_unit"] == "min" else 1.0)]
    values = {"Lewis": [k], "Page": [k, n], "HendersonPabis": [a, k], "Logarithmic": [a, k, float(row["c"] or 0)]}
    return name, values[name]


CASES = [
    ("coffee_50_10_page", row_of("coffee", "Page", "50", "10"), 30, 0.005),
    ("coffee_70_30_lewis", row_of("coffee", "Lewis", "70", "30"), 20, 0.01),
    ("coffee_60_20_midilli", row_of("coffee", "Midilli", "60", "20"), 40, 0.003),
    ("coffee_50_30_henderson", row_of("coffee", "Henderson", "50", "30"), 25, 0.005),
    ("coffee_50_20_logarithmic", row_of("coffee", "Logarithmic", "50", "20"), 30, 0.005),
    ("chicken_60_page", row_of("chicken", "Page", "60"), 30, 0.005),
    ("chicken_50_logarithmic", row_of("chicken", "Logarithmic", "50"), 25, 0.01),
    ("beetroot_page", next(r for r in foods if r["condition"] == "run fresh, thin cut (70deg C)"), 28, 0.01),
]


def curves():
    random = np.random.default_rng(20260311)
    made = {}
    for name, row, readings, noise in CASES:
        key, p = published(row) if row["food"] != "beetroot" else ("Page", [
            float(row["k"]) * 60 ** float(row["n"]), float(row["n"])])
        f = EQUATIONS[key][1]
        grid = np.linspace(0, 400, 400001)
        last = grid[np.argmax(f(p, grid) < 0.06)] or 60.0
        t = np.round(np.linspace(0, last, readings), 4)
        made[name] = (t, np.round(f(p, t) + noise * random.standard_normal(readings), 6), f"from {key} {p}, noise {noise}")
    t = np.round(np.linspace(0, 8, 33), 4)
    p = [0.55, 1.6, 0.45, 0.22]
    made["two_exponentials"] = (t, np.round(EQUATIONS["TwoTerm"][1](p, t) + 0.002 * random.standard_normal(33), 6),
                                f"from TwoTerm {p}, noise 0.002")
    measured = [r for r in csv.DictReader((here / "drying" / "experiments" / "apple_royen2020.csv").open())
                if r["run_id"] == "apple_royen2020_t50_v110_6mm_a"]
    t = np.array([float(r["time_s"]) for r in measured]) / 3600
    x = np.array([float(r["moisture_db_kg_per_kg"]) for r in measured])
    made["apple_measured"] = (np.round(t, 6), np.round(x / x[0], 6), "Royen et al. 2020, run t50_v110_6mm_a, X/X0")
    return made


def jacobian(f, p, t):
    columns = []
    for i in range(len(p)):
        z = np.array(p, dtype=complex)
        z[i] += 1e-30j
        columns.append(f(z, t.astype(complex)).imag / 1e-30)
    # t^n at t = 0: the derivative is 0.
    return np.nan_to_num(np.array(columns).T)


def starts(key, t, y):
    inside = (y > 0.02) & (t > 0)
    k = -np.sum(t[inside] * np.log(y[inside])) / np.sum(t[inside] ** 2)
    base = {"Lewis": [k], "Page": [k, 1.0], "HendersonPabis": [1.0, k], "Logarithmic": [1.0, k, 0.02],
            "TwoTerm": [0.4, 3 * k, 0.6, 0.6 * k], "Midilli": [1.0, k, 1.0, 0.0], "Weibull": [1 / k, 1.0],
            "SlabDiffusion": [0.4 * k]}[key]
    yield base
    random = np.random.default_rng(7)
    for _ in range(30):
        yield [b * np.exp(0.6 * random.standard_normal()) + (0.05 * random.standard_normal() if b == 0 else 0) for b in base]


def fit(key, t, y):
    names, f = EQUATIONS[key]
    best = None
    with np.errstate(all="ignore"):
        for start in starts(key, t, y):
            try:
                found = least_squares(lambda p: f(np.asarray(p), t) - y, start, jac=lambda p: jacobian(f, p, t),
                                      method="lm", xtol=1e-15, ftol=1e-15, gtol=1e-15, max_nfev=20000)
            except ValueError:
                continue
            if np.isfinite(found.cost) and (best is None or found.cost < best.cost * (1 - 1e-12)):
                best = found
    p = best.x
    if key == "TwoTerm" and p[1] < p[3]:
        p = p[[2, 3, 0, 1]]
    j = jacobian(f, p, t)
    condition = np.linalg.cond(j / np.linalg.norm(j, axis=0))
    s2 = 2 * best.cost / (len(t) - len(p))
    error = np.sqrt(np.diag(s2 * np.linalg.inv(j.T @ j))) if condition < 1e12 else np.full(len(p), np.nan)
    lm = lmfit.Parameters()
    for n, v in zip(names, p):
        lm.add(n.replace("/", "_"), value=v * 1.01 + 1e-4 * (n in ("c", "b")))
    def vector(q):
        return np.array([v.value for v in q.values()])

    def slopes(q):
        return jacobian(f, vector(q), t)

    other = lmfit.Minimizer(lambda q: f(vector(q), t) - y, lm, scale_covar=True).leastsq(
        xtol=1e-15, ftol=1e-15, gtol=0, max_nfev=20000, Dfun=slopes)
    return names, p, error, 2 * best.cost, condition, [(v.value, v.stderr) for v in other.params.values()]


made = curves()
with (here / "fit" / "thin_layer_curves.csv").open("w", newline="") as out:
    w = csv.writer(out)
    w.writerow(["curve", "time_h", "moisture_ratio", "source", "basis"])
    for name, (t, y, source) in made.items():
        for a, b in zip(t, y):
            w.writerow([name, a, b, source, "COMPUTED" if name != "apple_measured" else "READ"])
worst = 0.0
with (here / "fit" / "thin_layer_fits.csv").open("w", newline="") as out:
    w = csv.writer(out)
    w.writerow(["curve", "equation", "parameter", "estimate", "standard_error", "lmfit_estimate", "lmfit_standard_error",
                "sum_of_squares", "condition", "degenerate", "source", "basis"])
    for name, (t, y, _) in made.items():
        for key in EQUATIONS:
            names, p, error, squares, condition, other = fit(key, t, y)
            degenerate = condition > 1e5 or np.any(np.abs(p) > 1e3)
            for n, v, e, (ov, oe) in zip(names, p, error, other):
                if not degenerate and oe:
                    worst = max(worst, abs(ov / v - 1), abs(oe / e - 1) / 100)
                w.writerow([name, key, n, f"{v:.12g}", f"{e:.8g}", f"{ov:.12g}", f"{oe:.8g}" if oe else "", f"{squares:.12g}",
                            f"{condition:.3g}", "yes" if degenerate else "no",
                            f"scipy {scipy.__version__}, lmfit {lmfit.__version__}, numpy {np.__version__}", "COMPUTED"])
print(f"scipy against lmfit, not degenerate: {worst:.1e}")
