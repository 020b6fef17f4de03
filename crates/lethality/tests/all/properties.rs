//! Properties that hold for any record.

use fallrate_lethality::Answer;
use fallrate_lethality::*;
use fallrate_series::Role;
use proptest::prelude::*;

use crate::integral::authority_criterion;
use crate::support::*;

const MINUTES: usize = 90;

/// A core that climbs to one of several levels and wobbles; humidity that mostly stays near 90 %.
fn core_values() -> impl Strategy<Value = Vec<f64>> {
    let wobble = proptest::collection::vec(-3.0f64..3.0, MINUTES + 1);
    (wobble, 128.0f64..162.0, 1usize..70).prop_map(|(w, level, rise)| {
        w.iter().enumerate().map(|(m, x)| c(if m < rise { 100.0 + x } else { level + x })).collect()
    })
}

fn rh_values() -> impl Strategy<Value = Vec<f64>> {
    (proptest::collection::vec(0.0f64..0.03, MINUTES + 1), 0usize..90, 0usize..90).prop_map(
        |(x, from, length)| {
            x.iter()
                .enumerate()
                .map(|(m, d)| if (from..from + length).contains(&m) { 0.85 + d } else { 0.90 + d })
                .collect()
        },
    )
}

fn keep() -> impl Strategy<Value = Vec<bool>> {
    (proptest::collection::vec(0u8..100, MINUTES + 1), 0u8..30)
        .prop_map(|(v, share)| v.iter().map(|x| *x >= share).collect())
}

fn points(values: &[f64], keep: &[bool]) -> Vec<(f64, f64)> {
    values
        .iter()
        .zip(keep)
        .enumerate()
        .filter(|(_, (_, k))| **k)
        .map(|(m, (v, _))| (m as f64 * 60.0, *v))
        .collect()
}

fn lab(core_c: &[(f64, f64)], rh: &[(f64, f64)], steam: &[(f64, f64)], options: &[OptionId]) -> Lab {
    let all: Vec<_> = (0..=MINUTES).map(|m| (m as f64 * 60.0, c(150.0))).collect();
    let mut lab = Lab::new(options)
        .with(core("coldest"), 0.2, core_c)
        .with(Role::RelativeHumidity, 0.0, rh)
        .with(Role::SteamOn, 0.0, steam)
        .with(Role::AirDryBulb, 0.0, &all);
    lab.case.facts.record_ends = Some(at_min(MINUTES as f64));
    lab
}

const CLAIMS: [&[OptionId]; 6] = [
    &[OptionId::Rh90Share2021],
    &[OptionId::Rh90Throughout2021],
    &[OptionId::Steam2021, OptionId::Rh90Share2021],
    &[OptionId::JerkyD],
    &[OptionId::JerkyC, OptionId::JerkyE],
    &[OptionId::JerkyA],
];

proptest! {
    #![proptest_config(ProptestConfig::with_cases(128))]

    /// proves: TOOL-01
    #[test]
    fn identity_no_filling_of_gaps_changes_a_definite_verdict(
        core_c in core_values(), rh in rh_values(), steam in proptest::collection::vec(0u8..2, MINUTES + 1),
        keep_core in keep(), keep_rh in keep(), keep_steam in keep(), claim in 0usize..6, drying in 0usize..120,
    ) {
        let steam: Vec<f64> = steam.iter().map(|s| f64::from(*s)).collect();
        let whole = vec![true; MINUTES + 1];
        let with = |a: &[bool], b: &[bool], s: &[bool]| {
            let mut l = lab(&points(&core_c, a), &points(&rh, b), &points(&steam, s), CLAIMS[claim]);
            if drying <= MINUTES {
                l.case.facts.drying_began = Some(at_min(drying as f64));
            }
            l.answer()
        };
        let gappy = with(&keep_core, &keep_rh, &keep_steam);
        let half = with(&whole, &keep_rh, &keep_steam);
        let full = with(&whole, &whole, &whole);
        if gappy != Answer::CannotBeJudged {
            prop_assert_eq!(half, gappy);
            prop_assert_eq!(full, gappy);
        }
        if half != Answer::CannotBeJudged {
            prop_assert_eq!(full, half);
        }
    }

    /// proves: TOOL-06
    #[test]
    fn identity_more_readings_on_the_same_line_only_raise_the_credit(core_c in core_values(), parts in 2usize..6) {
        let coarse = points(&core_c, &[true; MINUTES + 1]);
        let mut fine = Vec::new();
        for (a, b) in coarse.iter().zip(coarse.iter().skip(1)) {
            for k in 0..parts {
                let share = k as f64 / parts as f64;
                fine.push((a.0 + (b.0 - a.0) * share, a.1 + (b.1 - a.1) * share));
            }
        }
        fine.push(*coarse.last().unwrap());
        let rh: Vec<_> = coarse.iter().map(|p| (p.0, 0.95)).collect();
        let (a, b) = (lab(&coarse, &rh, &[], CLAIMS[1]), lab(&fine, &rh, &[], CLAIMS[1]));
        let (ja, jb) = (a.judge(), b.judge());
        for (ra, rb) in ja.positions[0].rows.iter().zip(&jb.positions[0].rows) {
            prop_assert!(rb.shown_s >= ra.shown_s - 1e-6, "{} {} {}", ra.row_f, ra.shown_s, rb.shown_s);
            prop_assert!((ra.linear_s - rb.linear_s).abs() < 1e-4 || rb.linear_s >= rb.shown_s);
        }
        prop_assert!(jb.answer >= ja.answer);
        let criterion = authority_criterion(5.0);
        let of = |l: &Lab| judge_by_authority(&l.log, &l.case, &criterion).unwrap().positions[0].clone();
        let (pa, pb) = (of(&a), of(&b));
        prop_assert!(pb.credited_log10 >= pa.credited_log10 - 1e-9);
        prop_assert!((pb.exact_log10 - pa.exact_log10).abs() <= 1e-6 * pa.exact_log10.max(1.0));
    }

    #[test]
    fn identity_lethality_never_falls(core_c in core_values(), cut in 1usize..MINUTES) {
        let all = points(&core_c, &[true; MINUTES + 1]);
        let k = authority_criterion(5.0).kinetics;
        let part = log_reduction_exact(&all[..=cut], &k).unwrap().log10();
        let whole = log_reduction_exact(&all, &k).unwrap().log10();
        prop_assert!(whole >= part && part >= 0.0);
        let rh: Vec<_> = all.iter().map(|p| (p.0, 0.95)).collect();
        let mut early = lab(&all, &rh, &[], CLAIMS[1]);
        early.case.facts.record_ends = Some(at_min(cut as f64));
        let (early, late) = (early.judge(), lab(&all, &rh, &[], CLAIMS[1]).judge());
        for (a, b) in early.positions[0].rows.iter().zip(&late.positions[0].rows) {
            prop_assert!(b.shown_s >= a.shown_s);
        }
        if early.answer == Answer::Met {
            prop_assert_eq!(late.answer, Answer::Met);
        }
    }

    #[test]
    fn identity_a_colder_or_less_certain_record_never_does_better(core_c in core_values(), by in 0.0f64..3.0) {
        let all = points(&core_c, &[true; MINUTES + 1]);
        let rh: Vec<_> = all.iter().map(|p| (p.0, 0.95)).collect();
        let warm = lab(&all, &rh, &[], CLAIMS[1]).judge();
        let colder: Vec<_> = all.iter().map(|p| (p.0, p.1 - by)).collect();
        prop_assert!(lab(&colder, &rh, &[], CLAIMS[1]).judge().answer <= warm.answer);
        // The margin is what it says: shifted down by it, some row is still satisfied; a little more, none is.
        let m = warm.positions[0].temperature_margin_k.unwrap();
        let shifted = |k: f64| {
            let p: Vec<_> = all.iter().map(|p| (p.0, p.1 - k)).collect();
            let j = lab(&p, &rh, &[], CLAIMS[1]).judge();
            j.positions[0].rows.iter().any(|r| if r.need_s == 0.0 { r.two_readings } else { r.shown_s >= r.need_s - 1e-6 })
        };
        prop_assert!(shifted(m - 1e-6));
        prop_assert!(!shifted(m + 0.0201));
    }

    /// Strong Kleene logic: "and" and "or" agree with every completion of the unknowns.
    #[test]
    fn identity_three_valued_logic(v in proptest::collection::vec(0u8..3, 1..6)) {
        let a = |x: &u8| match x { 0 => Answer::NotMet, 1 => Answer::CannotBeJudged, _ => Answer::Met };
        let (and, or) = (Answer::all(v.iter().map(a)).unwrap(), Answer::any(v.iter().map(a)).unwrap());
        let mut seen = (Vec::new(), Vec::new());
        for bits in 0..1u32 << v.len() {
            let filled: Vec<bool> = v.iter().enumerate().map(|(i, x)| match x { 0 => false, 2 => true, _ => bits >> i & 1 == 1 }).collect();
            seen.0.push(filled.iter().all(|b| *b));
            seen.1.push(filled.iter().any(|b| *b));
        }
        for (answer, values) in [(and, seen.0), (or, seen.1)] {
            let wanted = match (values.iter().all(|b| *b), values.iter().any(|b| *b)) {
                (true, _) => Answer::Met,
                (_, false) => Answer::NotMet,
                _ => Answer::CannotBeJudged,
            };
            prop_assert_eq!(answer, wanted);
        }
    }
}
