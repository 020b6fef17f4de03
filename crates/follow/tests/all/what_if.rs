//! What if: every change moves what it must, the way it must.

use fallrate_follow::{Course, FollowError, WhatIf, what_if};
use fallrate_schedule::{InterruptionKind, VentSetting};

use crate::support::{apple, batch, beef, weights};

#[test]
fn identity_changes_move_end_energy_and_moisture_the_way_they_must() {
    let b = apple();
    let f = batch(61);
    let u = b.update(&f.course, &weights(&f, 0.0));
    let now_s = f.course.now_s;
    let ask = |w: WhatIf| what_if(b.case(), &f.course, &u, &w, &|_| true).unwrap();
    let same = ask(WhatIf::Vent(VentSetting::Mark("quarter".to_owned())));
    assert!(same.end_later_s.middle.abs() < 120.0 && same.energy_more_kwh.middle.abs() < 0.1, "{same:?}");
    let shut = ask(WhatIf::Vent(VentSetting::Mark("shut".to_owned())));
    assert!(shut.end_later_s.low > 600.0, "{:?}", shut.end_later_s);
    let hotter = ask(WhatIf::SetPoint(Some(70.0)));
    assert!(hotter.end_later_s.high < -900.0, "{:?}", hotter.end_later_s);
    let open = ask(WhatIf::Vent(VentSetting::Mark("full".to_owned())));
    assert!(open.energy_more_kwh.middle > 0.0 || open.end_later_s.middle < 0.0, "{open:?}");
    let stop = ask(WhatIf::StopNow);
    assert_eq!(stop.otherwise.power_off_s.middle, now_s);
    assert!(stop.otherwise.too_wet > 0.99 && stop.as_it_is.too_wet < 0.3);
    assert!(stop.otherwise.mean_dry_basis.middle > stop.as_it_is.mean_dry_basis.middle + 0.3);
    assert!(stop.energy_more_kwh.middle < -1.0);
    let cut = |from_s: f64, until_s: f64| {
        ask(WhatIf::Interruption { kind: InterruptionKind::PowerOff, from_s, until_s }).end_later_s.middle
    };
    let (short, long) = (cut(now_s + 600.0, now_s + 2400.0), cut(now_s + 600.0, now_s + 6000.0));
    assert!((600.0..3000.0).contains(&short) && long > short + 1800.0, "{short} {long}");
    let past = cut(now_s - 6000.0, now_s - 600.0);
    assert!((1800.0..9000.0).contains(&past), "{past}");
    let bad = what_if(
        b.case(),
        &f.course,
        &u,
        &WhatIf::Interruption { kind: InterruptionKind::PowerOff, from_s: 100.0, until_s: 50.0 },
        &|_| true,
    );
    assert!(matches!(bad, Err(FollowError::Time { .. })));
}

#[test]
fn identity_the_kill_forecast_follows_the_set_point_and_a_cut() {
    let b = beef();
    let course = Course::by_plan(1200.0);
    let u = b.update(&course, &[]);
    assert!(!u.kill.is_empty() && u.kill.len() == b.plan.kill.len());
    assert!(u.end.unloaded_s >= u.end.power_off_s.middle);
    let ask = |w: WhatIf| what_if(b.case(), &course, &u, &w, &|_| true).unwrap();
    let cold = ask(WhatIf::SetPoint(Some(45.0)));
    let shown_s = |k: &[fallrate_plan::kill::KillForecast]| -> f64 {
        k.iter().filter_map(|k| k.verdict.row()).map(|r| r.shown_s).fold(0.0, f64::max)
    };
    // The plan's own forecast of the same stages, and as followed with nothing read.
    let planned = shown_s(&b.plan.kill);
    assert!(planned > 1800.0, "{:?}", b.plan.kill);
    assert!(shown_s(&cold.as_it_is.kill) > 0.5 * planned, "{:?}", cold.as_it_is.kill);
    assert_eq!(shown_s(&cold.otherwise.kill), 0.0, "45 degC kills nothing: {:?}", cold.otherwise.kill);
    let next = ask(WhatIf::NextStageNow);
    assert_eq!(next.otherwise.kill.len(), u.kill.len());
}
