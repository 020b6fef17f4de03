"""Batches scattered by Student's t about a mean, with and without seasons: posterior by plain numerical integration.
Writes ../fit/batch_hierarchy.csv.

    pip install numpy==2.4.6 scipy==1.17.1
    python batch_hierarchy.py

y_i = m + u_season + e_i, e_i ~ t_nu(0, sqrt(s^2 + d_i^2)), m ~ N(m0, v0), u ~ N(0, g^2), s and g half-normal. Grids over m, s, g;
the effects by convolution. The eight schools: Rubin 1981, estimates and standard errors from memory.
"""
import csv
import pathlib

import numpy as np
import scipy
from scipy.stats import norm, t as student

here = pathlib.Path(__file__).parent.parent
CASES = {
    # name: nu, m0, v0, scale of s, scale of g, [(y, d, season)]
    "seven_batches_one_bad": (4.0, 0.0, 0.5, 0.15, 0.15, [
        (0.31, 0.06, ""), (0.27, 0.05, ""), (0.42, 0.08, ""), (0.22, 0.06, ""), (0.35, 0.04, ""), (0.29, 0.10, ""), (-0.9, 0.06, "")]),
    "three_batches": (4.0, 0.0, 0.5, 0.15, 0.15, [(0.4, 0.08, ""), (0.55, 0.1, ""), (0.3, 0.08, "")]),
    "eight_schools": (1e6, 0.0, 30.0, 10.0, 10.0, [
        (28, 15, ""), (8, 10, ""), (-3, 16, ""), (7, 11, ""), (-1, 9, ""), (1, 11, ""), (18, 10, ""), (12, 18, "")]),
    "two_seasons": (4.0, 0.0, 0.5, 0.15, 0.15, [
        (0.12, 0.05, "summer"), (0.18, 0.06, "summer"), (0.09, 0.05, "summer"), (0.15, 0.07, "summer"), (0.55, 0.06, "summer"),
        (0.41, 0.05, "winter"), (0.36, 0.06, "winter"), (0.44, 0.05, "winter"), (0.38, 0.06, "winter"), (0.47, 0.08, "winter")]),
}


def log_sum(a, axis):
    top = a.max(axis=axis, keepdims=True)
    return np.log(np.exp(a - top).sum(axis=axis)) + top.squeeze(axis)


def solve(nu, m0, v0, s_scale, g_scale, data):
    y, d = np.array([r[0] for r in data], float), np.array([r[1] for r in data], float)
    season = [r[2] for r in data]
    names = sorted(set(season) - {""})
    width = 6 * max(v0, 1e-9)
    low, high = min(y.min(), m0) - 0.5 * width, max(y.max(), m0) + 0.5 * width
    m = np.linspace(low, high, 1601)
    s = np.linspace(1e-3, 5, 160) * s_scale
    scale = np.sqrt(s[:, None] ** 2 + d[None, :] ** 2)
    # log likelihood of each batch at a level m and spread s
    each = student.logpdf((y[None, None, :] - m[:, None, None]) / scale[None], nu) - np.log(scale)[None]
    prior_m, prior_s = norm.logpdf(m, m0, v0), -0.5 * (s / s_scale) ** 2
    if not names:
        log = each.sum(axis=2) + prior_m[:, None] + prior_s[None, :]
        p = np.exp(log - log.max())
        p /= p.sum()
        mean = (p.sum(axis=1) * m).sum()
        return mean, np.sqrt((p.sum(axis=1) * (m - mean) ** 2).sum()), (p.sum(axis=0) * s).sum(), []
    level = {n: each[:, :, [i for i, k in enumerate(season) if k == n]].sum(axis=2) for n in names}
    g = np.linspace(0.03, 5, 60) * g_scale
    step = m[1] - m[0]
    u = np.arange(-800, 801) * step
    total, moments = None, {n: [0.0, 0.0] for n in names}
    parts = []
    for gi in g:
        weight = norm.pdf(u, 0, gi) * step
        own = {}
        for n in names:
            top = level[n].max()
            like = np.exp(level[n] - top)
            conv = np.array([np.convolve(like[:, k], w[::-1], mode="same") for w in (weight, weight * u, weight * u * u) for k in range(len(s))])
            own[n] = (conv.reshape(3, len(s), len(m)).transpose(0, 2, 1), top)
        parts.append(own)
    shift = sum(parts[0][n][1] for n in names)
    mass = np.zeros((len(m), len(s)))
    firsts = {n: 0.0 for n in names}
    seconds = {n: 0.0 for n in names}
    base = np.exp(prior_m[:, None] + prior_s[None, :] - prior_m.max())
    for gi, own in zip(g, parts):
        bg = base * np.exp(-0.5 * (gi / g_scale) ** 2)
        both = np.prod([own[n][0][0] for n in names], axis=0) * bg
        mass += both
        for n in names:
            others = np.prod([own[k][0][0] for k in names if k != n], axis=0) * bg
            firsts[n] += (others * own[n][0][1]).sum()
            seconds[n] += (others * own[n][0][2]).sum()
    whole = mass.sum()
    pm, ps = mass.sum(axis=1) / whole, mass.sum(axis=0) / whole
    mean = (pm * m).sum()
    effects = []
    for n in names:
        e = firsts[n] / whole
        effects.append((n, e, np.sqrt(seconds[n] / whole - e * e)))
    return mean, np.sqrt((pm * (m - mean) ** 2).sum()), (ps * s).sum(), effects


with (here / "fit" / "batch_hierarchy.csv").open("w", newline="") as out:
    w = csv.writer(out)
    w.writerow(["case", "row", "a", "b", "c", "name", "source", "basis"])
    source = f"numpy {np.__version__}, scipy {scipy.__version__}, integrated on grids"
    for name, (nu, m0, v0, s_scale, g_scale, data) in CASES.items():
        w.writerow([name, "degrees_belief", nu, m0, v0, "", source, "COMPUTED"])
        w.writerow([name, "scales", s_scale, g_scale, "", "", source, "COMPUTED"])
        for y, d, season in data:
            w.writerow([name, "batch", y, d, "", season, source, "MEMORY" if name == "eight_schools" else "COMPUTED"])
        mean, deviation, spread, effects = solve(nu, m0, v0, s_scale, g_scale, data)
        print(name, f"{mean:.4f} {deviation:.4f} {spread:.4f}", effects)
        w.writerow([name, "posterior", f"{mean:.8g}", f"{deviation:.8g}", f"{spread:.8g}", "", source, "COMPUTED"])
        for n, e, sd in effects:
            w.writerow([name, "effect", f"{e:.8g}", f"{sd:.8g}", "", n, source, "COMPUTED"])
