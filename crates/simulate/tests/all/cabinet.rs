//! The chamber against solutions found by hand: adiabatic saturation, washing out of humidity, a steady plenum.

use fallrate_air::{saturation_pressure_pa, vapour_pressure_from_humidity_ratio, wet_bulb_c};
use fallrate_simulate::{
    Batch, ControllerKind, FaceFactors, FanSetting, Geometry, HeaterDelay, StageInput, VentSetting, start,
};
use fallrate_units::{
    DRY_AIR_GAS_CONSTANT_J_PER_KG_K as R_AIR, MOLAR_MASS_RATIO_WATER_TO_AIR as EPSILON,
    WATER_VAPOUR_GAS_CONSTANT_J_PER_KG_K as R_VAPOUR,
};

use crate::support::{Check, blow, constant_diffusivity, go, options, tunnel};
use crate::wet_surface::{constants, wet};

/// A cabinet of 1 m3 with a very wet, well conducting load on one tray.
fn cabinet(load_kg: f64) -> Batch {
    let mut b = tunnel(Geometry::Slab, 0.04, 5);
    b.material.moisture_initial_dry_basis = 20.0;
    b.material.diffusivity = constant_diffusivity(1e-6);
    b.material.conductivity_solids_w_per_m_k = 5.0;
    b.material.conductivity_water_w_per_m_k = 5.0;
    b.material.specific_heat_water_j_per_kg_k = 4186.0;
    b.material.sorption = wet();
    b.air = constants();
    b.load.fresh_kg_per_tray = load_kg;
    b.exchange.heat_transfer_w_per_m2_k = 25.0;
    b.chamber.air_flow_m3_per_s = 50.0;
    b.chamber.air_held = false;
    b
}

#[test]
fn identity_adiabatic_cabinet_keeps_its_wet_bulb() {
    let mut line = Check::new(
        "adiabatic cabinet, wet bulb along the saturation of the air",
        "adiabatic saturation: enthalpy less the liquid's is constant (the driving force's form moves it by its 2 %)",
        ("K", 0.1),
        "COMPUTED",
    );
    for (air_c, w) in [(60.0, 0.012), (75.0, 0.04), (40.0, 0.004)] {
        let mut b = cabinet(100.0);
        let expected = wet_bulb_c(air_c, w, b.room.pressure_pa);
        b.material.temperature_initial_c = expected;
        let begin = start(&b).unwrap().with_chamber_air(air_c, w);
        let stages = vec![blow(1.0); 30];
        let run = go(&b, &begin, &stages, &options(1e-7));
        let last = &run.stage_ends[29].sample;
        assert!(
            last.relative_humidity > 0.9,
            "the air is nearly saturated at the end: {}",
            last.relative_humidity
        );
        for end in &run.stage_ends {
            line.absolute(
                end.sample.wet_bulb_c,
                expected,
                format!("{air_c} degC {} s", end.sample.elapsed_s),
            );
        }
    }
    line.done(90);
}

#[test]
fn identity_humidity_washes_out_exponentially() {
    // Product exchanges no vapour, room and chamber are equally warm. (w - w_room)/(epsilon + w) falls with the rate of
    // the incoming dry air over the dry air that the chamber holds at the room's humidity: exact, not only for small w.
    let mut b = cabinet(0.5);
    b.exchange.top = FaceFactors { heat: 1.0, mass: 0.0 };
    b.exchange.underside = FaceFactors { heat: 1.0, mass: 0.0 };
    b.room.temperature_c = 40.0;
    b.room.relative_humidity = 0.1;
    b.material.temperature_initial_c = 40.0;
    b.chamber.leakage_kg_per_s = 0.002;
    b.chamber.vent_full_kg_per_s = 0.02;
    let opening = VentSetting::Opening(0.25);
    let inflow = 0.002 + 0.25 * 0.02;
    let stages: Vec<StageInput> = (0..12).map(|_| StageInput { vent: opening, ..blow(100.0) }).collect();
    let begin = start(&b).unwrap().with_chamber_air(40.0, 0.045);
    let run = go(&b, &begin, &stages, &options(1e-8));
    let pressure = b.room.pressure_pa;
    let room_vapour = 0.1 * saturation_pressure_pa(40.0);
    let room_w = EPSILON * room_vapour / (pressure - room_vapour);
    let held = (pressure - room_vapour) * b.chamber.volume_m3 / (R_AIR * 313.15);
    let share = |w: f64| (w - room_w) / (EPSILON + w);
    let mut line = Check::new(
        "isothermal humidity decay",
        "exp(-t m_in/m_air) of (w - w_room)/(0.622 + w), exact",
        ("of the initial difference", 1e-5),
        "COMPUTED",
    );
    for end in &run.stage_ends {
        let expected = (-end.sample.elapsed_s * inflow / held).exp();
        line.absolute(
            share(end.sample.humidity_ratio_kg_per_kg) / share(0.045),
            expected,
            format!("{} s", end.sample.elapsed_s),
        );
        assert!((end.sample.chamber_temperature_c - 40.0).abs() < 1e-6);
    }
    line.done(12);
}

/// Steady state found by hand: given the chamber's temperature, the humidity follows from the water balance and the
/// heat balance decides.
struct Steady {
    air_c: f64,
    w: f64,
    surface_c: f64,
    evaporated: f64,
}

struct Plant {
    supplied_w: f64,
    inflow: f64,
    shell_ua: f64,
    area_m2: f64,
    h: f64,
    lewis: f64,
}

fn bisect(mut low: f64, mut high: f64, falls: impl Fn(f64) -> f64) -> f64 {
    for _ in 0..80 {
        let mid = 0.5 * (low + high);
        if falls(mid) > 0.0 { low = mid } else { high = mid }
    }
    0.5 * (low + high)
}

fn steady(b: &Batch, p: &Plant) -> Steady {
    let k = constants();
    let pressure = b.room.pressure_pa;
    let room_vapour = b.room.relative_humidity * saturation_pressure_pa(b.room.temperature_c);
    let room_w = EPSILON * room_vapour / (pressure - room_vapour);
    let vapour_h = |t: f64| k.latent_heat_at_0c_j_per_kg + k.cp_vapour_j_per_kg_k * t;
    let air_h = |t: f64, w: f64| k.cp_dry_air_j_per_kg_k * t + w * vapour_h(t);
    let flux = |t: f64, w: f64, s: f64| {
        let cp = k.cp_dry_air_j_per_kg_k + w * k.cp_vapour_j_per_kg_k;
        let vapour = vapour_pressure_from_humidity_ratio(w, pressure);
        let density = (pressure - vapour) / (R_AIR * (t + 273.15));
        let film = 0.5 * (s + t) + 273.15;
        p.h / (density * cp * p.lewis) * (saturation_pressure_pa(s) - vapour) / (R_VAPOUR * film)
    };
    let surface = |t: f64, w: f64| {
        bisect(-5.0, 99.0, |s| {
            p.h * (t - s)
                - flux(t, w, s) * (k.latent_heat_at_0c_j_per_kg - k.latent_heat_slope_j_per_kg_k * s)
        })
    };
    let humidity = |t: f64| {
        let most = EPSILON * saturation_pressure_pa(t) / (pressure - saturation_pressure_pa(t));
        bisect(room_w, most, |w| p.area_m2 * flux(t, w, surface(t, w)) - p.inflow * (w - room_w))
    };
    let air_c = bisect(b.room.temperature_c, 98.0, |t| {
        let w = humidity(t);
        let s = surface(t, w);
        let product = p.area_m2 * (flux(t, w, s) * vapour_h(s) - p.h * (t - s));
        p.supplied_w + product
            - p.shell_ua * (t - b.room.temperature_c)
            - p.inflow * (air_h(t, w) - air_h(b.room.temperature_c, room_w))
    });
    let w = humidity(air_c);
    let surface_c = surface(air_c, w);
    Steady { air_c, w, surface_c, evaporated: p.area_m2 * flux(air_c, w, surface_c) }
}

#[test]
fn identity_steady_plenum_against_the_balance_by_hand() {
    let mut air = Check::new(
        "steady plenum, air temperature",
        "algebraic heat and water balance solved in the test",
        ("K", 0.01),
        "COMPUTED",
    );
    let mut humidity = Check::new(
        "steady plenum, humidity ratio",
        "algebraic heat and water balance solved in the test",
        ("relative", 1e-3),
        "COMPUTED",
    );
    let mut surface = Check::new(
        "steady plenum, wet surface",
        "algebraic heat and water balance solved in the test",
        ("K", 0.01),
        "COMPUTED",
    );
    for (heater_w, opening, lewis, element) in [
        (2000.0, 1.0, 0.9113, false),
        (3000.0, 0.3, 1.0, false),
        (3000.0, 0.3, 1.0, true),
        (1200.0, 0.1, 0.85, true),
    ] {
        let mut b = cabinet(80.0);
        b.exchange.lewis_factor = lewis;
        b.chamber.heater_w = heater_w;
        b.chamber.shell_exchange_w_per_k = 100.0;
        b.chamber.shell_loss_w_per_k = 15.0;
        b.chamber.leakage_kg_per_s = 0.003;
        b.chamber.vent_full_kg_per_s = 0.1;
        // Trays that have come to the air's temperature take no part.
        b.chamber.racks_heat_capacity_j_per_k = 20_000.0;
        b.chamber.racks_exchange_w_per_k = 80.0;
        if element {
            b.chamber.heater_delay = HeaterDelay::Element {
                heat_capacity_j_per_k: 2000.0,
                conductance_w_per_k: 40.0,
                fan_off_share: 0.1,
                to_shell_w_per_k: 0.0,
            };
        }
        let stage = StageInput {
            set_point_c: Some(95.0),
            vent: VentSetting::Opening(opening),
            fan: Some(FanSetting { flow_share: 1.0, exchange_share: 1.0, power_w: 150.0 }),
            ..blow(40_000.0)
        };
        b.chamber.controller.kind = ControllerKind::ProportionalIntegral { kp_per_k: 10.0, ti_s: 200.0 };
        let run = go(&b, &start(&b).unwrap(), &[stage], &options(1e-7));
        let s = &run.stage_ends[0].sample;
        assert_eq!(s.heater_demand, 1.0);
        assert_eq!(s.pieces[0].surface_aw, 1.0);
        let volume = 1.0 / 1000.0 + 20.0 / 1000.0;
        let expected = steady(
            &b,
            &Plant {
                supplied_w: heater_w + 150.0,
                inflow: 0.003 + opening * 0.1,
                shell_ua: 1.0 / (1.0 / 100.0 + 1.0 / 15.0),
                area_m2: 2.0 * 80.0 / 21.0 / (0.04 / volume),
                h: 25.0,
                lewis,
            },
        );
        let at = format!("{heater_w} W, vent {opening}, Lewis {lewis}, element {element}");
        println!(
            "{at}: {:.3} degC, w {:.5}, surface {:.3}, {:.4e} kg/s",
            expected.air_c, expected.w, expected.surface_c, expected.evaporated
        );
        air.absolute(s.chamber_temperature_c, expected.air_c, &at);
        humidity.relative(s.humidity_ratio_kg_per_kg, expected.w, &at);
        surface.absolute(s.pieces[0].surface_c, expected.surface_c, &at);
    }
    air.done(4);
    humidity.done(4);
    surface.done(4);
}

#[test]
fn identity_on_off_control_switches_at_its_limits() {
    // A light load, no lag of heater or sensor worth naming: the air turns at the set point plus and minus half the band.
    let mut b = cabinet(0.2);
    b.chamber.heater_w = 4000.0;
    b.chamber.heater_delay = HeaterDelay::Lag { seconds: 0.05 };
    b.chamber.shell_exchange_w_per_k = 60.0;
    b.chamber.shell_loss_w_per_k = 20.0;
    b.chamber.shell_heat_capacity_j_per_k = 30_000.0;
    b.chamber.leakage_kg_per_s = 0.003;
    b.chamber.controller.kind = ControllerKind::OnOff { hysteresis_k: 4.0 };
    let stage = StageInput { set_point_c: Some(60.0), ..blow(6000.0) };
    let mut o = options(1e-6);
    o.sample_every_s = Some(0.5);
    let run = go(&b, &start(&b).unwrap(), &[stage], &o);
    let late: Vec<_> = run.samples.iter().filter(|s| s.elapsed_s > 3000.0).collect();
    let air = |s: &&fallrate_simulate::Sample| s.chamber_temperature_c;
    let high = late.iter().map(air).fold(f64::NEG_INFINITY, f64::max);
    let low = late.iter().map(air).fold(f64::INFINITY, f64::min);
    let switches = late.windows(2).filter(|p| p[0].heater_demand != p[1].heater_demand).count();
    assert!(switches > 10, "{switches} switches");
    assert!((high - 62.0).abs() < 0.3 && (low - 58.0).abs() < 0.3, "{low} to {high}");
}
