//! Why an entry was refused, in the reader's language, for the rules that people meet.

use fallrate_store::{Rule, StoreError};

use crate::words::{Reader, say};

/// A sentence for a rule that was broken; `None` where there is none of ours.
#[must_use]
pub fn refusal_words(e: &StoreError, r: &Reader) -> Option<String> {
    let StoreError::Rule { rule, .. } = e else { return None };
    Some(match rule {
        Rule::MissingText { what, .. } => say!(r, "refused-empty", what = (*what).to_owned()),
        Rule::SignedAnotherHead { .. } => r.text("refused-head"),
        Rule::SamePerson { name, entry } => {
            say!(r, "refused-same-person", name = name.clone(), entry = entry.to_string())
        }
        Rule::NotReviewed => r.text("refused-not-reviewed"),
        Rule::EnteredAfterReview { entry } => {
            say!(r, "refused-after-review", entry = entry.to_string())
        }
        Rule::NoVerdict => r.text("refused-no-verdict"),
        Rule::VerdictOutdated { entry, .. } => say!(r, "refused-outdated", entry = entry.to_string()),
        Rule::Waiting => r.text("refused-waiting"),
        Rule::ActionOpen { deviation, .. } => say!(r, "refused-action", name = deviation.clone()),
        Rule::DispositionForbids { deviation, .. } => {
            say!(r, "refused-disposition", name = deviation.clone())
        }
        Rule::Stays { entry, .. } => say!(r, "refused-stays", entry = entry.to_string()),
        Rule::IsWithdrawn { entry } => say!(r, "refused-withdrawn", entry = entry.to_string()),
        Rule::Reversed { .. } => r.text("refused-reversed"),
        Rule::DispositionParts { .. } => r.text("refused-disposition-parts"),
        Rule::NothingClaimed => r.text("refused-nothing-claimed"),
        _ => return None,
    })
}
