//! What the clock needs beside its columns: zone, start of a count, half of the day.

use crate::clock_plan::{ChoiceNote, ClockColumns, ClockPlan, Evidence};
use crate::error::{IngestError, Place};
use crate::question::{Choice, Question, Setting, Topic};
use crate::stamp::{DateOrder, parse_clock, scan_stamp};
use crate::table::Row;
use crate::zone::{Zone, fixed_offset, show_local};

pub(crate) fn settle_zone(
    e: &Evidence<'_>,
    plan: &mut ClockPlan,
    questions: &mut Vec<Question>,
    notes: &mut Vec<ChoiceNote>,
) -> Result<(), IngestError> {
    let offsets_in_cells =
        matches!(plan.columns, Some(ClockColumns::Unix(..))) || cells_carry_offsets(e, &plan.used);
    plan.zone_in_file = offsets_in_cells;
    let named = |name: &str, key: &str| {
        Zone::named(name).ok_or_else(|| IngestError::Mapping {
            key: key.to_owned(),
            found: name.to_owned(),
            allowed: "a zone of the zone database such as Europe/Madrid, or an offset such as +01:00"
                .to_owned(),
            place: Place::file(e.file),
        })
    };
    if let Some(name) = &e.given.zone {
        plan.zone = Some(named(name, "clock.zone")?);
        return Ok(());
    }
    if offsets_in_cells {
        return Ok(());
    }
    if let Some((zone, text)) = zone_in_file(e, &plan.used) {
        notes.push(ChoiceNote {
            what: "zone".to_owned(),
            chosen: zone.name.clone(),
            because: format!("the file says '{text}'"),
        });
        plan.zone = Some(zone);
        plan.zone_in_file = true;
        return Ok(());
    }
    if let Some(name) = &e.options.default_zone {
        plan.zone = Some(named(name, "default zone")?);
        return Ok(());
    }
    let column = plan.used.first().copied().unwrap_or(0);
    questions.push(Question {
        topic: Topic::Zone,
        heading: e.layout.headings.get(column).cloned(),
        example: e.rows.first().map(|r| r.text(column)).unwrap_or_default(),
        choices: Vec::new(),
        likelier: None,
        place: Place::line(e.file, e.layout.first_line),
    });
    Ok(())
}

pub(crate) fn cells_carry_offsets(e: &Evidence<'_>, used: &[usize]) -> bool {
    use crate::stamp::ZoneMark;
    let mut any = false;
    for row in e.rows {
        let clock = used.iter().filter_map(|c| {
            scan_stamp(row.cell(*c)).and_then(|(_, clock)| clock).or_else(|| parse_clock(row.cell(*c)))
        });
        for clock in clock {
            match clock.zone {
                ZoneMark::Offset(_) => any = true,
                _ => return false,
            }
        }
    }
    any
}

pub(crate) fn zone_in_file(e: &Evidence<'_>, used: &[usize]) -> Option<(Zone, String)> {
    for column in used {
        for text in [e.layout.headings.get(*column), e.layout.units.get(*column)].into_iter().flatten() {
            if let Some(seconds) = offset_inside(text) {
                return Some((Zone::fixed(seconds), text.clone()));
            }
        }
    }
    for (_, line) in &e.layout.preamble {
        let lower = line.to_lowercase();
        let key = ["time zone", "timezone", "utc offset", "gmt offset", "zona horaria", "zeitzone", "tz"]
            .iter()
            .find(|k| {
                lower.find(**k).is_some_and(|at| {
                    lower.get(at + k.len()..).is_some_and(|t| {
                        t.trim_start_matches(['"', ' ']).starts_with([':', '=', ',', ';', '\t', '|'])
                    })
                })
            })?;
        let at = lower.find(key)? + key.len();
        let value = line.get(at..)?.trim_matches(|c: char| !c.is_alphanumeric() && c != '+' && c != '-');
        let value = value.split([',', ';', '\t', '|', '"', ' ']).next().unwrap_or("").trim();
        if let Some(zone) = Zone::named(value).or_else(|| offset_inside(line).map(Zone::fixed)) {
            return Some((zone, line.trim().to_owned()));
        }
    }
    None
}

/// `Date Time, GMT-05:00`, `Timestamp (UTC)`.
pub(crate) fn offset_inside(text: &str) -> Option<i64> {
    let upper = text.to_ascii_uppercase();
    let at = upper.find("GMT").or_else(|| upper.find("UTC"))?;
    let tail: String = upper
        .get(at..)?
        .chars()
        .take_while(|c| c.is_ascii_alphanumeric() || matches!(c, '+' | '-' | ':'))
        .collect();
    fixed_offset(&tail)
}

pub(crate) fn settle_start(
    e: &Evidence<'_>,
    plan: &mut ClockPlan,
    questions: &mut Vec<Question>,
    notes: &mut Vec<ChoiceNote>,
) -> Result<(), IngestError> {
    let used = plan.used.first().copied().unwrap_or(0);
    let shape_of = |c: &ClockColumns| match c {
        ClockColumns::Elapsed(..) | ClockColumns::Span(_) => Some(Topic::Start),
        ClockColumns::Clock(_) => Some(Topic::FirstDay),
        _ => None,
    };
    let topic = match &plan.columns {
        Some(columns) => shape_of(columns),
        None => questions.iter().any(|q| q.topic == Topic::ElapsedUnit).then_some(Topic::Start),
    };
    let Some(topic) = topic else { return Ok(()) };
    if let Some(text) = &e.given.start {
        let ms = start_ms(text, DateOrder::YearMonthDay).ok_or_else(|| IngestError::Mapping {
            key: "clock.start".to_owned(),
            found: text.clone(),
            allowed: "2026-03-01 08:00:00".to_owned(),
            place: Place::file(e.file),
        })?;
        plan.start_local_ms = Some(ms);
        return Ok(());
    }
    if let Some((ms, line)) = start_in_preamble(e) {
        notes.push(ChoiceNote {
            what: "start".to_owned(),
            chosen: show_local(ms),
            because: format!("the file says '{line}'"),
        });
        plan.start_local_ms = Some(ms);
        return Ok(());
    }
    questions.push(Question {
        topic,
        heading: e.layout.headings.get(used).cloned(),
        example: e.rows.first().map(|r| r.text(used)).unwrap_or_default(),
        choices: Vec::new(),
        likelier: None,
        place: Place::line(e.file, e.layout.first_line),
    });
    Ok(())
}

pub(crate) fn start_ms(text: &str, order: DateOrder) -> Option<i64> {
    let stamp = crate::stamp::parse_stamp(text.as_bytes(), order)?;
    let clock = stamp.clock.map_or(0, |c| c.milliseconds);
    Some(stamp.day.days_from_epoch() * 86_400_000 + clock)
}

/// `Start: 2026-03-01 08:00`: taken only where the date can be read in one way.
pub(crate) fn start_in_preamble(e: &Evidence<'_>) -> Option<(i64, String)> {
    for (_, line) in &e.layout.preamble {
        let lower = line.to_lowercase();
        let named = ["start", "inicio", "beginn", "date", "fecha", "datum", "begin"]
            .iter()
            .any(|k| lower.contains(k));
        if !named {
            continue;
        }
        let from = line.find(|c: char| c.is_ascii_digit())?;
        let value = line.get(from..)?.trim_end_matches([',', ';', '\t', '"', '|', ' ']);
        let value = value.replace(['\t', ';'], " ");
        let Some((raw, _)) = scan_stamp(value.as_bytes()) else { continue };
        let fitting: Vec<DateOrder> =
            DateOrder::ALL.into_iter().filter(|o| raw.under(*o).is_some()).collect();
        if let [one] = fitting.as_slice() {
            return start_ms(&value, *one).map(|ms| (ms, line.trim().to_owned()));
        }
    }
    None
}

/// A 12-hour clock without AM and PM: no hour is 0 or above 12, and 12 is followed by 1.
pub(crate) fn settle_half_day(e: &Evidence<'_>, plan: &mut ClockPlan, questions: &mut Vec<Question>) {
    if let Some(half) = e.given.half_day {
        plan.half_day = Some(half == crate::mapping::HalfDay::Pm);
        return;
    }
    if plan.used.is_empty() || matches!(plan.columns, Some(ClockColumns::Span(_) | ClockColumns::Elapsed(..)))
    {
        return;
    }
    let clocks: Vec<(u16, bool, &Row)> = e
        .rows
        .iter()
        .filter_map(|r| {
            plan.used.iter().find_map(|c| {
                let cell = r.cell(*c);
                let clock = scan_stamp(cell).and_then(|(_, k)| k).or_else(|| parse_clock(cell))?;
                Some((clock.hour_written, clock.half_day, r))
            })
        })
        .collect();
    let twelve = !clocks.is_empty() && clocks.iter().all(|(h, half, _)| (1..=12).contains(h) && !half);
    let wrap = clocks.iter().zip(clocks.iter().skip(1)).find(|(a, b)| a.0 == 12 && b.0 == 1);
    if let (true, Some((_, (_, _, row)))) = (twelve, wrap) {
        let column = plan.used.last().copied().unwrap_or(0);
        questions.push(Question {
            topic: Topic::HalfDay,
            heading: e.layout.headings.get(column).cloned(),
            example: e.rows.first().map(|r| r.text(column)).unwrap_or_default(),
            choices: vec![
                Choice {
                    setting: Setting::HalfDay(crate::mapping::HalfDay::Am),
                    shown: "the first reading before noon".to_owned(),
                },
                Choice {
                    setting: Setting::HalfDay(crate::mapping::HalfDay::Pm),
                    shown: "the first reading after noon".to_owned(),
                },
            ],
            likelier: None,
            place: Place::line(e.file, row.line),
        });
    }
}
