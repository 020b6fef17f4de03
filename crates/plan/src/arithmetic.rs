//! Sums of the job that need no simulation: mass balances, vent, heater floor, capacity, over-drying.
//!
//! Moistures are wet basis fractions (kg water per kg in all) unless a name says dry basis. Nothing is checked here beyond
//! what a formula needs; a result that makes no sense (a target wetter than the load) is negative, infinite or NaN, never
//! a panic.

use fallrate_air::{
    enthalpy_j_per_kg_dry_air, enthalpy_of_liquid_water_j_per_kg, humidity_ratio_from_relative_humidity,
    temperature_from_enthalpy_c, wet_bulb_c,
};

/// Finished weight, kg, of a load dried from one moisture to another.
///
/// m1 (1 - w1) = m2 (1 - w2): the dry solids stay. For w1, w2 from 0 to below 1. Mass balance, exact.
///
/// ```
/// // 10 kg of beef round at 73.09 % to 25 %
/// let kg = fallrate_plan::arithmetic::finished_kg(10.0, 0.7309, 0.25);
/// assert!((kg - 3.588).abs() < 5e-4);
/// ```
#[must_use]
pub fn finished_kg(load_kg: f64, from_wet_basis: f64, to_wet_basis: f64) -> f64 {
    load_kg * (1.0 - from_wet_basis) / (1.0 - to_wet_basis)
}

/// Weight loaded over weight finished, kg/kg.
///
/// (1 - w2)/(1 - w1). Mass balance, exact.
///
/// ```
/// // a green herb from 90 % to 6 %
/// assert!((fallrate_plan::arithmetic::drying_ratio(0.90, 0.06) - 9.4).abs() < 1e-12);
/// ```
#[must_use]
pub fn drying_ratio(from_wet_basis: f64, to_wet_basis: f64) -> f64 {
    (1.0 - to_wet_basis) / (1.0 - from_wet_basis)
}

/// Moisture, wet basis, that a load at its target weight really has where its solids differ from those the weight was
/// reckoned with.
///
/// The weight per kg loaded is s (1 - w)^-1 with the assumed solids s and target w; of it the true solids s' are dry:
/// w' = 1 - s'(1 - w)/s. Mass balance, exact. Negative where the weight cannot be reached.
///
/// ```
/// // reckoned with 15 % solids for 20 %; the fruit has 13 %
/// let w = fallrate_plan::arithmetic::moisture_at_target_weight_wet_basis(0.15, 0.20, 0.13);
/// assert!((w - 0.307).abs() < 5e-4);
/// ```
#[must_use]
pub fn moisture_at_target_weight_wet_basis(
    solids_assumed: f64,
    target_wet_basis: f64,
    solids_true: f64,
) -> f64 {
    1.0 - solids_true * (1.0 - target_wet_basis) / solids_assumed
}

/// Change of the saleable weight, as a share of the weight at the target, of a load dried to another moisture.
///
/// (1 - w_target)/(1 - w) - 1: negative where it is over-dried. Mass balance, exact.
///
/// ```
/// // dried to 12 % in place of 20 %
/// let share = fallrate_plan::arithmetic::weight_change_by_over_drying(0.20, 0.12);
/// assert!((share + 0.091).abs() < 5e-4);
/// ```
#[must_use]
pub fn weight_change_by_over_drying(target_wet_basis: f64, dried_to_wet_basis: f64) -> f64 {
    (1.0 - target_wet_basis) / (1.0 - dried_to_wet_basis) - 1.0
}

/// Least powered time, h, in which a heater can evaporate an amount of water.
///
/// water x energy per kg / (heater x useful share); shell and vent losses are in the useful share. A bound: it says nothing
/// of how fast the product gives its water off. 0.66 kWh/kg is the latent heat at some 50 degC.
///
/// ```
/// // 20 kg of apples from 85 to 20 % in a 2 kW unit of which 60 % serve to evaporate
/// let water = 20.0 - fallrate_plan::arithmetic::finished_kg(20.0, 0.85, 0.20);
/// let h = fallrate_plan::arithmetic::heater_floor_hours(water, 2.0, 0.60, 0.66);
/// assert!((h - 8.9).abs() < 0.05);
/// ```
#[must_use]
pub fn heater_floor_hours(water_kg: f64, heater_kw: f64, useful_share: f64, kwh_per_kg_water: f64) -> f64 {
    water_kg * kwh_per_kg_water / (heater_kw * useful_share)
}

/// What an order takes.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct OrderNeed {
    /// Prepared product, kg.
    pub prepared_kg: f64,
    /// Raw product, kg.
    pub raw_kg: f64,
    /// Batches.
    pub batches: f64,
    /// Water to evaporate in a full batch, kg.
    pub water_per_batch_kg: f64,
}

/// Raw product and batches for an order of finished product.
///
/// Prepared = order (1 - w)/s; raw = prepared over the preparation yield; batches rounded up. Mass balance, exact.
///
/// ```
/// // 40 kg of dried apple at 20 %, 15 % solids, yield 90 %, 50 kg a batch
/// let need = fallrate_plan::arithmetic::order_need(40.0, 0.20, 0.15, 0.90, 50.0);
/// assert!((need.prepared_kg - 213.0).abs() < 0.5 && (need.raw_kg - 237.0).abs() < 0.5 && need.batches == 5.0);
/// ```
#[must_use]
pub fn order_need(
    order_kg: f64,
    finished_wet_basis: f64,
    solids: f64,
    preparation_yield: f64,
    batch_kg: f64,
) -> OrderNeed {
    let prepared = order_kg * (1.0 - finished_wet_basis) / solids;
    OrderNeed {
        prepared_kg: prepared,
        raw_kg: prepared / preparation_yield,
        batches: (prepared / batch_kg - 1e-9).ceil(),
        water_per_batch_kg: batch_kg - finished_kg(batch_kg, 1.0 - solids, finished_wet_basis),
    }
}

/// Most water, kg per kg of product, that the product's own heat can evaporate while it cools.
///
/// cp dT/h_fg with the latent heat at the hot end, its least. A bound: hot metal and a running fan come on top, loss to the room comes off.
///
/// ```
/// // from 60 to 25 degC, 2.5 kJ/(kg K)
/// let kg = fallrate_plan::arithmetic::coast_bound_kg_per_kg(2500.0, 60.0, 25.0);
/// assert!((kg - 0.037).abs() < 5e-4);
/// ```
#[must_use]
pub fn coast_bound_kg_per_kg(specific_heat_j_per_kg_k: f64, from_c: f64, to_c: f64) -> f64 {
    specific_heat_j_per_kg_k * (from_c - to_c) / fallrate_air::latent_heat_j_per_kg(from_c)
}

/// What carrying off one kg of water takes.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct CarriedOff {
    /// Dry air, kg per kg of water.
    pub dry_air_kg_per_kg_water: f64,
    /// Heat, J per kg of water.
    pub heat_j_per_kg_water: f64,
}

/// Dry air and heat per kg of water in a cabinet whose exhaust leaves at the chamber's temperature and a given relative
/// humidity.
///
/// Air per kg water 1/(w_ex - w_in); heat [h(T, w_ex) - h(T_in, w_in)]/(w_ex - w_in) - h_w(T_in): no shell loss, no fan,
/// water that comes in at the room's temperature. Steady balance of water and energy, exact for it. Infinite or negative
/// where the exhaust is no wetter than the room's air.
///
/// ```
/// // 60 degC, 30 % exhaust, room 20 degC 50 %
/// let c = fallrate_plan::arithmetic::carried_off(60.0, 0.30, 20.0, 0.50, 101_325.0);
/// assert!((c.heat_j_per_kg_water / 3.6e6 - 1.06).abs() < 0.005);
/// ```
#[must_use]
pub fn carried_off(
    chamber_c: f64,
    exhaust_rh: f64,
    room_c: f64,
    room_rh: f64,
    pressure_pa: f64,
) -> CarriedOff {
    let out = humidity_ratio_from_relative_humidity(chamber_c, exhaust_rh, pressure_pa);
    let inside = humidity_ratio_from_relative_humidity(room_c, room_rh, pressure_pa);
    let air = 1.0 / (out - inside);
    let rise = enthalpy_j_per_kg_dry_air(chamber_c, out) - enthalpy_j_per_kg_dry_air(room_c, inside);
    CarriedOff {
        dry_air_kg_per_kg_water: air,
        heat_j_per_kg_water: rise * air - enthalpy_of_liquid_water_j_per_kg(room_c),
    }
}

/// The steady state of a dryer that recirculates part of its air.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Recirculating {
    /// Humidity ratio of the air that enters the trays, kg/kg.
    pub humidity_ratio_kg_per_kg: f64,
    /// Its wet bulb, degC.
    pub wet_bulb_c: f64,
    /// Heat per kg of water, J/kg.
    pub heat_j_per_kg_water: f64,
}

/// Steady state where a share of the air is recirculated, the rest is room air, and evaporation cools the air by a given
/// number of kelvin.
///
/// Over the trays the air takes up water at its wet bulb: h(T, w1) + (w2 - w1) h_w(T_wb) = h(T - dT, w2). Mixing gives
/// w1 = r w2 + (1 - r) w_room, solved by repeated substitution; heat per kg of water is
/// [h(T, w1) - r h2 - (1 - r) h_room]/(w2 - w1). No shell loss, no fan. r from 0 to below 1; NaN where the state would be
/// wetter than saturated.
///
/// ```
/// // 60 degC, three quarters recirculated, room 25 degC 50 %, air cooled by 5 K
/// let s = fallrate_plan::arithmetic::recirculating(60.0, 0.75, 25.0, 0.50, 5.0, 101_325.0);
/// assert!((s.heat_j_per_kg_water / 3.6e6 - 1.705).abs() < 0.01);
/// ```
#[must_use]
pub fn recirculating(
    set_point_c: f64,
    recirculated_share: f64,
    room_c: f64,
    room_rh: f64,
    cooled_k: f64,
    pressure_pa: f64,
) -> Recirculating {
    let (r, t, low) = (recirculated_share, set_point_c, set_point_c - cooled_k);
    let room = humidity_ratio_from_relative_humidity(room_c, room_rh, pressure_pa);
    let (mut w1, mut w2) = (room, room);
    // The take-up hardly depends on w1, so that the substitution contracts by about r.
    for _ in 0..5000 {
        let liquid = enthalpy_of_liquid_water_j_per_kg(wet_bulb_c(t, w1, pressure_pa));
        // h is linear in w at a temperature.
        let (dry, wet) = (enthalpy_j_per_kg_dry_air(low, 0.0), enthalpy_j_per_kg_dry_air(low, 1.0));
        w2 = (enthalpy_j_per_kg_dry_air(t, w1) - w1 * liquid - dry) / (wet - dry - liquid);
        let next = r * w2 + (1.0 - r) * room;
        let change = (next - w1).abs();
        w1 = next;
        if change < 1e-14 {
            break;
        }
    }
    let back = r * enthalpy_j_per_kg_dry_air(low, w2) + (1.0 - r) * enthalpy_j_per_kg_dry_air(room_c, room);
    Recirculating {
        humidity_ratio_kg_per_kg: w1,
        wet_bulb_c: wet_bulb_c(t, w1, pressure_pa),
        heat_j_per_kg_water: (enthalpy_j_per_kg_dry_air(t, w1) - back) / (w2 - w1),
    }
}

/// Time, h, in which air takes a batch's water off, from the air's side alone.
///
/// water/(air flow x potential x pick-up). The potential is what the air could take up to saturation at its wet bulb, kg/kg;
/// the pick-up is the share of it that is used (trade figures 0.1 to 0.5).
///
/// ```
/// // 67 kg, 3,330 kg/h of air, potential 0.010, half of it used
/// assert!((fallrate_plan::arithmetic::air_side_hours(67.0, 3330.0, 0.010, 0.5) - 4.02).abs() < 0.005);
/// ```
#[must_use]
pub fn air_side_hours(
    water_kg: f64,
    dry_air_kg_per_h: f64,
    potential_kg_per_kg: f64,
    pick_up_share: f64,
) -> f64 {
    water_kg / (dry_air_kg_per_h * potential_kg_per_kg * pick_up_share)
}

/// Share of the heat put in that left as latent heat of the water removed.
///
/// ```
/// // 61.5 kg of water at 2.3 MJ/kg; 4.5 h of 2.6 kg/h of diesel at 46 MJ/kg
/// let share = fallrate_plan::arithmetic::thermal_efficiency(61.5, 2.3e6, 4.5 * 2.6 * 46e6);
/// assert!((share - 0.26).abs() < 0.005);
/// ```
#[must_use]
pub fn thermal_efficiency(water_kg: f64, latent_heat_j_per_kg: f64, heat_in_j: f64) -> f64 {
    water_kg * latent_heat_j_per_kg / heat_in_j
}

/// Drying in two periods: a constant rate down to the critical moisture, then a rate that falls linearly to none at
/// equilibrium. Moistures dry basis, kg/kg.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct TwoPeriods {
    /// Dry solids per drying area, kg/m2.
    pub solids_kg_per_m2: f64,
    /// Rate of the constant period, kg/(m2 s).
    pub constant_rate_kg_per_m2_s: f64,
    /// Critical moisture.
    pub critical_dry_basis: f64,
    /// Equilibrium moisture.
    pub equilibrium_dry_basis: f64,
}

impl TwoPeriods {
    /// Time from one moisture to another, s.
    ///
    /// Constant: M (X0 - Xc)/Rc. Falling: M (Xc - Xe)/Rc ln((Xc - Xe)/(X - Xe)), the integral of
    /// R = Rc (X - Xe)/(Xc - Xe). Infinite at or below equilibrium.
    ///
    /// ```
    /// let cake = fallrate_plan::arithmetic::TwoPeriods {
    ///     solids_kg_per_m2: 48.0, constant_rate_kg_per_m2_s: 1e-3, critical_dry_basis: 0.70, equilibrium_dry_basis: 0.0,
    /// };
    /// assert!((cake.seconds(1.10, 0.70) - 48.0 * 0.40 / 1e-3).abs() < 1e-6);
    /// ```
    #[must_use]
    pub fn seconds(&self, from_dry_basis: f64, to_dry_basis: f64) -> f64 {
        let (xc, xe) = (self.critical_dry_basis, self.equilibrium_dry_basis);
        let unit = self.solids_kg_per_m2 / self.constant_rate_kg_per_m2_s;
        let constant = (from_dry_basis - to_dry_basis.max(xc)).max(0.0);
        let start = from_dry_basis.min(xc) - xe;
        let end = (to_dry_basis - xe).max(0.0);
        let falling = if end < start { (xc - xe) * (start / end).ln() } else { 0.0 };
        unit * (constant + falling)
    }
}

/// Temperature, degC, to which a heater brings air without change of its water; for the sums that start from a room's air.
///
/// ```
/// // 1 kW into 0.05 kg/s of dry air at 20 degC with 0.007 kg/kg
/// let t = fallrate_plan::arithmetic::heated_to_c(20.0, 0.007, 0.05, 1000.0);
/// assert!((t - 39.6).abs() < 0.1);
/// ```
#[must_use]
pub fn heated_to_c(from_c: f64, humidity_ratio_kg_per_kg: f64, dry_air_kg_per_s: f64, heater_w: f64) -> f64 {
    let h = enthalpy_j_per_kg_dry_air(from_c, humidity_ratio_kg_per_kg) + heater_w / dry_air_kg_per_s;
    temperature_from_enthalpy_c(h, humidity_ratio_kg_per_kg)
}
