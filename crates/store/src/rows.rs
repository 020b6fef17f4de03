//! Names of streams, and rows computed from them or kept beside them.

use fallrate_lethality::Answer;
use fallrate_series::{CalendarDate, Instant};
use serde::{Deserialize, Serialize};
use unicode_normalization::UnicodeNormalization as _;

use crate::{Chain, Digest, RecordRealm, RecordView, RecordsError, SignatureMeaning, day_in_zone};

/// Name of a stream of entries: parts with '/' between, the first of which says what kind it is.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(try_from = "String", into = "String")]
pub struct StreamName(String);

impl StreamName {
    /// From its text.
    ///
    /// # Errors
    /// [`RecordsError::StreamName`] where it has other than two or three parts, or a part is empty, longer than 80
    /// letters, begins with a dot, or has other letters than ASCII letters, digits, '-', '_' and '.'.
    pub fn parse(text: &str) -> Result<Self, RecordsError> {
        let letter = |c: char| c.is_ascii_alphanumeric() || "-_.".contains(c);
        let part = |p: &str| (1..=80).contains(&p.len()) && !p.starts_with('.') && p.chars().all(letter);
        let parts: Vec<&str> = text.split('/').collect();
        if (2..=3).contains(&parts.len()) && parts.iter().all(|p| part(p)) {
            Ok(Self(text.to_owned()))
        } else {
            Err(RecordsError::StreamName { found: text.chars().take(80).collect() })
        }
    }
    /// The record of a batch.
    ///
    /// # Errors
    /// As [`StreamName::parse`].
    pub fn batch(id: &str) -> Result<Self, RecordsError> {
        Self::parse(&format!("batch/{id}"))
    }
    /// The versions of an item of the library: `sort` is "product", "cabinet" or "plan".
    ///
    /// # Errors
    /// As [`StreamName::parse`].
    pub fn library(sort: &str, name: &str) -> Result<Self, RecordsError> {
        Self::parse(&format!("library/{sort}/{name}"))
    }
    /// An instrument and its calibrations.
    ///
    /// # Errors
    /// As [`StreamName::parse`].
    pub fn instrument(id: &str) -> Result<Self, RecordsError> {
        Self::parse(&format!("instrument/{id}"))
    }
    /// The settings of the plant.
    #[must_use]
    pub fn plant() -> Self {
        Self("plant/settings".to_owned())
    }
    /// Who did what with accounts, sessions, backups and exports.
    #[must_use]
    pub fn audit() -> Self {
        Self("people/audit".to_owned())
    }
    /// Its text.
    #[must_use]
    pub fn as_str(&self) -> &str {
        &self.0
    }
    /// The first part.
    #[must_use]
    pub fn first_part(&self) -> &str {
        self.0.split('/').next().unwrap_or_default()
    }
    /// The id, for the record of a batch.
    #[must_use]
    pub fn batch_id(&self) -> Option<&str> {
        self.0.strip_prefix("batch/")
    }
}

impl std::fmt::Display for StreamName {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(&self.0)
    }
}

impl TryFrom<String> for StreamName {
    type Error = RecordsError;
    fn try_from(text: String) -> Result<Self, RecordsError> {
        Self::parse(&text)
    }
}

impl From<StreamName> for String {
    fn from(name: StreamName) -> Self {
        name.0
    }
}

/// A batch as it stands in lists. Computed from its record, never entered.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct BatchRow {
    /// Id of the batch.
    pub id: String,
    /// World.
    pub realm: RecordRealm,
    /// Lot.
    pub lot: String,
    /// Product.
    pub product: String,
    /// Code of the product.
    pub product_code: String,
    /// Lots of the raw materials.
    pub raw_lots: Vec<String>,
    /// Cabinet.
    pub cabinet: String,
    /// When the record was opened.
    pub opened_at: Instant,
    /// The day of that, at the plant.
    pub opened_on: CalendarDate,
    /// When the last entry was made.
    pub last_at: Instant,
    /// Number of entries.
    pub entries: u64,
    /// Hash of the last entry.
    pub head: Digest,
    /// The lot's answer by the latest verdict; `None` where it was not judged.
    pub answer: Option<Answer>,
    /// Whether the lot waits for something that can still come.
    pub waiting: bool,
    /// Whether something was entered since the latest verdict that it may not fit.
    pub verdict_outdated: bool,
    /// Deviations whose corrective action is not complete.
    pub open_deviations: u64,
    /// Meanings of the signatures that stand, each once.
    pub signed: Vec<SignatureMeaning>,
    /// Whether something about the batch was entered or corrected after the latest review or release.
    pub changed_after_signing: bool,
    /// Last day of keeping the record.
    pub keep_until: Option<CalendarDate>,
    /// Day by which it should be reviewed.
    pub review_due: Option<CalendarDate>,
}

impl BatchRow {
    /// The row of a record; `None` where its first entry cannot be read.
    #[must_use]
    pub fn of(id: &str, chain: &Chain) -> Option<Self> {
        let view = chain.view();
        let (first, last) = (chain.entries().first()?, chain.entries().last()?);
        let identity = view.identity.clone()?.value;
        let unfinished = |v: &RecordView| {
            let begun = v.deviations.iter().filter(|d| d.in_latest_verdict || !d.entries.is_empty());
            begun.filter(|d| d.missing_part().is_some()).count() as u64
        };
        let mut signed: Vec<SignatureMeaning> =
            view.signatures.iter().map(|s| s.kept.value.meaning).collect();
        signed.sort();
        signed.dedup();
        let decisive = [SignatureMeaning::Released, SignatureMeaning::Reviewed];
        let latest = decisive.iter().find_map(|m| view.signature(*m));
        Some(Self {
            id: id.to_owned(),
            realm: identity.realm,
            lot: identity.lot,
            product: identity.product,
            product_code: identity.product_code,
            raw_lots: identity.raw_lots,
            cabinet: identity.cabinet,
            opened_at: first.at,
            opened_on: day_in_zone(first.at, &first.zone),
            last_at: last.at,
            entries: chain.last_n(),
            head: chain.head(),
            answer: view.answer(),
            waiting: view.verdict().is_some_and(|v| v.value.waiting()),
            verdict_outdated: view.verdict_outdated_by().is_some(),
            open_deviations: unfinished(&view),
            signed,
            changed_after_signing: latest.is_some_and(|s| !s.nothing_after()),
            keep_until: view.keep_until(),
            review_due: view.review_due(),
        })
    }
    /// What a search for words looks through: lot, raw lots, product, code, cabinet, id, folded by [`folded`].
    #[must_use]
    pub fn search_text(&self) -> String {
        let fixed = [&self.lot, &self.product, &self.product_code, &self.cabinet, &self.id];
        let texts: Vec<&str> = fixed.into_iter().chain(&self.raw_lots).map(String::as_str).collect();
        folded(&texts.join("\n"))
    }
    /// Whether the lot was released.
    #[must_use]
    pub fn is_released(&self) -> bool {
        self.signed.contains(&SignatureMeaning::Released)
    }
}

/// A text without capitals and accents, for searching: "Piña" and "PINA" are the same.
#[must_use]
pub fn folded(text: &str) -> String {
    let small = text.to_lowercase();
    small.nfkd().filter(|c| !unicode_normalization::char::is_combining_mark(*c)).collect()
}

/// What is looked for by verdict.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum AnswerSought {
    /// Judged with this answer.
    Is(Answer),
    /// Not judged.
    NotJudged,
}

/// Which batches are looked for. All conditions given must hold.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct BatchQuery {
    /// Words; each must stand in lot, raw lots, product, its code, cabinet or id, capitals and accents aside.
    pub words: String,
    /// Only this cabinet.
    pub cabinet: Option<String>,
    /// Opened on this day or later.
    pub from: Option<CalendarDate>,
    /// Opened on this day or earlier.
    pub to: Option<CalendarDate>,
    /// By verdict.
    pub answer: Option<AnswerSought>,
    /// Only those not released (`true`) or released (`false`).
    pub open: Option<bool>,
    /// Only those whose keeping ended before this day.
    pub kept_before: Option<CalendarDate>,
    /// How many at the most; 0 for all.
    pub limit: u64,
    /// How many of the first to leave out.
    pub skip: u64,
}

impl BatchQuery {
    /// The words looked for, folded as [`BatchRow::search_text`] is.
    #[must_use]
    pub fn folded_words(&self) -> Vec<String> {
        self.words.split_whitespace().map(folded).collect()
    }
}

/// What an account may do.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum AccountRole {
    /// Enters what happens at the dryer.
    Operator,
    /// Plans, reviews, signs, corrects, manages accounts.
    Supervisor,
    /// Reads.
    Reader,
}

/// An account. Secrets are kept as the text of their hash; hashing is the caller's work.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Account {
    /// Name to sign in with; never used again for another person.
    pub name: String,
    /// Name as it is printed on records.
    pub full_name: String,
    /// Role.
    pub role: AccountRole,
    /// Hash of the password; `None` where there is none yet.
    pub password_hash: Option<String>,
    /// Hash of the PIN for the floor.
    pub pin_hash: Option<String>,
    /// Training that record reviews rely on.
    pub training: Option<String>,
    /// Whether it may be used.
    pub active: bool,
    /// When it was made.
    pub created_at: Instant,
    /// Refused attempts since the last one that was accepted.
    pub refused: u64,
    /// No attempt is looked at before this instant.
    pub locked_until: Option<Instant>,
}

/// A session. The token itself is never kept.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Session {
    /// SHA-256 of the token.
    pub token_sha256: Digest,
    /// Account.
    pub account: String,
    /// When it began.
    pub created_at: Instant,
    /// When it was last used.
    pub seen_at: Instant,
    /// When it ends.
    pub expires_at: Instant,
    /// The device, in the words of its browser.
    pub device: String,
    /// Whether it was begun with a PIN only, on the floor.
    pub by_pin: bool,
}
