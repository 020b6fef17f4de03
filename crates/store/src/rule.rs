//! The rules of a record, as typed errors.

use fallrate_lethality::Answer;

use crate::{ActionPart, Digest, Disposition, JudgedFrom, RecordRealm};

/// A rule an entry would break.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
#[allow(missing_docs)] // The fields say what their message says.
pub enum Rule {
    /// A text that must not be empty.
    #[error("{what} is empty; allowed: {allowed}")]
    MissingText { what: &'static str, allowed: &'static str },
    /// A number outside its range.
    #[error("{what}: {value} {unit}; allowed: {allowed}")]
    OutOfRange { what: &'static str, value: f64, unit: &'static str, allowed: &'static str },
    /// A zone the zone database does not have.
    #[error("time zone: '{zone}'; allowed: a name of the zone database like America/Chicago, or UTC")]
    Zone { zone: String },
    /// The first entry opens the record.
    #[error("first entry: the record is not opened; allowed: an entry that opens it")]
    NotOpened,
    /// Only the first entry opens the record.
    #[error("the record is opened already; allowed: a correction of entry 1")]
    OpenedTwice,
    /// The world of a record stays as it is.
    #[error("realm: '{to}' in place of '{from}'; allowed: the realm it was opened with")]
    RealmChanged { from: RecordRealm, to: RecordRealm },
    /// A verdict of another world.
    #[error("verdict: {found:?} in a record of realm '{realm}'; allowed: {allowed:?}")]
    VerdictOfAnotherRealm { realm: RecordRealm, found: JudgedFrom, allowed: JudgedFrom },
    /// A claim that brings its own time.
    #[error("claim: a time of its own; allowed: none, the time of the entry is the time it was fixed")]
    ClaimTimeGiven,
    /// Nothing is claimed and no reason is given.
    #[error(
        "claim: nothing is claimed; allowed: a document, a criterion, a schedule or a limit, or the reason why none"
    )]
    NothingClaimed,
    /// A span or an interruption that ends before it begins.
    #[error("end: before the beginning by {by_s} s; allowed: at or after it")]
    Reversed { by_s: f64 },
    /// A file name that is none.
    #[error(
        "file name: '{name}'; allowed: a name without a folder, up to 200 letters, not '.' or '..' or record.jsonl"
    )]
    FileName { name: String },
    /// Another file of that name is kept.
    #[error("file name: '{name}' is the name of another file of this record ({sha256}); allowed: a new name")]
    FileNameTaken { name: String, sha256: Digest },
    /// A correction would put another file in place of one.
    #[error(
        "kept file: name, bytes or SHA-256 are others; allowed: withdraw entry {entry} and keep the new file"
    )]
    FileChanged { entry: u64 },
    /// No entry of that number stands before.
    #[error("entry {entry}: there are {entries} entries; allowed: the number of an entry before")]
    NoSuchEntry { entry: u64, entries: u64 },
    /// The entry is withdrawn.
    #[error("entry {entry}: it is withdrawn; allowed: an entry that stands")]
    IsWithdrawn { entry: u64 },
    /// An entry of a kind that stays as it is.
    #[error("entry {entry}: an entry of kind '{kind}' stays as it is; allowed: a further entry")]
    Stays { entry: u64, kind: &'static str },
    /// A correction by another kind of entry.
    #[error("correction of entry {entry}: kind '{found}'; allowed: '{allowed}'")]
    OtherKind { entry: u64, found: &'static str, allowed: &'static str },
    /// A disposition without its parts, or elsewhere.
    #[error(
        "corrective action, {part:?}: disposition and quantity held; allowed: both with the disposition, none elsewhere"
    )]
    DispositionParts { part: ActionPart },
    /// A signature over something else than what stands there now.
    #[error(
        "signature: over {signed}; allowed: {head}, the head of the chain (somebody entered something meanwhile)"
    )]
    SignedAnotherHead { signed: Digest, head: Digest },
    /// A signature in another person's name.
    #[error("signature: '{name}' by '{by}'; allowed: the name of the person who signs")]
    SignedForAnother { name: String, by: String },
    /// A review by a person who made entries, without a reason.
    #[error("review: '{name}' made entry {entry}; allowed: another person, or the reason why not")]
    SamePerson { name: String, entry: u64 },
    /// A release without a review.
    #[error("release: the record is not reviewed; allowed: after a review")]
    NotReviewed,
    /// A release after something was entered since the review.
    #[error("release: entry {entry} came after the review; allowed: review again")]
    EnteredAfterReview { entry: u64 },
    /// A release without a verdict.
    #[error(
        "release: there is no verdict; allowed: judged, or a claim that says why there is nothing to judge"
    )]
    NoVerdict,
    /// A release on a verdict that is older than what is recorded.
    #[error("release: entry {entry} came after the verdict of entry {verdict}; allowed: judge again")]
    VerdictOutdated { verdict: u64, entry: u64 },
    /// A release while the lot waits for something.
    #[error("release: the lot waits for what is missing; allowed: judge again when it is there")]
    Waiting,
    /// A release with an open corrective action.
    #[error(
        "release: corrective action '{deviation}' lacks {part:?}; allowed: all four parts (verdict: {answer})"
    )]
    ActionOpen { deviation: String, part: ActionPart, answer: Answer },
    /// A release against the disposition.
    #[error("release: the disposition of '{deviation}' is {found:?}; allowed: release")]
    DispositionForbids { deviation: String, found: Disposition },
    /// A verdict or a release over entries this version cannot read.
    #[error("entry {entry}: this version cannot read it; allowed: a version that can")]
    Unreadable { entry: u64 },
}
