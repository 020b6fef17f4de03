"""The equations of the standard batch: case file, grid and right-hand side, in numpy.

Choices where the case file and the equations leave one (`--choices` measures the ones marked *):

- Grid: node-centred in solids co-ordinates, faces are nodes that own half cells, equal spacing (`--grid cosine` crowds the faces).
- Flux between two nodes *: D at the mean temperature, 1/v^2 as 1/(v_a v_b), which is the exact mean over X since v is linear in
  X; k/v at the mean X. Others: everything at the mean state; arithmetic, harmonic or geometric mean of the two nodes' values.
- Liquid's enthalpy flux *: central (n c_w times the half difference to each neighbour); the other is upwind.
- Vapour of either sign passes the face at the face's temperature *; the other is condensing vapour at the air's temperature.
- Water activity: cut off at 1; the GAB equation solved as a quadratic. Nothing cuts off the saturation pressure.
- Film temperature *: mean of entering air and face, for each face its own; it divides the whole pressure difference.
- Humid air's rho c_p in h_m *: per volume, rho_da (1006 + 1860 w), of the air entering the position, not of the film.
- Tray air: dry-air flow = 1.08 m3/s x share x p_da/(R_da T) of the plenum at that moment *.
- Each position's balance is of enthalpy: m (h_out - h_in) = evaporation's vapour at face temperature - convection.
- Dry air held in the plenum: plenum volume at its own state at that moment *; the balance is of enthalpy at constant pressure:
  M (c_a + w c_v) dT/dt = sum m_g (c_a + w_out c_v)(T_out - T) + the same for room air + heater + fan - shell.
- Cooling plenum air *: what the contraction lacks is taken off the exhaust; the other draws it from the room on top.
- Leakage and vent add up; both bring room air at the room's w and T and take plenum air out.
- Slab area: load / (fresh density x thickness) per tray area, fresh density (1 + X0)/v(X0); equal area at all 15 positions.
- Dry air's gas constant: 287.042 J/kg K, so that w = 0.621945 p_v/(p - p_v) with the vapour's 461.524.
- "Heater off" sets u = 0 and holds the integral; the lag, the leakage and the shell go on.
"""
import pathlib
import tomllib

import numpy as np

HERE = pathlib.Path(__file__).resolve().parent
CASES = HERE.parent / "standard_batch"
R_DRY_AIR, R_GAS, ZERO_C = 287.042, 8.314, 273.15
C_AIR, C_VAPOUR, LATENT_0, LATENT_SLOPE = 1006.0, 1860.0, 2.501e6, 2361.0
DIFFUSIVITY_REFERENCE_K = 333.15
# Hyland and Wexler (1983) over liquid water, the coefficients of the ASHRAE Fundamentals handbook
HW = (-5.8002206e3, 1.3914993, -4.8640239e-2, 4.1764768e-5, -1.4452093e-8, 6.5459673)
COLUMNS = ("elapsed_s", "plenum_temperature_c", "plenum_relative_humidity", "core_warmest_c", "core_coldest_c",
           "moisture_mean", "moisture_slowest", "moisture_fastest", "heater_and_fan_energy_j", "water_vented_kg")
DEFAULT_CHOICE = {"flux": "exact_v", "advection": "central", "condensing": "face", "film": "mean", "rho_cp": "entering",
                  "tray_flow": "now", "plenum_mass": "now", "contraction": "exhaust", "c_vapour": C_VAPOUR}


def saturation_pa(t):
    """Pure-water saturation pressure over liquid in Pa at `t` degC."""
    k = t + ZERO_C
    return np.exp(HW[0] / k + HW[1] + k * (HW[2] + k * (HW[3] + k * HW[4])) + HW[5] * np.log(k))


class Case:
    """The case file's figures, the grid and the numbers that follow from them."""

    def __init__(self, path, nodes=13, grid="uniform", diffusivity_factor=1.0, choice=None):
        data = tomllib.loads(pathlib.Path(path).read_text())
        self.data, self.product, self.exchange, self.cabinet = data, data["product"], data["exchange"], data["cabinet"]
        self.controller, self.room, self.stages = data["controller"], data["room"], data["stage"]
        self.choice = DEFAULT_CHOICE | (choice or {})
        p, c = self.product, self.cabinet
        self.nodes, self.groups, self.positions = nodes, c["tray_groups"], c["positions_along_air"]
        self.d60 = p["diffusivity_60c_m2_per_s"] * diffusivity_factor
        x0 = p["moisture_dry_basis_initial_kg_per_kg"]
        v0 = 1 / p["solids_density_kg_per_m3"] + x0 / p["water_density_kg_per_m3"]
        solids = p["thickness_fresh_m"] / v0                      # kg dry solids per m2 of face
        j = np.arange(nodes) / (nodes - 1)
        m = solids * (j if grid == "uniform" else (1 - np.cos(np.pi * j)) / 2)
        self.gap = np.diff(m)
        self.cell = np.concatenate(([0.0], self.gap / 2)) + np.concatenate((self.gap / 2, [0.0]))
        self.weight = self.cell / solids
        slab_per_tray_area = p["load_fresh_kg_per_m2_tray"] * v0 / (1 + x0) / p["thickness_fresh_m"]
        tray_area = c["trays"] * c["tray_length_m"] * c["tray_width_m"]
        self.area = tray_area * slab_per_tray_area / (self.groups * self.positions)
        self.solids_kg = solids * tray_area * slab_per_tray_area
        share = np.array(c["air_share"])
        self.share = share / share.sum()
        r = self.room
        pv = r["relative_humidity"] * saturation_pa(r["temperature_c"])
        self.w_room = R_DRY_AIR / self.exchange["vapour_gas_constant_j_per_kg_k"] * pv / (r["pressure_pa"] - pv)
        self.pieces = self.groups * self.positions
        self.n = 2 * nodes * self.pieces + 7

    def start(self):
        y = np.empty(self.n)
        half = self.nodes * self.pieces
        y[:half] = self.product["moisture_dry_basis_initial_kg_per_kg"]
        y[half:2 * half] = self.product["temperature_initial_c"]
        y[2 * half:] = (self.room["temperature_c"], self.w_room, self.room["temperature_c"], 0.0, 0.0, 0.0, 0.0)
        return y

    def tolerance(self, rtol):
        """Absolute tolerances: 1e-8 in X and w, the like in proportion for the rest, tightened with `rtol`."""
        a = np.full(self.n, 1e-8)
        half = self.nodes * self.pieces
        a[half:2 * half] = 1e-6
        a[2 * half:] = (1e-6, 1e-9, 1e-6, 1e-3, 1e-8, 1.0, 1e-8)
        return a * min(1.0, rtol / 1e-5)

    def dry_density(self, t, w):
        k = t + ZERO_C
        return self.room["pressure_pa"] / (k * (R_DRY_AIR + w * self.exchange["vapour_gas_constant_j_per_kg_k"]))

    def vapour_pressure(self, w):
        return self.room["pressure_pa"] * w / (R_DRY_AIR / self.exchange["vapour_gas_constant_j_per_kg_k"] + w)

    def water_activity(self, x):
        p = self.product
        xm, c, k = p["gab_monolayer_kg_per_kg"], p["gab_c"], p["gab_k"]
        b, a = xm * c - (c - 2) * x, (c - 1) * x
        root = np.sqrt(b * b + 4 * a * x)
        y = np.where(b >= 0, 2 * x / (np.abs(b) + root), (np.abs(b) + root) / (2 * np.where(b >= 0, 1.0, a)))
        return np.minimum(y / k, 1.0)


def air_switch(case, stage):
    """(heater on, fan on, vent) of a stage."""
    return stage.get("heater", "on") == "on", stage.get("fan", "on") == "on", stage["vent"]


def between(case, x, t):
    """Conductances of moisture (D/v^2) and heat (k/v) between neighbouring nodes."""
    p, how = case.product, case.choice["flux"]

    def v(x):
        return 1 / p["solids_density_kg_per_m3"] + x / p["water_density_kg_per_m3"]

    def d(t):
        return case.d60 * np.exp(-p["activation_energy_j_per_mol"] / R_GAS * (1 / (t + ZERO_C) - 1 / DIFFUSIVITY_REFERENCE_K))

    def k_over_v(x):
        phi = x / p["water_density_kg_per_m3"] / v(x)
        return (p["conductivity_solids_w_per_m_k"] * (1 - phi) + p["conductivity_water_w_per_m_k"] * phi) / v(x)

    xm, tm = (x[1:] + x[:-1]) / 2, (t[1:] + t[:-1]) / 2
    if how == "exact_v":
        vn = v(x)
        return d(tm) / (vn[1:] * vn[:-1]), k_over_v(xm)
    if how == "mean_state":
        return d(tm) / v(xm) ** 2, k_over_v(xm)
    pairs = []
    for node in (d(t) / v(x) ** 2, k_over_v(x)):
        a, b = node[1:], node[:-1]
        pairs.append({"arithmetic": (a + b) / 2, "harmonic": 2 * a * b / (a + b), "geometric": np.sqrt(a * b)}[how])
    return pairs


def right_hand_side(case, stage):
    """f(t, y) of one stage; y is (n,) or (n, k), k states at once."""
    p, e, c, ctl, r, choice = case.product, case.exchange, case.cabinet, case.controller, case.room, case.choice
    heater, fan, vent = air_switch(case, stage)
    h = e["heat_transfer_w_per_m2_k"] * (1.0 if fan else 0.15)
    flow_m3 = c["air_flow_m3_per_s"] * (1.0 if fan else c["fan_off_air_fraction"])
    exchange = (c["leakage_dry_air_kg_per_s"] + c["vent_full_dry_air_kg_per_s"] * vent) if fan else c["leakage_dry_air_kg_per_s"] / 2
    shell_in = c["shell_exchange_w_per_k"] * (1.0 if fan else 0.2)
    fan_w = c["fan_w"] if fan else 0.0
    rv, cv, cw = e["vapour_gas_constant_j_per_kg_k"], choice["c_vapour"], p["specific_heat_water_j_per_kg_k"]
    ng, npos, nn = case.groups, case.positions, case.nodes
    half = nn * case.pieces
    start_density = case.dry_density(r["temperature_c"], case.w_room)
    factor_heat = (1.0, e["underside_factor_heat"])
    factor_mass = (1.0, e["underside_factor_mass"])

    def f(_, y):
        tail = y.shape[1:]
        ones = (1,) * len(tail)
        gap = case.gap.reshape((-1, 1, 1) + ones)
        cell = case.cell.reshape((-1, 1, 1) + ones)
        x = y[:half].reshape((nn, ng, npos) + tail)
        t = y[half:2 * half].reshape((nn, ng, npos) + tail)
        tp, wp, ts, heat, integral = y[2 * half:2 * half + 5]
        dy = np.zeros_like(y)
        dx = dy[:half].reshape(x.shape)
        dt = dy[half:2 * half].reshape(x.shape)

        moisture, conduct = between(case, x, t)
        n = -moisture / gap * (x[1:] - x[:-1])
        step = t[1:] - t[:-1]
        q = -conduct / gap * step
        dx[:-1] -= n
        dx[1:] += n
        dt[:-1] -= q
        dt[1:] += q
        if choice["advection"] == "central":
            dt[:-1] -= n * cw * step / 2
            dt[1:] -= n * cw * step / 2
        else:
            dt[:-1] -= np.minimum(n, 0.0) * cw * step
            dt[1:] -= np.maximum(n, 0.0) * cw * step

        faces = []                                        # what of each face does not depend on the air
        for index in (0, nn - 1):
            xf, tf = x[index], t[index]
            heat_of_water = (LATENT_0 - LATENT_SLOPE * tf
                             + p["net_isosteric_heat_at_zero_j_per_kg"] * np.exp(-xf / p["gab_monolayer_kg_per_kg"]))
            faces.append((tf, case.water_activity(xf) * saturation_pa(tf), heat_of_water))

        density = case.dry_density(tp, wp)
        flow_density = density if choice["tray_flow"] == "now" else np.full_like(density, start_density)
        share = case.share.reshape((-1,) + ones)
        m = share * flow_m3 * flow_density
        ta = np.broadcast_to(tp, m.shape)
        wa = np.broadcast_to(wp, m.shape)
        for i in range(npos):
            rho_cp = case.dry_density(ta, wa) * (C_AIR + cv * wa)
            if choice["rho_cp"] == "plenum":
                rho_cp = density * (C_AIR + cv * wp)
            hm = h / (rho_cp * e["lewis_factor"])
            pa = case.vapour_pressure(wa)
            water = 0.0
            warmth = 0.0
            for (tf, pf, latent), index, fh, fm in zip(faces, (0, nn - 1), factor_heat, factor_mass):
                tf, film = tf[:, i], {"mean": (ta + tf[:, i]) / 2, "air": ta, "face": tf[:, i]}[choice["film"]]
                nf = fm * hm * (pf[:, i] - pa) / (rv * (film + ZERO_C))
                qf = fh * h * (ta - tf)
                carried = tf if choice["condensing"] == "face" else np.where(nf > 0, tf, ta)
                dx[index, :, i] -= nf
                dt[index, :, i] += qf - nf * (latent[:, i] + cv * (tf - carried))
                water = water + nf
                warmth = warmth + nf * cv * carried - qf
            w_out = wa + case.area * water / m
            ta = ((C_AIR + cv * wa) * ta + case.area * warmth / m) / (C_AIR + cv * w_out)
            wa = w_out

        dx /= cell
        dt /= cell * (p["specific_heat_solids_j_per_kg_k"] + x * cw)

        demand = ctl["kp_per_k"] * (stage.get("set_point_c", 0.0) - tp) + integral if heater else np.zeros_like(tp)
        clipped = np.clip(demand, 0.0, 1.0)
        mass = c["plenum_volume_m3"] * (density if choice["plenum_mass"] == "now" else start_density)
        to_shell = shell_in * (tp - ts)
        gain = ((m * (C_AIR + cv * wa) * (ta - tp)).sum(axis=0)
                + exchange * (C_AIR + cv * case.w_room) * (r["temperature_c"] - tp) + heat + fan_w - to_shell)
        wet = (m * (wa - wp)).sum(axis=0) + exchange * (case.w_room - wp)
        if choice["contraction"] == "room":
            hotter, wetter = 1 / ((C_AIR + cv * wp) * (tp + ZERO_C)), rv / (R_DRY_AIR + rv * wp)
            sensible = (C_AIR + cv * case.w_room) * (r["temperature_c"] - tp)
            drawn = -(gain * hotter + wet * wetter) / (1 + sensible * hotter + (case.w_room - wp) * wetter)
            drawn = np.maximum(drawn, 0.0)
            gain = gain + drawn * sensible
            wet = wet + drawn * (case.w_room - wp)
        g = dy[2 * half:]
        g[0] = gain / (mass * (C_AIR + cv * wp))
        g[1] = wet / mass
        g[2] = (to_shell - c["shell_loss_w_per_k"] * (ts - r["temperature_c"])) / c["shell_heat_capacity_j_per_k"]
        g[3] = (clipped * c["heater_w"] - heat) / c["heater_lag_s"]
        if heater:
            g[4] = (ctl["kp_per_k"] * (stage["set_point_c"] - tp) + 4 * (clipped - demand)) / ctl["ti_s"]
        g[5] = clipped * c["heater_w"] + fan_w
        g[6] = exchange * (wp - case.w_room)
        return dy

    return f
