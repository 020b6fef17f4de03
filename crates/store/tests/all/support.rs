//! An invented batch, entry by entry, and a place in memory where records are kept.

use std::collections::BTreeMap;

use fallrate_lethality::{
    Answer, BatchFacts, Case, Claim, ClaimedDocument, Endpoint, LogTarget, OptionId, Retention, Species,
    judge, rehearse,
};
use fallrate_series::{EventKind, Instant, Log, Proof, Rehearsal, Span, SuspectReason};
use fallrate_store::*;
use fallrate_units::Duration;

/// 2026-03-13 08:00 in Chicago plus minutes.
pub fn minute(m: f64) -> Instant {
    instant_from_iso("2026-03-13T13:00:00Z").unwrap().plus_seconds(m * 60.0)
}

pub fn draft(m: f64, by: &str, body: Body) -> Draft {
    Draft { at: minute(m), zone: "America/Chicago".into(), by: by.into(), reason: String::new(), body }
}

pub fn because(mut d: Draft, reason: &str) -> Draft {
    d.reason = reason.into();
    d
}

pub fn identity(realm: RecordRealm) -> Identity {
    Identity {
        realm,
        establishment: "Valley workshop".into(),
        place: "Old Creamery, Upper Valley".into(),
        establishment_number: None,
        product: "Beef strips 6 mm".into(),
        product_code: "BS6".into(),
        lot: "L-0313".into(),
        raw_lots: vec!["R-7781".into(), "R-7790".into()],
        quantity_kg: 22.0,
        cabinet: "North".into(),
        plan_name: "Jerky HACCP plan".into(),
        plan_version: "4".into(),
        control_point: "CCP 1, lethality: 146 degF for 4 min".into(),
        drying_plan: None,
        retention: Retention::MeatShelfStable,
        program_version: "0.1.0".into(),
    }
}

pub fn opened() -> Body {
    Body::Opened(Box::new(identity(RecordRealm::Proof)))
}

pub fn claim() -> Claim {
    Claim {
        document: Some(ClaimedDocument::CookingGuideline2021),
        options: vec![OptionId::Sealed2021],
        target: LogTarget::SixPointFive,
        endpoint: Endpoint::Tables,
        claimed_at: None,
    }
}

pub fn claimed() -> Body {
    Body::Claimed(Box::new(Claimed {
        claim: claim(),
        limits: vec![],
        growth_limits: vec![],
        lot: None,
        end_point: None,
        moisture_standard: None,
        trials_like: None,
        authority: None,
        schedule: None,
        practices: vec![],
        no_criterion: None,
    }))
}

pub fn facts() -> BatchFacts {
    let mut f = BatchFacts::new(Duration::from_seconds(300.0));
    f.species = Some(Species::Beef);
    f.product_met_heat = Some(minute(5.0));
    f.required_positions = vec!["rear right".into()];
    f
}

pub fn stated(f: BatchFacts) -> Body {
    Body::Stated(Box::new(f))
}

pub fn noted(text: &str) -> Body {
    Body::Noted(Noted { text: text.into(), happened: None })
}

pub fn file(name: &str, bytes: &[u8]) -> FileKept {
    FileKept {
        name: name.into(),
        sha256: Digest::of(bytes),
        bytes: bytes.len() as u64,
        used_as: FileUse::Readings,
        mapping: Some("[columns]\ncore = \"T2\"\n".into()),
        offset_s: -12.5,
        offset_uncertainty_s: Some(2.0),
        offset_evidence: None,
    }
}

pub fn tested(value: f64, tolerance: Option<f64>) -> Body {
    Body::Tested(Box::new(Tested {
        what: TestOf::WaterActivity,
        value,
        tolerance,
        sample: "5 pieces, trays 3, 8, 18".into(),
        instrument: "WA-1".into(),
        calibrated_on: None,
        happened: None,
    }))
}

pub fn action(deviation: &str, part: ActionPart, disposition: Option<Disposition>) -> Body {
    Body::ActionTaken(Box::new(ActionTaken {
        deviation: deviation.into(),
        part,
        text: "found and done".into(),
        quantity_held_kg: disposition.map(|_| 22.0),
        disposition,
        happened: None,
    }))
}

pub fn signed(chain: &Chain, name: &str, meaning: SignatureMeaning, same: Option<&str>) -> Body {
    Body::Signed(Box::new(Signed {
        name: name.into(),
        meaning,
        head: chain.head(),
        training: None,
        same_person_reason: same.map(str::to_owned),
    }))
}

pub fn with(answer: Answer, deviations: &[&str]) -> JudgedWith {
    JudgedWith {
        lot_answer: answer,
        other_claim: true,
        waiting: false,
        deviations: deviations.iter().map(|d| (*d).to_owned()).collect(),
        details: None,
        program_version: "0.1.0".into(),
        criteria_sha256: Digest::of(b"criteria"),
        data_sha256: Digest::of(b"data"),
    }
}

fn case() -> Case {
    Case { claim: claim(), facts: facts() }
}

/// A verdict whose lot's answer is this. The published criterion itself cannot be judged without readings.
pub fn judged(answer: Answer, deviations: &[&str]) -> Body {
    let verdict = judge(&Log::<Proof>::new("America/Chicago"), &case()).unwrap();
    Body::Judged(Box::new(Judged::measured(&verdict, with(answer, deviations)).unwrap()))
}

pub fn practised(answer: Answer) -> Body {
    let result = rehearse(&Log::<Rehearsal>::new("America/Chicago"), &case()).unwrap();
    Body::Judged(Box::new(Judged::practised(&result, with(answer, &[])).unwrap()))
}

/// A record with one entry of nearly every kind.
pub fn sample() -> Chain {
    let mut c = Chain::open(draft(0.0, "Ana Ruiz", opened())).unwrap();
    let mut add = |d: Draft| {
        c.append(d).unwrap();
    };
    add(draft(1.0, "Ana Ruiz", claimed()));
    add(draft(6.0, "Ana Ruiz", stated(facts())));
    add(draft(7.0, "Ana Ruiz", Body::FileKept(Box::new(file("north.csv", b"t,T2\n0,60\n")))));
    let text = "hand entry 1\ndate 2026-03-13\nby Ana Ruiz\n08:05 core rear-right 161F\n".to_owned();
    let readings = ReadingsEntered { text, happened: Some(minute(5.0)) };
    add(draft(8.0, "Ana Ruiz", Body::ReadingsEntered(readings)));
    add(draft(30.0, "Jürgen \"Jo\" Ñáñez", noted("tray 8 turned\nwet \u{1F4A7} sock, 71,5 °C")));
    let cut = Interrupted {
        kind: EventKind::PowerCut,
        from: minute(52.0),
        until: Some(minute(90.0)),
        note: "main switch".into(),
    };
    add(draft(91.0, "Ana Ruiz", Body::Interrupted(cut)));
    let answer = SuspectAnswered {
        channel: "T2".into(),
        span: Span::new(minute(20.0), minute(24.0)).unwrap(),
        about: SuspectReason::Stuck,
        counts: true,
        reason: "steady hold, second probe agrees".into(),
    };
    add(draft(92.0, "Ana Ruiz", Body::SuspectAnswered(answer)));
    add(draft(400.0, "Ana Ruiz", tested(0.78, Some(0.01))));
    add(draft(410.0, "Ana Ruiz", judged(Answer::Met, &["lethality CCP 1"])));
    for part in [ActionPart::Cause, ActionPart::Control, ActionPart::Prevention] {
        add(draft(420.0, "Ana Ruiz", action("lethality CCP 1", part, None)));
    }
    let end = action("lethality CCP 1", ActionPart::Disposition, Some(Disposition::Release));
    add(draft(421.0, "Ana Ruiz", end));
    let correction = Corrected { entry: 6, new: Box::new(noted("tray 9 turned")) };
    add(because(draft(422.0, "Ana Ruiz", Body::Corrected(correction)), "wrong tray"));
    let review = signed(&c, "Lee Park", SignatureMeaning::Reviewed, None);
    c.append(draft(500.0, "Lee Park", review)).unwrap();
    let release = signed(&c, "Lee Park", SignatureMeaning::Released, None);
    c.append(draft(501.0, "Lee Park", release)).unwrap();
    let printed = Printed { language: "en".into(), form: PrintForm::Pdf, sha256: Digest::of(b"pdf") };
    c.append(draft(502.0, "Lee Park", Body::Printed(printed))).unwrap();
    c
}

/// The files of [`sample`].
pub fn sample_files(name: &str) -> Option<(Digest, u64)> {
    (name == "north.csv").then(|| (Digest::of(b"t,T2\n0,60\n"), 10))
}

/// Records in memory; what the helpers of the crate are tried on.
#[derive(Default)]
pub struct Memory {
    pub streams: BTreeMap<StreamName, Vec<NewEntry>>,
    pub ids: BTreeMap<String, Place>,
    pub files: BTreeMap<Digest, Vec<u8>>,
    pub rows: BTreeMap<String, BatchRow>,
    /// Entries that somebody else adds right before the next ones of ours.
    pub rivals: Vec<NewEntry>,
    /// How often the lines of a stream were read.
    pub read: u32,
}

impl Records for Memory {
    fn realm(&self) -> RecordRealm {
        RecordRealm::Proof
    }
    fn append(&mut self, entries: &[NewEntry]) -> Result<(), RecordsError> {
        if let Some(rival) = self.rivals.pop() {
            self.append(&[rival])?;
        }
        let [new] = entries else { panic!("one entry at a time here") };
        let found = self.streams.get(&new.stream).map_or(0, Vec::len) as u64;
        if found + 1 != new.n {
            return Err(RecordsError::Moved { stream: new.stream.to_string(), expected: new.n - 1, found });
        }
        if let Some(sha256) = new.files.iter().find(|f| !self.files.contains_key(f)) {
            return Err(RecordsError::FileNotKept { sha256: *sha256 });
        }
        if let Some(id) = &new.client_id {
            self.ids.insert(id.clone(), Place { stream: new.stream.clone(), n: new.n });
        }
        if let Some(row) = &new.row {
            self.rows.insert(row.id.clone(), row.clone());
        }
        self.streams.entry(new.stream.clone()).or_default().push(new.clone());
        Ok(())
    }
    fn lines(&mut self, stream: &StreamName) -> Result<Vec<String>, RecordsError> {
        self.read += 1;
        Ok(self.streams.get(stream).into_iter().flatten().map(|e| e.line.clone()).collect())
    }
    fn place_of(&mut self, client_id: &str) -> Result<Option<Place>, RecordsError> {
        Ok(self.ids.get(client_id).cloned())
    }
    fn client_ids(&mut self) -> Result<Vec<(String, Place)>, RecordsError> {
        Ok(self.ids.iter().map(|(i, p)| (i.clone(), p.clone())).collect())
    }
    fn heads(&mut self, first_part: &str) -> Result<Vec<Head>, RecordsError> {
        let fits = |s: &StreamName| first_part.is_empty() || s.first_part() == first_part;
        let last = |(s, e): (&StreamName, &Vec<NewEntry>)| {
            let e = e.last()?;
            Some(Head { stream: s.clone(), n: e.n, hash: e.hash })
        };
        Ok(self.streams.iter().filter(|(s, _)| fits(s)).filter_map(last).collect())
    }
    fn put_file(&mut self, bytes: &[u8]) -> Result<Digest, RecordsError> {
        let digest = Digest::of(bytes);
        self.files.insert(digest, bytes.to_vec());
        Ok(digest)
    }
    fn file(&mut self, sha256: Digest) -> Result<Option<Vec<u8>>, RecordsError> {
        Ok(self.files.get(&sha256).cloned())
    }
    fn batches(&mut self, _: &BatchQuery) -> Result<Vec<BatchRow>, RecordsError> {
        Ok(self.rows.values().cloned().collect())
    }
    fn replace_rows(&mut self, rows: &[BatchRow]) -> Result<(), RecordsError> {
        self.rows = rows.iter().map(|r| (r.id.clone(), r.clone())).collect();
        Ok(())
    }
    fn heartbeat(&mut self) -> Result<Option<Heartbeat>, RecordsError> {
        Ok(None)
    }
    fn set_heartbeat(&mut self, _: Heartbeat) -> Result<(), RecordsError> {
        Ok(())
    }
}
