//! What the instruments say: their lag, their errors, their steps, and what is read by hand.

use fallrate_rehearse::{Act, Along, Sensed, Sensor, VirtualCabinet, position_name};
use fallrate_series::{Provenance, Role};

use crate::support::{apple, as_known, go, readings, scenario};

#[test]
fn identity_a_perfect_sensor_says_the_truth_and_a_lagging_one_the_filtered_truth() {
    let (plan, cabinet) = apple();
    let mut s = as_known(1);
    let perfect = Sensor {
        tolerance: 0.0,
        noise_sd: 0.0,
        resolution: 0.0,
        every_s: 10.0,
        ..Sensor::thermometer("perfect", Sensed::AirDryBulb, 0.0)
    };
    s.sensors = vec![perfect.clone(), Sensor { name: "slow".to_owned(), lag_s: 300.0, ..perfect }];
    let start = s.start;
    let mut v = VirtualCabinet::new(&plan, &cabinet, s).unwrap();
    v.start_as_planned().unwrap();
    go(&mut v, 3600.0);
    let log = v.log().unwrap();
    let of = |name: &str| {
        let c = log.channels.iter().find(|c| c.name == name).unwrap();
        c.readings().iter().map(|r| (r.at.seconds_since(start), r.value)).collect::<Vec<_>>()
    };
    let (fast, slow) = (of("perfect"), of("slow"));
    assert_eq!(fast.len(), 361);
    for state in v.true_states() {
        let read = fast.iter().find(|r| r.0 == state.elapsed_s).unwrap().1;
        assert_eq!(read, state.chamber_c);
    }
    // The first-order lag solved by hand on steps of 10 s.
    let mut y = fast[0].1;
    for (f, s) in fast.iter().zip(&slow).skip(1) {
        y += (f.1 - y) * (1.0 - (-10.0_f64 / 300.0).exp());
        assert!((s.1 - y).abs() < 1e-9, "{} {y}", s.1);
    }
    assert!((fast[60].1 - slow[60].1) > 5.0, "it lags while the air warms");
}

#[test]
fn identity_errors_of_instruments_are_as_wide_as_they_say() {
    let (plan, cabinet) = apple();
    let mut biases = Vec::new();
    for seed in 0..12 {
        let mut s = as_known(seed);
        let exact = Sensor {
            tolerance: 0.0,
            noise_sd: 0.0,
            resolution: 0.0,
            every_s: 10.0,
            ..Sensor::thermometer("exact", Sensed::AirDryBulb, 0.0)
        };
        s.sensors = vec![
            exact.clone(),
            Sensor { name: "rough".to_owned(), tolerance: 2.0, noise_sd: 0.3, resolution: 0.1, ..exact },
        ];
        let mut v = VirtualCabinet::new(&plan, &cabinet, s).unwrap();
        go(&mut v, 3000.0);
        let log = v.log().unwrap();
        let errors: Vec<f64> = log.channels[0]
            .readings()
            .iter()
            .zip(log.channels[1].readings())
            .map(|(a, b)| b.value - a.value)
            .collect();
        let n = errors.len() as f64;
        let mean = errors.iter().sum::<f64>() / n;
        let sd = (errors.iter().map(|e| (e - mean).powi(2)).sum::<f64>() / (n - 1.0)).sqrt();
        // 301 readings: the standard deviation is known to 4 %, four of them allowed; rounding adds 0.03.
        assert!((sd - 0.3014).abs() < 0.05, "{sd}");
        assert!(mean.abs() < 2.0 + 4.0 * 0.3 / n.sqrt(), "{mean}");
        let steps = log.channels[1].readings().iter().map(|r| r.value / 0.1);
        assert!(steps.clone().all(|s| (s - s.round()).abs() < 1e-6));
        biases.push(mean);
    }
    let widest = biases.iter().map(|b| b.abs()).fold(0.0, f64::max);
    assert!(widest > 1.0, "constant errors are spread over the tolerance: {biases:?}");
}

#[test]
fn identity_everything_that_is_read_is_simulated_and_by_hand_comes_when_it_is_done() {
    let (plan, cabinet) = apple();
    let s = scenario(3);
    let start = s.start;
    let mut v = VirtualCabinet::new(&plan, &cabinet, s).unwrap();
    v.start_as_planned().unwrap();
    v.act(Act::Weigh { tray: 5 }).unwrap();
    go(&mut v, 5000.0);
    let weighed_s = v.act(Act::Weigh { tray: 5 }).unwrap();
    let read_s = v.act(Act::ReadCore { tray: 9, along: Along::Middle }).unwrap();
    assert!(read_s >= weighed_s + 45.0, "one pair of hands");
    go(&mut v, 5600.0);
    let log = v.log().unwrap();
    assert!(log.channels.iter().all(|c| Provenance::from(c.provenance) == Provenance::Simulated));
    let weights = readings(&log, start, |r| *r == Role::TrayWeight { tray: 5 });
    assert_eq!(weights.len(), 2);
    let truth = v.truth().trays[4];
    let fresh = 4.0 * 0.72 * 0.5 * truth.load + plan.assembled.tare_kg;
    assert!((weights[0].1 - fresh).abs() < 0.02, "{} {fresh}", weights[0].1);
    assert_eq!(weights[1].0, weighed_s);
    let x0 = {
        // Solids of this lot: the plan's with the hidden difference.
        let setup = &plan.assembled.setup;
        let solids = setup.spreads.iter().zip(&v.truth().inputs).find_map(|(s, (input, z))| {
            (*input == fallrate_plan::spread::Input::Solids).then(|| s.value + s.sd * z)
        });
        1.0 / solids.unwrap() - 1.0
    };
    let state = v.true_states().iter().find(|s| s.elapsed_s == 4980.0).unwrap();
    let net = truth.load * 4.0 * 0.36 / (1.0 + x0) * (1.0 + state.trays_dry_basis[4]);
    assert!((weights[1].1 - plan.assembled.tare_kg - net).abs() < 0.02, "{} {net}", weights[1].1);
    let position = position_name(9, Along::Middle);
    let core = readings(&log, start, |r| r.position() == Some(position.as_str()));
    assert_eq!(core.len(), 1);
    assert!((30.0..60.0).contains(&core[0].1), "{}", core[0].1);
    let late = v.log_after(5000.0).unwrap();
    assert_eq!(late.channels.len(), log.channels.len());
    assert_eq!(readings(&late, start, |r| *r == Role::TrayWeight { tray: 5 }).len(), 0);
    assert!(readings(&late, start, |r| *r == Role::AirDryBulb).iter().all(|r| r.0 > 5000.0));
}

#[test]
fn identity_power_read_is_the_energy_drawn() {
    let (plan, cabinet) = apple();
    let mut s = as_known(2);
    s.sensors = vec![Sensor {
        tolerance: 0.0,
        noise_sd: 0.0,
        resolution: 0.0,
        ..Sensor::thermometer("meter", Sensed::Power, 0.0)
    }];
    let start = s.start;
    let mut v = VirtualCabinet::new(&plan, &cabinet, s).unwrap();
    v.start_as_planned().unwrap();
    go(&mut v, 7200.0);
    let log = v.log().unwrap();
    let joules: f64 = readings(&log, start, |r| *r == Role::Power).iter().map(|r| r.1 * 60.0).sum();
    let drawn = v.true_states().last().unwrap().energy_j;
    assert!((joules / drawn - 1.0).abs() < 1e-9, "{joules} {drawn}");
}
