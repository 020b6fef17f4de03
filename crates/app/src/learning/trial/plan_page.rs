//! A trial plan for people: a sheet to take to the dryer.

use fallrate_fit::trial::{TrayRecord, WeighingPlan};
use fallrate_report::{Block, Column, Document, Level, Table};

use super::file::TrialCase;
use super::names::product_unknown;
use super::plan::TrialPlan;
use crate::learning::sheet::{Day, answer, document, heading, notice, table};
use crate::words::{Reader, say};

/// The plan as a document.
#[must_use]
pub fn trial_plan_document(plan: &TrialPlan, r: &Reader, day: &Day) -> Document {
    let p = &plan.file.product.product;
    let subject = format!("{} · {}", plan.file.title, r.words.pick(&p.name.en, &p.name.es));
    let mut d = document(r, r.text("trial-plan-title"), subject, day, plan.file.invented);
    let weighings: usize = plan.plans.iter().map(|p| p.weighings.len()).sum();
    d.blocks.push(answer(
        say!(r, "trial-plan-answer", count = weighings),
        r.words.counted("trial-plan-trials", plan.plans.len()),
    ));
    d.blocks.push(heading(r.text("trial-plan-first")));
    let points =
        ["trial-plan-solids", "trial-plan-caliper", "trial-plan-tare", "trial-plan-scale", "trial-plan-air"];
    d.blocks.push(Block::List(points.iter().map(|k| r.text(k)).collect()));
    for (i, (case, own)) in plan.file.cases.iter().zip(&plan.plans).enumerate() {
        let load = plan.loads_kg.get(i).copied().unwrap_or(0.0);
        d.blocks.push(heading(say!(r, "trial-plan-trial", trial = case.trial.name.clone())));
        d.blocks.extend(table(sheet(case, own, load, r)));
        d.blocks.extend(table(worth(own, r)));
    }
    d.blocks.push(notice(r, Level::Note, r.text("trial-plan-forecast")));
    d.blocks.push(Block::Small(r.text("trial-plan-method")));
    d
}

/// What to weigh, with room for the reading.
fn sheet(case: &TrialCase, own: &WeighingPlan, load_kg: f64, r: &Reader) -> Table {
    let tare =
        |name: &str| case.trial.trays.iter().find(|t| t.name == name).map_or(0.0, |t: &TrayRecord| t.tare_kg);
    let row = |tray: &str, elapsed_s: f64, net_kg: f64| {
        vec![
            r.clock(case.start, elapsed_s),
            r.duration(elapsed_s),
            tray.to_owned(),
            r.mass(net_kg + tare(tray), 3),
            "______".to_owned(),
        ]
    };
    let mut rows: Vec<Vec<String>> = case.trial.trays.iter().map(|t| row(&t.name, 0.0, load_kg)).collect();
    rows.extend(own.weighings.iter().map(|w| row(&w.tray, w.elapsed_s, w.expected_kg)));
    Table {
        title: String::new(),
        header: vec![
            Column::right(&r.text("trial-plan-clock")),
            Column::right(&r.text("trial-plan-elapsed")),
            Column::left(&r.text("trial-plan-tray")),
            Column::right(&r.text("trial-plan-expected")),
            Column::left(&r.text("trial-plan-read")),
        ],
        rows,
        note: Some(r.text("trial-plan-zero")),
    }
}

/// What the weighings would tell, beside as many at even distances.
fn worth(own: &WeighingPlan, r: &Reader) -> Table {
    let row = |(e, even): (&fallrate_fit::trial::ExpectedError, &fallrate_fit::trial::ExpectedError)| {
        let share = |after: f64| r.percent(after / e.before);
        vec![product_unknown(r, e.unknown), share(e.after), share(even.after)]
    };
    Table {
        title: r.text("trial-plan-worth"),
        header: vec![
            Column::left(&r.text("learn-column-parameter")),
            Column::right(&r.text("trial-plan-these")),
            Column::right(&r.text("trial-plan-evenly")),
        ],
        rows: own.errors.iter().zip(&own.evenly).map(row).collect(),
        note: Some(r.text("trial-plan-worth-note")),
    }
}
