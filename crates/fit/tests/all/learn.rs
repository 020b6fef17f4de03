//! Learning from closed batches: against plain integration, a bad batch, the ledger, honest bands.

use std::collections::BTreeMap;

use fallrate_fit::learn::{
    BatchEstimate, CoverageVerdict, GroupKind, HierarchyOptions, LearnFault, Ledger, LedgerAct, LibraryValue,
    PastForecast, Proposal, ProposalWarning, QuantityKey, Standing, coverage_report, propose,
};
use fallrate_fit::stats::Draws;
use fallrate_fit::{FitError, Scale};

fn key() -> QuantityKey {
    QuantityKey {
        product: Some("apple".to_owned()),
        cabinet: None,
        quantity: "diffusivity at 60 degC".to_owned(),
    }
}

fn batch(name: &str, value: f64, deviation: f64) -> BatchEstimate {
    BatchEstimate { batch: name.to_owned(), value, deviation, groups: Vec::new() }
}

fn run(belief: &LibraryValue, batches: &[BatchEstimate]) -> Proposal {
    propose(&key(), belief, belief, batches, &HierarchyOptions::default()).unwrap()
}

/// Means, errors, spreads and effects of four cases by integration over grids: within a tenth of the mean's standard deviation,
/// and a tenth of each standard deviation. (Laplace's approximation is no better than that where batches are few.)
#[test]
fn val_posterior_by_plain_integration() {
    let table = include_str!("../../../../reference/fit/batch_hierarchy.csv");
    let mut cases: BTreeMap<String, Vec<csv::StringRecord>> = BTreeMap::new();
    for row in csv::Reader::from_reader(table.as_bytes()).records() {
        let row = row.unwrap();
        cases.entry(row[0].to_owned()).or_default().push(row);
    }
    assert_eq!(cases.len(), 4);
    let (mut worst, mut worst_sd, mut count) = (0.0_f64, 0.0_f64, 0);
    for (name, rows) in &cases {
        let n = |r: &csv::StringRecord, i: usize| r[i].parse::<f64>().unwrap();
        let of = |what: &str| rows.iter().filter(|r| &r[1] == what).collect::<Vec<_>>();
        let (first, scales, truth) = (of("degrees_belief")[0], of("scales")[0], of("posterior")[0]);
        let belief = LibraryValue::belief(n(first, 3), n(first, 4), n(scales, 2), Scale::Linear);
        let options = HierarchyOptions {
            degrees_of_freedom: n(first, 2),
            spread_scale: n(scales, 2),
            group_scale: n(scales, 3),
        };
        let batches: Vec<BatchEstimate> = of("batch")
            .iter()
            .enumerate()
            .map(|(i, r)| BatchEstimate {
                groups: if r[5].is_empty() { vec![] } else { vec![(GroupKind::Season, r[5].to_owned())] },
                ..batch(&i.to_string(), n(r, 2), n(r, 3))
            })
            .collect();
        let found = propose(&key(), &belief, &belief, &batches, &options).unwrap();
        let (mean, deviation) = (n(truth, 2), n(truth, 3));
        let e = (found.new.value - mean).abs() / deviation;
        let s = (found.new.deviation / deviation - 1.0).abs();
        assert!(e < 0.1 && s < 0.1, "{name}: {:?} against {mean} {deviation}", found.new);
        assert!(
            (found.new.spread / n(truth, 4) - 1.0).abs() < 0.15,
            "{name}: {} {}",
            found.new.spread,
            n(truth, 4)
        );
        (worst, worst_sd, count) = (worst.max(e), worst_sd.max(s), count + 1);
        for r in of("effect") {
            let effect = found.effects.iter().find(|g| g.name == r[5]).unwrap();
            let e = (effect.effect - n(r, 2)).abs() / n(r, 3);
            let s = (effect.deviation / n(r, 3) - 1.0).abs();
            assert!(e < 0.1 && s < 0.1, "{name}: {effect:?} {r:?}");
            (worst, worst_sd, count) = (worst.max(e), worst_sd.max(s), count + 1);
        }
    }
    let source = "numpy 2.4.6, scipy 1.17.1, integration over grids (reference/scripts/batch_hierarchy.py; eight schools from memory)";
    println!(
        "VALIDATION|fit|batches joined: mean and effects of seasons|{source}|{count}|{worst:.3e}|standard deviations|0.1|COMPUTED"
    );
    println!(
        "VALIDATION|fit|batches joined: their standard deviations|{source}|{count}|{worst_sd:.3e}|relative|0.1|COMPUTED"
    );
}

/// One bad batch among six: however far off, it moves the mean by less than half its standard deviation, less the further it
/// is off, and is named. With the normal distribution in the place of Student's t it drags the mean away.
#[test]
fn identity_a_bad_batch_cannot_drag_the_library() {
    let belief = LibraryValue::belief(5e-10, 0.5, 0.1, Scale::Logarithm);
    let good: Vec<BatchEstimate> = [7.1e-10, 6.7e-10, 7.4e-10, 6.9e-10, 7.2e-10, 6.6e-10]
        .iter()
        .enumerate()
        .map(|(i, v)| batch(&i.to_string(), *v, 0.05))
        .collect();
    let sound = run(&belief, &good);
    let shift = |p: &Proposal| ((p.new.value / sound.new.value).ln() / sound.new.deviation).abs();
    let with = |factor: f64, options: &HierarchyOptions| {
        let mut all = good.clone();
        all.push(batch("bad", 7e-10 * factor, 0.05));
        propose(&key(), &belief, &belief, &all, options).unwrap()
    };
    let robust = HierarchyOptions::default();
    let shifts: Vec<f64> = [1.5, 3.0, 10.0, 100.0].iter().map(|f| shift(&with(*f, &robust))).collect();
    assert!(shifts.iter().all(|s| *s < 0.5), "{shifts:?}");
    assert!(shifts[3] < shifts[1] && shifts[3] < 0.3, "{shifts:?}");
    let far = with(10.0, &robust);
    assert_eq!(far.evidence[6].standing, Standing::SetAside);
    assert!(
        far.warnings.iter().any(|w| matches!(w, ProposalWarning::SetAside { batch, .. } if batch == "bad"))
    );
    assert!(far.evidence[..6].iter().all(|e| e.standing == Standing::Counted), "{:?}", far.evidence);
    let normal = HierarchyOptions { degrees_of_freedom: 1e6, ..robust };
    assert!(shift(&with(10.0, &normal)) > 2.0);
}

/// The order of the batches does not matter, a batch left out is as if it had never been, and the same input gives the same
/// bits.
#[test]
fn identity_order_and_leaving_out() {
    let belief = LibraryValue::belief(1.0, 0.3, 0.1, Scale::Logarithm);
    let all: Vec<BatchEstimate> = [1.1, 0.9, 1.3, 1.05]
        .iter()
        .enumerate()
        .map(|(i, v)| BatchEstimate {
            groups: vec![(GroupKind::Lot, format!("L{}", i % 2)), (GroupKind::Season, format!("S{}", i / 2))],
            ..batch(&i.to_string(), *v, 0.08)
        })
        .collect();
    let forward = run(&belief, &all);
    let mut turned = all.clone();
    turned.reverse();
    let backward = run(&belief, &turned);
    assert!((forward.new.value / backward.new.value - 1.0).abs() < 1e-9);
    assert_eq!(forward, run(&belief, &all));
    assert_eq!(run(&belief, &all[..3]), run(&belief, &all[..3]));
    assert_eq!(forward.effects.len(), 4);
    // More batches that agree make it surer, and the belief counts less.
    let many: Vec<BatchEstimate> = (0..20).map(|i| batch(&i.to_string(), 1.2, 0.08)).collect();
    assert!(run(&belief, &many).new.deviation < 0.5 * run(&belief, &many[..3]).new.deviation);
    assert!((run(&belief, &many).new.value / 1.2 - 1.0).abs() < 0.01);
}

/// 150 libraries learned from six batches each: the 80 % intervals of the mean hold the truth as often as they say (exact
/// binomial, 99 %), with lots and one bad batch in a third of them.
#[test]
fn identity_learned_means_have_honest_errors() {
    let mut held = 0;
    const REPEATS: usize = 150;
    for stream in 0..REPEATS {
        let mut draws = Draws::new(90, stream as u64);
        let truth = 0.5 * draws.normal();
        let batches: Vec<BatchEstimate> = (0..6)
            .map(|i| {
                let bad = stream % 3 == 0 && i == 5;
                let y = truth + 0.1 * draws.normal() + 0.06 * draws.normal() + if bad { 1.5 } else { 0.0 };
                batch(&i.to_string(), y.exp(), 0.06)
            })
            .collect();
        let belief = LibraryValue::belief(1.0, 0.5, 0.1, Scale::Logarithm);
        let new = run(&belief, &batches).new;
        held += usize::from((new.value.ln() - truth).abs() < 1.2816 * new.deviation);
    }
    let (least, most) = crate::chance::allowed(REPEATS, 0.8, 0.99);
    // Bands that are a little wide are no harm: a bad batch widens them.
    assert!(held >= least && held <= most + REPEATS / 20, "{held}, allowed {least} to {most}");
    println!(
        "VALIDATION|fit|libraries learned from six batches, a third with a bad one: 80 % intervals that miss the truth (allowed: exact binomial, 99 %)|own draws|{REPEATS}|{:.3e}|share|{:.3}|COMPUTED",
        (REPEATS - held) as f64 / REPEATS as f64,
        (REPEATS - least) as f64 / REPEATS as f64
    );
}

#[test]
fn identity_ledger_adds_and_takes_back() {
    let belief = LibraryValue::belief(5e-10, 0.5, 0.1, Scale::Logarithm);
    let batches: Vec<BatchEstimate> = [7.1e-10, 6.7e-10, 7.4e-10, 6.9e-10]
        .iter()
        .enumerate()
        .map(|(i, v)| batch(&i.to_string(), *v, 0.05))
        .collect();
    let mut ledger = Ledger::default();
    let now = |l: &Ledger| l.current(&key()).unwrap().clone();
    assert!(matches!(
        ledger.approve(&run(&belief, &batches), "Ana", "t1"),
        Err(FitError::Learn(LearnFault::Unknown { .. }))
    ));
    ledger.begin(&key(), &belief, "file", "t0").unwrap();
    assert!(matches!(
        ledger.begin(&key(), &belief, "file", "t0"),
        Err(FitError::Learn(LearnFault::AlreadyBegun { .. }))
    ));
    let first = run(&belief, &batches[..2]);
    assert!(matches!(ledger.approve(&first, " ", "t1"), Err(FitError::Learn(LearnFault::Nobody { .. }))));
    let one = ledger.approve(&first, "Ana", "t1").unwrap();
    assert_eq!(now(&ledger), first.new);
    // Made before the first was approved: stale.
    assert!(matches!(
        ledger.approve(&run(&belief, &batches), "Ana", "t2"),
        Err(FitError::Learn(LearnFault::Stale { .. }))
    ));
    let second = propose(&key(), &belief, &now(&ledger), &batches, &HierarchyOptions::default()).unwrap();
    let two = ledger.approve(&second, "Ana", "t2").unwrap();
    let refused =
        propose(&key(), &belief, &now(&ledger), &batches[..3], &HierarchyOptions::default()).unwrap();
    ledger.turn_down(&refused, "batch 3 was weighed hot", "Ben", "t3").unwrap();
    assert_eq!(now(&ledger), second.new);
    assert!(matches!(
        ledger.take_back(one, "", "Ben", "t4"),
        Err(FitError::Learn(LearnFault::NotReversible { .. }))
    ));
    ledger.take_back(two, "wrong lot", "Ben", "t4").unwrap();
    assert_eq!(now(&ledger), first.new);
    assert!(matches!(
        ledger.take_back(two, "again", "Ben", "t5"),
        Err(FitError::Learn(LearnFault::NotReversible { .. }))
    ));
    ledger.take_back(one, "start anew", "Ben", "t5").unwrap();
    assert_eq!(now(&ledger), belief);
    assert_eq!(ledger.entries().len(), 6);
    assert!(matches!(ledger.entries()[5].act, LedgerAct::TakenBack { entry, .. } if entry == one));
    assert!(matches!(
        ledger.take_back(99, "", "Ben", "t6"),
        Err(FitError::Learn(LearnFault::NotReversible { .. }))
    ));
    assert_eq!(ledger.all().len(), 1);
    assert!(first.moves_by_deviations() > 0.0);
    // It can be kept as text and gone on with, though the last digit of a number may change on the way.
    let text = serde_json::to_string(&ledger).unwrap();
    let mut read: Ledger = serde_json::from_str(&text).unwrap();
    assert_eq!(read.entries().len(), 6);
    read.approve(&first, "Ana", "t7").unwrap();
}

#[test]
fn identity_coverage_counts_and_judges() {
    let forecast = |i: usize, product: &str, truth: f64| PastForecast {
        batch: i.to_string(),
        product: product.to_owned(),
        cabinet: "north".to_owned(),
        quantity: "end of drying".to_owned(),
        level: 0.8,
        low: -1.2816,
        high: 1.2816,
        truth,
    };
    let mut draws = Draws::new(91, 0);
    let mut all: Vec<PastForecast> = (0..200).map(|i| forecast(i, "honest", draws.normal())).collect();
    all.extend((0..60).map(|i| forecast(i, "narrow", 2.0 * draws.normal())));
    all.extend((0..60).map(|i| forecast(i, "wide", 0.3 * draws.normal())));
    all.extend((0..3).map(|i| forecast(i, "few", 0.1)));
    let report = coverage_report(&all).unwrap();
    let of = |p: &str| report.iter().find(|c| c.product == p).unwrap();
    assert_eq!(of("honest").verdict, CoverageVerdict::Agrees);
    assert!((of("honest").width_factor.unwrap() - 1.0).abs() < 0.2);
    assert_eq!(of("narrow").verdict, CoverageVerdict::TooNarrow);
    assert!((of("narrow").width_factor.unwrap() / 2.0 - 1.0).abs() < 0.3, "{:?}", of("narrow"));
    assert_eq!(of("wide").verdict, CoverageVerdict::TooWide);
    assert_eq!((of("few").verdict, of("few").width_factor), (CoverageVerdict::TooFew, None));
    assert_eq!(of("honest").missed.0 + of("honest").missed.1 + of("honest").share.held, 200);
    assert!(matches!(coverage_report(&[]), Err(FitError::Learn(LearnFault::NoBatch))));
    let bad = |change: &dyn Fn(&mut PastForecast)| {
        let mut f = forecast(0, "p", 0.0);
        change(&mut f);
        coverage_report(&[f]).unwrap_err()
    };
    assert!(matches!(bad(&|f| f.level = 80.0), FitError::Learn(LearnFault::BadNumber { .. })));
    assert!(matches!(bad(&|f| f.low = 5.0), FitError::Learn(LearnFault::BadNumber { .. })));
    assert!(matches!(bad(&|f| f.truth = f64::NAN), FitError::Learn(LearnFault::BadNumber { .. })));
}

#[test]
fn refuse_what_teaches_nothing() {
    let belief = LibraryValue::belief(1.0, 0.3, 0.1, Scale::Logarithm);
    let fault = |belief: &LibraryValue, batches: &[BatchEstimate]| match propose(
        &key(),
        belief,
        belief,
        batches,
        &HierarchyOptions::default(),
    ) {
        Err(FitError::Learn(f)) => f,
        other => panic!("{other:?}"),
    };
    assert!(matches!(fault(&belief, &[]), LearnFault::NoBatch));
    assert!(matches!(fault(&belief, &[batch("1", -1.0, 0.1)]), LearnFault::BadNumber { .. }));
    assert!(matches!(fault(&belief, &[batch("1", 1.0, 0.0)]), LearnFault::BadNumber { .. }));
    assert!(matches!(
        fault(&belief, &[batch("1", 1.0, 0.1), batch("1", 1.1, 0.1)]),
        LearnFault::Twice { .. }
    ));
    assert!(matches!(
        fault(&LibraryValue { deviation: 0.0, ..belief.clone() }, &[batch("1", 1.0, 0.1)]),
        LearnFault::BadNumber { .. }
    ));
    let options = HierarchyOptions { degrees_of_freedom: 0.5, ..HierarchyOptions::default() };
    assert!(propose(&key(), &belief, &belief, &[batch("1", 1.0, 0.1)], &options).is_err());
    // Two positions of one batch are two estimates.
    let at =
        |p: &str| BatchEstimate { groups: vec![(GroupKind::Position, p.to_owned())], ..batch("1", 1.0, 0.1) };
    assert!(
        propose(&key(), &belief, &belief, &[at("top"), at("bottom")], &HierarchyOptions::default()).is_ok()
    );
    // Batches far from the belief contradict it; a single one is few.
    let far: Vec<BatchEstimate> = (0..5).map(|i| batch(&i.to_string(), 4.0, 0.05)).collect();
    let warned = run(&belief, &far).warnings;
    assert!(warned.iter().any(|w| matches!(w, ProposalWarning::AgainstBelief { .. })), "{warned:?}");
    assert!(run(&belief, &far[..1]).warnings.contains(&ProposalWarning::FewBatches { batches: 1 }));
    // A season that differs is named.
    let season = |i: usize, v: f64, s: &str| BatchEstimate {
        groups: vec![(GroupKind::Season, s.to_owned())],
        ..batch(&i.to_string(), v, 0.03)
    };
    let mut both: Vec<BatchEstimate> = (0..5).map(|i| season(i, 1.0 + 0.01 * i as f64, "summer")).collect();
    both.extend((5..10).map(|i| season(i, 1.5 + 0.01 * i as f64, "winter")));
    let p = run(&belief, &both);
    assert!(p.effects[1].effect - p.effects[0].effect > 0.2, "{:?}", p.effects);
}
