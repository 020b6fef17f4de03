//! What the data cannot tell, in plain words.

use fallrate_fit::trial::{Unknown, Untold};
use fallrate_report::{Block, Level};

use super::file::TrialFile;
use super::names::{further_words, product_unknown};
use crate::learning::sheet::notice;
use crate::words::{Reader, say};

/// "a, b and c".
pub(super) fn joined(r: &Reader, list: &[String]) -> String {
    match list {
        [] => String::new(),
        [one] => one.clone(),
        [before @ .., last] => say!(r, "list-and", before = before.join(", "), last = last.clone()),
    }
}

/// One finding: what is untold, and what would tell it.
pub(super) fn untold(r: &Reader, u: &Untold, file: &TrialFile) -> Block {
    let what = match u {
        Untold::Combination { members, .. } => combination(r, members),
        Untold::LimitedBy { unknown, by, .. } => {
            say!(r, "trial-untold-limited", what = product_unknown(r, *unknown), by = product_unknown(r, *by))
        }
    };
    let remedy = match u.remedies().first() {
        None => r.text("trial-untold-no-remedy"),
        Some(first) => say!(r, "trial-untold-remedy", remedy = further_words(r, first.further, file)),
    };
    let others: Vec<String> =
        u.remedies().iter().skip(1).take(2).map(|m| further_words(r, m.further, file)).collect();
    let also = match others.is_empty() {
        true => String::new(),
        false => format!(" {}", say!(r, "trial-untold-also", list = joined(r, &others))),
    };
    notice(r, Level::Note, format!("{what} {remedy}{also}"))
}

fn combination(r: &Reader, members: &[(Unknown, f64)]) -> String {
    let name = |m: &(Unknown, f64)| product_unknown(r, m.0);
    match members {
        [] => String::new(),
        [one] => say!(r, "trial-untold-one", what = name(one)),
        [first, second] => say!(r, "trial-untold-two", first = name(first), second = name(second)),
        many => say!(r, "trial-untold-many", list = joined(r, &many.iter().map(name).collect::<Vec<_>>())),
    }
}
