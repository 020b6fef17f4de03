//! Signing a record.

use fallrate_store::{Body, Digest, Records, SignatureMeaning, Signed};

use super::change::enter;
use crate::AppError;
use crate::batches::Stamp;

/// What a signature can mean: word, and key of its words.
pub const MEANINGS: [(&str, SignatureMeaning, &str); 5] = [
    ("monitored", SignatureMeaning::Monitored, "sign-monitored"),
    ("verified", SignatureMeaning::Verified, "sign-verified"),
    ("reviewed", SignatureMeaning::Reviewed, "sign-reviewed"),
    ("released", SignatureMeaning::Released, "sign-released"),
    ("approved", SignatureMeaning::Approved, "sign-approved"),
];

/// The meaning a word names.
#[must_use]
pub fn meaning_of(word: &str) -> Option<SignatureMeaning> {
    MEANINGS.iter().find(|(w, ..)| *w == word).map(|(_, m, _)| *m)
}

/// A signature as it is asked for.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct SignatureEntry {
    /// What it means.
    pub meaning: SignatureMeaning,
    /// Head of the chain as it was seen.
    pub head: String,
    /// Training the person relies on.
    pub training: Option<String>,
    /// Why the person who reviews made entries as well.
    pub same_person_reason: Option<String>,
}

/// Signs what was seen: where somebody entered something since, nothing is signed.
///
/// # Errors
/// A rule that is broken (another person must review, something is missing); what the place of the records says.
pub fn sign(
    records: &mut dyn Records,
    id: &str,
    stamp: &Stamp,
    e: &SignatureEntry,
) -> Result<Option<u64>, AppError> {
    let body = Body::Signed(Box::new(Signed {
        name: stamp.by.clone(),
        meaning: e.meaning,
        head: Digest::parse(e.head.trim())?,
        training: e.training.clone(),
        same_person_reason: e.same_person_reason.clone(),
    }));
    enter(records, id, stamp, "", &body)
}
