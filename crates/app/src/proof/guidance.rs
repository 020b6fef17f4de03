//! The published limits, studies and advice, to look at before a plan is made: what can be claimed, what has been shown to
//! work, what is only advice.

use fallrate_lethality::{
    ClaimedDocument, HumidityOption, LogTarget, OptionKind, RouteWithoutSteam, Species, Study, StudyGap,
    StudyQuery, citation, exposure_limits, humidity_options, match_studies, moisture_limits, produce_advice,
    required_times, studies, study_stages,
};
use fallrate_report::{Block, Column, Document, Level, Paper, Table};

use super::page::document_words;
use super::words;
use crate::AppError;
use crate::words::{Reader, Units, say, trimmed};

/// What to look up.
#[derive(Clone, Debug, PartialEq)]
pub enum Guidance {
    /// The humidity options and the routes without humidity.
    Options,
    /// Temperature and time for an animal.
    Rows {
        /// Animal.
        species: Species,
        /// Fat, per cent; `None` where unknown.
        fat_percent: Option<f64>,
        /// Reduction.
        target: LogTarget,
    },
    /// Published trials, the most alike first.
    Studies(StudyQuery),
    /// Routes for a plant that cannot hold humidity.
    Routes,
    /// Moisture limits by product standard.
    Moisture,
    /// Advice on pasteurising dried produce.
    Produce,
    /// Longest times in growth bands.
    Exposure,
}

/// Animals by the words of the batch file.
#[must_use]
pub fn species_from_word(word: &str) -> Option<Species> {
    super::batch_file::SPECIES.iter().find(|(w, _)| *w == word).map(|(_, s)| *s)
}

/// The words of [`species_from_word`].
#[must_use]
pub fn species_words() -> Vec<&'static str> {
    super::batch_file::SPECIES.iter().map(|(w, _)| *w).collect()
}

/// A page of published guidance.
///
/// # Errors
/// [`AppError::Lethality`] for figures out of range.
pub fn guidance_document(what: &Guidance, r: &Reader) -> Result<Document, AppError> {
    let (title, blocks) = match what {
        Guidance::Options => ("guide-options", options(r)?),
        Guidance::Rows { species, fat_percent, target } => {
            ("guide-rows", rows(r, *species, *fat_percent, *target)?)
        }
        Guidance::Studies(query) => ("guide-studies", trials(r, query)?),
        Guidance::Routes => ("guide-routes", vec![routes(r)]),
        Guidance::Moisture => ("guide-moisture", vec![moisture(r)?]),
        Guidance::Produce => ("guide-produce", produce(r)?),
        Guidance::Exposure => ("guide-exposure", vec![exposure(r)?]),
    };
    let caution =
        Block::Notice { level: Level::Caution, word: r.text("level-caution"), text: r.text("guide-caution") };
    let mut all = vec![Block::Text(r.text("guide-line"))];
    all.extend(blocks);
    all.push(caution);
    Ok(Document {
        language: r.words.language().tag().to_owned(),
        title: r.text(title),
        subject: String::new(),
        author: "Fallrate".to_owned(),
        date: None,
        paper: if r.units == Units::Us { Paper::Letter } else { Paper::A4 },
        flag: None,
        running_head: r.text("guide-subject"),
        running_foot: say!(r, "proof-foot", version = crate::VERSION),
        page_word: r.text("proof-page"),
        words: document_words(r),
        blocks: all,
    })
}

fn left(r: &Reader, key: &str) -> Column {
    Column::left(&r.text(key))
}

fn right(r: &Reader, key: &str) -> Column {
    Column::right(&r.text(key))
}

fn table(title: String, header: Vec<Column>, rows: Vec<Vec<String>>, note: Option<String>) -> Block {
    Block::Table(Table { title, header, rows, note })
}

/// Every option with what it asks, document by document.
fn options(r: &Reader) -> Result<Vec<Block>, AppError> {
    let all = humidity_options()?;
    let mut out = Vec::new();
    for document in [ClaimedDocument::CookingGuideline2021, ClaimedDocument::JerkyGuideline2014] {
        let rows = all.iter().filter(|o| o.document() == document).map(|o| {
            vec![
                o.id.id().to_owned(),
                words::option(r, o.id),
                asks(r, o),
                citation(o.id.requirement()).map(|c| c.section).unwrap_or_default(),
                words::basis(r, o.basis),
            ]
        });
        let header = vec![
            left(r, "guide-option"),
            left(r, "guide-name"),
            left(r, "guide-asks"),
            left(r, "guide-section"),
            left(r, "guide-basis"),
        ];
        out.push(table(words::document(r, Some(document)), header, rows.collect(), None));
    }
    Ok(out)
}

/// What an option asks, in words made of its figures.
fn asks(r: &Reader, o: &HumidityOption) -> String {
    match o.kind {
        OptionKind::Advice => return r.text("guide-advice-only"),
        OptionKind::Steam | OptionKind::Sealed | OptionKind::Rh => {}
        _ => return r.text("guide-no-humidity"),
    }
    let minutes = |m: f64| format!("{} min", trimmed(m, 0));
    let mut parts = Vec::new();
    parts.extend(o.rh_min_pct.map(|p| say!(r, "guide-rh", percent = trimmed(p, 0))));
    parts.extend(o.share.filter(|_| !o.throughout).map(|s| {
        let key = if o.share_must_be_exceeded { "guide-share-more" } else { "guide-share" };
        say!(r, key, share = r.percent(s))
    }));
    if let (Some(second), Some(above)) = (o.second_share, o.second_share_above_cook_min) {
        parts.push(say!(r, "guide-second-share", share = r.percent(second), above = minutes(above)));
    }
    if o.throughout {
        parts.push(r.text("guide-throughout"));
    }
    parts.extend(o.floor_min.map(|m| say!(r, "guide-floor", minutes = minutes(m))));
    parts.extend(o.cook_at_least_min.map(|m| say!(r, "guide-cook-least", minutes = minutes(m))));
    parts.extend(o.cook_below_min.map(|m| say!(r, "guide-cook-below", minutes = minutes(m))));
    parts.extend(o.row_min_f.map(|f| say!(r, "guide-row-least", row = words::row(r, f))));
    parts.extend(o.dry_step_at_most_min.map(|m| say!(r, "guide-dry-step", minutes = minutes(m))));
    if o.meat_only {
        parts.push(r.text("guide-meat-only"));
    }
    parts.join("; ")
}

fn time_words(seconds: f64) -> String {
    if seconds < 120.0 {
        format!("{} s", trimmed(seconds, 1))
    } else {
        format!("{} min", trimmed(seconds / 60.0, 2))
    }
}

fn rows(r: &Reader, species: Species, fat: Option<f64>, target: LogTarget) -> Result<Vec<Block>, AppError> {
    let times = required_times(species, fat, target)?;
    let fat_word = fat.map_or_else(|| r.text("guide-fat-unknown"), |f| format!("{} %", trimmed(f, 1)));
    let title = say!(
        r,
        "guide-rows-title",
        species = words::species(r, Some(species)),
        fat = fat_word,
        target = trimmed(if species.takes_poultry_standard() { 7.0 } else { target.log10() }, 1)
    );
    let rows = times.rows.iter().map(|row| vec![words::row(r, row.row_f), time_words(row.need_s)]).collect();
    let header = vec![right(r, "guide-row"), right(r, "guide-dwell")];
    let mut out = vec![table(title, header, rows, Some(r.text("guide-rows-note")))];
    if species.takes_poultry_standard() && target != LogTarget::Seven {
        out.push(Block::Text(r.text("guide-poultry-seven")));
    }
    Ok(out)
}

/// Published trials, those with the fewest differences first; what differs is listed, never judged.
fn trials(r: &Reader, query: &StudyQuery) -> Result<Vec<Block>, AppError> {
    let (all, stages) = (studies()?, study_stages()?);
    let mut rows = Vec::new();
    for m in match_studies(query)? {
        let Some(s) = all.iter().find(|s| s.trial_id == m.trial_id) else { continue };
        let of = stages.iter().filter(|t| t.trial_id == s.trial_id).map(|t| stage_words(r, t));
        let gaps: Vec<String> = m.gaps.iter().map(|g| gap(r, *g)).collect();
        rows.push(vec![trial_name(s), of.collect::<Vec<_>>().join(" → "), reached(r, s), gaps.join(", ")]);
    }
    let header = vec![
        left(r, "guide-trial"),
        left(r, "guide-stages"),
        left(r, "guide-reached"),
        left(r, "guide-gaps"),
    ];
    Ok(vec![
        Block::Text(r.text("guide-studies-line")),
        table(String::new(), header, rows, Some(r.text("guide-studies-note"))),
    ])
}

/// For a batch's page: the few trials most like it.
pub(super) fn nearest_trials(r: &Reader, query: &StudyQuery, most: usize) -> Vec<String> {
    let all = studies().unwrap_or_default();
    let found = match_studies(query).unwrap_or_default();
    let line = |m: &fallrate_lethality::StudyMatch| {
        let s = all.iter().find(|s| s.trial_id == m.trial_id)?;
        let gaps: Vec<String> = m.gaps.iter().map(|g| gap(r, *g)).collect();
        Some(say!(
            r,
            "guide-trial-line",
            trial = trial_name(s),
            reached = reached(r, s),
            gaps = gaps.join(", ")
        ))
    };
    found.iter().filter_map(line).take(most).collect()
}

fn trial_name(s: &Study) -> String {
    format!("{} ({}): {}, {}", s.trial_id, s.study, s.species, s.form)
}

fn stage_words(r: &Reader, t: &fallrate_lethality::StudyStage) -> String {
    let mut parts = Vec::new();
    parts.extend(t.dry_bulb_c.map(|c| r.temperature(c)));
    parts.extend(t.wet_bulb_c.map(|c| say!(r, "guide-wet", wet = r.temperature(c))));
    parts.extend(t.time_min.map(|m| format!("{} min", trimmed(m, 0))));
    parts.join(", ")
}

fn reached(r: &Reader, s: &Study) -> String {
    let word = match s.reached_5_log_salmonella.as_str() {
        "yes" => r.text("guide-five-yes"),
        "no" => r.text("guide-five-no"),
        _ => r.text("guide-five-unknown"),
    };
    if s.log_red_salmonella.is_empty() { word } else { format!("{} log10: {word}", s.log_red_salmonella) }
}

fn gap(r: &Reader, g: StudyGap) -> String {
    r.text(match g {
        StudyGap::Species => "gap-species",
        StudyGap::Form => "gap-form",
        StudyGap::Marinade => "gap-marinade",
        StudyGap::ThicknessNotComparable => "gap-thickness",
        StudyGap::WetBulbNotStated => "gap-wet-bulb-not-stated",
        StudyGap::WetBulbLower => "gap-wet-bulb-lower",
        StudyGap::WetBulbShorter => "gap-wet-bulb-shorter",
        StudyGap::FiveLogNotReached => "gap-five-log",
        StudyGap::FormulationAndEquipment => "gap-formulation",
    })
}

/// Routes for a plant without steam, with the statements behind them.
pub(super) fn routes(r: &Reader) -> Block {
    let rows = RouteWithoutSteam::ALL.iter().map(|route| {
        let name = r.text(match route {
            RouteWithoutSteam::KillInLiquidBefore => "route-liquid",
            RouteWithoutSteam::PrintedPoultryEndpoint => "route-poultry",
            RouteWithoutSteam::AuthoritySchedule => "route-authority",
            RouteWithoutSteam::AdoptedStudy => "route-study",
            RouteWithoutSteam::OvenAfterDrying => "route-oven",
        });
        let stands = r.text(if route.may_stand_for_the_kill_step() { "route-may" } else { "route-never" });
        vec![name, stands, route.requirements().join(", ")]
    });
    let header = vec![left(r, "guide-route"), left(r, "guide-stands"), left(r, "proof-source-ids")];
    table(r.text("guide-routes"), header, rows.collect(), Some(r.text("guide-routes-note")))
}

/// Product and form as the table of standards names them.
pub(crate) fn standard_name(product: &str, form: &str) -> String {
    if form.is_empty() { product.to_owned() } else { format!("{product}, {form}") }
}

fn moisture(r: &Reader) -> Result<Block, AppError> {
    let rows = moisture_limits()?.iter().map(|l| {
        let most = l
            .most_wet_basis_percent
            .map_or_else(|| r.text("guide-not-readable"), |p| format!("{} %", trimmed(p, 1)));
        vec![
            standard_name(&l.product, &l.form_or_type),
            most,
            l.condition.clone(),
            format!("{}, {}", l.issuer, l.standard),
            words::basis(r, l.basis),
        ]
    });
    let header = vec![
        left(r, "guide-product"),
        right(r, "guide-most-moisture"),
        left(r, "guide-condition"),
        left(r, "guide-standard"),
        left(r, "guide-basis"),
    ];
    Ok(table(String::new(), header, rows.collect(), Some(r.text("guide-moisture-note"))))
}

/// Advice on dried produce. The bulletins disagree, and all of them are shown.
pub(super) fn produce(r: &Reader) -> Result<Vec<Block>, AppError> {
    let rows = produce_advice()?.iter().map(|a| {
        let hours = a.minutes / 60.0;
        let time = if hours >= 24.0 {
            format!("{} h", trimmed(hours, 0))
        } else {
            format!("{} min", trimmed(a.minutes, 0))
        };
        vec![
            a.product.clone(),
            a.method.clone(),
            words::row(r, a.temperature_f),
            time,
            a.source.clone(),
            words::basis(r, a.basis),
        ]
    });
    let header = vec![
        left(r, "guide-product"),
        left(r, "guide-method"),
        right(r, "guide-temperature"),
        right(r, "guide-time"),
        left(r, "guide-source"),
        left(r, "guide-basis"),
    ];
    Ok(vec![
        Block::Notice {
            level: Level::Note,
            word: r.text("guide-advice"),
            text: r.text("guide-produce-line"),
        },
        table(String::new(), header, rows.collect(), Some(r.text("guide-produce-note"))),
    ])
}

fn exposure(r: &Reader) -> Result<Block, AppError> {
    let rows = exposure_limits()?.iter().map(|l| {
        let band = match l.high_c {
            Some(high) => say!(r, "proof-from-to", from = r.temperature(l.low_c), to = r.temperature(high)),
            None => say!(r, "guide-above", from = r.temperature(l.low_c)),
        };
        vec![
            l.organism.clone(),
            band,
            format!("{} h", trimmed(l.limit_h, 1)),
            l.section.clone(),
            words::basis(r, l.basis),
        ]
    });
    let header = vec![
        left(r, "proof-organism"),
        left(r, "proof-band"),
        right(r, "guide-longest"),
        left(r, "guide-section"),
        left(r, "guide-basis"),
    ];
    Ok(table(String::new(), header, rows.collect(), Some(r.text("guide-exposure-note"))))
}
