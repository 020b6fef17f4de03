//! The band: the grid of the draws, the relay, the shares of the variance.

use fallrate_plan::band::band;
use fallrate_plan::sweep::{COARSE, FINE, SWEEP_SPAN, regridded, sweep};
use fallrate_plan::{Effort, Plan, plan};
use fallrate_simulate::{Options, run};

use crate::support::{APPLE, Check, TWO_STAGES, cabinet, drawn, product, request};

fn usual(key: &str, cabinet_key: &str) -> Plan {
    let p = product(key);
    let text = format!(
        "product = \"{key}\"\ncabinet = \"{cabinet_key}\"\n[load]\nper_area = \"{:.2} kg/m2\"\n[room]\ntemperature = \"20 degC\"\nrelative_humidity = \"45 %\"\n[target]\nmoisture = \"{:.1} % wb\"\n[timer]\nunload = \"at end\"\n",
        p.tray_load.value.kg_per_m2(),
        p.target.moisture.value.percent()
    );
    plan(&request(&text), &p, &cabinet(cabinet_key), Effort { draws: 0 }, &|_| true).unwrap()
}

#[test]
fn limit_the_grid_of_the_draws_stays_near_the_plans_own() {
    let mut end = Check::new(
        ("plan", "end on the grid of the draws against the plan's own, six products"),
        "the finer grid of the same program",
        ("share", 0.005),
        "COMPUTED",
    );
    let mut x = Check::new(
        ("plan", "mean moisture at the fine grid's end, the same"),
        "the finer grid of the same program",
        ("kg/kg dry basis", 0.004),
        "COMPUTED",
    );
    for key in ["apple", "beef_eye_of_round", "mango_puree", "carrot", "mint", "grape"] {
        let p = usual(key, "north");
        let setup = &p.assembled.setup;
        let until = SWEEP_SPAN * p.timer.nominal_s;
        let [fine, coarse] =
            [FINE, COARSE].map(|f| sweep(setup, &setup.batch, until, &f, &mut |_| true).unwrap());
        let at = |s: &fallrate_plan::sweep::Sweep| {
            s.at_unloading(setup.target.piece).first_at_or_below(setup.target.moisture_dry_basis).unwrap()
        };
        end.relative(at(&coarse), at(&fine), key);
        let t = at(&fine);
        x.absolute(coarse.mean_at_power_off.at(t), fine.mean_at_power_off.at(t), key);
    }
    end.done(6);
    x.done(6);
}

#[test]
fn limit_a_steady_heater_at_the_relays_mean_ends_with_the_relay() {
    let mut end = Check::new(
        ("plan", "end with the steady heater of the sweeps against the relay itself, bench unit"),
        "the relay in the same program",
        ("share", 0.01),
        "COMPUTED",
    );
    for key in ["apple", "basil", "beef_eye_of_round", "parsley", "sweet_potato"] {
        let p = usual(key, "bench_unit");
        let setup = &p.assembled.setup;
        assert_eq!(setup.relay_shifts_k.len(), setup.stages.len());
        let options = Options { sample_every_s: None, enforce_balances: false, ..Options::default() };
        let relay =
            run(&regridded(&setup.batch, &FINE), &setup.stages_to_target(), &options, &mut |_| true).unwrap();
        end.relative(p.timer.nominal_s, relay.end.elapsed_s, key);
    }
    end.done(5);
}

/// The regression's share of each input against moving that input alone by one standard deviation either way.
#[test]
fn val_variance_shares_against_one_input_at_a_time() {
    let p = drawn(&format!("{APPLE}{TWO_STAGES}"), 256).unwrap();
    let setup = &p.assembled.setup;
    let shares = p.variance.as_ref().unwrap();
    let until = 2.6 * p.timer.nominal_s;
    let end = |i: usize, z: f64| {
        let mut batch = setup.batch.clone();
        setup.spreads[i].apply(&mut batch, z);
        let s = sweep(setup, &batch, until, &COARSE, &mut |_| true).unwrap();
        s.at_power_off(setup.target.piece).first_at_or_below(setup.target.moisture_dry_basis).unwrap().ln()
    };
    let slopes: Vec<f64> = (0..setup.spreads.len()).map(|i| 0.5 * (end(i, 1.0) - end(i, -1.0))).collect();
    let total: f64 = slopes.iter().map(|s| s * s).sum();
    for (spread, slope) in setup.spreads.iter().zip(&slopes) {
        let own = slope * slope / total;
        let share = shares.shares.iter().find(|s| s.input == spread.input).unwrap().share;
        assert!((share - own).abs() < 0.05, "{:?}: {share} by regression, {own} alone", spread.input);
        if own > 0.03 {
            let found = shares.shares.iter().find(|s| s.input == spread.input).unwrap().per_sd_s;
            assert!(found.signum() == slope.signum(), "{:?}", spread.input);
        }
    }
    let largest = (0..slopes.len()).max_by(|&a, &b| slopes[a].abs().total_cmp(&slopes[b].abs())).unwrap();
    assert_eq!(shares.shares[0].input, setup.spreads[largest].input);
}

/// Where nothing is uncertain every draw is the nominal run; where one input is, the band is that input's own.
#[test]
fn limit_bands_of_one_input_are_its_own_quantiles() {
    let p = drawn(&format!("{APPLE}{TWO_STAGES}"), 8).unwrap();
    let mut setup = p.assembled.setup.clone();
    let all = std::mem::take(&mut setup.spreads);
    let nothing = band(&setup, 6, p.timer.nominal_s, &|_| true).unwrap();
    let ends: Vec<f64> = nothing.draws.iter().map(|d| d.timer_s.unwrap()).collect();
    assert!(ends.iter().all(|e| *e == ends[0]), "{ends:?}");
    assert!((ends[0] / p.timer.nominal_s - 1.0).abs() < 0.005);
    setup.spreads =
        all.into_iter().filter(|s| s.input == fallrate_plan::spread::Input::Diffusivity).collect();
    let one = band(&setup, 201, p.timer.nominal_s, &|_| true).unwrap();
    // z(0.9) = 1.281552: the end falls with the diffusivity, so that its 10 % quantile is the end at z = +1.2816.
    let mut batch = setup.batch.clone();
    setup.spreads[0].apply(&mut batch, 1.281_552);
    let s = sweep(&setup, &batch, SWEEP_SPAN * p.timer.nominal_s, &COARSE, &mut |_| true).unwrap();
    let own = s.at_unloading(setup.target.piece).first_at_or_below(setup.target.moisture_dry_basis).unwrap();
    assert!((one.timer_quantile_s(0.1) / own - 1.0).abs() < 0.01, "{} {own}", one.timer_quantile_s(0.1));
}

#[test]
fn identity_too_wet_shares_fall_and_moisture_quantiles_are_in_order() {
    let p = drawn(&format!("{APPLE}{TWO_STAGES}"), 48).unwrap();
    let (b, setup) = (p.band.as_ref().unwrap(), &p.assembled.setup);
    let mut last = 1.0;
    for k in 1..=12 {
        let t = p.timer.nominal_s * 0.15 * f64::from(k);
        let wet = b.share_too_wet(setup, t);
        assert!((0.0..=last).contains(&wet), "{wet} after {last} at {t}");
        last = wet;
        let q = [0.1, 0.5, 0.9].map(|q| b.moisture_at_unloading(setup.target.piece, t, q));
        assert!(q[0] <= q[1] && q[1] <= q[2], "{q:?}");
    }
    let more = drawn(&format!("{APPLE}{TWO_STAGES}"), 192).unwrap();
    let (few, many) = (p.timer.quantiles_s.unwrap(), more.timer.quantiles_s.unwrap());
    assert!((few[1] / many[1] - 1.0).abs() < 0.06, "medians of 48 and 192 draws: {few:?} {many:?}");
}
