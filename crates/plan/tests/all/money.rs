//! Energy, tariff, yield and tray weight.

use fallrate_plan::Curve;
use fallrate_plan::arithmetic::{finished_kg, moisture_at_target_weight_wet_basis};
use fallrate_plan::money::{tariff_cost, tray_weight, yields};

use crate::support::{APPLE, TWO_STAGES, cabinet, nominal, product, request};

const NIGHT_TARIFF: &str = r#"
[money]
currency = "EUR"
energy_price_per_kwh = 0.30
demand_charge_per_kw = 12.0
[[money.tariff]]
from = "22:00"
to = "06:00"
price_per_kwh = 0.10
"#;

fn setup(text: &str) -> fallrate_plan::Setup {
    let r = request(text);
    fallrate_plan::assemble(&r, &product("apple"), &cabinet("north")).unwrap().setup
}

#[test]
fn table_a_tariff_that_crosses_midnight_reckoned_by_hand() {
    let late = format!("{APPLE}{TWO_STAGES}{NIGHT_TARIFF}").replace("at = \"07:00\"", "at = \"21:20\"");
    let s = setup(&late);
    let tariff = s.money.tariff.clone().unwrap();
    // 2 kW from 21:20. 40 min at 0.30, 8 h at 0.10, the rest at 0.30; kWh are twice the hours.
    let steady = Curve::new(&[(0.0, 0.0), (48.0 * 3600.0, 48.0 * 2.0 * 3.6e6)]);
    for (hours, cost) in [
        (0.5, 1.0 * 0.30),
        (2.0 / 3.0 + 1.0, 2.0 * (2.0 / 3.0 * 0.30 + 1.0 * 0.10)),
        (12.0, 2.0 * (2.0 / 3.0 * 0.30 + 8.0 * 0.10 + (12.0 - 8.0 - 2.0 / 3.0) * 0.30)),
        // The second night begins after 24 h 40 min.
        (30.0, 2.0 * (2.0 / 3.0 * 0.30 + 8.0 * 0.10 + 16.0 * 0.30 + (30.0 - 24.0 - 2.0 / 3.0) * 0.10)),
    ] {
        let found = tariff_cost(&s, &tariff, &steady, hours * 3600.0);
        assert!((found - cost).abs() < 1e-9, "{hours} h: {found} for {cost}");
    }
    assert_eq!(tariff_cost(&s, &tariff, &Curve::new(&[]), 3600.0), 0.0);
}

#[test]
fn identity_the_energy_of_a_run_is_priced_part_by_part() {
    let at = |clock: &str| {
        let text = format!("{APPLE}{TWO_STAGES}{NIGHT_TARIFF}").replace("07:00", clock);
        nominal(&text).unwrap()
    };
    // Some ten hours from 07:00 lie by day, from 21:30 nearly all by night.
    let (day, night) = (at("07:00"), at("21:30"));
    let kwh = day.energy.heater_kwh + day.energy.fan_kwh;
    assert!((day.energy.energy_cost.unwrap() - 0.30 * kwh).abs() < 1e-6 * kwh);
    let cost = night.energy.energy_cost.unwrap();
    assert!(cost > 0.10 * kwh && cost < 0.22 * kwh, "{cost} of {kwh} kWh");
    // By hand from the run's own samples, at the two times the price changes.
    let energy = |t: f64| {
        let s = &night.run.samples;
        let k = s.partition_point(|s| s.elapsed_s <= t).clamp(1, s.len() - 1);
        let (a, b) = (&s[k - 1], &s[k]);
        let share = ((t - a.elapsed_s) / (b.elapsed_s - a.elapsed_s)).clamp(0.0, 1.0);
        let j = |s: &fallrate_simulate::Sample| s.heater_j + s.fan_j;
        (j(a) + share * (j(b) - j(a))) / 3.6e6
    };
    let (first, second, end) = (energy(1800.0), energy(8.5 * 3600.0), energy(1e9));
    let hand = 0.30 * first + 0.10 * (second - first) + 0.30 * (end - second);
    assert!((cost / hand - 1.0).abs() < 2e-3, "{cost} {hand}");
}

#[test]
fn identity_demand_is_the_highest_quarter_hour_and_stays_out_of_the_batch_cost() {
    let plan = nominal(&format!("{APPLE}{TWO_STAGES}{NIGHT_TARIFF}")).unwrap();
    let e = &plan.energy;
    let c = &plan.assembled.setup.batch.chamber;
    let fan_kw = cabinet("north").full_fan().unwrap().power.value.watts() / 1000.0;
    assert!(e.peak_kw <= c.heater_w / 1000.0 + fan_kw + 1e-6, "{}", e.peak_kw);
    assert!(e.peak_kw > 0.9 * (c.heater_w / 1000.0 + fan_kw), "a warm-up runs at full power: {}", e.peak_kw);
    assert!((e.demand_cost.unwrap() - 12.0 * e.peak_kw).abs() < 1e-9);
    let per_kg = e.cost_per_kg_finished.unwrap();
    assert!((per_kg - e.energy_cost.unwrap() / plan.yields.finished_kg).abs() < 1e-9);
}

#[test]
fn limit_no_run_uses_less_than_the_latent_heat() {
    for start in ["07:00", "21:00"] {
        let plan = nominal(&format!("{APPLE}{TWO_STAGES}").replace("07:00", start)).unwrap();
        assert!(plan.energy.kwh_per_kg_water > 0.66, "{}", plan.energy.kwh_per_kg_water);
        assert!((0.1..1.0).contains(&plan.energy.efficiency), "{}", plan.energy.efficiency);
    }
}

#[test]
fn identity_yield_and_tray_weight_are_mass_balances() {
    let text = format!("{APPLE}\n[raw]\nsolids = \"15 %\"\n{TWO_STAGES}");
    let s = setup(&text);
    let load = s.batch.fresh_kg();
    let y = yields(&s, 0.12 / 0.88);
    assert!((y.finished_kg - finished_kg(load, 0.85, 0.12)).abs() < 1e-9);
    assert!((y.finished_at_target_kg - finished_kg(load, 0.85, 0.20)).abs() < 1e-9);
    assert!((y.given_away_kg - (y.finished_at_target_kg - y.finished_kg)).abs() < 1e-12);
    assert!((y.fresh_kg - y.finished_kg - y.water_removed_kg).abs() < 1e-12);
    assert_eq!(yields(&s, 0.5).given_away_kg, 0.0, "wetter than the target gives nothing away");
    let t = tray_weight(&s, 1.9);
    assert!((t.gross_kg - t.net_kg - 1.9).abs() < 1e-12);
    assert!((t.net_kg - finished_kg(t.fresh_kg, 0.85, 0.20)).abs() < 1e-12);
    for (points, wet) in &t.if_solids_off {
        let hand = moisture_at_target_weight_wet_basis(0.15, 0.20, 0.15 + points / 100.0);
        assert!((wet - hand).abs() < 1e-12, "{points}");
    }
}
