"""Pairs of moisture and water activity from published isotherms with noise, and their least-squares fits by SciPy: writes
../fit/isotherm_pairs.csv and ../fit/isotherm_fits.csv.

    pip install numpy==2.4.6 scipy==1.17.1
    python isotherm_fits.py

Parameters that depend on temperature are fitted as their value at the mean temperature of the pairs (T0) and their change.
least_squares, method lm, Jacobian by the complex step, best of many starts; covariance s^2 (J'J)^-1; the moisture at a water
activity and its standard error by the delta method. A Jacobian with a condition above 1e5 (columns of length 1) is degenerate.
"""
import csv
import pathlib

import numpy as np
import scipy
from scipy.optimize import least_squares

here = pathlib.Path(__file__).parent.parent
R = 8.314e-3
# Saturated salts at 25 degC, rounded: LiCl, CH3COOK, MgCl2, K2CO3, NaBr, NaCl, KCl, BaCl2.
SALTS = np.array([0.113, 0.225, 0.328, 0.432, 0.576, 0.753, 0.843, 0.902])


def gab(xm, c, k, a):
    return xm * c * k * a / ((1 - k * a) * (1 + (c - 1) * k * a))


def arrhenius(v, e, t, t0):
    return v * np.exp(e / R * (1 / (t + 273.15) - 1 / (t0 + 273.15)))


FORMS = {
    "Gab": (["Xm", "C", "K"], lambda p, a, t, t0: gab(p[0], p[1], p[2], a)),
    "GabTemperature": (["Xm", "E_Xm", "C", "E_C", "K", "E_K"], lambda p, a, t, t0: gab(
        arrhenius(p[0], p[1], t, t0), arrhenius(p[2], p[3], t, t0), arrhenius(p[4], p[5], t, t0), a)),
    "Oswin": (["s", "n"], lambda p, a, t, t0: p[0] * (a / (1 - a)) ** p[1]),
    "OswinLinear": (["s", "s'", "n", "n'"], lambda p, a, t, t0: (p[0] + p[1] * (t - t0)) * (a / (1 - a)) ** (p[2] + p[3] * (t - t0))),
    "ModifiedOswin": (["s", "s'", "p"], lambda p, a, t, t0: (p[0] + p[1] * (t - t0)) * (a / (1 - a)) ** (1 / p[2])),
    "Halsey": (["s", "p"], lambda p, a, t, t0: p[0] * (-np.log(a)) ** (-1 / p[1])),
    "ModifiedHalsey": (["s", "g", "p"], lambda p, a, t, t0: p[0] * np.exp(p[1] * (t - t0)) * (-np.log(a)) ** (-1 / p[2])),
    "Henderson": (["s", "p"], lambda p, a, t, t0: p[0] * (-np.log(1 - a)) ** (1 / p[1])),
    "ModifiedHenderson": (["s", "p", "v"], lambda p, a, t, t0: p[0] * (-np.log(1 - a) * p[2] / (p[2] + t - t0)) ** (1 / p[1])),
    "ModifiedChungPfost": (["f", "p", "v"], lambda p, a, t, t0: (p[0] - np.log(-np.log(a)) - np.log((p[2] + t - t0) / p[2])) / p[1]),
    "Peleg": (["k1", "n1", "k2", "n2"], lambda p, a, t, t0: p[0] * a ** p[1] + p[2] * a ** p[3]),
}
STARTS = {
    "Gab": [0.1, 10, 0.9], "GabTemperature": [0.08, 1, 10, 5, 0.9, -0.5], "Oswin": [0.12, 0.4],
    "OswinLinear": [0.12, -5e-4, 0.4, 2e-3], "ModifiedOswin": [0.12, -5e-4, 2.5], "Halsey": [0.1, 1.5],
    "ModifiedHalsey": [0.1, -0.005, 1.5], "Henderson": [0.12, 1.5], "ModifiedHenderson": [0.12, 1.7, 90],
    "ModifiedChungPfost": [2, 20, 90], "Peleg": [0.15, 0.6, 0.2, 6],
}


def published(model, p):
    """Moisture in kg/kg of a published set, in the words of reference/foods/sorption_isotherms.csv."""
    if model == "GAB":
        return lambda a, t: gab(*p[:3], a)
    if model == "GAB_T":
        rt = lambda t: R * (t + 273.15)
        return lambda a, t: gab(p[0] * np.exp(p[1] / rt(t)), p[2] * np.exp(p[3] / rt(t)), p[4] * np.exp(p[5] / rt(t)), a)
    if model == "OSWIN_LIN":
        return lambda a, t: (p[0] + p[1] * t) * (a / (1 - a)) ** (p[2] + p[3] * t)
    if model == "MOD_OSWIN":
        return lambda a, t: (p[0] + p[1] * t) / 100 * (a / (1 - a)) ** (1 / p[2])
    if model == "MOD_HALSEY":
        return lambda a, t: (np.exp(p[0] + p[1] * t) / -np.log(a)) ** (1 / p[2]) / 100
    if model == "MOD_HENDERSON":
        return lambda a, t: (-np.log(1 - a) / (p[0] * (t + p[2]))) ** (1 / p[1]) / 100
    if model == "MOD_CHUNG_PFOST":
        return lambda a, t: -np.log(-np.log(a) * (t + p[2]) / p[0]) / p[1] / 100
    raise SystemExit(model)


# Food, temperatures, standard deviation of the moisture, forms.
CASES = [
    ("potato", [30, 45, 60], 0.002, ["GabTemperature", "OswinLinear", "ModifiedHalsey", "ModifiedOswin"]),
    ("CLASS apple", [25], 0.002, ["Gab", "Oswin", "Halsey", "Henderson", "Peleg"]),
    ("CLASS lean meat", [25], 0.001, ["Gab", "Oswin", "Halsey", "Henderson", "Peleg"]),
    ("pasta (Xiong)", [30, 45, 60], 0.001, ["OswinLinear", "ModifiedOswin", "GabTemperature"]),
    ("shelled corn", [10, 25, 40], 0.001, ["ModifiedOswin", "ModifiedChungPfost", "ModifiedHenderson", "OswinLinear"]),
    ("soybean", [15, 30, 45], 0.001, ["ModifiedHalsey", "ModifiedOswin"]),
    ("flaxseed", [15, 30, 45], 0.0005, ["ModifiedHenderson", "ModifiedChungPfost"]),
    ("oats", [25, 45, 65], 0.001, ["ModifiedChungPfost", "ModifiedHenderson"]),
]


def jacobian(f, p):
    columns = []
    for i in range(len(p)):
        z = np.array(p, dtype=complex)
        z[i] += 1e-30j
        columns.append(np.atleast_1d(f(z)).imag / 1e-30)
    return np.array(columns).T


def fit(form, a, t, x):
    names, f = FORMS[form]
    t0 = float(np.mean(t))
    ac, tc = a.astype(complex), t.astype(complex)
    random = np.random.default_rng(3)
    best = None
    with np.errstate(all="ignore"):
        for n in range(60):
            start = np.array(STARTS[form]) * np.exp(0 if n == 0 else 0.4 * random.standard_normal(len(names)))
            try:
                found = least_squares(lambda p: f(p, a, t, t0) - x, start, jac=lambda p: jacobian(lambda q: f(q, ac, tc, t0), p),
                                      method="lm", xtol=1e-15, ftol=1e-15, gtol=1e-15, max_nfev=5000)
            except ValueError:
                continue
            if np.all(np.isfinite(found.x)) and (best is None or found.cost < best.cost * (1 - 1e-12)):
                best = found
    p = best.x
    if form == "Peleg" and p[1] > p[3]:
        p = p[[2, 3, 0, 1]]
    j = jacobian(lambda q: f(q, ac, tc, t0), p)
    condition = np.linalg.cond(j / np.linalg.norm(j, axis=0))
    covariance = 2 * best.cost / (len(a) - len(p)) * np.linalg.inv(j.T @ j)
    warm = np.array([float(t.max())])
    aw = np.array([0.6])
    g = jacobian(lambda q: f(q, aw.astype(complex), warm.astype(complex), t0), p)[0]
    at = f(p, aw, warm, t0)[0]
    return names, p, np.sqrt(np.diag(covariance)), 2 * best.cost, condition, at, float(np.sqrt(g @ covariance @ g)), warm[0]


sets = list(csv.DictReader((here / "foods" / "sorption_isotherms.csv").open()))
random = np.random.default_rng(20260312)
with (here / "fit" / "isotherm_pairs.csv").open("w", newline="") as pairs, (here / "fit" / "isotherm_fits.csv").open("w", newline="") as fits:
    wp, wf = csv.writer(pairs), csv.writer(fits)
    wp.writerow(["food", "water_activity", "moisture_db_kg_per_kg", "temperature_C", "source", "basis"])
    wf.writerow(["food", "form", "parameter", "estimate", "standard_error", "sum_of_squares", "degenerate",
                 "moisture_at_0p6", "moisture_standard_error", "at_temperature_C", "source", "basis"])
    for food, temperatures, noise, forms in CASES:
        row = next(r for r in sets if r["food"].startswith(food))
        truth = published(row["model"], [float(row[f"p{i}"]) for i in range(1, 9) if row[f"p{i}"]])
        a = np.tile(SALTS, len(temperatures))
        t = np.repeat(np.array(temperatures, dtype=float), len(SALTS))
        x = np.round(truth(a, t) + noise * random.standard_normal(len(a)), 6)
        for row_ in zip(a, x, t):
            wp.writerow([food, *row_, f"from the published set of {row['food']}, noise {noise}", "COMPUTED"])
        for form in forms:
            names, p, error, squares, condition, at, at_error, warm = fit(form, a, t, x)
            degenerate = "yes" if condition > 1e5 else "no"
            print(food, form, f"{squares:.3e} {condition:.1e}")
            for n, v, e in zip(names, p, error):
                wf.writerow([food, form, n, f"{v:.12g}", f"{e:.8g}", f"{squares:.12g}", degenerate, f"{at:.12g}", f"{at_error:.8g}",
                             warm, f"scipy {scipy.__version__}, numpy {np.__version__}", "COMPUTED"])
