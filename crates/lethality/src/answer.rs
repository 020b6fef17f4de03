//! The three answers and how they compose.

use serde::{Deserialize, Serialize};

/// The answer to a criterion.
///
/// *Met* holds whatever the missing minutes held; *not met* fails even with the missing minutes granted; everything
/// between cannot be judged.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Answer {
    /// Fails, whatever the missing minutes held.
    NotMet,
    /// The missing minutes or facts decide.
    CannotBeJudged,
    /// Holds, whatever the missing minutes held.
    Met,
}

impl Answer {
    /// From what holds at the least and at the most: `Met` where it holds at the least, `NotMet` where it does not
    /// hold even at the most.
    #[must_use]
    pub const fn from_bounds(holds_at_least: bool, holds_at_most: bool) -> Self {
        match (holds_at_least, holds_at_most) {
            (true, _) => Self::Met,
            (false, true) => Self::CannotBeJudged,
            (false, false) => Self::NotMet,
        }
    }
    /// Strong Kleene "and": one `NotMet` decides, else one `CannotBeJudged`.
    #[must_use]
    pub fn and(self, other: Self) -> Self {
        self.min(other)
    }
    /// Strong Kleene "or": one `Met` decides, else one `CannotBeJudged`.
    #[must_use]
    pub fn or(self, other: Self) -> Self {
        self.max(other)
    }
    /// "And" of all; `None` where there is nothing.
    #[must_use]
    pub fn all(answers: impl IntoIterator<Item = Self>) -> Option<Self> {
        answers.into_iter().reduce(Self::and)
    }
    /// "Or" of all; `None` where there is nothing.
    #[must_use]
    pub fn any(answers: impl IntoIterator<Item = Self>) -> Option<Self> {
        answers.into_iter().reduce(Self::or)
    }
}

impl std::fmt::Display for Answer {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(match self {
            Self::Met => "met",
            Self::NotMet => "not met",
            Self::CannotBeJudged => "cannot be judged",
        })
    }
}
