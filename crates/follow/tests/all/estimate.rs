//! The estimate: nothing read is the plan, what is read is learnt from, and always the same.

use fallrate_follow::{Course, Earlier, Effort, FollowError, Measured, Reading, update};

use crate::support::{Followed, apple, batch, weights};

#[test]
fn limit_with_nothing_read_the_forecast_is_the_plans() {
    let b = apple();
    let u = b.update(&Course::by_plan(0.0), &[]);
    let (plan, own) = (b.earlier().power_off_s, u.end.power_off_s);
    // Two samples of 64 draws of one distribution: their percentiles agree to the accuracy of either.
    assert!((own.middle / plan.middle - 1.0).abs() < 0.05, "{own:?} {plan:?}");
    assert!((own.low / plan.low - 1.0).abs() < 0.10, "{own:?} {plan:?}");
    assert!((own.high / plan.high - 1.0).abs() < 0.15, "{own:?} {plan:?}");
    assert!(
        u.inputs.iter().all(|i| i.mean_sds.abs() < 0.35 && (0.7..1.3).contains(&i.sd_sds)),
        "{:?}",
        u.inputs
    );
    assert!(u.misfits.is_empty() && u.readings.is_empty());
    assert!(u.change.unwrap().by_reading.is_none());
    let start = b.plan.assembled.setup.batch.material.moisture_initial_dry_basis;
    assert!((u.now.mean_dry_basis.middle / start - 1.0).abs() < 0.05);
}

#[test]
fn val_three_weights_halve_the_error_of_the_rest_on_virtual_batches() {
    let b = apple();
    let (mut plan, mut told, mut inside, mut width) = (vec![], vec![], 0, vec![]);
    for seed in 1..=8 {
        let f = batch(seed);
        let u = b.update(&f.course, &weights(&f, 0.4 * b.expected_s()));
        assert_eq!(u.readings.len(), 3);
        let rest = f.end_s - f.course.now_s;
        plan.push((b.expected_s() - f.course.now_s - rest).abs());
        told.push((u.end.power_off_s.middle - f.course.now_s - rest).abs());
        let r = u.end.power_off_s;
        inside += usize::from((r.low..=r.high).contains(&f.end_s));
        width.push((r.high - r.low) / (b.earlier().power_off_s.high - b.earlier().power_off_s.low));
    }
    let median = |v: &mut Vec<f64>| {
        v.sort_by(f64::total_cmp);
        0.5 * (v[3] + v[4])
    };
    let (before, after) = (median(&mut plan), median(&mut told));
    println!(
        "VALIDATION|follow|median error of the rest after three tray weights over that of the plan, 8 batches|the virtual cabinet's hidden truth|8|{:.3e}|share|5e-1|COMPUTED",
        after / before
    );
    assert!(after <= 0.5 * before, "{after} s after {before} s");
    // Eight batches say little of an 80 % band: fewer than four would happen once in a hundred.
    assert!(inside >= 4, "{inside} of 8 within the band");
    assert!(median(&mut width) < 0.6);
}

#[test]
fn identity_more_readings_narrow_the_band_and_the_change_is_named() {
    let b = apple();
    let f = batch(3);
    let quarter: Vec<Reading> =
        weights(&f, 0.0).into_iter().filter(|r| r.at_s < 0.4 * b.expected_s()).collect();
    assert_eq!(quarter.len(), 3);
    let first = b.update(&f.course, &quarter);
    let all = weights(&f, 0.0);
    let second =
        update(b.case(), &f.course, &all, Effort::default(), Some(&first.earlier()), &|_| true).unwrap();
    let width = |r: fallrate_follow::Range| r.high - r.low;
    assert!(width(second.end.power_off_s) < width(first.end.power_off_s));
    let change = second.change.clone().unwrap();
    assert!((change.band_ratio - width(second.end.power_off_s) / width(first.end.power_off_s)).abs() < 1e-9);
    assert_eq!(change.end_shift_s, second.end.power_off_s.middle - first.end.power_off_s.middle);
    let (id, shift) = change.by_reading.unwrap();
    assert!(all.iter().any(|r| r.id == id) && !quarter.iter().any(|r| r.id == id), "a new one is named");
    assert!(shift != 0.0 && change.through.is_some());
    // The linear account of one reading agrees with leaving it out and estimating anew.
    let without: Vec<Reading> = all.iter().filter(|r| r.id != id).copied().collect();
    let again = b.update(&f.course, &without);
    let real = second.end.power_off_s.middle - again.end.power_off_s.middle;
    assert!((shift - real).abs() < 0.35 * real.abs() + 600.0, "{shift} by the account, {real} in fact");
    // Nothing new: nothing is named.
    let third =
        update(b.case(), &f.course, &all, Effort::default(), Some(&second.earlier()), &|_| true).unwrap();
    assert_eq!(third.change.unwrap().by_reading, None);
}

#[test]
fn identity_the_state_now_is_the_truth_within_its_band() {
    let b = apple();
    let mut inside = 0;
    for seed in [21, 22, 23] {
        let f = batch(seed);
        let u = b.update(&f.course, &weights(&f, 0.0));
        assert!(u.now.driest_dry_basis.middle < u.now.mean_dry_basis.middle);
        assert!(u.now.mean_dry_basis.middle < u.now.wettest_dry_basis.middle);
        assert!(u.now.core_coldest_c.middle < u.now.chamber_c.middle);
        assert_eq!(u.now.stage, 1);
        for (g, tray) in crate::support::TRAYS.iter().enumerate() {
            let last = f
                .readings
                .iter()
                .rfind(|r| matches!(r.measured, Measured::TrayGross { tray: t, .. } if t == *tray));
            let net = last.unwrap().compared();
            let own = u.now.tray_net_kg[g];
            // A tray about its group: loads differ by 2.5 %.
            inside += usize::from(net > own.low * 0.96 && net < own.high * 1.04);
        }
    }
    assert!(inside >= 8, "{inside} of 9");
}

#[test]
fn identity_same_bytes_for_any_number_of_threads() {
    let b = apple();
    let f = batch(5);
    let run = |threads: usize| {
        let pool = rayon::ThreadPoolBuilder::new().num_threads(threads).build().unwrap();
        let u = pool.install(|| b.update(&f.course, &f.readings));
        format!("{:?} {:?} {:?} {:?} {:?}", u.end, u.now, u.inputs, u.readings, u.timer)
    };
    assert_eq!(run(1), run(3));
}

#[test]
fn identity_a_loggers_many_readings_are_used_as_few_and_agree() {
    let b = apple();
    let f: Followed = batch(2);
    assert!(f.readings.len() > 500, "{}", f.readings.len());
    let u = b.update(&f.course, &f.readings);
    let used = u.readings.iter().filter(|r| r.used).count();
    assert_eq!(u.readings.len(), f.readings.len());
    assert!(used < 120, "{used}");
    // Weights are few and are all used.
    for r in f.readings.iter().filter(|r| matches!(r.measured, Measured::TrayGross { .. })) {
        assert!(u.readings.iter().any(|x| x.id == r.id && x.used));
    }
    let off = u.misfits.len();
    assert!(off <= 2, "sound instruments: {:?}", u.misfits);
}

#[test]
fn refuse_what_cannot_be_read_or_done() {
    let b = apple();
    let course = Course::by_plan(3600.0);
    let good = Reading {
        id: 9,
        at_s: 1800.0,
        measured: Measured::TrayGross { tray: 4, tare_kg: 1.9 },
        value: 3.5,
        tolerance: None,
        instrument: 0,
    };
    let bad = [
        Reading { value: f64::NAN, ..good },
        Reading { value: -1.0, ..good },
        Reading { at_s: -5.0, ..good },
        Reading { at_s: 4000.0, ..good },
        Reading { measured: Measured::TrayGross { tray: 21, tare_kg: 1.9 }, ..good },
        Reading { measured: Measured::TrayGross { tray: 4, tare_kg: f64::INFINITY }, ..good },
        Reading { measured: Measured::RelativeHumidity, value: 45.0, ..good },
    ];
    for r in bad {
        let refused = update(b.case(), &course, &[r], Effort::default(), None, &|_| true);
        assert!(refused.is_err(), "{r:?}");
    }
    let cancelled = update(b.case(), &course, &[good], Effort::default(), None, &|_| false);
    assert!(matches!(cancelled, Err(FollowError::Cancelled)), "{:?}", cancelled.err());
    assert!(Earlier::of_plan(&b.plan.timer).is_some());
}
