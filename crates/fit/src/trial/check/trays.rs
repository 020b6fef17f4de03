//! Trays: units, columns, order, and weights that rise.

use crate::trial::{Apparatus, TrayKey, TrayRecord, Trial, TrialFault, TrialFinding, Weighing};

/// No tray of these dryers weighs as much, kg.
const HEAVIEST_KG: f64 = 50.0;
/// A load that differs from the stated one by this factor is in another unit.
const OTHER_UNIT: f64 = 100.0;
/// Rises up to this many standard deviations of a weighing are scatter.
const SCATTER: f64 = 4.0;
/// While cold product takes up water from a closed cabinet (its first two hours), a rise of this share of the load is real.
const CONDENSED_SHARE: f64 = 0.015;
const CONDENSING_S: f64 = 7200.0;
/// Weighings that may be left out of a tray: one, or a fifth of them.
const LEFT_OUT_SHARE: f64 = 0.2;

pub(super) fn check(trial: &Trial) -> Result<(), TrialFault> {
    let (groups, positions) = match &trial.apparatus {
        Apparatus::Tunnel { .. } => (1, 1),
        Apparatus::Cabinet { batch, .. } => (batch.load.groups.len(), batch.load.positions),
    };
    let name = &trial.name;
    let place = |of: &str, what, found: usize, count: usize| {
        if found < count {
            return Ok(());
        }
        let (trial, of, most) = (name.clone(), of.to_owned(), count.saturating_sub(1));
        Err(TrialFault::NoSuchPlace { trial, of, what, found, most })
    };
    for tray in &trial.trays {
        place(&tray.name, "tray group", tray.group, groups)?;
        let (first, last) = tray.positions.unwrap_or((0, 0));
        place(&tray.name, "position along the air", last, positions)?;
        place(&tray.name, "first position along the air", first, last + 1)?;
        order(tray, name)?;
        weights(tray, trial)?;
    }
    for core in &trial.cores {
        place(&core.name, "tray group", core.group, groups)?;
        place(&core.name, "position along the air", core.position.unwrap_or(0), positions)?;
        let late =
            core.readings.windows(2).find(|w| !(w[1].elapsed_s > w[0].elapsed_s)).map(|w| w[1].elapsed_s);
        if let Some(elapsed_s) = late {
            return Err(TrialFault::TimesDoNotRise { trial: name.clone(), of: core.name.clone(), elapsed_s });
        }
    }
    Ok(())
}

/// Times must rise; where they fall while weights rise, the columns are swapped.
fn order(tray: &TrayRecord, trial: &str) -> Result<(), TrialFault> {
    let steps = || tray.weighings.windows(2);
    let late = steps().find(|w| !(w[1].elapsed_s > w[0].elapsed_s)).map(|w| w[1].elapsed_s);
    let early = tray.weighings.first().map(|w| w.elapsed_s).filter(|t| !(*t >= 0.0));
    let Some(elapsed_s) = late.or(early) else { return Ok(()) };
    let trial = trial.to_owned();
    let falling = steps().filter(|w| w[1].elapsed_s < w[0].elapsed_s).count();
    let rising = steps().filter(|w| w[1].gross_kg > w[0].gross_kg).count();
    let half = tray.weighings.len().saturating_sub(1).div_ceil(2);
    if falling > 0 && falling >= half && rising >= half {
        return Err(TrialFault::SwappedColumns { trial, tray: tray.name.clone() });
    }
    Err(TrialFault::TimesDoNotRise { trial, of: tray.name.clone(), elapsed_s })
}

fn weights(tray: &TrayRecord, trial: &Trial) -> Result<(), TrialFault> {
    let name = || trial.name.clone();
    let grams = |what, value| {
        Err(TrialFault::WrongUnit { what, value, unit: "kg", seems: "g", trial: trial.name.clone() })
    };
    if !(tray.tare_kg >= 0.0) {
        return Err(TrialFault::OutOfRange {
            what: "tare",
            value: tray.tare_kg,
            unit: "kg",
            low: 0.0,
            high: HEAVIEST_KG,
            trial: name(),
        });
    }
    if tray.tare_kg > HEAVIEST_KG {
        return grams("tare", tray.tare_kg);
    }
    for w in &tray.weighings {
        if w.gross_kg > HEAVIEST_KG {
            return grams("weight", w.gross_kg);
        }
        if !(w.gross_kg > tray.tare_kg) {
            return Err(TrialFault::BelowTare {
                trial: name(),
                tray: tray.name.clone(),
                gross_kg: w.gross_kg,
                tare_kg: tray.tare_kg,
            });
        }
    }
    let stated = match &trial.apparatus {
        Apparatus::Cabinet { batch, .. } if tray.positions.is_none() => batch.load.fresh_kg_per_tray,
        _ => return Ok(()),
    };
    match tray.weighings.first().map(|w| w.gross_kg - tray.tare_kg) {
        Some(net) if net > OTHER_UNIT * stated => grams("load of a tray", net),
        Some(net) if net * OTHER_UNIT < stated => Err(TrialFault::OutOfRange {
            what: "load of a tray",
            value: net,
            unit: "kg",
            low: stated / OTHER_UNIT,
            high: stated * OTHER_UNIT,
            trial: name(),
        }),
        _ => Ok(()),
    }
}

/// Leaves single weighings out that stand above what came before, or below what comes after.
pub(super) fn review(
    tray: &mut TrayRecord,
    trial: &Trial,
    findings: &mut Vec<TrialFinding>,
) -> Result<(), TrialFault> {
    let steps = tray.weighings.len().saturating_sub(1);
    let first = rising_step(tray, trial);
    let mut left = 0_usize;
    while let Some((at, allowed_kg)) = rising_step(tray, trial) {
        let rises = tray.weighings.windows(2).filter(|w| w[1].gross_kg > w[0].gross_kg + allowed_kg).count();
        #[allow(clippy::cast_precision_loss)]
        let too_many = left >= 1 && (left + 1) as f64 > LEFT_OUT_SHARE * steps as f64;
        if too_many || tray.weighings.len() < 4 {
            return Err(TrialFault::WeightsRise {
                trial: trial.name.clone(),
                tray: tray.name.clone(),
                rises: rises.max(1) + left,
                steps,
                allowed_kg: first.map_or(allowed_kg, |f| f.1),
            });
        }
        let (odd, out_by_kg) = odd_one(&tray.weighings, at);
        let w = tray.weighings.remove(odd);
        left += 1;
        findings.push(TrialFinding::WeighingLeftOut {
            tray: TrayKey { trial: trial.name.clone(), tray: tray.name.clone() },
            elapsed_s: w.elapsed_s,
            gross_kg: w.gross_kg,
            out_by_kg,
        });
    }
    Ok(())
}

/// The first step that rises by more than is allowed, with what is allowed there.
fn rising_step(tray: &TrayRecord, trial: &Trial) -> Option<(usize, f64)> {
    let load = tray.weighings.first()?.gross_kg - tray.tare_kg;
    let allowed = |later: &Weighing| {
        let condensed = if later.elapsed_s <= CONDENSING_S { CONDENSED_SHARE * load } else { 0.0 };
        SCATTER * trial.scale_error_kg + condensed
    };
    tray.weighings
        .windows(2)
        .enumerate()
        .find(|(_, w)| w[1].gross_kg - w[0].gross_kg > allowed(&w[1]))
        .map(|(i, w)| (i, allowed(&w[1])))
}

/// Of the two weighings of a rising step, the one that fits worse between its other neighbours: its index, and how far it lies
/// off the straight line between them (or off its one neighbour).
fn odd_one(list: &[Weighing], at: usize) -> (usize, f64) {
    let off = |i: usize, a: Option<&Weighing>, b: Option<&Weighing>| {
        let w = &list[i];
        match (a, b) {
            (Some(a), Some(b)) => {
                let share = (w.elapsed_s - a.elapsed_s) / (b.elapsed_s - a.elapsed_s);
                (w.gross_kg - a.gross_kg - share * (b.gross_kg - a.gross_kg)).abs()
            }
            (Some(n), None) | (None, Some(n)) => (w.gross_kg - n.gross_kg).abs(),
            (None, None) => 0.0,
        }
    };
    let before = at.checked_sub(1).and_then(|i| list.get(i));
    let after = list.get(at + 2);
    // Each judged without the other: the earlier between the one before and the one after both, and so on.
    let earlier = off(at, before, after.or(list.get(at + 1)));
    let later = off(at + 1, before.or(list.get(at)), after);
    if earlier > later { (at, earlier) } else { (at + 1, later) }
}
