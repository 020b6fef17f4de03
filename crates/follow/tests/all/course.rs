//! What was done and when: stages, settings, interruptions, the countdown.

use fallrate_follow::{Course, Deed, Done, FollowError, Interrupted, Unconfirmed};
use fallrate_schedule::{InterruptionKind, VentSetting};

use crate::support::apple;

fn done(at_s: f64, deed: Deed) -> Done {
    Done { at_s, deed }
}

fn course(now_s: f64, done: Vec<Done>) -> Course {
    Course { now_s, done, interrupted: Vec::new(), unconfirmed: Unconfirmed::NotDone }
}

#[test]
fn limit_confirmed_at_the_plans_own_times_it_is_the_plan() {
    let b = apple();
    let vent_s = b.plan.run.stage_ends[0].sample.elapsed_s;
    let now_s = 2.0 * 3600.0;
    let by_plan = b.update(&Course::by_plan(now_s), &[]);
    let confirmed =
        b.update(&course(now_s, vec![done(0.0, Deed::Stage(0)), done(vent_s, Deed::Stage(1))]), &[]);
    let (a, c) = (by_plan.end.power_off_s, confirmed.end.power_off_s);
    assert!((a.middle / c.middle - 1.0).abs() < 0.01, "{a:?} {c:?}");
    assert_eq!((by_plan.now.stage, confirmed.now.stage), (1, 1));
}

#[test]
fn identity_what_nobody_confirmed_has_not_happened() {
    let b = apple();
    let now_s = 3.0 * 3600.0;
    let shut = b.update(&course(now_s, vec![done(0.0, Deed::Stage(0))]), &[]);
    let by_plan = b.update(&Course::by_plan(now_s), &[]);
    assert_eq!(shut.now.stage, 0);
    assert!(shut.now.wet_bulb_c.middle > by_plan.now.wet_bulb_c.middle + 3.0, "the vent is still shut");
    assert!(shut.end.power_off_s.middle > by_plan.end.power_off_s.middle + 900.0);
    // The next stage's turn has come: it begins now.
    let wide = b.update(
        &course(
            now_s,
            vec![done(0.0, Deed::Stage(0)), done(600.0, Deed::Vent(VentSetting::Mark("full".to_owned())))],
        ),
        &[],
    );
    assert!(wide.now.wet_bulb_c.middle < by_plan.now.wet_bulb_c.middle - 2.0);
}

#[test]
fn identity_a_power_cut_makes_it_later_by_about_its_length() {
    let b = apple();
    let now_s = 4.0 * 3600.0;
    let plain = b.update(&Course::by_plan(now_s), &[]);
    let mut cut = Course::by_plan(now_s);
    cut.interrupted.push(Interrupted {
        kind: InterruptionKind::PowerOff,
        from_s: 2.0 * 3600.0,
        until_s: Some(3.0 * 3600.0),
    });
    let with = b.update(&cut, &[]);
    let later = with.end.power_off_s.middle - plain.end.power_off_s.middle;
    assert!((1200.0..5400.0).contains(&later), "{later}");
    assert!(with.now.mean_dry_basis.middle > plain.now.mean_dry_basis.middle);
    // One that still lasts counts up to now.
    cut.interrupted[0].until_s = None;
    let lasting = b.update(&cut, &[]);
    assert!(lasting.end.power_off_s.middle > with.end.power_off_s.middle + 1800.0);
    assert!(lasting.now.chamber_c.middle < with.now.chamber_c.middle - 10.0);
}

#[test]
fn identity_the_timer_for_the_rest_is_the_plans_less_what_has_run() {
    let b = apple();
    let now_s = 3.0 * 3600.0 + 100.0;
    let u = b.update(&Course::by_plan(now_s), &[]);
    let step = b.plan.assembled.setup.dial.step_s;
    let steps = u.timer.dial_s / step;
    assert!((steps - steps.round()).abs() < 1e-6 && steps > 0.0, "{steps} steps");
    let off = now_s + u.timer.dial_s;
    assert!((off - u.timer.advice.dial_s).abs() < 1e-6);
    assert!((off / b.plan.timer.dial_s - 1.0).abs() < 0.06, "{off} {}", b.plan.timer.dial_s);
}

#[test]
fn identity_a_countdown_that_runs_is_followed_to_its_end_and_one_run_down_has_cut_the_power() {
    let b = apple();
    let now_s = 3.0 * 3600.0;
    let mut dialled = Course::by_plan(now_s);
    dialled.done.push(done(0.0, Deed::Dialled { dial_s: 0.5 * b.expected_s() }));
    let u = b.update(&dialled, &[]);
    let to = u.as_dialled.unwrap();
    assert_eq!(to.power_off_s, 0.5 * b.expected_s());
    let target = b.plan.assembled.setup.target.moisture_dry_basis;
    assert!(to.too_wet > 0.9 && to.moisture_dry_basis.middle > 1.5 * target, "{to:?}");
    dialled.done[0].deed = Deed::Dialled { dial_s: 3600.0 };
    let stopped = b.update(&dialled, &[]);
    assert!(stopped.as_dialled.is_none());
    assert!(stopped.now.chamber_c.middle < 45.0, "{:?}", stopped.now.chamber_c);
}

#[test]
fn refuse_courses_that_cannot_be() {
    let b = apple();
    let bad = [
        course(-1.0, vec![]),
        course(3600.0, vec![done(10.0, Deed::Stage(7))]),
        course(3600.0, vec![done(100.0, Deed::Stage(0)), done(50.0, Deed::Stage(1))]),
        course(3600.0, vec![done(5000.0, Deed::Stage(1))]),
        course(3600.0, vec![done(50.0, Deed::Vent(VentSetting::Mark("ajar".to_owned())))]),
        course(3600.0, vec![done(50.0, Deed::SetPoint(Some(130.0)))]),
        course(3600.0, vec![done(50.0, Deed::Dialled { dial_s: f64::NAN })]),
        Course {
            interrupted: vec![Interrupted {
                kind: InterruptionKind::PowerOff,
                from_s: 2000.0,
                until_s: Some(1000.0),
            }],
            ..Course::by_plan(3600.0)
        },
    ];
    for c in bad {
        let r =
            fallrate_follow::update(b.case(), &c, &[], fallrate_follow::Effort { draws: 8 }, None, &|_| true);
        assert!(!matches!(r, Ok(_) | Err(FollowError::Cancelled)), "{c:?}");
    }
}
