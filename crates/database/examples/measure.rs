//! How long things take with a year of 20 cabinets: `cargo run --release -p fallrate-database --example measure`.
//!
//! Batches and entries are invented. Times are of this machine, one after another, in a temporary folder.

use std::error::Error;
use std::time::Instant;

use fallrate_database::{OpenOptions, SqliteRecords, export_to, import_from, verify_all};
use fallrate_lethality::Retention;
use fallrate_series::CalendarDate;
use fallrate_store::{
    BatchQuery, Body, Chain, Draft, Identity, Noted, RecordRealm, Records, StreamName, append_to,
    entries_after, instant_from_iso, rows_of,
};

const BATCHES: u32 = 5000;
const ENTRIES: u32 = 30;

fn draft(day: u32, minute: u32, body: Body) -> Result<Draft, Box<dyn Error>> {
    let start = instant_from_iso("2026-01-02T12:00:00Z")?;
    let at = start.plus_seconds(f64::from(day) * 86_400.0 + f64::from(minute) * 60.0);
    Ok(Draft { at, zone: "America/Chicago".into(), by: "Ana Ruiz".into(), reason: String::new(), body })
}

fn opened(i: u32) -> Body {
    Body::Opened(Box::new(Identity {
        realm: RecordRealm::Proof,
        establishment: "Valley workshop".into(),
        place: "Upper Valley".into(),
        establishment_number: None,
        product: ["Beef strips 6 mm", "Apple rings 7 mm", "Turkey strips 5 mm", "Piña"][i as usize % 4]
            .into(),
        product_code: String::new(),
        lot: format!("L-{i:05}"),
        raw_lots: vec![format!("R-{}", i / 3)],
        quantity_kg: 22.0,
        cabinet: format!("Cabinet {}", i % 20),
        plan_name: "Plan".into(),
        plan_version: "4".into(),
        control_point: String::new(),
        drying_plan: None,
        retention: Retention::MeatShelfStable,
        program_version: "0.1.0".into(),
    }))
}

fn noted(text: String) -> Body {
    Body::Noted(Noted { text, happened: None })
}

fn row(what: &str, ms: f64, more: &str) {
    println!("| {what} | {ms:.2} | {more} |");
}

fn timed<T>(
    what: &str,
    more: &str,
    act: impl FnOnce() -> Result<T, Box<dyn Error>>,
) -> Result<T, Box<dyn Error>> {
    let begin = Instant::now();
    let out = act()?;
    row(what, begin.elapsed().as_secs_f64() * 1e3, more);
    Ok(out)
}

fn quantile(mut ms: Vec<f64>, q: f64) -> f64 {
    ms.sort_by(f64::total_cmp);
    let at = (ms.len() as f64 * q) as usize;
    ms.get(at.min(ms.len().saturating_sub(1))).copied().unwrap_or(f64::NAN)
}

fn main() -> Result<(), Box<dyn Error>> {
    let folder = tempfile::tempdir()?;
    let open = |name: &str| {
        SqliteRecords::open(&folder.path().join(name), RecordRealm::Proof, OpenOptions::default())
    };
    let mut records = open("proof.sqlite")?;
    println!("| what | ms | |\n| --- | --- | --- |");
    timed("fill", &format!("{BATCHES} batches of {ENTRIES} entries, one transaction each"), || {
        for i in 0..BATCHES {
            let day = i / 14;
            let mut chain = Chain::open(draft(day, 0, opened(i))?)?;
            for n in 1..ENTRIES {
                chain.append(draft(
                    day,
                    n,
                    noted(format!("core 2 at {n} min: 71.5 degC, all trays turned")),
                )?)?;
            }
            let stream = StreamName::batch(&format!("b{i:05}"))?;
            records.append(&entries_after(&stream, &chain, 0, &|n| Some(format!("{i}-{n}"))))?;
        }
        Ok(())
    })?;
    let stream = StreamName::batch("b04999")?;
    let mut each = vec![];
    for i in 0..200 {
        let begin = Instant::now();
        append_to(
            &mut records,
            &stream,
            Some(&format!("x{i}")),
            None,
            draft(400, i, noted(format!("note {i}")))?,
        )?;
        each.push(begin.elapsed().as_secs_f64() * 1e3);
    }
    row("one entry, durable, median of 200", quantile(each.clone(), 0.5), "rules, chain and row included");
    row("one entry, durable, 95th percentile", quantile(each, 0.95), "");

    let day = |d: &str| CalendarDate::parse(d).map(Some);
    let queries = [
        (
            "search: a word in the middle of lots",
            BatchQuery { words: "-0312".into(), ..BatchQuery::default() },
        ),
        (
            "search: two words, accents",
            BatchQuery { words: "pina cabinet".into(), limit: 50, ..BatchQuery::default() },
        ),
        ("search: nothing fits", BatchQuery { words: "zebra".into(), ..BatchQuery::default() }),
        (
            "search: a month",
            BatchQuery { from: day("2026-05-01")?, to: day("2026-05-31")?, ..BatchQuery::default() },
        ),
        ("search: all, first page of 50", BatchQuery { limit: 50, ..BatchQuery::default() }),
        ("search: all", BatchQuery::default()),
    ];
    for (what, query) in queries {
        let mut ms = vec![];
        let mut found = 0;
        for _ in 0..20 {
            let begin = Instant::now();
            found = records.batches(&query)?.len();
            ms.push(begin.elapsed().as_secs_f64() * 1e3);
        }
        row(what, quantile(ms, 0.95), &format!("{found} found, 95th percentile of 20"));
    }
    let rows = timed("rows of all batches computed anew", "", || Ok(rows_of(&mut records)?))?;
    timed("rows of all batches put in place", "", || Ok(records.replace_rows(&rows)?))?;
    timed("all streams verified", "", || Ok(verify_all(&mut records)?))?;
    let to = folder.path().join("backup.sqlite");
    let report = timed("backup, checked and verified", "", || Ok(records.back_up(&to)?))?;
    let out = folder.path().join("export");
    timed("export as open files", "", || Ok(export_to(&mut records, &out)?))?;
    let mut other = open("copy.sqlite")?;
    timed("import of that, verified", "", || Ok(import_from(&mut other, &out)?))?;
    timed("open again", "", || Ok(open("proof.sqlite")?))?;
    println!("\nbackup: {:.1} MB", report.bytes as f64 / 1e6);
    Ok(())
}
