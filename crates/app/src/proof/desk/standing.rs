//! The floor word of a lot, apart from its verdict, and what it waits for.

use fallrate_lethality::{Answer, Missing};
use fallrate_store::{RecordRealm, RecordView, SignatureMeaning};

use crate::proof::words;
use crate::words::{Reader, say};

/// What the floor does with a lot now. Not a verdict.
#[derive(Clone, Copy, Debug, PartialEq, Eq, serde::Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Floor {
    /// Released: it may be packed and shipped.
    GoOn,
    /// Something is still to come: a result, a review, a release.
    Wait,
    /// Hold, do not pack.
    Hold,
    /// A person in charge must act.
    Call,
}

/// The floor word and its reason.
#[derive(Clone, Debug, PartialEq)]
pub struct Outlook {
    /// The word.
    pub floor: Floor,
    /// Its words.
    pub word: String,
    /// Why, and what comes next.
    pub why: String,
    /// The latest recorded verdict in a word; empty where there is none.
    pub verdict: String,
    /// Whether something was entered since that it may not fit.
    pub outdated: bool,
}

/// The floor word of a record. When in doubt: hold.
#[must_use]
pub fn floor_word(view: &RecordView) -> (Floor, &'static str) {
    let waiting = view.verdict().is_some_and(|v| v.value.waiting());
    let open = view
        .deviations
        .iter()
        .any(|d| (d.in_latest_verdict || !d.entries.is_empty()) && d.missing_part().is_some());
    let released =
        view.signature(SignatureMeaning::Released).is_some_and(fallrate_store::SignatureView::nothing_after);
    if !view.unknown.is_empty() {
        return (Floor::Hold, "floor-why-unreadable");
    }
    if released {
        return (Floor::GoOn, "floor-why-released");
    }
    match view.answer() {
        _ if view.verdict_outdated_by().is_some() => (Floor::Hold, "floor-why-outdated"),
        None if view.may_release().is_ok() => (Floor::Wait, "floor-why-release"),
        None => (Floor::Hold, "floor-why-proof-not-judged"),
        Some(Answer::NotMet) if open => (Floor::Call, "floor-why-proof-not-met"),
        _ if open => (Floor::Call, "floor-why-limit"),
        Some(Answer::NotMet) => (Floor::Hold, "floor-why-decided"),
        Some(Answer::CannotBeJudged) if waiting => (Floor::Wait, "floor-why-waiting"),
        Some(Answer::CannotBeJudged) => (Floor::Hold, "floor-why-cannot"),
        Some(Answer::Met) if view.may_release().is_ok() => (Floor::Wait, "floor-why-release"),
        Some(Answer::Met) => (Floor::Wait, "floor-why-review"),
    }
}

/// The same in the reader's words.
#[must_use]
pub fn outlook(view: &RecordView, r: &Reader) -> Outlook {
    let (floor, why) = floor_word(view);
    let word = r.text(match floor {
        Floor::GoOn => "floor-go-on",
        Floor::Wait => "floor-wait",
        Floor::Hold => "floor-hold",
        Floor::Call => "floor-call-hold",
    });
    Outlook {
        floor,
        word,
        why: r.text(why),
        verdict: verdict_words(view, r),
        outdated: view.verdict_outdated_by().is_some(),
    }
}

/// The latest recorded verdict: "met", or "practice: met" where nothing was measured; empty where there is none.
#[must_use]
pub fn verdict_words(view: &RecordView, r: &Reader) -> String {
    let Some(answer) = view.answer() else { return String::new() };
    let word = words::answer(r, answer);
    let real = view.identity.as_ref().is_some_and(|i| i.value.realm == RecordRealm::Proof);
    if real { word } else { say!(r, "floor-practice", word = word) }
}

/// What must be supplied, each once, in the reader's words.
pub(crate) fn missing_words(list: &[Missing], r: &Reader) -> Vec<String> {
    let mut out: Vec<String> = Vec::new();
    for m in list {
        let text = words::missing(r, m);
        if !out.contains(&text) {
            out.push(text);
        }
    }
    out
}

impl super::Sheets {
    /// What to supply before the lot can be judged, in the reader's words; what keeps it from being judged at all.
    #[must_use]
    pub fn to_supply(&self, r: &Reader) -> Vec<String> {
        match &self.judged {
            Ok(j) => {
                let lot = j.judged.lot_answer(&[]);
                let mut list = if j.judged.criterion() == Answer::Met {
                    Vec::new()
                } else {
                    j.judged.missing().to_vec()
                };
                list.extend(lot.waiting_for);
                missing_words(&list, r)
            }
            Err(crate::AppError::RecordIncomplete { .. }) => vec![r.text("desk-supply-facts")],
            Err(e) => e.faults(r).into_iter().map(|f| f.text).collect(),
        }
    }
    /// Suspect readings that wait for an answer.
    #[must_use]
    pub fn suspects(&self) -> Vec<super::SuspectStretch> {
        self.judged.as_ref().map_or_else(|_| Vec::new(), |j| super::suspects(&j.judged.log))
    }
    /// Whether the recorded verdict is what judging anew says.
    #[must_use]
    pub fn verdict_stands(&self) -> bool {
        match (&self.judged, self.view.answer()) {
            (Ok(j), Some(answer)) => match &j.entry {
                fallrate_store::Body::Judged(anew) => anew.answer() == answer,
                _ => true,
            },
            _ => true,
        }
    }
}
