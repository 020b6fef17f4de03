//! What a page has to do after a reading by hand, timed: the question out of the run's entries, the estimate and the forecast, the
//! pictures. `cargo run --release -p fallrate-app --example after_a_reading`
#![allow(clippy::unwrap_used, clippy::panic)]
use std::time::Instant as Clock;

use fallrate_app::batches::{DoneAct, HandReading, Instant, RecordRealm, Role, Run};
use fallrate_app::parts::Layout;
use fallrate_app::ports::MemoryFiles;
use fallrate_app::underway::{Followed, Question, follow, outlook_pictures};
use fallrate_app::{Language, Library, PlanCase, Planned, Reader, Units};

/// Readings a batch is timed with; each is one more weight.
const READINGS: u32 = 12;

fn planned(file: &str) -> Planned {
    let root = concat!(env!("CARGO_MANIFEST_DIR"), "/../..");
    let text = std::fs::read(format!("{root}/examples/{file}")).unwrap_or_else(|e| panic!("{file}: {e}"));
    let files = MemoryFiles(vec![(file.to_owned(), text)]);
    let library = Library::embedded().unwrap();
    PlanCase::read(&library, &files, file, &[]).unwrap().plan(128, &|_| true).unwrap()
}

fn run(start: Instant) -> Run {
    Run {
        realm: RecordRealm::Demo,
        id: "timed".to_owned(),
        lot: "timed".to_owned(),
        product: String::new(),
        cabinet: String::new(),
        zone: "UTC".to_owned(),
        plan_toml: String::new(),
        opened_at: start,
        done: vec![DoneAct { number: 1, at: start, by: String::new(), entry: 2 }],
        readings: Vec::new(),
        settings: Vec::new(),
        stopped: Vec::new(),
        verdict: None,
        deviations: Vec::new(),
        remarks: Vec::new(),
        ended: None,
        last_n: 2,
    }
}

fn main() {
    let (library, r) = (Library::embedded().unwrap(), Reader::new(Language::English, Units::Si));
    let start = Instant::from_unix_seconds(1_709_275_200.0);
    for file in ["apple_rings_overnight.toml", "beef_strips.toml", "kale_crisps.toml"] {
        let p = planned(file);
        let mut run = run(start);
        let mut earlier: Option<Followed> = None;
        let mut times = Vec::new();
        let batch = &p.plan.assembled.setup.batch;
        let solids = batch.load.fresh_kg_per_tray / (1.0 + batch.material.moisture_initial_dry_basis);
        for n in 1..=READINGS {
            // Weights as the plan has them, a little heavier.
            let at_s = p.plan.timer.nominal_s * f64::from(n) / f64::from(READINGS + 2);
            let sample = p.plan.run.samples.iter().find(|s| s.elapsed_s >= at_s).unwrap();
            let value = 1.03 * solids * (1.0 + sample.moisture_mean_dry_basis) + p.plan.assembled.tare_kg;
            let at = start.plus_seconds(at_s);
            let role = Role::TrayWeight { tray: 1 + u16::try_from(n % 3).unwrap() };
            run.readings.push(HandReading { role, at, value, by: String::new(), entry: u64::from(n) + 2 });
            let begin = Clock::now();
            let q = Question::of(&run, &p, &library, &r).unwrap();
            let f = follow(&p, q, at.plus_seconds(30.0), earlier.as_ref(), &|_| true).unwrap();
            let drawn: usize = outlook_pictures(&f, &run, &p, &library, &r)
                .iter()
                .map(|picture| {
                    picture.svg(&Layout::wide(), "a").len() + picture.svg(&Layout::narrow(), "b").len()
                })
                .sum();
            times.push(begin.elapsed().as_secs_f64());
            assert!(drawn > 1000);
            earlier = Some(f);
        }
        times.sort_by(f64::total_cmp);
        let (middle, worst) = (times[times.len() / 2], times[times.len() - 1]);
        println!("{file}: after a reading, median of {READINGS} {middle:.3} s, slowest {worst:.3} s");
    }
}
