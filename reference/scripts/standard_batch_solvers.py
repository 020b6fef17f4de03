"""Solvers for standard_batch_model.py: differences over coloured columns, stage ends, scipy and SUNDIALS."""
import re
import warnings

import numpy as np
from scipy.integrate import solve_ivp
from scipy.optimize._numdiff import group_columns
from scipy.sparse import csc_matrix, lil_matrix

from standard_batch_model import right_hand_side, saturation_pa


class Jacobian:
    """Forward differences over groups of columns that share no row."""

    def __init__(self, case):
        nn, npos, half = case.nodes, case.positions, case.nodes * case.pieces
        pattern = lil_matrix((case.n, case.n), dtype=np.int8)
        at = lambda var, node, g, i: ((var * nn + node) * case.groups + g) * npos + i
        g0 = 2 * half
        for g in range(case.groups):
            for i in range(npos):
                for node in range(nn):
                    near = [k for k in (node - 1, node, node + 1) if 0 <= k < nn]
                    for var in (0, 1):
                        for k in near:
                            pattern[at(var, node, g, i), [at(0, k, g, i), at(1, k, g, i)]] = 1
                for face in (0, nn - 1):
                    rows = [at(0, face, g, i), at(1, face, g, i)]
                    for row in rows:
                        pattern[row, g0:g0 + 2] = 1
                        for up in range(i):
                            for other in (0, nn - 1):
                                pattern[row, [at(0, other, g, up), at(1, other, g, up)]] = 1
                    pattern[g0:g0 + 2, rows] = 1
        for row, columns in enumerate(((0, 1, 2, 3), (0, 1), (0, 2), (0, 3, 4), (0, 4), (0, 4), (1,))):
            pattern[g0 + row, [g0 + k for k in columns]] = 1
        self.pattern = csc_matrix(pattern)
        self.pattern.sort_indices()
        self.group = group_columns(self.pattern)
        self.groups = int(self.group.max()) + 1
        self.rows = self.pattern.indices
        self.cols = np.repeat(np.arange(case.n), np.diff(self.pattern.indptr))
        self.scale = np.maximum(case.tolerance(1e-5), 1e-6)
        self.mask = np.zeros((case.n, self.groups))
        self.mask[np.arange(case.n), self.group] = 1.0

    def values(self, f, t, y, fy=None):
        """Non-zeros in compressed-sparse-column order."""
        step = 1.5e-8 * np.maximum(np.abs(y), 1e3 * self.scale)
        step = (y + step) - y
        fy = f(t, y) if fy is None else fy
        many = f(t, y[:, None] + step[:, None] * self.mask)
        return (many[self.rows, self.group[self.cols]] - fy[self.rows]) / step[self.cols]

    def sparse(self, f, t, y):
        return csc_matrix((self.values(f, t, y), self.rows, self.pattern.indptr), shape=self.pattern.shape)


def means(case, y):
    x = y[:case.nodes * case.pieces].reshape(case.nodes, case.pieces)
    return case.weight @ x


def cores(case, y):
    half = case.nodes * case.pieces
    t = y[half:2 * half].reshape(case.nodes, case.pieces)
    return t[(case.nodes - 1) // 2]


def stage_end(case, stage):
    """(longest time in s, root function or None) of a stage's `end` words."""
    words = stage["end"]
    if found := re.fullmatch(r"([\d.]+) s", words):
        return float(found[1]), None
    if found := re.fullmatch(r"coldest core .*up ([\d.]+) K", words):
        target = case.product["temperature_initial_c"] + float(found[1])
        return 4 * 3600.0, lambda y: cores(case, y).min() - target
    if found := re.fullmatch(r"mean moisture ([\d.]+) kg/kg.*", words):
        target = float(found[1])
        return 60 * 3600.0, lambda y: means(case, y).mean() - target
    raise ValueError(f"stage end not understood: {words}")


def row(case, stage, t, y):
    g = y[2 * case.nodes * case.pieces:]
    x, core = means(case, y), cores(case, y)
    rh = case.vapour_pressure(g[1]) / saturation_pa(g[0])
    return (stage["name"], t, g[0], rh, core.max(), core.min(), x.mean(), x.max(), x.min(), g[5], g[6])


class Counter:
    """Counts states evaluated (a call with k columns counts k) and calls."""

    def __init__(self, f, counts):
        self.f, self.counts = f, counts

    def __call__(self, t, y):
        self.counts["states"] += 1 if y.ndim == 1 else y.shape[1]
        self.counts["calls"] += 1
        return self.f(t, y)


def with_scipy(method, case, f, jac, stage, t0, y0, rtol, counts):
    longest, root = stage_end(case, stage)
    options = {}
    if method == "BDF":
        options = {"jac": lambda t, y: jac.sparse(f, t, y)}
    elif method == "BDF-own":
        method, options = "BDF", {"jac_sparsity": jac.pattern, "vectorized": True}
    elif method == "BDF-plain":
        method = "BDF"
    elif method == "LSODA-coloured":
        method, options = "LSODA", {"jac": lambda t, y: jac.sparse(f, t, y).toarray()}
    if root:
        event = lambda t, y: root(y)
        event.terminal = True
        options["events"] = event
    s = solve_ivp(f, (t0, t0 + longest), y0, method, rtol=rtol, atol=case.tolerance(rtol), **options)
    if s.status == -1 or (root and s.status != 1):
        raise RuntimeError(f"{stage['name']}: {s.message}")
    counts["steps"] += len(s.t) - 1
    counts["jacobians"] += s.njev
    return s.t, s.y


def with_cvode(linear, case, f, jac, stage, t0, y0, rtol, counts):
    from sksundae.cvode import CVODE
    warnings.filterwarnings("ignore", message="Custom sparse Jacobian")
    longest, root = stage_end(case, stage)

    def rhs(t, y, yp):
        yp[:] = f(t, y)

    options = {"linsolver": linear}
    if linear == "sparse":
        def fill(t, y, yp, values):
            values[:] = jac.values(f, t, np.array(y), np.array(yp))
        options |= {"jacfn": fill, "sparsity": jac.pattern}
    if root:
        def events(t, y, out):
            out[0] = root(y)
        options |= {"eventsfn": events, "num_events": 1}
    solver = CVODE(rhs, rtol=rtol, atol=case.tolerance(rtol), max_num_steps=200000, **options)
    s = solver.solve(np.array([t0, t0 + longest]), y0)
    if not s.success or (root and s.t_events is None):
        raise RuntimeError(f"{stage['name']}: {s.message}")
    counts["steps"] += len(s.t) - 1
    counts["jacobians"] += s.njev
    return s.t, s.y.T


SOLVERS = {
    "scipy BDF as it comes, dense differences": (with_scipy, "BDF-plain"),
    "scipy BDF, its own differences over jac_sparsity": (with_scipy, "BDF-own"),
    "scipy BDF, coloured differences": (with_scipy, "BDF"),
    "scipy LSODA, its own dense differences": (with_scipy, "LSODA"),
    "scipy LSODA, coloured differences": (with_scipy, "LSODA-coloured"),
    "CVODE dense, its own differences": (with_cvode, "dense"),
    "CVODE lapackdense, its own differences": (with_cvode, "lapackdense"),
    "CVODE SuperLU_MT, coloured differences": (with_cvode, "sparse"),
}
BASE = "scipy BDF, coloured differences"
BEST = "CVODE SuperLU_MT, coloured differences"


def run(case, solver=BASE, rtol=1e-5, compiled=False, on_stage=None, jac=None):
    """Rows at the stage ends, and the counts."""
    integrate, how = SOLVERS[solver]
    counts = {"states": 0, "calls": 0, "steps": 0, "jacobians": 0}
    jac = jac or Jacobian(case)
    t, y, rows = 0.0, case.start(), []
    for stage in case.stages:
        if compiled:
            from standard_batch_compiled import compiled_right_hand_side
            f = compiled_right_hand_side(case, stage)
        else:
            f = right_hand_side(case, stage)
        ts, ys = integrate(how, case, Counter(f, counts), jac, stage, t, y, rtol, counts)
        t, y = ts[-1], ys[:, -1].copy()
        rows.append(row(case, stage, t, y))
        if on_stage:
            on_stage(stage, ts, ys)
    return rows, counts
