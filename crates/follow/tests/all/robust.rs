//! A wrong tare, a probe in the air, a dry sock: named, and the estimate stays where it was.

use fallrate_follow::{Measured, Place, Reading, Suspect};

use crate::support::{apple, batch, weights};

/// The end of a batch moves by less than this where a gross mistake is added to sound readings, in widths of its own band.
const DRAGGED: f64 = 0.4;

fn spoiled(readings: &[Reading], tray: u32, by: f64) -> Vec<Reading> {
    let one = |r: &Reading| match r.measured {
        Measured::TrayGross { tray: t, .. } if t == tray => Reading { value: r.value + by, ..*r },
        _ => *r,
    };
    readings.iter().map(one).collect()
}

#[test]
fn identity_a_wrong_tare_is_named_and_does_not_drag() {
    let b = apple();
    for (seed, tray, by, suspect) in [
        (31, 4, 0.3, Suspect::TareOrTray),
        (32, 11, -0.35, Suspect::TareOrTray),
        (33, 17, 1.9 + 0.3 * 0.36, Suspect::TareNotTaken),
    ] {
        let f = batch(seed);
        let sound = weights(&f, 0.0);
        let without: Vec<Reading> = sound
            .iter()
            .filter(|r| !matches!(r.measured, Measured::TrayGross { tray: t, .. } if t == tray))
            .copied()
            .collect();
        let good = b.update(&f.course, &without);
        let bad = b.update(&f.course, &spoiled(&sound, tray, by));
        let r = good.end.power_off_s;
        let moved = (bad.end.power_off_s.middle - r.middle) / (r.high - r.low);
        assert!(moved.abs() < DRAGGED, "seed {seed}: moved by {moved} of its band");
        for x in
            sound.iter().filter(|r| matches!(r.measured, Measured::TrayGross { tray: t, .. } if t == tray))
        {
            let found = bad.misfits.iter().find(|m| m.id == x.id);
            let found = found.unwrap_or_else(|| panic!("seed {seed}: {x:?} is not named"));
            assert_eq!(found.suspect, suspect, "seed {seed}: {found:?}");
            assert!((found.by - by).abs() < 0.15, "{found:?}");
        }
        let others = bad.misfits.iter().filter(|m| without.iter().any(|r| r.id == m.id)).count();
        assert_eq!(others, 0, "seed {seed}: {:?}", bad.misfits);
    }
}

#[test]
fn identity_sound_weights_are_not_called_wrong() {
    let b = apple();
    let mut named = 0;
    for seed in 41..47 {
        let f = batch(seed);
        let u = b.update(&f.course, &weights(&f, 0.0));
        named += u.misfits.len();
    }
    assert!(named <= 1, "{named} of 36 sound weights");
}

#[test]
fn identity_a_probe_in_the_air_and_a_dry_sock_are_named_and_do_not_drag() {
    let b = apple();
    let f = batch(51);
    let core = |r: &Reading| matches!(r.measured, Measured::Core(_));
    let good = b.update(&f.course, &weights(&f, 0.0));
    let mut spoiled: Vec<Reading> = f.readings.iter().filter(|r| !core(r)).copied().collect();
    let air: Vec<Reading> =
        f.readings.iter().filter(|r| r.measured == Measured::AirDryBulb).copied().collect();
    spoiled.retain(|r| r.measured != Measured::WetBulb);
    for (k, r) in air.iter().enumerate() {
        // The core probe lies in the air from the start; the sock has run dry.
        let id = 10_000 + k as u64;
        spoiled.push(Reading { id, measured: Measured::Core(Place::Coldest), instrument: 77, ..*r });
        spoiled.push(Reading { id: id + 10_000, measured: Measured::WetBulb, instrument: 78, ..*r });
    }
    let bad = b.update(&f.course, &spoiled);
    let r = good.end.power_off_s;
    let moved = (bad.end.power_off_s.middle - r.middle) / (r.high - r.low);
    assert!(moved.abs() < DRAGGED, "moved by {moved} of its band");
    let count = |s: Suspect| bad.misfits.iter().filter(|m| m.suspect == s).count();
    assert!(count(Suspect::NotInProduct) >= 3, "{:?}", bad.misfits);
    assert!(count(Suspect::SockDry) >= 10, "{:?}", bad.misfits);
}
