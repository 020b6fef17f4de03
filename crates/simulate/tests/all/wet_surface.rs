//! A wet surface in steady air: its temperature against the table of the humidity-ratio form, against the vapour-density
//! form solved here, and against the thermodynamic wet bulb.

use std::sync::Arc;

use fallrate_air::{
    humidity_ratio_from_relative_humidity, humidity_ratio_from_vapour_pressure, saturation_pressure_pa,
    vapour_pressure_from_humidity_ratio, wet_bulb_c,
};
use fallrate_simulate::{AirConstants, GabSorption, Geometry, Sample, start};
use fallrate_units::{
    DRY_AIR_GAS_CONSTANT_J_PER_KG_K as R_AIR, WATER_VAPOUR_GAS_CONSTANT_J_PER_KG_K as R_VAPOUR,
};

use crate::support::{Check, Table, blow, constant_diffusivity, go, options, tunnel};

const VALUES: &str = include_str!("../../../../reference/drying/wet_surface_steady_state.csv");
const SOURCE: &str = "surface balance with saturation from CoolProp HumidAir 8.0.0 (reference/drying/wet_surface_steady_state.csv)";

pub fn constants() -> AirConstants {
    AirConstants {
        cp_dry_air_j_per_kg_k: 1006.0,
        cp_vapour_j_per_kg_k: 1860.0,
        latent_heat_at_0c_j_per_kg: 2.501e6,
        latent_heat_slope_j_per_kg_k: 2361.0,
    }
}

pub fn wet() -> Arc<GabSorption> {
    Arc::new(GabSorption { monolayer_kg_per_kg: 0.065, c: 8.0, k: 0.94, net_heat_at_zero_j_per_kg: 0.0 })
}

/// A very wet slab for an hour in the air, through the engine: its face and the flux from it.
fn engine(air_c: f64, w: f64, pressure: f64, lewis_factor: f64) -> Sample {
    let mut b = tunnel(Geometry::Slab, 0.02, 7);
    b.material.moisture_initial_dry_basis = 30.0;
    b.material.diffusivity = constant_diffusivity(1e-6);
    b.material.sorption = wet();
    b.material.temperature_initial_c = 30.0;
    b.exchange.heat_transfer_w_per_m2_k = 25.0;
    b.exchange.lewis_factor = lewis_factor;
    b.room.pressure_pa = pressure;
    b.air = constants();
    let begin = start(&b).unwrap().with_chamber_air(air_c, w);
    let run = go(&b, &begin, &[blow(10_000.0)], &options(1e-7));
    let s = run.stage_ends[0].sample.clone();
    assert!(s.pieces[0].surface_aw == 1.0, "still wet");
    s
}

/// The same balance solved here: q(T) falls through zero. `by_density` chooses the driving force.
fn solved(air_c: f64, w: f64, pressure: f64, lewis_factor: f64, by_density: bool) -> f64 {
    let k = constants();
    let cp = k.cp_dry_air_j_per_kg_k + w * k.cp_vapour_j_per_kg_k;
    let vapour = vapour_pressure_from_humidity_ratio(w, pressure);
    let flux_per_h = |t: f64| {
        if by_density {
            let dry_density = (pressure - vapour) / (R_AIR * (air_c + 273.15));
            let film = 0.5 * (t + air_c) + 273.15;
            (saturation_pressure_pa(t) - vapour) / (R_VAPOUR * film) / (dry_density * cp * lewis_factor)
        } else {
            let saturated = humidity_ratio_from_vapour_pressure(saturation_pressure_pa(t), pressure);
            (saturated - w) / (cp * lewis_factor)
        }
    };
    let (mut low, mut high) = (-5.0, air_c);
    for _ in 0..100 {
        let t = 0.5 * (low + high);
        let latent = k.latent_heat_at_0c_j_per_kg - k.latent_heat_slope_j_per_kg_k * t;
        if air_c - t > flux_per_h(t) * latent { low = t } else { high = t }
    }
    low
}

/// Air of a row, from its relative humidity: the table's humidity ratio is a real gas's.
fn air(table: &Table, row: usize) -> (f64, f64, f64) {
    let (t, pressure) = (table.number(row, "air_temperature_C"), table.number(row, "pressure_Pa"));
    let w = humidity_ratio_from_relative_humidity(t, table.number(row, "rh_pct") / 100.0, pressure);
    (t, w, pressure)
}

#[test]
fn table_wet_surface_in_steady_air() {
    let table = Table::parse(VALUES);
    let mut own = Check::new(
        "wet surface, vapour-density form",
        "the same balance solved by bisection in the test",
        ("K", 2e-3),
        "COMPUTED",
    );
    let mut form = Check::new(
        "wet surface solved in the humidity-ratio form (the test's reading of the table)",
        SOURCE,
        ("K", 0.05),
        "COMPUTED",
    );
    let mut flux = Check::new(
        "wet surface, heat and vapour flux of the vapour-density form against the humidity-ratio form",
        SOURCE,
        ("relative", 0.04),
        "COMPUTED",
    );
    let mut surface = Check::new(
        "wet surface temperature against the table (other driving force)",
        SOURCE,
        ("K", 0.5),
        "COMPUTED",
    );
    for row in 0..table.len() {
        let (air, w, pressure) = air(&table, row);
        for (lewis, column) in [(1.0, "surface_T_lewis_1_C"), (0.908, "surface_T_lewis_0p908_C")] {
            let at = format!("{air} degC, w {w}, {pressure} Pa, Lewis {lewis}");
            let expected = table.number(row, column);
            let found = engine(air, w, pressure, lewis).pieces[0].surface_c;
            own.absolute(found, solved(air, w, pressure, lewis, true), &at);
            form.absolute(solved(air, w, pressure, lewis, false), expected, &at);
            flux.relative(air - found, air - expected, &at);
            surface.absolute(found, expected, &at);
        }
    }
    own.done(100);
    form.done(100);
    flux.done(100);
    surface.done(100);
}

#[test]
fn table_wet_surface_against_the_thermodynamic_wet_bulb() {
    let table = Table::parse(VALUES);
    let mut line = Check::new(
        "wet surface at Lewis factor 1 against the thermodynamic wet bulb (other driving force)",
        SOURCE,
        ("K", 0.5),
        "COMPUTED",
    );
    let mut bulb = Check::new("thermodynamic wet bulb reported beside it", SOURCE, ("K", 0.1), "COMPUTED");
    for row in 0..table.len() {
        let (air, w, pressure) = air(&table, row);
        let s = engine(air, w, pressure, 1.0);
        let expected = table.number(row, "thermodynamic_wet_bulb_C");
        line.absolute(s.pieces[0].surface_c, expected, row);
        bulb.absolute(s.wet_bulb_c, expected, row);
        assert!((s.wet_bulb_c - wet_bulb_c(air, w, pressure)).abs() < 1e-9);
    }
    line.done(50);
    bulb.done(50);
}
