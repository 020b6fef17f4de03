//! The model of a plan's page: finished texts, nothing to compute.

use crate::{BarChart, Chart, Layout, Strip, Table};

/// A plan, ready to show. Empty parts are left out of the page.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct PlanPage {
    /// Language of the texts, as a BCP 47 tag ("en", "es").
    pub language: String,
    /// What the page is about, one small line above the headline ("Beef strips 6 mm, 22.0 kg, cabinet North").
    pub subject: String,
    /// The one thing first ("Dial 5 h 40").
    pub headline: String,
    /// A sentence below it.
    pub subline: String,
    /// The word that marks the whole page ("FORECAST"), with what it means.
    pub flag: Option<Flag>,
    /// What to do, in order.
    pub acts: Vec<Act>,
    /// What to dial.
    pub timer: Option<Timer>,
    /// Figures in groups: feasibility, yield, money.
    pub figures: Vec<FigureGroup>,
    /// Pictures.
    pub pictures: Vec<Picture>,
    /// Tables.
    pub tables: Vec<Table>,
    /// Cautions; those a person must act on are shown right below the headline.
    pub cautions: Vec<Caution>,
    /// Where limits, constants and data come from.
    pub sources: Vec<Source>,
    /// Last lines: version, data edition, date.
    pub footer: Vec<String>,
}

/// A word that marks the whole page.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Flag {
    /// "FORECAST".
    pub word: String,
    /// "Calculated before the run; not evidence."
    pub meaning: String,
}

/// One thing to do.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Act {
    /// When, on the clock ("07:05", "about 07:05").
    pub clock: String,
    /// What.
    pub text: String,
    /// What to watch, or the condition.
    pub watch: Option<String>,
}

/// The countdown timer.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Timer {
    /// What to dial ("5 h 40 min").
    pub dial: String,
    /// The early finish.
    pub early: String,
    /// The expected finish.
    pub expected: String,
    /// The late finish.
    pub late: String,
    /// Why this value.
    pub reasons: Vec<String>,
}

/// Figures that belong together.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct FigureGroup {
    /// "Yield and money".
    pub title: String,
    /// One sentence: the answer of the group.
    pub summary: Option<String>,
    /// The figures.
    pub figures: Vec<KeyFigure>,
}

/// One figure.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct KeyFigure {
    /// "Dried product".
    pub label: String,
    /// "8.2", or "7.9 to 8.5".
    pub value: String,
    /// "kg".
    pub unit: String,
    /// How sure, or from where.
    pub note: Option<String>,
}

/// A picture of a page.
#[derive(Clone, Debug, PartialEq)]
pub enum Picture {
    /// Lines over the hours.
    Chart(Chart),
    /// Bars.
    Bars(BarChart),
    /// Judged minutes.
    Strip(Strip),
}

impl Picture {
    /// Draws the picture as an SVG element. `id` starts every identifier in it: give each of a page its own.
    #[must_use]
    pub fn svg(&self, layout: &Layout, id: &str) -> String {
        match self {
            Self::Chart(c) => c.svg(layout, id),
            Self::Bars(b) => b.svg(layout, id),
            Self::Strip(s) => s.svg(layout, id),
        }
    }

    /// As [`Picture::svg`], for white paper: without a ground, a strip without its reasons, and every character that
    /// cannot be drawn as U+FFFD.
    #[must_use]
    pub fn svg_for_paper(&self, layout: &Layout, id: &str) -> String {
        crate::svg::for_paper(&match self {
            Self::Strip(s) => s.svg_without_reasons(layout, id),
            _ => self.svg(layout, id),
        })
    }

    /// What is written as text below the picture: the reasons of a strip.
    #[must_use]
    pub fn lines_below(&self) -> Vec<String> {
        match self {
            Self::Strip(s) => s.reasons(),
            Self::Chart(_) | Self::Bars(_) => vec![],
        }
    }

    /// Its title and its finding in words: what stands for it where it cannot be seen.
    #[must_use]
    pub fn title_and_description(&self) -> (&str, &str) {
        match self {
            Self::Chart(c) => (&c.title, &c.description),
            Self::Bars(b) => (&b.title, &b.description),
            Self::Strip(s) => (&s.title, &s.description),
        }
    }
}

/// How grave a caution is.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord)]
pub enum Level {
    /// Good to know.
    #[default]
    Note,
    /// Take care.
    Caution,
    /// A person must act.
    Act,
}

/// A caution.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Caution {
    /// How grave.
    pub level: Level,
    /// The sentence.
    pub text: String,
}

/// A source.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Source {
    /// Document, edition, place.
    pub text: String,
    /// "read", "computed" or "from memory", in the page's language.
    pub basis: String,
    /// What it was used for.
    pub used_for: String,
}

/// Headings and small words of a page, in its language.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Words {
    /// Over the acts.
    pub acts: String,
    /// Before what to watch.
    pub watch: String,
    /// Over the timer.
    pub timer: String,
    /// Early finish.
    pub early: String,
    /// Expected finish.
    pub expected: String,
    /// Late finish.
    pub late: String,
    /// Over the reasons.
    pub why: String,
    /// Over the pictures.
    pub pictures: String,
    /// On the fold that holds the table behind a picture.
    pub table_behind: String,
    /// Over the cautions.
    pub cautions: String,
    /// A [`Level::Note`].
    pub level_note: String,
    /// A [`Level::Caution`].
    pub level_caution: String,
    /// A [`Level::Act`].
    pub level_act: String,
    /// Over the sources.
    pub sources: String,
}

impl Words {
    /// In English.
    #[must_use]
    pub fn english() -> Self {
        Self {
            acts: "What to do".into(),
            watch: "Watch".into(),
            timer: "Dial".into(),
            early: "Early".into(),
            expected: "Expected".into(),
            late: "Late".into(),
            why: "Why this value".into(),
            pictures: "The run".into(),
            table_behind: "The same as a table".into(),
            cautions: "Cautions".into(),
            level_note: "Note".into(),
            level_caution: "Take care".into(),
            level_act: "Act now".into(),
            sources: "Sources".into(),
        }
    }

    /// In Spanish.
    #[must_use]
    pub fn spanish() -> Self {
        Self {
            acts: "Qué hacer".into(),
            watch: "Vigile".into(),
            timer: "Temporizador".into(),
            early: "Temprano".into(),
            expected: "Esperado".into(),
            late: "Tarde".into(),
            why: "Por qué este valor".into(),
            pictures: "La marcha del secado".into(),
            table_behind: "Lo mismo en una tabla".into(),
            cautions: "Precauciones".into(),
            level_note: "Nota".into(),
            level_caution: "Cuidado".into(),
            level_act: "Actúe ya".into(),
            sources: "Fuentes".into(),
        }
    }

    pub(crate) fn level(&self, level: Level) -> &str {
        match level {
            Level::Note => &self.level_note,
            Level::Caution => &self.level_caution,
            Level::Act => &self.level_act,
        }
    }
}
