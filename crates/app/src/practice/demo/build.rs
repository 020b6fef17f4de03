//! Builds the workshop, batch after batch.

use std::sync::Arc;

use fallrate_rehearse::{Fault, Hand, Scenario, VirtualCabinet};
use fallrate_series::Instant;
use fallrate_store::{
    Body, Corrected, Draft, FileKept, FileUse, Identity, Noted, ReadingsEntered, RecordRealm, Records,
    StoreError, StreamName, append_to,
};

use super::lots::{LOTS, Lot, Proof};
use super::{DEMO_BATCHES, begin, demo_state, finish, settings};
use crate::batches::{ENDED, done_note};
use crate::library::Library;
use crate::page::timed_acts;
use crate::page::view::View;
use crate::plan_case::{PlanCase, Planned};
use crate::practice::files::{PracticeFile, RunFacts, run_files};
use crate::proof::LocalClock;
use crate::words::{Language, Reader, Units};
use crate::{AppError, proof::record};

/// Seed of the workshop's two cabinets.
const CABINETS: u64 = 20;
/// The workshop knows its cabinets and products: what is hidden is half as wide as the plan takes it.
const KNOWN: f64 = 0.5;
/// The running batch is to be weighed in so many seconds as the workshop opens.
const WEIGH_IN_S: f64 = 720.0;

/// What is looked at first is built first.
const ORDER: [usize; DEMO_BATCHES] = [8, 4, 5, 7, 2, 6, 0, 3, 1];
/// Draws behind the band of the running batch, as its page takes them: both must name the same acts.
const DRAWS: usize = 128;

/// Builds what is not there yet. `progress` is told how many batches are done of how many, and cancels by returning false.
///
/// # Errors
/// [`AppError::Cancelled`]; everything that planning and the place of the records say.
pub fn build_demo(
    records: &mut dyn Records,
    library: &Library,
    now: Instant,
    zone: &str,
    progress: &mut dyn FnMut(usize, usize) -> bool,
) -> Result<(), AppError> {
    let zone = LocalClock::named(zone).map_or_else(|| "UTC".to_owned(), |c| c.name().to_owned());
    let (start, zone) = match demo_state(records)? {
        Some(state) if state.complete => return Ok(()),
        Some(state) => {
            let zone = crate::batches::plant(records)?.map_or(zone, |p| p.zone);
            (state.start, zone)
        }
        None => {
            // Whole minutes: what is printed is what is kept.
            let start = Instant::from_unix_seconds((now.unix_seconds() / 60.0).floor() * 60.0);
            begin(records, start, &zone)?;
            (start, zone)
        }
    };
    for (done, n) in ORDER.into_iter().enumerate() {
        if !progress(done, DEMO_BATCHES) {
            return Err(AppError::Cancelled);
        }
        let Some(lot) = LOTS.get(n) else { continue };
        Builder::new(records, library, (n, lot), start, &zone)?.build()?;
    }
    progress(DEMO_BATCHES, DEMO_BATCHES);
    Ok(finish(records, start, &zone)?)
}

/// One batch at work.
pub(super) struct Builder<'a> {
    pub records: &'a mut dyn Records,
    library: &'a Library,
    pub lot: &'a Lot,
    number: usize,
    entries: usize,
    pub zone: String,
    stream: StreamName,
    planned: Arc<Planned>,
    /// When the run began.
    pub start: Instant,
    /// How far it went, s; none: to its end.
    stop_s: Option<f64>,
    kept: Vec<(String, Vec<u8>)>,
}

impl<'a> Builder<'a> {
    fn new(
        records: &'a mut dyn Records,
        library: &'a Library,
        (number, lot): (usize, &'a Lot),
        opened: Instant,
        zone: &str,
    ) -> Result<Self, AppError> {
        let draws = if lot.day == 0 { DRAWS } else { 0 };
        let planned = PlanCase::of_library(library, lot.lot, &lot.plan_text())?.plan(draws, &|_| true)?;
        let clock = LocalClock::named(zone).ok_or(AppError::RecordIncomplete { what: "time zone" })?;
        let day = opened.plus_seconds(f64::from(lot.day) * 86_400.0);
        let (start, stop_s) = if lot.day == 0 {
            let first = first_weighing_s(&planned);
            let gone = (first - WEIGH_IN_S).max(600.0);
            (opened.plus_seconds(-gone), Some(gone))
        } else {
            (clock.read(&planned.start_clock(), day)?, None)
        };
        let id = format!("{}-{:02}", clock.day(day).replace('-', ""), lot.number);
        Ok(Self {
            records,
            library,
            lot,
            number,
            entries: 0,
            zone: zone.to_owned(),
            stream: StreamName::batch(&id).map_err(StoreError::from)?,
            planned: Arc::new(planned),
            start,
            stop_s,
            kept: Vec::new(),
        })
    }

    fn build(mut self) -> Result<(), AppError> {
        let cabinet = self.run()?;
        let files = self.files(&cabinet)?;
        self.open(&files)?;
        self.follow(&cabinet)?;
        let end_s = cabinet.now_s();
        if self.stop_s.is_none() {
            let ended = format!("{ENDED}unloaded");
            self.note(end_s, &ended)?;
            self.keep_readings(end_s + 300.0, &files)?;
            if let Proof::Meat { .. } = self.lot.proof {
                self.prove(end_s)?;
            }
        }
        Ok(())
    }

    /// The batch on the virtual cabinet.
    fn run(&self) -> Result<VirtualCabinet, AppError> {
        let mut scenario = Scenario::new(self.lot.seed, self.start, &self.zone);
        scenario.cabinet_seed = Some(CABINETS);
        scenario.width = KNOWN;
        scenario.hand_lag_s = (10.0, 40.0);
        self.lot.by.clone_into(&mut scenario.trainee);
        scenario.faults = self
            .lot
            .fault
            .iter()
            .map(|(kind, from, until)| Fault {
                kind: *kind,
                from_s: from * 60.0,
                until_s: until.map(|u| u * 60.0),
            })
            .collect();
        let plan = &self.planned.plan;
        let mut cabinet = VirtualCabinet::new(plan, &self.planned.case.cabinet, scenario)?;
        let hand = Hand { stop_s: self.stop_s, ..self.lot.hand(plan.timer.dial_s) };
        cabinet.run_as_planned(&hand, &mut |_| true)?;
        Ok(cabinet)
    }

    fn files(&self, cabinet: &VirtualCabinet) -> Result<Vec<PracticeFile>, AppError> {
        let begun = |d: &&fallrate_rehearse::DoneAct| {
            d.at_s > 60.0 && matches!(d.act, fallrate_rehearse::Act::Vent(_))
        };
        let case = &self.planned.case;
        let facts = RunFacts {
            establishment: settings(self.start, &self.zone, false).establishment,
            product: self.lot.product.0.to_owned(),
            lot: self.lot.lot.to_owned(),
            cabinet: case.cabinet.name.en.clone(),
            quantity_kg: self.planned.plan.assembled.setup.batch.fresh_kg(),
            species: matches!(self.lot.proof, Proof::Meat { .. }).then(|| "beef".to_owned()),
            altitude_m: 640.0,
            start: self.start,
            drying_began: cabinet.done().iter().find(begun).map(|d| self.start.plus_seconds(d.at_s)),
            by: self.lot.by.to_owned(),
            shut_marks: crate::practice::asked::shut_marks(&case.cabinet),
        };
        let mut files = run_files(&cabinet.log()?, &facts)?;
        super::proof::adapt(self.lot, self.start, &mut files);
        Ok(files)
    }

    /// Identity, claim and facts, and the plan it was started from.
    fn open(&mut self, files: &[PracticeFile]) -> Result<(), AppError> {
        let text = find(files, "batch.toml");
        let batch = crate::proof::Batch::parse("batch.toml", text)?;
        let plan = self.planned.case.text.clone();
        let sha256 = self.records.put_file(plan.as_bytes()).map_err(StoreError::from)?;
        let title = self.planned.case.request.title.clone().unwrap_or_default();
        let known = settings(self.start, &self.zone, false);
        for body in record::opening_entries(&batch)? {
            let body = match body {
                Body::Opened(id) => Body::Opened(Box::new(Identity {
                    realm: RecordRealm::Demo,
                    establishment_number: known.establishment_number.clone(),
                    plan_name: known.plan_name.clone(),
                    plan_version: known.plan_version.clone(),
                    product_code: self.planned.case.product.key.clone(),
                    drying_plan: Some((title.clone(), sha256)),
                    place: known.place.clone(),
                    ..*id
                })),
                other => other,
            };
            self.push(-600.0, self.lot.by, body)?;
        }
        let kept = FileKept {
            name: "plan.toml".to_owned(),
            sha256,
            bytes: plan.len() as u64,
            used_as: FileUse::Support,
            mapping: None,
            offset_s: 0.0,
            offset_uncertainty_s: None,
            offset_evidence: None,
        };
        self.push(-600.0, self.lot.by, Body::FileKept(Box::new(kept)))
    }

    /// What was done and read while it ran, in the order of time.
    fn follow(&mut self, cabinet: &VirtualCabinet) -> Result<(), AppError> {
        let mut list: Vec<(f64, Body)> = Vec::new();
        let noted = |text: String| Body::Noted(Noted { text, happened: None });
        for (n, (at_s, text)) in self.acts(cabinet)?.into_iter().enumerate() {
            if at_s <= cabinet.now_s() {
                list.push((at_s, noted(done_note(n + 1, &text))));
            }
        }
        list.extend(self.lot.notes.iter().map(|(min, text)| (min * 60.0, noted((*text).to_owned()))));
        // A running batch has no logger file yet: its weighings are entered one by one.
        if self.stop_s.is_some() {
            list.extend(self.weighings(cabinet)?);
        }
        list.sort_by(|a, b| a.0.total_cmp(&b.0));
        let by = self.lot.by;
        for (at_s, body) in list {
            self.push(at_s, by, body)?;
        }
        if let Some((min, tray, wrong, right, why)) = self.lot.corrected {
            self.push(min * 60.0, by, self.reading(min * 60.0, tray, wrong))?;
            let entry = u64::try_from(self.entries).unwrap_or(0);
            let new = Box::new(self.reading(min * 60.0, tray, right));
            self.push_because(min * 60.0 + 240.0, by, Body::Corrected(Corrected { entry, new }), why)?;
        }
        Ok(())
    }

    /// The plan's acts with the times at which they were done on this very cabinet.
    fn acts(&self, cabinet: &VirtualCabinet) -> Result<Vec<(f64, String)>, AppError> {
        let r = Reader::new(Language::English, Units::Us);
        let v = View::new(&self.planned, self.library, &r);
        let forecast: Vec<f64> =
            self.planned.plan.run.stage_ends.iter().map(|e| e.sample.elapsed_s).collect();
        let mut due: Vec<f64> = cabinet.due_acts()?.iter().map(|d| d.at_s).filter(|s| *s > 0.0).collect();
        due.sort_by(f64::total_cmp);
        due.dedup();
        let acts = timed_acts(&v).into_iter().map(|(at_s, act)| {
            let stage = forecast.iter().position(|f| (f - at_s).abs() < 90.0);
            let own = stage.and_then(|k| due.get(k).copied()).unwrap_or(at_s);
            (if own > 0.0 { own + 30.0 } else { 0.0 }, act.text)
        });
        Ok(acts.collect())
    }

    fn weighings(&self, cabinet: &VirtualCabinet) -> Result<Vec<(f64, Body)>, AppError> {
        let log = cabinet.log()?;
        let mut list = Vec::new();
        for c in &log.channels {
            if let fallrate_series::Role::TrayWeight { tray } = c.role {
                for reading in c.readings() {
                    let at_s = reading.at.seconds_since(self.start);
                    list.push((at_s, self.reading(at_s, tray, reading.value)));
                }
            }
        }
        Ok(list)
    }

    /// A tray weight as a hand enters it.
    fn reading(&self, at_s: f64, tray: u16, kilograms: f64) -> Body {
        let at = self.start.plus_seconds(at_s);
        let full = LocalClock::named(&self.zone).map(|c| c.full(at)).unwrap_or_default();
        let mut parts = full.split(' ');
        let (day, clock, offset) =
            (parts.next().unwrap_or(""), parts.next().unwrap_or(""), parts.next().unwrap_or(""));
        let text = format!(
            "hand entry 1\ndate {day}\nzone {}\nby {}\n{clock}{offset} tray {tray} {kilograms:.3} kg\n",
            self.zone, self.lot.by
        );
        Body::ReadingsEntered(ReadingsEntered { text, happened: None })
    }

    fn keep_readings(&mut self, at_s: f64, files: &[PracticeFile]) -> Result<(), AppError> {
        let mapping = String::from_utf8_lossy(find(files, "logger.mapping.toml")).into_owned();
        let by = self.lot.by;
        for (name, used_as, mapping) in [
            ("logger.csv", FileUse::Readings, Some(mapping)),
            ("by_hand.txt", FileUse::HandEntry, None),
            ("batch.toml", FileUse::BatchFile, None),
        ] {
            let bytes = find(files, name);
            self.records.put_file(bytes).map_err(StoreError::from)?;
            let body = record::file_entry(name, bytes, used_as, mapping)?;
            self.push(at_s, by, body)?;
            self.kept.push((name.to_owned(), bytes.to_vec()));
        }
        Ok(())
    }

    /// The record as far as this build has come, with its kept files: entries that a build which was broken off made
    /// beyond it are not looked at, so that it becomes the same.
    pub fn record(&mut self) -> Result<record::Record, AppError> {
        let lines = self.records.lines(&self.stream).map_err(StoreError::from)?;
        let text: String = lines.into_iter().take(self.entries).map(|l| l + "\n").collect();
        let chain = record::RecordChain::parse(text.as_bytes())?;
        Ok(record::Record { chain, files: self.kept.clone() })
    }

    fn note(&mut self, at_s: f64, text: &str) -> Result<(), AppError> {
        let by = self.lot.by;
        self.push(at_s, by, Body::Noted(Noted { text: text.to_owned(), happened: None }))
    }
    /// Adds an entry made at a time, s from the start.
    pub fn push(&mut self, at_s: f64, by: &str, body: Body) -> Result<(), AppError> {
        self.push_because(at_s, by, body, "")
    }
    fn push_because(&mut self, at_s: f64, by: &str, body: Body, reason: &str) -> Result<(), AppError> {
        self.entries += 1;
        let id = format!("demo-{:02}-{:04}", self.number, self.entries);
        let at = self.start.plus_seconds(at_s.round());
        let draft = Draft { at, zone: self.zone.clone(), by: by.to_owned(), reason: reason.to_owned(), body };
        append_to(self.records, &self.stream, Some(&id), None, draft)?;
        Ok(())
    }
}

fn find<'f>(files: &'f [PracticeFile], name: &str) -> &'f [u8] {
    files.iter().find(|f| f.name == name).map_or(&[], |f| f.bytes.as_slice())
}

/// When the plan first asks for weighing, s from the start.
fn first_weighing_s(planned: &Planned) -> f64 {
    use fallrate_plan::acts::Deed;
    let weigh = planned.plan.acts.iter().find(|a| a.deeds.iter().any(|d| matches!(d, Deed::Weigh { .. })));
    weigh.map_or(planned.plan.timer.dial_s / 2.0, |a| a.at_s)
}
