//! Questions about a file, numbered, with how to answer each; and answers put into a mapping.

use fallrate_ingest::{Mapping, Question, Setting, Topic};
use fallrate_report::{Block, Column, Document, Level, Table};

use super::page::document_words;
use super::readings::{OpenFile, ReadingsFile, look_at};
use super::words;
use crate::AppError;
use crate::words::{Reader, say};

/// An answer from the command line: "1=2" takes the second reading of question 1, "1=Europe/Madrid" gives it freely.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct NumberedAnswer {
    /// Question, from 1.
    pub question: usize,
    /// Number of a reading, from 1, or the answer in words.
    pub answer: String,
}

impl std::str::FromStr for NumberedAnswer {
    type Err = String;
    fn from_str(text: &str) -> Result<Self, String> {
        let bad = || format!("'{text}'; allowed: QUESTION=READING, as '1=2' or '1=Europe/Madrid'");
        let (question, answer) = text.split_once('=').ok_or_else(bad)?;
        let question = question.trim().parse().ok().filter(|n| *n > 0).ok_or_else(bad)?;
        Ok(Self { question, answer: answer.trim().to_owned() })
    }
}

/// Puts answers into the mapping of a file and looks at it again.
///
/// # Errors
/// [`AppError::NoSuchQuestion`], [`AppError::NoSuchReading`], [`AppError::Ingest`].
pub fn answer_questions(
    file: &ReadingsFile,
    zone: Option<&str>,
    answers: &[NumberedAnswer],
) -> Result<OpenFile, AppError> {
    let seen = look_at(file, zone)?;
    let mut mapping = seen.mapping.clone();
    for a in answers {
        let questions = &seen.asked.questions;
        let Some(question) = questions.get(a.question - 1) else {
            return Err(AppError::NoSuchQuestion { question: a.question, questions: questions.len() });
        };
        mapping.apply(&setting(question, a)?);
    }
    let text = mapping.to_toml()?;
    let file = ReadingsFile { mapping: Some((format!("mapping of {}", file.name), text)), ..file.clone() };
    look_at(&file, zone)
}

fn setting(q: &Question, a: &NumberedAnswer) -> Result<Setting, AppError> {
    let chosen = a.answer.parse::<usize>().ok().and_then(|n| n.checked_sub(1)).and_then(|n| q.choices.get(n));
    match (chosen, &q.topic) {
        (Some(choice), _) => Ok(choice.setting.clone()),
        (None, Topic::Zone) => Ok(Setting::Zone(a.answer.clone())),
        (None, Topic::Start | Topic::FirstDay) => Ok(Setting::Start(a.answer.clone())),
        (None, Topic::Sheet) if q.choices.is_empty() => Ok(Setting::Sheet(a.answer.clone())),
        _ => Err(AppError::NoSuchReading {
            question: a.question,
            answer: a.answer.clone(),
            readings: q.choices.len(),
        }),
    }
}

pub(super) fn topic(r: &Reader, t: &Topic) -> String {
    r.text(match t {
        Topic::Unit => "topic-unit",
        Topic::Role => "topic-role",
        Topic::DateOrder => "topic-date-order",
        Topic::SpreadsheetEpoch => "topic-epoch",
        Topic::DecimalMark => "topic-decimal",
        Topic::Zone => "topic-zone",
        Topic::Start => "topic-start",
        Topic::FirstDay => "topic-first-day",
        Topic::ElapsedUnit => "topic-elapsed",
        Topic::RepeatedHour => "topic-repeated-hour",
        Topic::SkippedHour => "topic-skipped-hour",
        Topic::HalfDay => "topic-half-day",
        Topic::Sheet => "topic-sheet",
        _ => "topic-other",
    })
}

/// Questions of a file, numbered, each with its readings, a line each.
#[must_use]
pub fn question_lines(open: &OpenFile, r: &Reader) -> Vec<String> {
    paragraphs(open, r).into_iter().flatten().collect()
}

fn paragraphs(open: &OpenFile, r: &Reader) -> Vec<Vec<String>> {
    let mut all = Vec::new();
    for (n, q) in open.asked.questions.iter().enumerate() {
        let column =
            q.heading.as_ref().map_or_else(String::new, |h| say!(r, "question-column", heading = h.clone()));
        let head = say!(
            r,
            "question-head",
            number = (n + 1).to_string(),
            topic = topic(r, &q.topic),
            column = column,
            example = q.example.clone(),
            place = q.place.to_string()
        );
        let mut out = vec![head];
        for (k, c) in q.choices.iter().enumerate() {
            let likelier = if q.likelier == Some(k) { r.text("question-likelier") } else { String::new() };
            out.push(say!(
                r,
                "question-reading",
                answer = format!("{}={}", n + 1, k + 1),
                shown = c.shown.clone(),
                likelier = likelier
            ));
        }
        if q.choices.is_empty() {
            out.push(say!(r, "question-free", number = (n + 1).to_string()));
        }
        all.push(out);
    }
    all
}

/// What a file looks like: its columns with what they may measure, choices made, questions open.
#[must_use]
pub fn readings_document(open: &OpenFile, r: &Reader) -> Document {
    let seen = &open.asked.seen;
    let mut blocks = Vec::new();
    let rows = seen.columns.iter().map(|c| {
        let channel = seen.channels.iter().find(|(_, n, ..)| *n == c.number);
        let (what, how) = match (channel, c.is_clock, c.is_counter) {
            (Some((_, _, role, _)), ..) => (words::role(r, role), r.text("column-read")),
            (None, true, _) => (r.text("seen-clock"), r.text("column-read")),
            (None, _, true) => (r.text("column-counter"), r.text("column-not-read")),
            _ => match c.proposals.first().and_then(|p| p.role.as_ref()) {
                Some(role) => (words::role(r, role), r.text("column-asked")),
                None => ("–".to_owned(), r.text("column-not-read")),
            },
        };
        vec![
            c.number.to_string(),
            c.heading.clone(),
            c.samples.first().cloned().unwrap_or_default(),
            c.unit.unwrap_or("–").to_owned(),
            what,
            how,
        ]
    });
    blocks.push(Block::Table(Table {
        title: r.text("columns-title"),
        header: vec![
            Column::right("#"),
            Column::left(&r.text("columns-heading")),
            Column::left(&r.text("columns-first")),
            Column::left(&r.text("columns-unit")),
            Column::left(&r.text("proof-measured")),
            Column::left(&r.text("proof-state")),
        ],
        rows: rows.collect(),
        note: Some(say!(
            r,
            "columns-note",
            encoding = seen.encoding.clone(),
            zone = seen.zone.clone().unwrap_or_else(|| "–".to_owned())
        )),
    }));
    let choices: Vec<String> = seen
        .choices
        .iter()
        .map(|c| {
            say!(
                r,
                "choice-made",
                what = c.what.clone(),
                chosen = c.chosen.clone(),
                because = c.because.clone()
            )
        })
        .collect();
    if !choices.is_empty() {
        blocks.push(Block::Heading { level: 2, text: r.text("choices-title") });
        blocks.push(Block::List(choices));
    }
    let questions = paragraphs(open, r);
    if questions.is_empty() {
        blocks.push(Block::Text(r.text("questions-none")));
    } else {
        blocks.push(Block::Notice {
            level: Level::Act,
            word: r.text("level-act"),
            text: r.text("questions-title"),
        });
        blocks.extend(questions.into_iter().map(|lines| Block::Text(lines.join("\n"))));
        blocks.push(Block::Text(say!(r, "questions-how", file = open.name.clone())));
    }
    Document {
        language: r.words.language().tag().to_owned(),
        title: say!(r, "readings-title", file = open.name.clone()),
        words: document_words(r),
        blocks,
        ..Document::default()
    }
}

/// A mapping that says what was seen and settled, to be kept and completed with positions and instruments.
///
/// # Errors
/// [`AppError::Ingest`].
pub fn mapping_to_keep(open: &OpenFile) -> Result<String, AppError> {
    let mapping: Mapping = open.asked.seen.proposed_mapping(&open.mapping);
    Ok(mapping.to_toml()?)
}
