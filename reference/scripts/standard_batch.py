"""A tray-cabinet batch worked out by public ODE solvers: the check of the simulation engine from outside.

It shares no line with the engine: it reads the case file, writes the equations down in numpy and hands them to solvers others
wrote (scipy's BDF and LSODA, SUNDIALS CVODE).

    python -m venv venv && venv/bin/pip install numpy==2.4.6 scipy==1.17.1 scikit-sundae==1.2.0 numba==0.68.1
    python standard_batch.py                            stage ends, 13 nodes (stage_ends_scipy.csv) and 49 nodes (stage_ends_fine.csv)
    python standard_batch.py --case diffusion_limited   the same for the second case, and +-10 % diffusivity
    python standard_batch.py --convergence              stage ends against the number of nodes and the tolerance
    python standard_batch.py --choices                  how far each choice moves the answer
    python standard_batch.py --balance                  water and energy of the whole batch, with the sorption heat left out
    python standard_batch.py --time                     wall time and counts of each solver, median of three whole batches

The equations, and what was chosen where the case file leaves a choice, are in standard_batch_model.py.
"""
import argparse
import csv
import re
import statistics
import sys
import time

import numpy as np
import scipy

from standard_batch_model import CASES, COLUMNS, Case, air_switch
from standard_batch_solvers import BASE, BEST, SOLVERS, Jacobian, run

FORMATS = ("<18", "12.3f", "10.4f", "10.6f", "10.4f", "10.4f", "10.6f", "10.6f", "10.6f", "16.1f", "12.6f")


def show(rows):
    print(" ".join(f"{c[:16]:>12}" for c in ("stage",) + COLUMNS))
    for r in rows:
        print(" ".join(format(v, f) for v, f in zip(r, FORMATS)))


def versions():
    import numba
    import sksundae
    return (f"Python {sys.version.split()[0]}, numpy {np.__version__}, scipy {scipy.__version__}, "
            f"scikit-sundae {sksundae.__version__} (SUNDIALS {sksundae.SUNDIALS_VERSION}), numba {numba.__version__}")


def write(path, rows, how):
    with path.open("w", newline="") as out:
        out.write(f"# COMPUTED by reference/scripts/standard_batch.py ({how}); {versions()}\n")
        table = csv.writer(out, lineterminator="\n")
        table.writerow(("stage",) + COLUMNS)
        for r in rows:
            table.writerow((r[0],) + tuple(f"{v:.10g}" for v in r[1:]))


def largest_change(rows, base):
    """Largest move of each column against `base`, over the stage ends."""
    return [max(abs(a[i] - b[i]) for a, b in zip(rows, base)) for i in range(1, len(COLUMNS) + 1)]


class HeaterDemand:
    """Heater demand as a share of full power along a batch."""

    def __init__(self, case):
        self.case, self.at_end, self.hot, self.hot_peak, self.full_s, self.hot_s = case, {}, False, 0.0, 0.0, 0.0

    def __call__(self, stage, ts, ys):
        if not air_switch(self.case, stage)[0]:
            return
        tp, integral = ys[-7], ys[-3]
        u = np.clip(self.case.controller["kp_per_k"] * (stage["set_point_c"] - tp) + integral, 0.0, 1.0)
        self.at_end[stage["name"]] = round(float(u[-1]), 3)
        hot = np.maximum.accumulate(np.concatenate(([self.hot], tp > stage["set_point_c"] - 1)))[1:].astype(bool)
        self.hot = bool(hot[-1])
        self.hot_peak = max(self.hot_peak, float(u[hot].max(initial=0.0)))
        self.full_s += float(np.diff(ts)[hot[1:] & (u[1:] >= 1.0)].sum())
        self.hot_s += float(np.diff(ts)[hot[1:]].sum())

    @property
    def full_share(self):
        return self.full_s / self.hot_s if self.hot_s else 0.0


def stage_ends(args, path):
    case = Case(path, 13, args.grid)
    print(f"slab area {case.area * case.pieces:.4f} m2, dry solids {case.solids_kg:.4f} kg, {case.n} states")
    demand = HeaterDemand(case)
    rows, counts = run(case, on_stage=demand)
    print(f"13 nodes {args.grid}, scipy BDF, rtol 1e-5: {counts}")
    show(rows)
    print(f"heater demand at the ends of the heated stages: {demand.at_end}; greatest after the set point was first reached "
          f"(within 1 K): {demand.hot_peak:.3f}; share of the time after that at full power: {demand.full_share:.3f}")
    suffix = "" if args.case == "standard_batch" else f"_{args.case}"
    if args.grid == "uniform":
        write(CASES / f"stage_ends{suffix}_scipy.csv", rows, "13 equally spaced nodes, scipy BDF, rtol 1e-5")
    for solver in ("scipy LSODA, coloured differences", BEST):
        other, _ = run(case, solver)
        print(f"{solver}: largest difference from BDF", [f"{v:.2g}" for v in largest_change(other, rows)])
    tight, counts = run(Case(path, 13, args.grid), BEST, rtol=1e-8, compiled=True)
    print(f"13 nodes {args.grid}, CVODE, rtol 1e-8: {counts}")
    show(tight)
    fine, counts = run(Case(path, 49, args.grid), BEST, rtol=1e-8, compiled=True)
    print(f"49 nodes {args.grid}, CVODE, rtol 1e-8: {counts}")
    show(fine)
    if args.grid == "uniform":
        write(CASES / f"stage_ends{suffix}_fine.csv", fine, "49 equally spaced nodes, CVODE, rtol 1e-8, compiled right-hand side")
    return fine


def diffusivity(args, path):
    table = []
    for nodes in (13, 49):
        base = None
        for factor in (1.0, 0.9, 1.1):
            rows, _ = run(Case(path, nodes, args.grid, factor), BEST, rtol=1e-7, compiled=True)
            end = next(r for r, s in zip(rows, Case(path).stages) if "moisture" in s["end"])
            base = base or end
            table.append((nodes, factor, f"{end[1]:.2f}", f"{end[1] / base[1] - 1:.6f}", f"{rows[-1][6]:.7f}"))
            print(f"{nodes} nodes, diffusivity x {factor}: moisture target at {end[1]:.1f} s, "
                  f"{100 * (end[1] / base[1] - 1):+.2f} %; after the stand mean {rows[-1][6]:.5f}")

    with (CASES / f"{args.case}_diffusivity.csv").open("w", newline="") as out:
        out.write(f"# COMPUTED by reference/scripts/standard_batch.py (CVODE, rtol 1e-7, {args.grid} grid); {versions()}\n")
        csv.writer(out, lineterminator="\n").writerows(
            [("nodes", "diffusivity_factor", "moisture_target_s", "relative_change", "moisture_mean_at_end"), *table])


def convergence(path):
    for grid in ("uniform", "cosine"):
        for nodes in (7, 13, 25, 49, 97):
            rows, _ = run(Case(path, nodes, grid), BEST, rtol=1e-8, compiled=True)
            if grid == "uniform" or nodes < 97:
                print(f"\n{nodes} nodes {grid}, rtol 1e-8")
                show(rows)
    for rtol in (1e-4, 1e-5, 1e-6, 1e-7, 1e-9):
        rows, counts = run(Case(path), BEST, rtol=rtol, compiled=True)
        print(f"\n13 nodes uniform, rtol {rtol:g}: {counts}")
        show(rows)


VARIANTS = [{"flux": v} for v in ("mean_state", "arithmetic", "harmonic", "geometric")] + [
    {"advection": "upwind"}, {"condensing": "air"}, {"film": "air"}, {"film": "face"}, {"rho_cp": "plenum"},
    {"tray_flow": "start"}, {"plenum_mass": "start"}, {"contraction": "room"}, {"c_vapour": 1825.0}]


def choices(path):
    base, _ = run(Case(path), BEST, rtol=1e-7)
    ends = {s["name"]: i for i, s in enumerate(Case(path).stages) if not re.fullmatch(r"[\d.]+ s", s["end"])}
    print("largest move over the stage ends, 13 nodes uniform, rtol 1e-7;", "event ends:", list(ends))
    print(f"{'choice':28}", *(f"{k[:14]:>15}" for k in ends), *(f"{c[:14]:>15}" for c in COLUMNS[1:]))
    for variant in VARIANTS:
        rows, _ = run(Case(path, choice=variant), BEST, rtol=1e-7)
        name = " ".join(f"{k}={v}" for k, v in variant.items())
        print(f"{name:28}", *(f"{rows[i][1] - base[i][1]:+15.2f}" for i in ends.values()),
              *(f"{v:15.2g}" for v in largest_change(rows, base)[1:]))
    for nodes in (13, 49):
        case, end = Case(path, nodes), None
        print(f"mean_state with {nodes} nodes:")
        show(run(Case(path, nodes, choice={"flux": "mean_state"}), BEST, rtol=1e-7)[0])


def balance(path):
    """Residuals of the product's, the air's and the shell's water and heat, integrals by trapezium over the solver's steps.

    Without the net sorption heat and with the vapour heat that matches the latent heat, both must close.
    """
    for label, heat, c_vapour in (("matching vapour heat", 0.0, 1825.0), ("the case's vapour heat", 0.0, 1860.0)):
        case = Case(path, choice={"c_vapour": c_vapour})
        case.product["net_isosteric_heat_at_zero_j_per_kg"] = heat
        total = {"water": 0.0, "energy": 0.0}

        def account(stage, ts, ys):
            c, r, half = case.cabinet, case.room, case.nodes * case.pieces
            tp, w, ts_shell, heater = ys[2 * half:2 * half + 4]
            x, t = (ys[k * half:(k + 1) * half].reshape(case.nodes, case.pieces, -1) for k in (0, 1))
            solids = case.area * case.cell[:, None, None]
            water = (solids * x).sum(axis=(0, 1))
            capacity = case.product["specific_heat_solids_j_per_kg_k"] + x * case.product["specific_heat_water_j_per_kg_k"]
            enthalpy = lambda t, w: 1006.0 * t + w * (2.501e6 + c_vapour * t)
            mass, h = c["plenum_volume_m3"] * case.dry_density(tp, w), enthalpy(tp, w)
            _, fan, vent = air_switch(case, stage)
            flow = c["leakage_dry_air_kg_per_s"] * (1.0 if fan else 0.5) + (c["vent_full_dry_air_kg_per_s"] * vent if fan else 0.0)
            loss = c["shell_loss_w_per_k"] * (ts_shell - r["temperature_c"]) + flow * (h - enthalpy(r["temperature_c"], case.w_room))
            gain = heater + (c["fan_w"] if fan else 0.0)
            held = (solids * capacity * t).sum(axis=(0, 1)) + mass * h + c["shell_heat_capacity_j_per_k"] * ts_shell
            total["water"] += (water + mass * w)[-1] - (water + mass * w)[0]
            total["water"] += np.trapezoid(flow * (w - case.w_room), ts) - np.trapezoid(w, mass)
            total["energy"] += held[-1] - held[0] + np.trapezoid(loss - gain, ts) - np.trapezoid(h, mass)

        rows, _ = run(case, BEST, rtol=1e-8, on_stage=account)
        print(f"{label}: water residual {total['water']:.2e} kg of {rows[-1][-1]:.3f} vented; "
              f"energy residual {total['energy']:.3g} J of {rows[-1][-2]:.4g} drawn")


def times(path):
    print(versions())
    print(f"{'solver':50} {'rhs':>8} {'median_s':>9} {'states':>8} {'calls':>8} {'steps':>6} {'jac':>6} {'end_s':>11}")
    case = Case(path)
    jac = Jacobian(case)                                  # the pattern and its colouring stay outside the clock
    for compiled in (False, True):
        if compiled:
            run(case, BEST, compiled=True)                # and so does the compiler
        for solver in SOLVERS:
            taken = []
            for _ in range(3):
                begin = time.perf_counter()
                rows, counts = run(case, solver, compiled=compiled, jac=jac)
                taken.append(time.perf_counter() - begin)
            print(f"{solver:50} {'numba' if compiled else 'numpy':>8} {statistics.median(taken):9.3f} {counts['states']:8} "
                  f"{counts['calls']:8} {counts['steps']:6} {counts['jacobians']:6} {rows[-1][1]:11.3f}", flush=True)


def main():
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--case", default="standard_batch", choices=("standard_batch", "diffusion_limited"))
    parser.add_argument("--grid", default="uniform", choices=("uniform", "cosine"))
    for flag in ("--convergence", "--choices", "--balance", "--time"):
        parser.add_argument(flag, action="store_true")
    args = parser.parse_args()
    path = CASES / f"{args.case}.toml"
    if args.convergence:
        convergence(path)
    elif args.choices:
        choices(path)
    elif args.balance:
        balance(path)
    elif args.time:
        times(path)
    else:
        stage_ends(args, path)
        diffusivity(args, path)


if __name__ == "__main__":
    main()
