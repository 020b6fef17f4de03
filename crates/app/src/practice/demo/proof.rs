//! What the workshop claims, tests, judges and signs. All of it is practice: a verdict of the demonstration is never proof.

use fallrate_series::Instant;
use fallrate_store::{ActionPart, ActionTaken, Body, Disposition, SignatureMeaning, Signed, TestOf, Tested};

use super::build::Builder;
use super::lots::{Lot, OWNER, Proof, REVIEWER};
use crate::AppError;
use crate::practice::files::PracticeFile;
use crate::proof::record::judge_record;

/// Minutes after the start within which the workshop's own limit is to be kept.
const LIMIT_WITHIN_MIN: f64 = 90.0;
/// Name of that limit, by which a corrective action is opened.
const LIMIT: &str = "CCP 2, core 142 °F for 20 min within 90 min";

/// Makes the files of a run those of the lot: its own limit, its pack, a silent probe.
pub(super) fn adapt(lot: &Lot, start: Instant, files: &mut [PracticeFile]) {
    let Proof::Meat { silent, .. } = lot.proof else { return };
    let mapping = files.iter().find(|f| f.name == "logger.mapping.toml").map(|f| f.bytes.clone());
    let mapping = mapping.and_then(|b| String::from_utf8(b).ok());
    let mapping = mapping.and_then(|t| fallrate_ingest::Mapping::parse("logger.mapping.toml", &t).ok());
    let probes: Vec<(u16, String)> = mapping.map_or_else(Vec::new, |m| {
        let core = m.columns.into_iter().filter(|c| c.role.as_deref() == Some("core"));
        core.map(|c| (c.number.unwrap_or(1), c.position)).collect()
    });
    for f in files {
        let Ok(text) = String::from_utf8(f.bytes.clone()) else { continue };
        let text = match f.name.as_str() {
            "batch.toml" => with_limit(&text, start, &probes),
            "logger.csv" => {
                silent.map_or(text.clone(), |(from, minutes)| without(&text, start, from, minutes))
            }
            _ => continue,
        };
        f.bytes = text.into_bytes();
    }
}

/// The plan's own limit at both probes, and the pack.
fn with_limit(text: &str, start: Instant, probes: &[(u16, String)]) -> String {
    let iso = |s: f64| start.plus_seconds(s).iso_utc();
    let clock = |s: f64| iso(s).replace('T', " ").replace('Z', "+00:00");
    let mut limits = String::new();
    for (n, position) in probes {
        limits.push_str(&format!(
            "\n[[plan.limit]]\nname = \"{LIMIT}\"\nmeasured = \"core\"\nposition = \"{position}\"\nnumber = {n}\n\
             at_least = \"142 degF\"\nfor = \"20 min\"\nfrom = \"{}\"\nto = \"{}\"\n",
            clock(0.0),
            clock(LIMIT_WITHIN_MIN * 60.0)
        ));
    }
    format!("{text}{limits}\n[lot]\npack = \"air\"\n")
}

/// The logger file with the first core column empty for a while.
fn without(text: &str, start: Instant, from_min: f64, minutes: f64) -> String {
    let mut column = None;
    let mut out = String::with_capacity(text.len());
    for line in text.lines() {
        let mut cells: Vec<&str> = line.split(',').collect();
        if column.is_none() && cells.first() == Some(&"Time") {
            column = cells.iter().position(|c| c.starts_with("core 1"));
        }
        let at = crate::batches::instant_from_iso(cells.first().unwrap_or(&""));
        let minute = at.map(|a| a.seconds_since(start) / 60.0);
        if let (Ok(minute), Some(cell)) = (minute, column.and_then(|c| cells.get_mut(c)))
            && (from_min..from_min + minutes).contains(&minute)
        {
            *cell = "";
        }
        out.push_str(&cells.join(","));
        out.push('\n');
    }
    out
}

impl Builder<'_> {
    /// Tests, judges, acts and signs, as far as the lot has come.
    pub(super) fn prove(&mut self, end_s: f64) -> Result<(), AppError> {
        let Proof::Meat { water_activity, held, .. } = self.lot.proof else { return Ok(()) };
        self.judge(end_s + 900.0)?;
        if held {
            self.act(end_s + 1800.0)?;
        }
        let Some(value) = water_activity else { return Ok(()) };
        let tested_s = end_s + 3.0 * 3600.0;
        let tested = Tested {
            what: TestOf::WaterActivity,
            value,
            tolerance: Some(0.01),
            sample: "three wettest pieces (invented)".to_owned(),
            instrument: "bench meter AW-1 (invented)".to_owned(),
            calibrated_on: None,
            happened: None,
        };
        self.push(tested_s, OWNER, Body::Tested(Box::new(tested)))?;
        self.judge(tested_s + 60.0)?;
        self.sign(tested_s + 3600.0, REVIEWER, SignatureMeaning::Reviewed)?;
        self.sign(tested_s + 4500.0, OWNER, SignatureMeaning::Released)
    }

    fn judge(&mut self, at_s: f64) -> Result<(), AppError> {
        let judged = judge_record(&self.record()?)?;
        self.push(at_s, OWNER, judged.entry)
    }

    /// The four parts of the corrective action.
    fn act(&mut self, at_s: f64) -> Result<(), AppError> {
        let parts = [
            (
                ActionPart::Cause,
                "Mains off for 38 min during the warm-up; the cabinet cooled before the kill.",
                None,
            ),
            (
                ActionPart::Control,
                "Vent kept shut after the power came back until both probes had held; judged anew over the whole record.",
                None,
            ),
            (
                ActionPart::Prevention,
                "The plan now says: after a cut the vent stays shut until the hold is complete.",
                None,
            ),
            (
                ActionPart::Disposition,
                "Held until the record was judged against the criterion and the water activity was known; released.",
                Some(Disposition::Release),
            ),
        ];
        for (n, (part, text, disposition)) in (0_u32..).zip(parts) {
            let taken = ActionTaken {
                deviation: LIMIT.to_owned(),
                part,
                text: text.to_owned(),
                quantity_held_kg: disposition.map(|_| 22.0),
                disposition,
                happened: None,
            };
            self.push(at_s + f64::from(n) * 120.0, OWNER, Body::ActionTaken(Box::new(taken)))?;
        }
        Ok(())
    }

    /// A signature; where the record's rules refuse it, the lot stays as it is.
    fn sign(&mut self, at_s: f64, name: &str, meaning: SignatureMeaning) -> Result<(), AppError> {
        let head = self.record()?.chain.head();
        let signed = Signed {
            name: name.to_owned(),
            meaning,
            head,
            training: Some("HACCP course (invented)".to_owned()),
            same_person_reason: None,
        };
        match self.push(at_s, name, Body::Signed(Box::new(signed))) {
            Err(AppError::Store(fallrate_store::StoreError::Rule { .. })) => Ok(()),
            other => other,
        }
    }
}
