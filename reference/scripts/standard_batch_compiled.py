"""The right-hand side of standard_batch_model.py as compiled loops (numba), written once more from the equations.

Only the default choices; `python standard_batch_compiled.py` compares it with the numpy one on disturbed states.
"""
import math

import numba
import numpy as np

import standard_batch_model as sb


@numba.njit(cache=False, fastmath=False)
def psat(t):
    k = t + 273.15
    return math.exp(-5.8002206e3 / k + 1.3914993 + k * (-4.8640239e-2 + k * (4.1764768e-5 - k * 1.4452093e-8)) + 6.5459673 * math.log(k))


@numba.njit(cache=False, fastmath=False)
def activity(x, xm, c, k):
    b = xm * c - (c - 2.0) * x
    a = (c - 1.0) * x
    root = math.sqrt(b * b + 4.0 * a * x)
    y = 2.0 * x / (b + root) if b >= 0.0 else (root - b) / (2.0 * a)
    return min(y / k, 1.0)


@numba.njit(cache=False, fastmath=False)
def fill(y, dy, nn, ng, npos, gap, cell, share, q):
    (d60, ea_r, rho_s, rho_w, cs, cw, k_s, k_w, xm, gab_c, gab_k, iso, h, lewis, fh_low, fm_low, rv, area, flow_m3, volume,
     heater_w, lag, fan_w, shell_c, shell_in, shell_out, exchange, kp, ti, set_point, heater, t_room, w_room, p_air) = q
    ca, cv, rd = 1006.0, 1860.0, 287.042
    pieces = ng * npos
    half = nn * pieces
    for i in range(2 * half):
        dy[i] = 0.0
    for s in range(pieces):
        for j in range(nn - 1):
            a = j * pieces + s
            b = a + pieces
            xa, xb, ta, tb = y[a], y[b], y[half + a], y[half + b]
            va, vb = 1.0 / rho_s + xa / rho_w, 1.0 / rho_s + xb / rho_w
            vm = 0.5 * (va + vb)
            phi = 0.5 * (xa + xb) / rho_w / vm
            n = -d60 * math.exp(-ea_r * (1.0 / (0.5 * (ta + tb) + 273.15) - 1.0 / 333.15)) / (va * vb) * (xb - xa) / gap[j]
            heat = -(k_s * (1.0 - phi) + k_w * phi) / vm * (tb - ta) / gap[j]
            carried = n * cw * (tb - ta) * 0.5
            dy[a] -= n
            dy[b] += n
            dy[half + a] -= heat + carried
            dy[half + b] += heat - carried
    tp, wp, ts, element, integral = y[2 * half], y[2 * half + 1], y[2 * half + 2], y[2 * half + 3], y[2 * half + 4]
    density = p_air / ((tp + 273.15) * (rd + rv * wp))
    gain = exchange * (ca + cv * w_room) * (t_room - tp) + element + fan_w - shell_in * (tp - ts)
    wet = exchange * (w_room - wp)
    for g in range(ng):
        m = share[g] * flow_m3 * density
        ta, wa = tp, wp
        for i in range(npos):
            s = g * npos + i
            rho_cp = p_air / ((ta + 273.15) * (rd + rv * wa)) * (ca + cv * wa)
            hm = h / (rho_cp * lewis)
            pa = p_air * wa / (rd / rv + wa)
            water, warmth = 0.0, 0.0
            for side in range(2):
                a = s if side == 0 else (nn - 1) * pieces + s
                xf, tf = y[a], y[half + a]
                fh = 1.0 if side == 0 else fh_low
                fm = 1.0 if side == 0 else fm_low
                n = fm * hm * (activity(xf, xm, gab_c, gab_k) * psat(tf) - pa) / (rv * (0.5 * (ta + tf) + 273.15))
                conv = fh * h * (ta - tf)
                dy[a] -= n
                dy[half + a] += conv - n * (2.501e6 - 2361.0 * tf + iso * math.exp(-xf / xm))
                water += n
                warmth += n * cv * tf - conv
            w_out = wa + area * water / m
            ta = ((ca + cv * wa) * ta + area * warmth / m) / (ca + cv * w_out)
            wa = w_out
        gain += m * (ca + cv * wa) * (ta - tp)
        wet += m * (wa - wp)
    for j in range(nn):
        for s in range(pieces):
            a = j * pieces + s
            dy[a] /= cell[j]
            dy[half + a] /= cell[j] * (cs + cw * y[a])
    u, clipped = 0.0, 0.0
    if heater > 0.0:
        u = kp * (set_point - tp) + integral
        clipped = min(max(u, 0.0), 1.0)
    mass = volume * density
    b = 2 * half
    dy[b] = gain / (mass * (ca + cv * wp))
    dy[b + 1] = wet / mass
    dy[b + 2] = (shell_in * (tp - ts) - shell_out * (ts - t_room)) / shell_c
    dy[b + 3] = (clipped * heater_w - element) / lag
    dy[b + 4] = (kp * (set_point - tp) + 4.0 * (clipped - u)) / ti if heater > 0.0 else 0.0
    dy[b + 5] = clipped * heater_w + fan_w
    dy[b + 6] = exchange * (wp - w_room)


@numba.njit(cache=False, fastmath=False)
def fill_many(ys, out, nn, ng, npos, gap, cell, share, q):
    for k in range(ys.shape[0]):
        fill(ys[k], out[k], nn, ng, npos, gap, cell, share, q)


def compiled_right_hand_side(case, stage):
    """f(t, y) of one stage, y being (n,) or (n, k)."""
    if case.choice != sb.DEFAULT_CHOICE:
        raise ValueError("only the default choices are compiled")
    p, e, c, ctl, r = case.product, case.exchange, case.cabinet, case.controller, case.room
    heater, fan, vent = sb.air_switch(case, stage)
    leak = c["leakage_dry_air_kg_per_s"]
    q = tuple(float(v) for v in (
        case.d60, p["activation_energy_j_per_mol"] / sb.R_GAS, p["solids_density_kg_per_m3"], p["water_density_kg_per_m3"],
        p["specific_heat_solids_j_per_kg_k"], p["specific_heat_water_j_per_kg_k"], p["conductivity_solids_w_per_m_k"],
        p["conductivity_water_w_per_m_k"], p["gab_monolayer_kg_per_kg"], p["gab_c"], p["gab_k"], p["net_isosteric_heat_at_zero_j_per_kg"],
        e["heat_transfer_w_per_m2_k"] * (1.0 if fan else 0.15), e["lewis_factor"], e["underside_factor_heat"], e["underside_factor_mass"],
        e["vapour_gas_constant_j_per_kg_k"], case.area, c["air_flow_m3_per_s"] * (1.0 if fan else c["fan_off_air_fraction"]),
        c["plenum_volume_m3"], c["heater_w"], c["heater_lag_s"], c["fan_w"] if fan else 0.0, c["shell_heat_capacity_j_per_k"],
        c["shell_exchange_w_per_k"] * (1.0 if fan else 0.2), c["shell_loss_w_per_k"],
        leak + c["vent_full_dry_air_kg_per_s"] * vent if fan else leak / 2, ctl["kp_per_k"], ctl["ti_s"], stage.get("set_point_c", 0.0),
        1.0 if heater else 0.0, r["temperature_c"], case.w_room, r["pressure_pa"]))
    shape = (case.nodes, case.groups, case.positions, case.gap, case.cell, case.share, q)

    def f(_, y):
        y = np.ascontiguousarray(y.T)
        out = np.empty_like(y)
        (fill if y.ndim == 1 else fill_many)(y, out, *shape)
        return out.T

    return f


if __name__ == "__main__":
    case = sb.Case(sb.CASES / "standard_batch.toml")
    rng = np.random.default_rng(1)
    worst = 0.0
    for stage in case.stages:
        for _ in range(20):
            y = case.start()
            half = case.nodes * case.pieces
            y[:half] = rng.uniform(0.05, 2.7, half)
            y[half:2 * half] = rng.uniform(4, 70, half)
            y[2 * half:] = rng.uniform((20, 0.007, 20, 0, 0, 0, 0), (75, 0.09, 60, 6000, 1, 1, 1))
            a, b = sb.right_hand_side(case, stage)(0.0, y), compiled_right_hand_side(case, stage)(0.0, y)
            worst = max(worst, float(np.max(np.abs(a - b) / (np.abs(a) + 1e-9))))
    print(f"largest relative difference from the numpy right-hand side: {worst:.1e}")
