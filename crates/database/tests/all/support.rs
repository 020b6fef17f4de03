//! Invented batches and databases in folders that go when the test ends.

use std::path::PathBuf;

use fallrate_database::{OpenOptions, SqliteRecords};
use fallrate_lethality::{Answer, BatchFacts, Case, Claim, Endpoint, LogTarget, Retention, judge};
use fallrate_series::{Instant, Log, Proof};
use fallrate_store::*;
use fallrate_units::Duration;
use tempfile::TempDir;

/// Records and accounts in one place.
pub trait Both: Records + Accounts {}
impl<T: Records + Accounts> Both for T {}

/// A database that tests may open as often as they like.
pub trait Site {
    fn open(&self, realm: RecordRealm) -> Result<Box<dyn Both>, RecordsError>;
    fn proof(&self) -> Box<dyn Both> {
        self.open(RecordRealm::Proof).unwrap()
    }
}

pub struct Folder {
    pub folder: TempDir,
    pub options: OpenOptions,
}

impl Folder {
    pub fn new() -> Self {
        Self { folder: tempfile::tempdir().unwrap(), options: OpenOptions::default() }
    }
    pub fn file(&self) -> PathBuf {
        self.folder.path().join("proof.sqlite")
    }
    pub fn sqlite(&self) -> SqliteRecords {
        SqliteRecords::open(&self.file(), RecordRealm::Proof, self.options).unwrap()
    }
}

impl Site for Folder {
    fn open(&self, realm: RecordRealm) -> Result<Box<dyn Both>, RecordsError> {
        Ok(Box::new(SqliteRecords::open(&self.file(), realm, self.options)?))
    }
}

/// 2026-03-13 08:00 in Chicago plus minutes.
pub fn minute(m: f64) -> Instant {
    instant_from_iso("2026-03-13T13:00:00Z").unwrap().plus_seconds(m * 60.0)
}

pub fn draft(m: f64, body: Body) -> Draft {
    Draft {
        at: minute(m),
        zone: "America/Chicago".into(),
        by: "Ana Ruiz".into(),
        reason: String::new(),
        body,
    }
}

pub fn identity(lot: &str) -> Identity {
    Identity {
        realm: RecordRealm::Proof,
        establishment: "Valley workshop".into(),
        place: "Upper Valley".into(),
        establishment_number: None,
        product: "Beef strips 6 mm".into(),
        product_code: "BS6".into(),
        lot: lot.into(),
        raw_lots: vec!["R-7781".into()],
        quantity_kg: 22.0,
        cabinet: "North".into(),
        plan_name: "Jerky HACCP plan".into(),
        plan_version: "4".into(),
        control_point: String::new(),
        drying_plan: None,
        retention: Retention::MeatShelfStable,
        program_version: "0.1.0".into(),
    }
}

pub fn opened(lot: &str) -> Body {
    Body::Opened(Box::new(identity(lot)))
}

pub fn noted(text: &str) -> Body {
    Body::Noted(Noted { text: text.into(), happened: None })
}

pub fn file_kept(name: &str, bytes: &[u8]) -> Body {
    Body::FileKept(Box::new(FileKept {
        name: name.into(),
        sha256: Digest::of(bytes),
        bytes: bytes.len() as u64,
        used_as: FileUse::Readings,
        mapping: None,
        offset_s: 0.0,
        offset_uncertainty_s: None,
        offset_evidence: None,
    }))
}

pub fn judged(answer: Answer) -> Body {
    let claim = Claim {
        document: None,
        options: vec![],
        target: LogTarget::Five,
        endpoint: Endpoint::Tables,
        claimed_at: None,
    };
    let case = Case { claim, facts: BatchFacts::new(Duration::from_seconds(300.0)) };
    let verdict = judge(&Log::<Proof>::new("America/Chicago"), &case).unwrap();
    let with = JudgedWith {
        lot_answer: answer,
        other_claim: true,
        waiting: false,
        deviations: vec![],
        details: None,
        program_version: "0.1.0".into(),
        criteria_sha256: Digest::of(b"criteria"),
        data_sha256: Digest::of(b"data"),
    };
    Body::Judged(Box::new(Judged::measured(&verdict, with).unwrap()))
}

pub fn batch(id: &str) -> StreamName {
    StreamName::batch(id).unwrap()
}

pub fn add(r: &mut dyn Records, id: &str, client_id: Option<&str>, m: f64, body: Body) -> Entry {
    append_to(r, &batch(id), client_id, None, draft(m, body)).unwrap().entry
}

/// A database with two batches, a file, and an item of the library.
pub fn filled(r: &mut dyn Records) {
    add(r, "b1", Some("id-1"), 0.0, opened("L-1"));
    r.put_file(b"t,T2\n0,60\n").unwrap();
    add(r, "b1", Some("id-2"), 1.0, file_kept("north.csv", b"t,T2\n0,60\n"));
    add(r, "b1", None, 2.0, judged(Answer::Met));
    add(r, "b2", Some("id-3"), 3.0, opened("L-2"));
    add(r, "b2", None, 4.0, noted("tray 8 turned"));
    let item = ItemSaved {
        title: "Beef strips 6 mm".into(),
        toml: "name = \"Beef strips 6 mm\"\n".into(),
        note: String::new(),
        copied_from: None,
    };
    let saved = Draft {
        at: minute(5.0),
        zone: "America/Chicago".into(),
        by: "Ana Ruiz".into(),
        reason: String::new(),
        body: LibraryBody::Saved(item),
    };
    append_to(r, &StreamName::library("product", "beef_strips").unwrap(), None, None, saved).unwrap();
}

/// Everything a database holds, for comparing.
pub fn everything(r: &mut dyn Records) -> Vec<(String, Vec<String>)> {
    let heads = r.heads("").unwrap();
    heads.iter().map(|h| (h.stream.to_string(), r.lines(&h.stream).unwrap())).collect()
}

/// Verifies all chains, and that the rows are those of the records.
pub fn sound(r: &mut dyn Records) {
    fallrate_database::verify_all(r).unwrap();
    let mut rows = r.batches(&BatchQuery::default()).unwrap();
    rows.sort_by(|a, b| a.id.cmp(&b.id));
    assert_eq!(rows, rows_of(r).unwrap());
}
