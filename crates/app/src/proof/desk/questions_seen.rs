//! The open questions of a file, for a form.

use fallrate_ingest::{Setting, Topic, word_of_role};
use fallrate_lethality::OptionId;

use super::import::Look;
use super::import_edit::{ClockEdit, role_name};
use crate::proof::questions::topic;
use crate::proof::words;
use crate::words::{Reader, say};

/// A question with its readings.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct QuestionSeen {
    /// From 1.
    pub number: usize,
    /// The question.
    pub words: String,
    /// The readings, and whether one is the likelier; empty where the answer is free.
    pub choices: Vec<(String, bool)>,
    /// Whether it asks for the time zone.
    pub zone: bool,
}

/// The open questions in order.
#[must_use]
pub fn questions_seen(look: &Look, r: &Reader) -> Vec<QuestionSeen> {
    let Some(open) = &look.open else { return Vec::new() };
    let one = |(n, q): (usize, &fallrate_ingest::Question)| QuestionSeen {
        number: n + 1,
        words: say!(
            r,
            "desk-question",
            topic = topic(r, &q.topic),
            number = (n + 1).to_string(),
            heading = q.heading.as_ref().map_or_else(String::new, |h| format!(", {h}")),
            example = q.example.clone(),
            place = q.place.to_string()
        ),
        choices: q
            .choices
            .iter()
            .enumerate()
            .filter(|_| q.topic != Topic::Zone)
            .map(|(k, c)| {
                let shown = match &c.setting {
                    Setting::Role { role, .. } => role_name(r, word_of_role(role.as_ref())),
                    _ => c.shown.clone(),
                };
                (shown, q.likelier == Some(k))
            })
            .collect(),
        zone: q.topic == Topic::Zone,
    };
    open.asked.questions.iter().enumerate().map(one).collect()
}

impl Look {
    /// The clock as the mapping has it.
    #[must_use]
    pub fn mapping_clock(&self) -> ClockEdit {
        let c = &self.mapping.clock;
        let number = |v: f64| if v == 0.0 { "0".to_owned() } else { v.to_string() };
        ClockEdit {
            zone: c.zone.clone().unwrap_or_else(|| self.zone.clone()),
            offset_s: number(c.offset_seconds),
            within_s: c.uncertainty_seconds.map_or_else(String::new, number),
            by: c.declared_by.clone(),
            with: c.compared_with.clone(),
        }
    }
    /// The name the mapping is kept under.
    #[must_use]
    pub fn mapping_title(&self) -> String {
        let stem = self.name.rsplit_once('.').map_or(self.name.as_str(), |(stem, _)| stem);
        let known = self.remembered.as_ref().map(|m| m.title.clone());
        known
            .or_else(|| Some(self.mapping.name.clone()).filter(|n| !n.is_empty()))
            .unwrap_or_else(|| stem.to_owned())
    }
}

/// The humidity options: id, and words.
#[must_use]
pub fn option_choices(r: &Reader) -> Vec<(&'static str, String)> {
    OptionId::ALL.iter().map(|o| (o.id(), words::option(r, *o))).collect()
}
