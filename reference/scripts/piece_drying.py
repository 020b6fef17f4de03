"""One piece drying in steady air, solved independently with SciPy: variable diffusivity, shrinking volume and face,
heat and moisture coupled, sorption heat carried inside.

Differs from the engine on purpose: cells with the unknowns inside them on a geometrically refined grid, enthalpy as the
conserved state, mean of the conductances at an interface, SciPy BDF with a dense output. Writes
reference/drying/piece_drying_check.csv. Needs numpy and scipy.

    python reference/scripts/piece_drying.py
"""
import csv
import pathlib

import numpy as np
import scipy
from scipy.integrate import solve_ivp
from scipy.sparse import diags

R = 8.314462618
R_AIR, EPS = 287.042, 0.621945
R_VAPOUR = 461.524
CP_AIR, CW = 1006.0, 4186.0
H0, SLOPE = 2.501e6, 2361.0
CP_VAPOUR = CW - SLOPE
P = 101325.0
RHO_S, RHO_W, CS, K_S, K_W = 1350.0, 1000.0, 1600.0, 0.20, 0.62
XM, GAB_C, GAB_K, NET = 0.065, 8.0, 0.94, 4.0e5
AIR_C, AIR_W, H, LEWIS = 60.0, 0.012, 30.0, 0.9113
HOURS = [0.25, 0.5, 1.0, 2.0, 4.0, 8.0]

CASES = {
    # geometry dimensions, size m, X0, shrink share, lateral exponent, factors (underside, top), D60, Ea, ln g(X)
    "slab": dict(d=1, size=0.008, x0=3.0, share=1.0, lateral=2 / 3, faces=(0.4, 1.0), d60=4e-10, ea=25e3,
                 ln_g=lambda x: -0.3 * (1 / np.maximum(x, 1e-3) - 1)),
    "slab_rigid_one_sided": dict(d=1, size=0.005, x0=2.0, share=0.0, lateral=0.0, faces=(0.0, 1.0), d60=6e-10, ea=0.0,
                                 ln_g=lambda x: 0.5 * (x - 1)),
    "cylinder": dict(d=2, size=0.010, x0=4.0, share=1.0, lateral=0.0, faces=(0.6, 1.0), d60=5e-10, ea=30e3,
                     ln_g=lambda x: 0.3 * (x - 1)),
    "sphere": dict(d=3, size=0.015, x0=5.0, share=0.8, lateral=0.0, faces=(1.0, 1.0), d60=1e-9, ea=20e3,
                   ln_g=lambda x: -0.1 * (1 / np.maximum(x, 1e-3) - 1)),
}


def p_sat(t_c):
    """Hyland and Wexler over liquid water, Pa."""
    t = t_c + 273.15
    return np.exp(-5.8002206e3 / t + 1.3914993 - 4.8640239e-2 * t + 4.1764768e-5 * t**2
                  - 1.4452093e-8 * t**3 + 6.5459673 * np.log(t))


def activity(x):
    a = GAB_K**2 * (1 - GAB_C) * x
    b = GAB_K * ((GAB_C - 2) * x - XM * GAB_C)
    aw = (-b - np.sqrt(b * b - 4 * a * x)) / (2 * a)
    return np.minimum(aw, 1.0)


def solve(case, cells):
    c = CASES[case]
    d, x0 = c["d"], c["x0"]
    volume = lambda x: 1 / RHO_S + (x0 - c["share"] * (x0 - x)) / RHO_W
    v0 = volume(x0)
    depth = c["size"] / {1: 1, 2: 4, 3: 6}[d]
    solids = depth / v0
    # Cell widths as shares of the half-width or radius, 300 times thinner at the faces; halving every cell refines evenly.
    def graded(n):
        return np.diff((300.0 ** np.linspace(0, 1, n + 1) - 1) / 299.0)
    if d == 1:
        w = graded(cells // 2)
        edges = np.concatenate([[0], np.cumsum(np.concatenate([w, w[::-1]])) / 2])
    else:
        edges = np.concatenate([[0], np.cumsum(graded(cells)[::-1])]) ** d
    edges[-1] = 1.0
    m = np.diff(edges) * solids
    n = len(m)
    radius = c["size"] / 2
    pv_air = P * AIR_W / (EPS + AIR_W)
    rho_dry = (P - pv_air) / (R_AIR * (AIR_C + 273.15))
    h_m = H / (rho_dry * (CP_AIR + AIR_W * CP_VAPOUR) * LEWIS)
    integral = lambda x: NET * XM * (1 - np.exp(-x / XM))

    def unpack(y):
        x, e = y[0::2], y[1::2]
        return x, (e + integral(x)) / (CS + x * CW)

    def face(x, t, factor):
        film = 0.5 * (t + AIR_C) + 273.15
        vapour = factor * h_m * (activity(x) * p_sat(t) - pv_air) / (R_VAPOUR * film)
        return vapour, factor * H * (AIR_C - t) - vapour * (H0 + CP_VAPOUR * t)

    def rhs(_, y):
        x, t = unpack(y)
        v = volume(x)
        mean_x = (m * x).sum() / solids
        phi = x / RHO_W / v
        k = K_S * (1 - phi) + K_W * phi
        diff = c["d60"] * np.exp(-c["ea"] / R * (1 / (t + 273.15) - 1 / 333.15) + c["ln_g"](x))
        if d == 1:
            area = (volume(mean_x) / v0) ** c["lateral"]
            gap = 0.5 * (m[1:] + m[:-1])
            mass = 0.5 * ((diff / v**2)[1:] + (diff / v**2)[:-1]) * area**2 / gap
            heat = 0.5 * ((k / v)[1:] + (k / v)[:-1]) * area**2 / gap
        else:
            whole = solids * v0
            outer = np.cumsum(m * v)
            middle = outer - 0.5 * m * v
            r = lambda u: radius * (u / whole) ** (1 / d)
            at = (r(outer[:-1]) / radius) ** (d - 1)
            gap = np.diff(r(middle))
            mass = 0.5 * ((diff / v)[1:] + (diff / v)[:-1]) * at / gap
            heat = 0.5 * (k[1:] + k[:-1]) * at / gap
            area = (volume(mean_x) / v0) ** ((d - 1) / d)
        carried = CW * t - NET * np.exp(-x / XM)
        flow = -mass * np.diff(x)
        energy = -heat * np.diff(t) + flow * 0.5 * (carried[1:] + carried[:-1])
        dx, de = np.zeros(n), np.zeros(n)
        dx[:-1] -= flow
        dx[1:] += flow
        de[:-1] -= energy
        de[1:] += energy
        if d == 1:
            for cell, factor in ((0, c["faces"][0]), (n - 1, c["faces"][1])):
                out, into = face(x[cell], t[cell], factor)
                dx[cell] -= area * out
                de[cell] += area * into
        else:
            out, into = face(x[-1], t[-1], 0.5 * sum(c["faces"]))
            dx[-1] -= area * out
            de[-1] += area * into
        dy = np.empty(2 * n)
        dy[0::2], dy[1::2] = dx / m, de / m
        return dy

    start = np.empty(2 * n)
    start[0::2], start[1::2] = x0, (CS + x0 * CW) * 5.0 - integral(x0)
    scale = np.empty(2 * n)
    scale[0::2], scale[1::2] = 1e-8, 1e-2
    band = diags([1.0] * 7, list(range(-3, 4)), shape=(2 * n, 2 * n))
    kwargs = {} if d > 1 or c["lateral"] > 0 else {"jac_sparsity": band}
    result = solve_ivp(rhs, (0, HOURS[-1] * 3600), start, method="BDF", rtol=1e-7, atol=scale,
                       t_eval=[h * 3600 for h in HOURS], **kwargs)
    assert result.success, result.message
    rows = []
    for y in result.y.T:
        x, t = unpack(y)
        # The middle of a slab lies between two cells.
        middle = (lambda q: 0.5 * (q[n // 2 - 1] + q[n // 2])) if d == 1 else (lambda q: q[0])
        rows.append([(m * x).sum() / solids, middle(x), middle(t), t[-1], activity(x[-1])])
    return np.array(rows)


def main():
    out = pathlib.Path(__file__).resolve().parents[1] / "drying" / "piece_drying_check.csv"
    with out.open("w", newline="") as f:
        w = csv.writer(f, lineterminator="\n")
        w.writerow(["case", "elapsed_h", "moisture_mean_dry_basis", "moisture_middle_dry_basis", "middle_c", "surface_c",
                    "surface_aw", "moisture_grid_difference", "temperature_grid_difference_k", "source", "basis"])
        for case in CASES:
            coarse, fine = solve(case, 160), solve(case, 320)
            # Second order in the cells: the finer once more extrapolated.
            best = fine + (fine - coarse) / 3
            change = np.abs(fine - coarse)
            for h, row, e in zip(HOURS, best, change):
                w.writerow([case, h, *(f"{v:.6f}" for v in row), f"{max(e[0], e[1]):.1e}", f"{max(e[2], e[3]):.1e}",
                            f"reference/scripts/piece_drying.py; SciPy {scipy.__version__} BDF; 160 and 320 cells",
                            "COMPUTED"])
                print(case, h, row, e)


if __name__ == "__main__":
    main()
