//! The verb `record`.

use std::path::Path;
use std::time::{SystemTime, UNIX_EPOCH};

use fallrate_app::proof::record::{
    self as book, ActionPart, ActionTaken, Body, Disposition, FileUse, Noted, ReadingsEntered, Record,
    SignatureMeaning, Signed, Stamp, Withdrawn,
};
use fallrate_app::proof::{Answer, BatchDocument, Instant, LocalClock, is_hand_entry};
use fallrate_app::quantities::{Mass, Quantity};

use crate::folder::RecordFolder;
use crate::proof::{batch_file, check_mappings, code, readings_file};
use crate::proof_args::{DispositionArg, MeaningArg, PartArg, RecordVerb, UseArg};
use crate::work::{Desk, Fault, print};

pub(crate) fn now() -> Instant {
    let since = SystemTime::now().duration_since(UNIX_EPOCH).unwrap_or_default();
    Instant::from_unix_seconds(since.as_secs_f64().floor())
}

fn stamp(zone: &str, by: &str, reason: &str) -> Stamp {
    Stamp { at: now(), zone: zone.to_owned(), by: by.trim().to_owned(), reason: reason.trim().to_owned() }
}

/// A clock time in the zone of the record.
fn instant(record: &Record, text: &str) -> Result<Instant, Fault> {
    let zone = record.zone();
    let clock = LocalClock::named(&zone)
        .ok_or_else(|| Fault::App(format!("time zone '{zone}'; allowed: a name of the zone database")))?;
    Ok(clock.read(text, now())?)
}

impl Desk<'_> {
    /// Does what is asked with a record.
    pub fn record(&self, verb: &RecordVerb) -> Result<u8, Fault> {
        match verb {
            RecordVerb::Open { folder, batch, by } => self.open(folder, batch, &by.by),
            RecordVerb::Add { folder, files, used_as, mappings, by } => {
                check_mappings(files, mappings)?;
                self.change(folder, |record| {
                    for path in files {
                        let file = readings_file(path, mappings)?;
                        let used = match used_as {
                            UseArg::Readings if is_hand_entry(&file.bytes) => FileUse::HandEntry,
                            UseArg::Readings => FileUse::Readings,
                            UseArg::Support => FileUse::Support,
                            UseArg::Photo => FileUse::Photo,
                        };
                        let mapping = file.mapping.filter(|_| used == FileUse::Readings).map(|(_, t)| t);
                        let s = stamp(&record.zone(), &by.by, "");
                        record.keep(&s, &file.name, &file.bytes, used, mapping)?;
                    }
                    Ok(())
                })
            }
            RecordVerb::State { folder, batch, reason, by } => self.state(folder, batch, reason, &by.by),
            RecordVerb::Enter { folder, lines, date, clock_within, by } => self.change(folder, |record| {
                let zone = record.zone();
                let day = match date {
                    Some(date) => date.clone(),
                    None => LocalClock::named(&zone).map_or_else(String::new, |c| c.day(now())),
                };
                let within =
                    clock_within.as_ref().map_or_else(String::new, |w| format!("clock within {w}\n"));
                let text = format!(
                    "hand entry 1\ndate {day}\nzone {zone}\nby {}\n{within}{}\n",
                    by.by.trim(),
                    lines.join("\n")
                );
                book::check_hand_entry(&text)?;
                let body = Body::ReadingsEntered(ReadingsEntered { text, happened: None });
                Ok(record.add(&stamp(&zone, &by.by, ""), vec![body])?)
            }),
            RecordVerb::Note { folder, text, at, by } => self.change(folder, |record| {
                let happened = at.as_ref().map(|t| instant(record, t)).transpose()?;
                let body = Body::Noted(Noted { text: text.clone(), happened });
                Ok(record.add(&stamp(&record.zone(), &by.by, ""), vec![body])?)
            }),
            RecordVerb::Action { folder, deviation, part, text, held, decision, by } => {
                let held = held
                    .as_ref()
                    .map(|h| Mass::parse(h).map_err(|e| Fault::App(e.to_string())))
                    .transpose()?;
                let body = Body::ActionTaken(Box::new(ActionTaken {
                    deviation: deviation.clone(),
                    part: action_part(*part),
                    text: text.clone(),
                    quantity_held_kg: held.map(Mass::kilograms),
                    disposition: decision.map(disposition),
                    happened: None,
                }));
                self.change(folder, |record| Ok(record.add(&stamp(&record.zone(), &by.by, ""), vec![body])?))
            }
            RecordVerb::Correct { folder, entry, sets, reason, by } => self.change(folder, |record| {
                let body = book::amended_body(record, *entry, sets)?;
                Ok(record.add(&stamp(&record.zone(), &by.by, reason), vec![body])?)
            }),
            RecordVerb::Withdraw { folder, entry, reason, by } => self.change(folder, |record| {
                let body = Body::Withdrawn(Withdrawn { entry: *entry });
                Ok(record.add(&stamp(&record.zone(), &by.by, reason), vec![body])?)
            }),
            RecordVerb::Judge { folders, by } => {
                let mut worst = Answer::Met;
                for folder in folders {
                    worst = worst_of(worst, self.judge_record(folder, &by.by)?);
                }
                Ok(code(worst))
            }
            RecordVerb::Sign { folder, meaning, training, same_person_because, by } => {
                self.change(folder, |record| {
                    let s = stamp(&record.zone(), &by.by, "");
                    let body = Body::Signed(Box::new(Signed {
                        name: s.by.clone(),
                        meaning: signature(*meaning),
                        head: record.chain.head(),
                        training: training.clone(),
                        same_person_reason: same_person_because.clone(),
                    }));
                    Ok(record.add(&s, vec![body])?)
                })
            }
            RecordVerb::Show { folder, files_out } => {
                let record = RecordFolder::take(folder)?.record()?;
                let judged = book::judge_record(&record)?;
                let view = record.view();
                let document =
                    BatchDocument { file: &judged.batch, judged: &judged.judged, record: Some(&view) };
                self.document(&document.document(&self.reader), files_out)?;
                Ok(code(judged.judged.lot()))
            }
            RecordVerb::Entries { folder } => {
                let record = RecordFolder::take(folder)?.record()?;
                self.show_document(&book::entries_document(&record, &self.reader))?;
                Ok(0)
            }
            RecordVerb::Verify { folder, head } => {
                let (bytes, files) = RecordFolder::take(folder)?.bytes()?;
                let found = book::verify_record(&bytes, &files, head.as_deref())?;
                let title = folder.display().to_string();
                self.show_document(&book::verified_document(&found, &title, &self.reader))?;
                Ok(u8::from(!found.is_intact()))
            }
        }
    }

    fn open(&self, folder: &Path, batch: &Path, by: &str) -> Result<u8, Fault> {
        let (parsed, bytes) = batch_file(batch)?;
        let name = batch.file_name().map_or_else(String::new, |n| n.to_string_lossy().into_owned());
        let s = stamp(parsed.clock.name(), by, "");
        let record = book::open_record(&parsed, &name, &bytes, &s)?;
        RecordFolder::make(folder)?.write(&record)?;
        print(&format!("{}\n", book::opened_line(&record, &self.reader)))?;
        Ok(0)
    }

    fn state(&self, folder: &Path, batch: &Path, reason: &str, by: &str) -> Result<u8, Fault> {
        let (parsed, bytes) = batch_file(batch)?;
        let place = RecordFolder::take(folder)?;
        let mut record = place.record()?;
        let restated = book::restating_entries(&parsed, &record.view())?;
        for line in book::restated_lines(&restated, &self.reader) {
            print(&format!("{line}\n"))?;
        }
        if restated.bodies.is_empty() {
            return Ok(0);
        }
        let s = stamp(&record.zone(), by, reason);
        let name = book::next_name(&record, batch);
        record.keep(&s, &name, &bytes, FileUse::BatchFile, None)?;
        record.add(&s, restated.bodies)?;
        place.write(&record)?;
        print(&format!("{}\n", book::added_line(&record, &self.reader)))?;
        Ok(0)
    }

    fn judge_record(&self, folder: &Path, by: &str) -> Result<Answer, Fault> {
        let place = RecordFolder::take(folder)?;
        let mut record = place.record()?;
        let judged = book::judge_record(&record)?;
        record.add(&stamp(&record.zone(), by, ""), vec![judged.entry.clone()])?;
        place.write(&record)?;
        let view = record.view();
        let document = BatchDocument { file: &judged.batch, judged: &judged.judged, record: Some(&view) };
        self.show_document(&document.first_page(&self.reader))?;
        print(&format!("{}\n", book::added_line(&record, &self.reader)))?;
        Ok(judged.judged.lot())
    }

    /// Adds to a record and writes it.
    fn change(&self, folder: &Path, f: impl FnOnce(&mut Record) -> Result<(), Fault>) -> Result<u8, Fault> {
        let place = RecordFolder::take(folder)?;
        let mut record = place.record()?;
        f(&mut record)?;
        place.write(&record)?;
        print(&format!("{}\n", book::added_line(&record, &self.reader)))?;
        Ok(0)
    }
}

/// Not met is worse than cannot be judged, which is worse than met.
fn worst_of(a: Answer, b: Answer) -> Answer {
    a.and(b)
}

const fn action_part(p: PartArg) -> ActionPart {
    match p {
        PartArg::Cause => ActionPart::Cause,
        PartArg::Control => ActionPart::Control,
        PartArg::Prevention => ActionPart::Prevention,
        PartArg::Disposition => ActionPart::Disposition,
    }
}

const fn disposition(d: DispositionArg) -> Disposition {
    match d {
        DispositionArg::Release => Disposition::Release,
        DispositionArg::Rework => Disposition::Rework,
        DispositionArg::Divert => Disposition::Divert,
        DispositionArg::Destroy => Disposition::Destroy,
    }
}

const fn signature(m: MeaningArg) -> SignatureMeaning {
    match m {
        MeaningArg::Monitored => SignatureMeaning::Monitored,
        MeaningArg::Verified => SignatureMeaning::Verified,
        MeaningArg::Reviewed => SignatureMeaning::Reviewed,
        MeaningArg::Released => SignatureMeaning::Released,
        MeaningArg::Approved => SignatureMeaning::Approved,
    }
}
