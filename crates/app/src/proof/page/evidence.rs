//! The evidence: every position, every part of every option, limits, interruptions, instruments, events.

use fallrate_lethality::{Advised, Answer, InterruptionFinding, OptionResult, PositionResult, WetBulbSign};
use fallrate_report::{Block, Column, Level, Table};
use fallrate_series::CalibrationState;

use super::super::words;
use super::front::part_figure;
use super::{Sheet, pictures};
use crate::words::{fixed, say};

pub(super) fn blocks(s: &Sheet<'_>) -> Vec<Block> {
    let mut out = vec![Block::PageBreak, heading(s, 1, "proof-evidence")];
    out.extend(pictures::measured(s).map(|c| Block::Keep(vec![Block::Picture(c)])));
    for p in &s.judgement().positions {
        out.extend(position(s, p));
    }
    out.extend(limits(s));
    out.extend(authority(s));
    out.extend(interruptions(s));
    out.extend(information(s));
    out.extend(practices(s));
    out.extend(super::lot::parts(s));
    out.extend(lot(s));
    out.extend(super::lot::end_of_drying(s));
    out.extend(super::lot::other_ways(s));
    out.extend(instruments(s));
    out.extend(events(s));
    out
}

fn heading(s: &Sheet<'_>, level: u8, key: &str) -> Block {
    Block::Heading { level, text: s.r.text(key) }
}

fn left(s: &Sheet<'_>, key: &str) -> Column {
    Column::left(&s.r.text(key))
}

fn right(s: &Sheet<'_>, key: &str) -> Column {
    Column::right(&s.r.text(key))
}

fn position(s: &Sheet<'_>, p: &PositionResult) -> Vec<Block> {
    let title = say!(s.r, "proof-position", position = p.position.clone(), answer = s.answer_word(p.answer));
    let mut out = vec![Block::Heading { level: 2, text: title }];
    let tolerance = p.tolerance_k.map_or_else(|| "–".to_owned(), |t| s.difference(t));
    out.push(Block::Text(say!(
        s.r,
        "proof-position-line",
        channels = p.channels.join(", "),
        tolerance = tolerance,
        unknown = s.minutes(p.unknown_min.ceil())
    )));
    out.push(Block::Keep(vec![Block::Picture(pictures::temperature_strip(s, p))]));
    for o in &p.options {
        if !o.humid_strip.is_empty() {
            out.push(Block::Keep(vec![Block::Picture(pictures::humid_strip(s, o))]));
        }
        out.push(Block::Table(parts(s, o)));
        out.extend(super::lot::readings(s, o));
    }
    out.push(Block::Table(rows(s, p)));
    out
}

/// Every part of an option with its figures.
fn parts(s: &Sheet<'_>, o: &OptionResult) -> Table {
    let figure = |p, v| part_figure(s, p, v).unwrap_or_default();
    Table {
        title: say!(
            s.r,
            "proof-parts",
            option = words::option(s.r, o.option),
            answer = s.answer_word(o.answer)
        ),
        header: vec![
            left(s, "proof-requirement"),
            right(s, "proof-shown"),
            right(s, "proof-unknown"),
            right(s, "proof-required"),
            left(s, "proof-answer"),
            left(s, "proof-source-ids"),
        ],
        rows: o
            .parts
            .iter()
            .map(|p| {
                vec![
                    words::item(s.r, p.item),
                    figure(p, p.shown),
                    figure(p, p.unknown),
                    figure(p, p.required),
                    s.answer_word(p.answer),
                    p.requirements.join(", "),
                ]
            })
            .collect(),
        note: None,
    }
}

/// Rows of the table that were reached, at most the dozen hottest.
fn rows(s: &Sheet<'_>, p: &PositionResult) -> Table {
    const MOST: usize = 12;
    let shown: Vec<_> = p.rows.iter().filter(|r| r.shown_s > 0.0 || r.linear_s > 0.0).collect();
    let skip = shown.len().saturating_sub(MOST);
    Table {
        title: say!(s.r, "proof-rows", position = p.position.clone()),
        header: vec![
            right(s, "proof-row-at"),
            right(s, "proof-row-need"),
            right(s, "proof-row-shown"),
            right(s, "proof-row-longest"),
            right(s, "proof-row-linear"),
        ],
        rows: shown
            .into_iter()
            .skip(skip)
            .map(|r| {
                vec![
                    s.row(r.row_f),
                    s.seconds(r.need_s),
                    s.seconds(r.shown_s),
                    s.seconds(r.longest_run_s),
                    s.seconds(r.linear_s),
                ]
            })
            .collect(),
        note: Some(s.r.text("proof-rows-note")),
    }
}

fn limits(s: &Sheet<'_>) -> Vec<Block> {
    let mut out = Vec::new();
    for l in s.j.limits.iter().filter(|l| !l.strip.is_empty()) {
        let title = say!(
            s.r,
            "proof-limit-title",
            name = l.limit.name.clone(),
            what = words::role(s.r, &l.limit.role),
            word = words::kept(s.r, l.answer)
        );
        out.push(Block::Keep(vec![Block::Picture(pictures::strip(s, title, &l.strip))]));
    }
    if !out.is_empty() {
        out.insert(0, heading(s, 2, "proof-limits"));
    }
    out
}

fn authority(s: &Sheet<'_>) -> Vec<Block> {
    let Some(a) = &s.j.authority else { return Vec::new() };
    let c = &a.criterion;
    let title = say!(s.r, "proof-authority", author = c.author.clone(), document = c.document.clone());
    let log = |x: f64| fixed((x * 100.0).floor() / 100.0, 2);
    let table = Table {
        title: s.r.text("proof-authority-table"),
        header: vec![
            left(s, "proof-position-word"),
            right(s, "proof-authority-credited"),
            right(s, "proof-authority-possible"),
            right(s, "proof-authority-exact"),
            left(s, "proof-answer"),
        ],
        rows: a
            .positions
            .iter()
            .map(|p| {
                vec![
                    p.position.clone(),
                    log(p.credited_log10),
                    log(p.possible_log10),
                    log(p.exact_log10),
                    s.answer_word(p.answer),
                ]
            })
            .collect(),
        note: Some(s.r.text("proof-authority-note")),
    };
    let k = c.kinetics;
    let text = say!(
        s.r,
        "proof-authority-line",
        range = c.product_range.clone(),
        d = s.seconds(k.d_ref.seconds()),
        t = s.r.temperature(k.t_ref.celsius()),
        z = s.difference(k.z.kelvin()),
        low = s.r.temperature(k.lowest_counted.celsius()),
        high = s.r.temperature(k.highest_credited.celsius())
    );
    let approved = match &c.approved {
        Some(a) => say!(s.r, "proof-approved", name = a.name.clone(), at = s.clock(a.at)),
        None => s.r.text("proof-not-approved"),
    };
    vec![
        Block::Heading { level: 2, text: title },
        Block::Text(text),
        Block::Text(approved),
        Block::Table(table),
    ]
}

/// "Power cut, 08:52 to 09:30: kill not complete before; judge anew".
pub(super) fn interruption_line(s: &Sheet<'_>, i: &InterruptionFinding) -> String {
    let kill = match i.kill_before {
        Answer::Met => "proof-kill-before-met",
        Answer::NotMet => "proof-kill-before-not",
        Answer::CannotBeJudged => "proof-kill-before-unknown",
    };
    let advised = match i.advised {
        Advised::Continue => "proof-advised-continue",
        Advised::JudgeAnew => "proof-advised-anew",
        Advised::Hold => "proof-advised-hold",
    };
    say!(
        s.r,
        "proof-interruption",
        what = words::event(s.r, &i.kind),
        span = s.span(i.span),
        kill = s.r.text(kill),
        advised = s.r.text(advised)
    )
}

fn interruptions(s: &Sheet<'_>) -> Vec<Block> {
    if s.j.interruptions.is_empty() {
        return Vec::new();
    }
    let rows = s.j.interruptions.iter().map(|i| {
        vec![
            words::event(s.r, &i.kind),
            s.span(i.span),
            s.minutes(i.band_shown_min.ceil()),
            s.minutes(i.band_at_most_min.ceil()),
            s.minutes(i.total_at_most_min.ceil()),
            s.answer_word(i.come_up),
        ]
    });
    let table = Table {
        title: s.r.text("proof-interruptions"),
        header: vec![
            left(s, "proof-what"),
            left(s, "proof-when"),
            right(s, "proof-band-shown"),
            right(s, "proof-band-most"),
            right(s, "proof-band-total"),
            left(s, "proof-six-hours"),
        ],
        rows: rows.collect(),
        note: Some(s.r.text("proof-interruptions-note")),
    };
    vec![heading(s, 2, "proof-interruptions"), Block::Table(table)]
}

/// What does not decide: options not claimed, wet-bulb sign, growth exposure.
fn information(s: &Sheet<'_>) -> Vec<Block> {
    let j = s.judgement();
    let mut list = Vec::new();
    let sign = match j.wet_bulb_sign {
        WetBulbSign::Seen { minutes } => say!(s.r, "proof-sign-seen", minutes = s.minutes(minutes)),
        WetBulbSign::NotSeen { minutes } => say!(s.r, "proof-sign-not-seen", minutes = s.minutes(minutes)),
        WetBulbSign::NotMeasured => s.r.text("proof-sign-not-measured"),
    };
    list.push(sign);
    for wanted in [Answer::Met, Answer::CannotBeJudged, Answer::NotMet] {
        let named: Vec<String> =
            j.information.iter().filter(|(_, a)| *a == wanted).map(|(o, _)| words::option(s.r, *o)).collect();
        if !named.is_empty() {
            list.push(say!(s.r, "proof-others", answer = s.answer_word(wanted), options = named.join("; ")));
        }
    }
    for (position, d) in &s.j.degree_hours {
        list.push(say!(
            s.r,
            "proof-degree-hours",
            position = position.clone(),
            hours = fixed(d.degree_hours_f, 0),
            limit = fixed(d.limit_f, 0)
        ));
    }
    let mut out = vec![heading(s, 2, "proof-information"), Block::Text(s.r.text("proof-information-line"))];
    out.push(Block::List(list));
    out.extend(exposure(s));
    out
}

/// For each position and organism the band nearest to its limit.
fn exposure(s: &Sheet<'_>) -> Option<Block> {
    let mut nearest: Vec<&fallrate_lethality::ExposureFinding> = Vec::new();
    for e in s.j.exposure.iter().filter(|e| e.at_most_h > 0.0 && e.at_most_h.is_finite()) {
        let same = |k: &&&mut &fallrate_lethality::ExposureFinding| {
            k.position == e.position && k.organism == e.organism
        };
        match nearest.iter_mut().find(|k| same(&k)) {
            Some(k) if e.at_most_h * k.limit_h > k.at_most_h * e.limit_h => *k = e,
            Some(_) => {}
            None => nearest.push(e),
        }
    }
    if nearest.is_empty() {
        return None;
    }
    let hours = |h: f64| format!("{} h", fixed((h * 10.0).ceil() / 10.0, 1));
    let rows = nearest.into_iter().map(|e| {
        vec![
            e.position.clone(),
            e.organism.clone(),
            say!(s.r, "proof-from-to", from = s.r.temperature(e.band_c.0), to = s.r.temperature(e.band_c.1)),
            hours(e.at_most_h),
            hours(e.limit_h),
            s.answer_word(e.answer),
        ]
    });
    Some(Block::Table(Table {
        title: s.r.text("proof-exposure"),
        header: vec![
            left(s, "proof-position-word"),
            left(s, "proof-organism"),
            left(s, "proof-band"),
            right(s, "proof-at-the-most"),
            right(s, "proof-allowed"),
            left(s, "proof-answer"),
        ],
        rows: rows.collect(),
        note: Some(s.r.text("proof-exposure-note")),
    }))
}

fn practices(s: &Sheet<'_>) -> Vec<Block> {
    use fallrate_lethality::CommonPractice;
    if s.j.practices.is_empty() {
        return Vec::new();
    }
    let lines = s.j.practices.iter().map(|p| {
        let what = match p.practice {
            CommonPractice::HumidityFloor { least, minutes } => {
                say!(s.r, "proof-practice-rh", least = s.r.percent(least), minutes = s.minutes(minutes))
            }
            CommonPractice::AirTemperature { least_c, minutes } => {
                say!(
                    s.r,
                    "proof-practice-air",
                    least = s.r.temperature(least_c),
                    minutes = s.minutes(minutes)
                )
            }
        };
        let word = s.r.text(match p.kept {
            Some(true) => "answer-kept",
            Some(false) => "answer-missed",
            None => "answer-cannot",
        });
        say!(s.r, "proof-practice", what = what, word = word, shown = s.minutes(p.shown_min))
    });
    let lines: Vec<String> = lines.collect();
    vec![
        heading(s, 2, "proof-practices"),
        s.notice(Level::Caution, s.r.text("proof-practices-note")),
        Block::List(lines),
    ]
}

/// Water-activity results, one by one.
fn lot(s: &Sheet<'_>) -> Vec<Block> {
    if s.file.tests.is_empty() {
        return Vec::new();
    }
    let rows = s.file.tests.iter().map(|t| {
        vec![
            t.at.map(|a| s.clock(a)).unwrap_or_default(),
            fixed(t.water_activity, 3),
            t.tolerance.map_or_else(|| "–".to_owned(), |t| fixed(t, 3)),
            t.sample.clone(),
            t.meter.clone(),
        ]
    });
    vec![Block::Table(Table {
        title: s.r.text("proof-water-activity"),
        header: vec![
            left(s, "proof-when"),
            right(s, "proof-water-activity-word"),
            right(s, "proof-tolerance"),
            left(s, "proof-sample"),
            left(s, "proof-meter"),
        ],
        rows: rows.collect(),
        note: None,
    })]
}

fn instruments(s: &Sheet<'_>) -> Vec<Block> {
    let at = s.j.case.facts.product_met_heat.or_else(|| s.j.log.span().map(fallrate_series::Span::from));
    let rows = s.j.log.channels.iter().map(|c| {
        let i = c.instrument.clone().unwrap_or_default();
        let state = at.map(|at| i.calibration_at(at));
        let word = s.r.text(match state {
            Some(CalibrationState::InDate) => "calibration-in-date",
            Some(CalibrationState::Overdue { .. }) => "calibration-overdue",
            Some(CalibrationState::NotYetCalibrated { .. }) => "calibration-later",
            _ => "calibration-unknown",
        });
        let file =
            c.source.and_then(|n| s.j.log.sources.get(n)).map_or_else(String::new, |f| f.file_name.clone());
        vec![
            words::role(s.r, &c.role),
            format!("{} · {}", c.name, file),
            i.id.clone(),
            tolerance(s, c.role.base_unit(), i.tolerance),
            i.calibrated_on.map(|d| d.to_string()).unwrap_or_default(),
            i.calibration_due.map(|d| d.to_string()).unwrap_or_default(),
            word,
        ]
    });
    let files = s.j.log.sources.iter().map(|f| {
        let evidence = match &f.clock.evidence {
            fallrate_series::ClockEvidence::Unknown => s.r.text("clock-unknown"),
            fallrate_series::ClockEvidence::InFile => s.r.text("clock-in-file"),
            fallrate_series::ClockEvidence::Declared { by } => say!(s.r, "clock-declared", by = by.clone()),
            fallrate_series::ClockEvidence::Compared { with } => {
                say!(s.r, "clock-compared", with = with.clone())
            }
        };
        vec![
            f.file_name.clone(),
            fixed(f.bytes as f64, 0),
            super::grouped(&f.sha256),
            fixed(f.clock.offset_s, 0),
            evidence,
        ]
    });
    vec![
        heading(s, 2, "proof-instruments"),
        Block::Table(Table {
            title: String::new(),
            header: vec![
                left(s, "proof-measured"),
                left(s, "proof-channel"),
                left(s, "proof-instrument"),
                right(s, "proof-tolerance"),
                left(s, "proof-calibrated"),
                left(s, "proof-due"),
                left(s, "proof-state"),
            ],
            rows: rows.collect(),
            note: None,
        }),
        Block::Table(Table {
            title: s.r.text("proof-files"),
            header: vec![
                left(s, "proof-file"),
                right(s, "proof-bytes"),
                left(s, "proof-sha"),
                right(s, "proof-clock-offset"),
                left(s, "proof-clock-evidence"),
            ],
            rows: files.collect(),
            note: Some(s.r.text("proof-files-note")),
        }),
    ]
}

fn tolerance(s: &Sheet<'_>, unit: fallrate_series::BaseUnit, value: Option<f64>) -> String {
    use fallrate_series::BaseUnit;
    let Some(v) = value else { return "–".to_owned() };
    match unit {
        BaseUnit::Celsius => s.difference(v),
        BaseUnit::Fraction => s.r.percent(v),
        BaseUnit::Kilograms => s.r.mass(v, 3),
        BaseUnit::Watts => format!("{} W", fixed(v, 0)),
        BaseUnit::Pascals => format!("{} Pa", fixed(v, 0)),
        BaseUnit::State | BaseUnit::AsWritten => fixed(v, 2),
    }
}

fn events(s: &Sheet<'_>) -> Vec<Block> {
    if s.j.log.events.is_empty() {
        return Vec::new();
    }
    let rows = s.j.log.events.iter().map(|e| {
        let when = match e.until {
            Some(to) => say!(s.r, "proof-span", from = s.clock(e.at), to = s.clock(to)),
            None => s.clock(e.at),
        };
        vec![when, words::event(s.r, &e.kind), e.note.clone(), e.by.clone()]
    });
    vec![
        heading(s, 2, "proof-events"),
        Block::Table(Table {
            title: String::new(),
            header: vec![
                left(s, "proof-when"),
                left(s, "proof-what"),
                left(s, "proof-words"),
                left(s, "proof-by"),
            ],
            rows: rows.collect(),
            note: None,
        }),
    ]
}
