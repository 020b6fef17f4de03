//! Approving, turning down and taking back: each decision is a new version of the ledger in the library's streams.

use fallrate_fit::learn::{Ledger, LedgerAct};
use fallrate_store::{Draft, ItemSaved, LibraryBody, Records, StreamName, append_to, chain_of};

use super::{Learned, Lesson};
use crate::batches::Stamp;
use crate::error::AppError;
use crate::learning::LearningFault;

/// What a person decides. Lessons are numbered from 1 as they are listed, changes by their entry in the ledger.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Decision {
    /// Take the proposal of a lesson.
    Approve {
        /// Lesson.
        lesson: usize,
    },
    /// Leave things as they are.
    TurnDown {
        /// Lesson.
        lesson: usize,
        /// Why.
        reason: String,
    },
    /// Take an approved change back.
    TakeBack {
        /// Entry of the ledger.
        entry: usize,
        /// Why.
        reason: String,
    },
}

fn stream() -> Result<StreamName, AppError> {
    Ok(StreamName::library("learned", "ledger").map_err(fallrate_store::StoreError::from)?)
}

fn broken(why: &dyn std::fmt::Display) -> AppError {
    LearningFault::Ledger { why: why.to_string() }.into()
}

/// The ledger as it is kept.
pub(super) fn load(records: &mut dyn Records) -> Result<Ledger, AppError> {
    let chain = chain_of::<LibraryBody>(records, &stream()?)?;
    let Some(text) = chain.and_then(|c| c.current().map(|(_, saved)| saved.toml.clone())) else {
        return Ok(Ledger::default());
    };
    let document = text.parse::<toml_edit::DocumentMut>().map_err(|e| broken(&e))?;
    let json = document.get("ledger").and_then(|l| l.as_str()).ok_or_else(|| broken(&"no ledger in it"))?;
    serde_json::from_str(json).map_err(|e| broken(&e))
}

/// Makes a decision and keeps it. `learned` must be fresh: a proposal made on an older state is refused.
///
/// # Errors
/// [`LearningFault::NoLesson`]; [`AppError::Fit`] for a decision that cannot be made; what the place of the records says.
pub fn decide(
    learned: &Learned,
    records: &mut dyn Records,
    stamp: &Stamp,
    decision: &Decision,
) -> Result<Ledger, AppError> {
    let mut ledger = load(records)?;
    let at = stamp.at.iso_utc();
    let note = match decision {
        Decision::Approve { lesson } => {
            let lesson = find(learned, *lesson)?;
            let proposal = lesson.proposal.as_ref().ok_or_else(|| nothing(learned, 0))?;
            begin(&mut ledger, lesson, &stamp.by, &at)?;
            ledger.approve(proposal, &stamp.by, &at)?;
            format!("approved: {}", lesson.key.quantity)
        }
        Decision::TurnDown { lesson, reason } => {
            let lesson = find(learned, *lesson)?;
            let proposal = lesson.proposal.as_ref().ok_or_else(|| nothing(learned, 0))?;
            begin(&mut ledger, lesson, &stamp.by, &at)?;
            ledger.turn_down(proposal, reason, &stamp.by, &at)?;
            format!("turned down: {}", lesson.key.quantity)
        }
        Decision::TakeBack { entry, reason } => {
            ledger.take_back(*entry, reason, &stamp.by, &at)?;
            format!("taken back: entry {entry}")
        }
    };
    keep(records, stamp, &ledger, note)?;
    Ok(ledger)
}

fn nothing(learned: &Learned, number: usize) -> AppError {
    let with: Vec<String> = learned
        .lessons
        .iter()
        .enumerate()
        .filter(|(_, l)| l.proposal.is_some())
        .map(|(i, _)| (i + 1).to_string())
        .collect();
    let allowed =
        if with.is_empty() { "none: no closed batch tells anything".to_owned() } else { with.join(", ") };
    LearningFault::NoLesson { number, allowed }.into()
}

fn find(learned: &Learned, number: usize) -> Result<&Lesson, AppError> {
    let found = number.checked_sub(1).and_then(|i| learned.lessons.get(i));
    found.filter(|l| l.proposal.is_some()).ok_or_else(|| nothing(learned, number))
}

fn begin(ledger: &mut Ledger, lesson: &Lesson, by: &str, at: &str) -> Result<(), AppError> {
    if ledger.current(&lesson.key).is_none() {
        ledger.begin(&lesson.key, &lesson.belief, by, at)?;
    }
    Ok(())
}

fn keep(records: &mut dyn Records, stamp: &Stamp, ledger: &Ledger, note: String) -> Result<(), AppError> {
    let json = serde_json::to_string(ledger).map_err(|e| broken(&e))?;
    let mut document = toml_edit::DocumentMut::new();
    document["format"] = toml_edit::value(1);
    document["ledger"] = toml_edit::value(json);
    let saved = ItemSaved {
        title: "What batches taught".to_owned(),
        toml: document.to_string(),
        note,
        copied_from: None,
    };
    let draft = Draft {
        at: stamp.at,
        zone: stamp.zone.clone(),
        by: stamp.by.clone(),
        reason: String::new(),
        body: LibraryBody::Saved(saved),
    };
    append_to(records, &stream()?, stamp.client_id.as_deref(), None, draft)?;
    Ok(())
}

/// Approved changes that can be taken back: the last standing one of each quantity.
pub(super) fn reversible(ledger: &Ledger) -> Vec<usize> {
    let mut probe = Vec::new();
    for e in ledger.entries() {
        if matches!(e.act, LedgerAct::Approved { .. })
            && ledger.clone().take_back(e.number, "", "probe", "").is_ok()
        {
            probe.push(e.number);
        }
    }
    probe
}
