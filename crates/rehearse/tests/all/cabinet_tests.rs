//! Tests of an empty cabinet: what they must show by physics.

use fallrate_plan::request::PlanRequest;
use fallrate_plan::{Assembled, assemble};
use fallrate_rehearse::{CabinetTest, Scenario, TestRun, cabinet_test};
use fallrate_schedule::VentSetting;
use fallrate_series::Role;

use crate::support::{APPLE, as_known, cabinet, readings, scenario, text};

fn assembled() -> Assembled {
    let product =
        fallrate_foods::Product::parse("apple", &text("data/products/apple.toml")).expect("a product");
    let request = PlanRequest::parse("test.toml", APPLE).expect("a request");
    assemble(&request, &product, &cabinet("north")).expect("an assembly")
}

fn tested(scenario: &Scenario, test: &CabinetTest) -> TestRun {
    cabinet_test(&assembled(), &cabinet("north"), scenario, test, &mut |_| true).expect("a run")
}

fn of(run: &TestRun, s: &Scenario, role: &Role) -> Vec<(f64, f64)> {
    readings(&run.log, s.start, |r| r == role)
}

#[test]
fn identity_held_at_its_set_point_the_heater_makes_up_for_the_losses() {
    let s = as_known(1);
    let test = CabinetTest::HeatUpAndCoolDown { set_point_c: 60.0, heat_s: 4.0 * 3600.0, cool_s: 7200.0 };
    let run = tested(&s, &test);
    let power = of(&run, &s, &Role::Power);
    let late: Vec<f64> =
        power.iter().filter(|(t, _)| (12_600.0..14_400.0).contains(t)).map(|r| r.1).collect();
    let mean = late.iter().sum::<f64>() / late.len() as f64;
    // Shell 22 W/K and leakage 0.004 kg/s x 1006 J/(kg K) over 40 K, the shell a little cooler than the air.
    let losses = (22.0 + 0.004 * 1006.0) * 40.0;
    assert!((mean / losses - 1.0).abs() < 0.15, "{mean} W {losses} W");
    let air = of(&run, &s, &Role::AirDryBulb);
    let at = |t: f64| air.iter().find(|r| r.0 >= t).map_or(f64::NAN, |r| r.1);
    assert!((at(14_000.0) - 60.0).abs() < 3.0 && at(21_000.0) < 45.0, "{} {}", at(14_000.0), at(21_000.0));
    // The meter counts what the power channel says.
    let counted: f64 = power.iter().skip(1).map(|r| r.1 * 60.0).sum::<f64>() / 3.6e6;
    let meter = run.meter_kwh.last().expect("a reading").1;
    assert!((counted - meter).abs() < 0.03, "{counted} {meter}");
}

#[test]
fn identity_the_wider_the_vent_the_faster_the_humidity_falls() {
    let s = as_known(2);
    let after = |mark: &str| {
        let vent = VentSetting::Mark(mark.to_owned());
        let (set_point_c, warm_s, water_kg, decay_s) = (50.0, 3600.0, 0.4, 1200.0);
        let run = tested(&s, &CabinetTest::HumidityDecay { set_point_c, warm_s, water_kg, vent, decay_s });
        let rh = of(&run, &s, &Role::RelativeHumidity);
        let at = |t: f64| rh.iter().find(|r| r.0 >= t).map_or(f64::NAN, |r| r.1);
        assert!(at(4200.0) > at(3500.0) + 0.1, "the water shows: {} {}", at(3500.0), at(4200.0));
        at(4500.0)
    };
    let rh = ["shut", "crack", "quarter", "half"].map(after);
    assert!(rh.windows(2).all(|w| w[0] > w[1] + 0.01), "{rh:?}");
}

#[test]
fn identity_wet_cloths_lose_what_their_air_takes() {
    let s = as_known(3);
    let vent = VentSetting::Mark("half".to_owned());
    let run = tested(&s, &CabinetTest::WetCloths { set_point_c: 50.0, vent, dry_s: 2400.0 });
    let lost: Vec<f64> = (1..=20)
        .map(|tray| {
            let w = of(&run, &s, &Role::TrayWeight { tray });
            assert_eq!(w.len(), 2, "tray {tray}");
            w[0].1 - w[1].1
        })
        .collect();
    // The lower trays (14 to 20) have 0.86 of the mean air, the upper ones 1.08.
    let mean = |from: usize, to: usize| lost[from..to].iter().sum::<f64>() / (to - from) as f64;
    assert!(lost.iter().all(|l| *l > 0.05), "{lost:?}");
    assert!(mean(13, 20) < 0.97 * mean(0, 7), "{lost:?}");
}

#[test]
fn identity_one_seed_is_one_cabinet_and_readings_are_the_same_bytes() {
    let test = CabinetTest::HeatUpAndCoolDown { set_point_c: 55.0, heat_s: 1800.0, cool_s: 600.0 };
    let (first, again) = (tested(&scenario(9), &test), tested(&scenario(9), &test));
    assert_eq!(first.log, again.log);
    let mut other_lot = scenario(10);
    other_lot.cabinet_seed = Some(9);
    let other = tested(&other_lot, &test);
    use fallrate_plan::spread::Input;
    let of = |run: &TestRun, input: Input| run.truth.inputs.iter().find(|i| i.0 == input).map(|i| i.1);
    for input in [Input::HeaterPower, Input::Leakage, Input::ShellLoss, Input::VentFlow] {
        assert_eq!(of(&first, input), of(&other, input));
    }
    assert_ne!(of(&first, Input::RoomTemperature), of(&other, Input::RoomTemperature));
}

#[test]
fn refuse_tests_that_cannot_be() {
    let bad = [
        CabinetTest::HeatUpAndCoolDown { set_point_c: 160.0, heat_s: 1800.0, cool_s: 600.0 },
        CabinetTest::HeatUpAndCoolDown { set_point_c: 50.0, heat_s: f64::NAN, cool_s: 600.0 },
        CabinetTest::WetCloths {
            set_point_c: 50.0,
            vent: VentSetting::Mark("ajar".to_owned()),
            dry_s: 600.0,
        },
        CabinetTest::HumidityDecay {
            set_point_c: 50.0,
            warm_s: 600.0,
            water_kg: -1.0,
            vent: VentSetting::Opening(0.5),
            decay_s: 600.0,
        },
    ];
    for test in bad {
        let run = cabinet_test(&assembled(), &cabinet("north"), &scenario(1), &test, &mut |_| true);
        assert!(run.is_err(), "{test:?}");
    }
}
