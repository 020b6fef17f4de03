//! What a plan must do, whatever the figures: directions, refusals, determinism.

use fallrate_plan::timer::Reason;
use fallrate_plan::{PlanError, band::Band};
use fallrate_simulate::SimulateError;

use crate::support::{APPLE, TWO_STAGES, cabinet, drawn, keys, nominal, product, request};

fn two_stages() -> String {
    format!("{APPLE}{TWO_STAGES}")
}

fn end(text: &str) -> f64 {
    nominal(text).unwrap_or_else(|e| panic!("{e}\n{text}")).timer.nominal_s
}

fn section(text: &str, header: &str, lines: &str) -> String {
    format!("{text}\n[{header}]\n{lines}\n")
}

#[test]
fn identity_thicker_wetter_more_and_humid_rooms_take_longer() {
    let base = end(&two_stages());
    assert!(end(&two_stages().replace("thickness = \"6 mm\"", "thickness = \"8 mm\"")) > 1.2 * base);
    assert!(end(&two_stages().replace("4 kg/m2", "7 kg/m2")) > base);
    assert!(
        end(&two_stages().replace("relative_humidity = \"50 %\"", "relative_humidity = \"95 %\"")) > base
    );
    assert!(end(&two_stages().replace("20 % wb", "12 % wb")) > 1.1 * base);
    let partial = two_stages().replace("[load]", "[load]\ntrays = 8");
    assert!(end(&partial) < base, "a partial load dries faster");
}

#[test]
fn identity_altitude_lowers_the_wet_bulb() {
    let low = nominal(&two_stages()).unwrap();
    let high = nominal(&two_stages().replace("altitude = \"0 m\"", "altitude = \"2500 m\"")).unwrap();
    let late = |p: &fallrate_plan::Plan| p.run.samples[p.run.samples.len() / 2].wet_bulb_c;
    assert!(late(&high) < late(&low) - 1.0, "{} {}", late(&high), late(&low));
}

#[test]
fn identity_a_shut_start_is_humid_and_an_open_one_is_not() {
    let wet_bulb = |vent: &str| {
        let plan = nominal(&two_stages().replace("vent = \"shut\"", &format!("vent = \"{vent}\""))).unwrap();
        plan.feasibility.stages[0].highest_wet_bulb_c
    };
    assert!(wet_bulb("shut") > wet_bulb("full") + 2.0);
}

#[test]
fn identity_interruptions_lengthen_the_run_and_balances_close() {
    let base = end(&two_stages());
    for kind in ["power off", "door open", "fan lost"] {
        let with = format!(
            "{}\n[[interruption]]\nkind = \"{kind}\"\nafter = \"2 h\"\nduration = \"40 min\"\n",
            two_stages()
        );
        let Ok(parsed) = fallrate_plan::request::PlanRequest::parse("t.toml", &with) else {
            let kinds = fallrate_plan::request::PlanRequest::parse("t.toml", &with).unwrap_err();
            panic!("{kinds}");
        };
        assert_eq!(parsed.interruptions.len(), 1);
        let plan = nominal(&with).unwrap();
        assert!(plan.timer.nominal_s > base + 600.0, "{kind}: {} against {base}", plan.timer.nominal_s);
        assert!(
            plan.run.balance.water_residual_share < 1e-5 && plan.run.balance.energy_residual_share < 1e-3
        );
    }
}

#[test]
fn identity_a_humid_night_gives_water_back() {
    let night = two_stages()
        .replace(
            "altitude = \"0 m\"",
            "altitude = \"0 m\"\nnight_temperature = \"16 degC\"\nnight_relative_humidity = \"90 %\"",
        )
        .replace("at = \"07:00\"", "at = \"15:00\"")
        .replace("20 % wb", "8 % wb");
    let text = section(&section(&night, "staff", "hours = [\"06:00-21:00\"]"), "timer", "unload = \"06:00\"");
    let plan = nominal(&text).unwrap();
    let (off, out) = plan.timer.coast;
    assert!(plan.timer.unloaded_s > plan.timer.dial_s + 3600.0, "it stands");
    assert!(out > off + 0.001, "a dry load takes water up: {off} to {out}");
    // Standing asks another dial than emptying at once.
    assert!((plan.timer.nominal_s - plan.timer.emptied_at_once_s).abs() > 300.0);
}

#[test]
fn identity_same_input_same_bytes_for_any_number_of_threads() {
    let text = two_stages();
    let show = |threads: usize| {
        let pool = rayon::ThreadPoolBuilder::new().num_threads(threads).build().unwrap();
        let plan = pool.install(|| drawn(&text, 16)).unwrap();
        format!("{:?} {:?} {:?}", plan.timer, plan.variance, plan.run.end)
    };
    assert_eq!(show(1), show(2));
}

#[test]
fn identity_bands_are_in_order_and_shares_sum_to_one() {
    let plan = drawn(&two_stages(), 64).unwrap();
    let band: &Band = plan.band.as_ref().unwrap();
    let [early, expected, late] = plan.timer.quantiles_s.unwrap();
    assert!(early < expected && expected < late);
    let wet: Vec<f64> = [0.6, 0.9, 1.2, 1.6]
        .iter()
        .map(|k| band.share_too_wet(&plan.assembled.setup, k * expected))
        .collect();
    assert!(wet.windows(2).all(|w| w[1] <= w[0]), "{wet:?}");
    let shares = plan.variance.as_ref().unwrap();
    let sum: f64 = shares.shares.iter().map(|s| s.share).sum();
    assert!(
        (sum - 1.0).abs() < 1e-9 && shares.r_squared > 0.8 && shares.r_squared <= 1.0,
        "{sum} {}",
        shares.r_squared
    );
}

#[test]
fn identity_the_dial_goes_in_steps_and_no_further_than_it_can() {
    let plan = drawn(&two_stages(), 32).unwrap();
    let steps = plan.timer.dial_s / plan.assembled.setup.dial.step_s;
    assert!((steps - steps.round()).abs() < 1e-9);
    let long = drawn(
        &two_stages().replace("thickness = \"6 mm\"", "thickness = \"16 mm\"").replace("0.4 mm", "0.8 mm"),
        16,
    )
    .unwrap();
    assert_eq!(long.timer.reason, Reason::DialMaximum);
    assert!(
        long.timer.beyond_dial_s.unwrap() > 0.0 && long.timer.dial_s <= long.assembled.setup.dial.maximum_s
    );
}

#[test]
fn identity_a_dial_turned_later_counts_from_there() {
    let p = drawn(&two_stages(), 24).unwrap();
    let setup = &p.assembled.setup;
    for from_s in [0.0, 3333.0, 9999.0, 2.0 * p.timer.dial_s] {
        let mut later = setup.clone();
        later.dial.from_s = from_s;
        let t = fallrate_plan::timer::advise(&later, &p.sweep, None, p.band.as_ref());
        let steps = (t.dial_s - from_s) / setup.dial.step_s;
        assert!(steps >= 0.0 && (steps - steps.round()).abs() < 1e-9, "{steps} steps from {from_s}");
        if from_s < p.timer.dial_s {
            // The same end, up to a step of the dial.
            assert!(
                (t.dial_s - p.timer.dial_s).abs() <= setup.dial.step_s,
                "{} {}",
                t.dial_s,
                p.timer.dial_s
            );
        }
    }
    let mut short = setup.clone();
    short.dial.from_s = 3600.0;
    short.dial.maximum_s = 3600.0;
    let t = fallrate_plan::timer::advise(&short, &p.sweep, None, p.band.as_ref());
    assert_eq!((t.dial_s, t.reason), (7200.0, Reason::DialMaximum));
    assert!(t.beyond_dial_s.unwrap() > 0.0);
}

#[test]
fn identity_impossible_targets_say_what_can_be_reached() {
    let humid = two_stages()
        .replace("20 % wb", "2 % wb")
        .replace("relative_humidity = \"50 %\"", "relative_humidity = \"98 %\"")
        .replace("temperature = \"20 degC\"", "temperature = \"33 degC\"");
    match nominal(&humid) {
        Err(PlanError::OutOfReach { asked_dry_basis, reached_dry_basis, .. }) => {
            assert!(reached_dry_basis > asked_dry_basis)
        }
        other => panic!("{other:?}"),
    }
    let wet = two_stages().replace("20 % wb", "95 % wb");
    assert!(matches!(nominal(&wet), Err(PlanError::AlreadyThere { .. })));
}

#[test]
fn identity_unknown_names_and_impossible_settings_are_refused() {
    for (from, to) in [("vent = \"quarter\"", "vent = \"quartre\""), ("[load]", "[load]\nliner = \"silk\"")] {
        match nominal(&two_stages().replace(from, to)) {
            Err(PlanError::Unknown { allowed, .. }) => assert!(!allowed.is_empty()),
            other => panic!("{to}: {other:?}"),
        }
    }
    let hot = two_stages().replace("set_point = \"60 degC\"", "set_point = \"94 degC\"");
    assert!(matches!(nominal(&hot), Err(PlanError::Contradiction { .. })));
    let many = two_stages().replace("[load]", "[load]\ntrays = 21");
    assert!(matches!(nominal(&many), Err(PlanError::Contradiction { .. })));
}

/// Every product in one of the cabinets in turn: a proposal that reaches the target, with balances that close.
#[test]
fn identity_every_product_has_a_plan() {
    let cabinets = keys("data/cabinets");
    for (i, key) in keys("data/products").into_iter().enumerate() {
        let p = product(&key);
        {
            let c = cabinets[i % cabinets.len()].clone();
            let equipment = cabinet(&c);
            let target = format!("{:.1} % wb", p.target.moisture.value.percent());
            let text = format!(
                "product = \"{key}\"\ncabinet = \"{c}\"\n[load]\nper_area = \"{:.2} kg/m2\"\n[room]\ntemperature = \"20 degC\"\nrelative_humidity = \"45 %\"\n[target]\nmoisture = \"{target}\"\n[timer]\nunload = \"at end\"\n",
                p.tray_load.value.kg_per_m2()
            );
            let plan = fallrate_plan::plan(
                &request(&text),
                &p,
                &equipment,
                fallrate_plan::Effort { draws: 0 },
                &|_| true,
            );
            match plan {
                Ok(plan) => {
                    let b = &plan.run.balance;
                    assert!(
                        b.water_residual_share <= 1e-5 && b.energy_residual_share <= 1e-3,
                        "{key} in {c}: {b:?}"
                    );
                    assert!(plan.timer.nominal_s.is_finite() && plan.timer.nominal_s > 600.0, "{key} in {c}");
                    assert!(
                        plan.run.samples.iter().all(|s| s.moisture_fastest_dry_basis > -1e-6),
                        "{key} in {c}: negative moisture"
                    );
                }
                // A cabinet whose air cannot go so far says so; it never panics and never gives a figure.
                Err(PlanError::OutOfReach { .. } | PlanError::Simulate(SimulateError::NeverEnds { .. })) => {}
                Err(e) => panic!("{key} in {c}: {e}"),
            }
        }
    }
}

/// Searches and sweeps replace an on/off heater by a steady one; the plan's own run keeps the relay. What that moves the
/// moisture at power-off by, against the 5 to 20 minutes that a dial's step is worth, stays small.
#[test]
fn identity_a_steady_heater_stands_for_the_relay() {
    let text = "product = \"apple\"\ncabinet = \"bench_unit\"\n[load]\nper_area = \"3 kg/m2\"\n[room]\ntemperature = \"20 degC\"\nrelative_humidity = \"45 %\"\n[target]\nmoisture = \"20 % wb\"\n[timer]\nunload = \"at end\"\n";
    let plan = nominal(text).unwrap();
    let relay = plan.run.samples.last().unwrap().moisture_mean_dry_basis;
    let steady = plan.sweep.mean_at_power_off.at(plan.timer.dial_s);
    println!("mean moisture at power-off: relay {relay:.4}, steady {steady:.4} kg/kg dry basis");
    assert!((relay - steady).abs() < 0.02, "relay {relay}, steady {steady}");
}
