//! The evaluated tests, their report and the cabinet file.

use fallrate_equipment::Cabinet;
use fallrate_fit::commission::{
    Advice, Commissioned, Done, Identity, Outcome, Quantity, Told, advise, commission, measured_cabinet,
    would_tell,
};
use fallrate_report::{Block, Column, Document, Flag, Level, Paper, Sign, Table};

use super::file::Commissioning;
use super::tests::{TestFiles, records};
use super::{charts, tell};
use crate::error::AppError;
use crate::library::Library;
use crate::ports::Files;
use crate::proof::document_words;
use crate::words::{Reader, Units, fixed, say};

/// The tests of a cabinet, evaluated.
#[derive(Debug)]
pub struct Evaluated {
    /// What was written about them.
    pub file: Commissioning,
    /// What they start from.
    pub draft: Cabinet,
    /// What came of them.
    pub found: Commissioned,
    /// What to do next.
    pub advice: Vec<Advice>,
    /// Text of the cabinet file.
    pub cabinet_toml: String,
    /// What is wrong with that file as a cabinet, where something is: figures that contradict one another.
    pub cabinet_problems: Option<String>,
}

/// Reads and evaluates the tests of a commissioning.
///
/// # Errors
/// [`AppError`] where a file cannot be read or is refused.
pub fn evaluate(
    file: Commissioning,
    library: &Library,
    files: &dyn Files,
    logs: &dyn TestFiles,
    reader: &Reader,
) -> Result<Evaluated, AppError> {
    let (draft_name, draft_text) = draft_text(&file, library, files)?;
    let draft = Cabinet::parse(&draft_name, &draft_text)?;
    let records = records(&file, &draft, logs, reader)?;
    let found = commission(&draft, &file.known, &records)?;
    let advice = advise(&draft, &file.known, Some(&found))?;
    let used: Vec<&str> = found.tests.iter().map(|t| t.name.as_str()).collect();
    let source = format!("measured on {} by {}: {}", file.date, file.by, used.join("; "));
    let identity = Identity { key: file.key.clone(), name: file.name.clone(), invented: file.invented };
    let cabinet_toml =
        measured_cabinet(&draft_text, &identity, &source, &found).unwrap_or_else(|| draft_text.clone());
    let cabinet_problems =
        Cabinet::parse(&format!("{}.toml", file.key), &cabinet_toml).err().map(|p| p.to_string());
    Ok(Evaluated { file, draft, found, advice, cabinet_toml, cabinet_problems })
}

/// Name and text of the draft: a key, or a path from the folder of the commissioning file.
pub(super) fn draft_text(
    file: &Commissioning,
    library: &Library,
    files: &dyn Files,
) -> Result<(String, String), AppError> {
    let name = if crate::library::is_path(&file.draft) {
        let folder = std::path::Path::new(&file.file_name).parent();
        folder.map_or_else(|| file.draft.clone(), |f| f.join(&file.draft).to_string_lossy().into_owned())
    } else {
        file.draft.clone()
    };
    library.cabinet_text(files, &name)
}

/// A frame for the documents of a commissioning.
pub(super) fn frame(r: &Reader, file: &Commissioning, title: String, blocks: Vec<Block>) -> Document {
    let foot = say!(r, "commission-foot", version = crate::VERSION);
    Document {
        language: r.words.language().tag().to_owned(),
        title,
        subject: say!(r, "commission-subject", draft = file.draft.clone(), date = file.date.to_string()),
        author: file.by.clone(),
        date: Some(file.date.to_string()),
        paper: if r.units == Units::Us { Paper::Letter } else { Paper::A4 },
        flag: file
            .invented
            .then(|| Flag { word: r.text("commission-flag"), meaning: r.text("commission-flag-meaning") }),
        running_head: say!(r, "commission-head", key = file.key.clone(), by = file.by.clone()),
        running_foot: foot,
        page_word: r.text("proof-page"),
        words: document_words(r),
        blocks,
    }
}

impl Evaluated {
    fn told(&self) -> impl Iterator<Item = &Outcome> {
        self.found.outcomes.iter().filter(|o| matches!(o.told, Told::Yes { .. }))
    }
    /// How many figures were measured.
    #[must_use]
    pub fn measured(&self) -> usize {
        self.told().count()
    }
    fn refused(&self) -> usize {
        self.found.findings.iter().filter(|f| f.done == Done::Refused).count()
    }
}

/// The report.
#[must_use]
pub fn commission_document(e: &Evaluated, r: &Reader) -> Document {
    let mut blocks = vec![answer(e, r)];
    blocks.extend(findings(e, r));
    blocks.push(Block::Heading { level: 1, text: r.text("commission-figures") });
    blocks.push(Block::Table(figures(e, r)));
    blocks.extend(charts::map(r, &e.found, e.draft.trays.count));
    blocks.extend(not_learned(e, r));
    blocks.extend(together(e, r));
    blocks.push(Block::Heading { level: 1, text: r.text("commission-curves") });
    for t in &e.found.tests {
        blocks.extend(charts::curves(r, &t.name, &t.rows));
    }
    let rows: Vec<Vec<String>> = e.found.tests.iter().flat_map(|t| charts::single_rows(r, t)).collect();
    if !rows.is_empty() {
        blocks.push(Block::Table(Table {
            title: r.text("commission-single"),
            header: vec![
                Column::left(&r.text("commission-col-test")),
                Column::left(&r.text("commission-col-what")),
                Column::right(&r.text("commission-col-measured")),
                Column::right(&r.text("commission-col-expected")),
                Column::right(&r.text("commission-col-misses")),
            ],
            rows,
            note: Some(r.text("commission-single-note")),
        }));
    }
    blocks.push(Block::Heading { level: 1, text: r.text("commission-how") });
    blocks.push(Block::Text(r.text("commission-how-text")));
    blocks.push(Block::Text(r.text("commission-not-proof")));
    frame(r, &e.file, say!(r, "commission-title", key = e.file.key.clone()), blocks)
}

fn answer(e: &Evaluated, r: &Reader) -> Block {
    let (told, of) = (e.measured(), e.found.outcomes.len());
    let sign = if told == 0 { Sign::Open } else { Sign::Plain };
    Block::Answer {
        sign,
        headline: say!(r, "commission-headline", told = told.to_string(), of = of.to_string()),
        subline: say!(
            r,
            "commission-subline",
            tests = e.found.tests.len().to_string(),
            refused = e.refused().to_string()
        ),
    }
}

fn findings(e: &Evaluated, r: &Reader) -> Vec<Block> {
    let mut out: Vec<Block> = e
        .found
        .findings
        .iter()
        .map(|f| {
            let level = if f.done == Done::Refused { Level::Act } else { Level::Caution };
            let word = if f.done == Done::Refused { "level-act" } else { "level-caution" };
            Block::Notice { level, word: r.text(word), text: tell::finding(r, f) }
        })
        .collect();
    if let Some(problems) = &e.cabinet_problems {
        let text = say!(r, "commission-file-problems", problems = problems.clone());
        out.push(Block::Notice { level: Level::Act, word: r.text("level-act"), text });
    }
    out
}

/// Whether a figure goes into the table: the trays have their picture.
fn listed(q: Quantity) -> bool {
    !matches!(q, Quantity::AirShare(_))
}

fn figures(e: &Evaluated, r: &Reader) -> Table {
    let row = |o: &Outcome| {
        let sure = match o.told {
            Told::Yes { .. } => r.text("commission-told"),
            Told::Roughly { .. } => r.text("commission-roughly"),
            Told::No => match would_tell(&e.advice, o.quantity) {
                Some(ask) => say!(r, "commission-would", test = tell::ask(r, &e.draft, ask)),
                None => r.text("commission-not-told"),
            },
        };
        vec![tell::quantity(r, &e.draft, o.quantity), tell::value(r, o), sure]
    };
    Table {
        title: r.text("commission-figures-title"),
        header: vec![
            Column::left(&r.text("commission-col-what")),
            Column::right(&r.text("commission-col-value")),
            Column::left(&r.text("commission-col-sure")),
        ],
        rows: e.found.outcomes.iter().filter(|o| listed(o.quantity)).map(row).collect(),
        note: Some(r.text("commission-figures-note")),
    }
}

/// What could not be learned, in plain words.
fn not_learned(e: &Evaluated, r: &Reader) -> Vec<Block> {
    let told = |q: Quantity| e.found.outcome(q).is_some_and(|o| matches!(o.told, Told::Yes { .. }));
    let mut points = Vec::new();
    if told(Quantity::WarmUpRate) && !told(Quantity::HeaterPower) {
        points.push(r.text("commission-only-ratios"));
    }
    if told(Quantity::WholeLoss(0)) && !told(Quantity::ShellLoss) {
        points.push(r.text("commission-loss-not-split"));
    }
    if told(Quantity::FreshAir(0)) && !told(Quantity::Leakage) {
        points.push(r.text("commission-leak-not-split"));
    }
    if !told(Quantity::AirShare(0)) {
        points.push(r.text("commission-no-map"));
    }
    if !told(Quantity::DisplayOffset) {
        points.push(r.text("commission-no-offset"));
    }
    if points.is_empty() {
        return Vec::new();
    }
    let mut out =
        vec![Block::Heading { level: 1, text: r.text("commission-not-learned") }, Block::List(points)];
    if let Some(next) = e.advice.first() {
        let test = tell::ask(r, &e.draft, next.planned.ask);
        out.push(Block::Text(say!(r, "commission-next", test = test)));
    }
    out
}

fn together(e: &Evaluated, r: &Reader) -> Vec<Block> {
    const MOST: usize = 6;
    let both = |q: Quantity| e.found.outcome(q).is_some_and(|o| !matches!(o.told, Told::No)) && listed(q);
    let rows: Vec<Vec<String>> = e
        .found
        .correlations
        .iter()
        .filter(|(a, b, _)| both(*a) && both(*b))
        .take(MOST)
        .map(|(a, b, c)| vec![tell::quantity(r, &e.draft, *a), tell::quantity(r, &e.draft, *b), fixed(*c, 2)])
        .collect();
    if rows.is_empty() {
        return Vec::new();
    }
    vec![
        Block::Heading { level: 2, text: r.text("commission-together") },
        Block::Text(r.text("commission-together-text")),
        Block::Table(Table {
            title: String::new(),
            header: vec![
                Column::left(&r.text("commission-col-what")),
                Column::left(&r.text("commission-col-with")),
                Column::right(&r.text("commission-col-together")),
            ],
            rows,
            note: None,
        }),
    ]
}
