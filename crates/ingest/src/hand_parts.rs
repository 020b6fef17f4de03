//! The parts of a line of hand entry: instrument, event, value, position.

use std::collections::BTreeMap;

use fallrate_series::{CalendarDate, EventKind, Role};

use crate::checks::instant;
use crate::error::IngestError;
use crate::hand::Form;
use crate::mapping::{InstrumentMapping, word_of_role};
use crate::number::{DecimalMark, parse_number};
use crate::roles::kind_of;
use crate::stamp::parse_clock;
use crate::units_seen::{Kind, unit_word, units_of};
use crate::value::state_word;

/// The words of `event` lines.
const EVENTS: [(&str, EventKind); 13] = [
    ("product-met-heat", EventKind::ProductMetHeat),
    ("drying-began", EventKind::DryingBegan),
    ("dry-surface-step", EventKind::DrySurfaceStep),
    ("steam-on", EventKind::SteamOn),
    ("steam-off", EventKind::SteamOff),
    ("vent-shut", EventKind::VentShut),
    ("vent-opened", EventKind::VentOpened),
    ("door-open", EventKind::DoorOpen),
    ("power-cut", EventKind::PowerCut),
    ("fan-stopped", EventKind::FanStopped),
    ("heater-failed", EventKind::HeaterFailed),
    ("tray-out", EventKind::TrayOut),
    ("sock-wetted", EventKind::SockWetted),
];

impl Form<'_> {
    pub(crate) fn instrument(&mut self, rest: &str, number: u64) -> Result<(), IngestError> {
        let allowed = "an id, then any of: tolerance 0.5 degC, range -50 degC to 300 degC, calibrated 2026-01-10, due 2027-01-10";
        let mut tokens = rest.split_whitespace().peekable();
        let id = tokens.next().ok_or_else(|| self.bad(rest, allowed, number))?;
        let mut instrument = InstrumentMapping { id: id.to_owned(), ..InstrumentMapping::default() };
        let mut values: BTreeMap<&str, String> = BTreeMap::new();
        let mut key = "";
        for token in tokens {
            match token {
                "tolerance" | "range" | "calibrated" | "due" => key = token,
                "to" if key == "range" => key = "to",
                _ if key.is_empty() => return Err(self.bad(rest, allowed, number)),
                _ => {
                    let value = values.entry(key).or_default();
                    if !value.is_empty() {
                        value.push(' ');
                    }
                    value.push_str(token);
                }
            }
        }
        let day = |text: Option<String>| match text {
            None => Ok(None),
            Some(t) => {
                CalendarDate::parse(&t).map(Some).map_err(|_| self.bad(&t, "a date as 2026-01-10", number))
            }
        };
        instrument.calibrated_on = day(values.remove("calibrated"))?;
        instrument.calibration_due = day(values.remove("due"))?;
        instrument.tolerance = values.remove("tolerance");
        instrument.low = values.remove("range");
        instrument.high = values.remove("to");
        self.instruments.insert(id.to_owned(), instrument);
        Ok(())
    }

    pub(crate) fn event(&mut self, at: i64, rest: &str, number: u64) -> Result<(), IngestError> {
        let mut tokens = rest.split_whitespace();
        let word = tokens.next().unwrap_or("");
        let words: Vec<&str> = EVENTS.iter().map(|(w, _)| *w).collect();
        let kind = EVENTS.iter().find(|(w, _)| w.eq_ignore_ascii_case(word)).map(|(_, k)| k.clone());
        let kind = kind.ok_or_else(|| self.bad(word, &words.join(", "), number))?;
        let mut until = None;
        let mut note: Vec<&str> = tokens.collect();
        if let Some(at_word) = note.iter().position(|t| *t == "until") {
            let clock = note.get(at_word + 1).and_then(|t| parse_clock(t.as_bytes()));
            let clock = clock.ok_or_else(|| self.bad(rest, "a clock time after 'until'", number))?;
            until = self.instant(clock, rest, number, false)?.map(instant);
            note.drain(at_word..(at_word + 2).min(note.len()));
        }
        if until.is_some_and(|u| u < instant(at)) {
            return Err(self.bad(rest, "an 'until' at or after the event", number));
        }
        self.push_event(at, until, kind, &note.join(" "));
        Ok(())
    }

    /// The value at the end of the words, and how many of them it takes.
    pub(crate) fn value(
        &self,
        role: &Role,
        tokens: &[&str],
        number: u64,
    ) -> Result<(f64, usize), IngestError> {
        let kind = kind_of(role);
        let units: Vec<&str> = units_of(kind).iter().map(|u| u.symbol).collect();
        let allowed = format!("a value with one of: {}", units.join(", "));
        let last = tokens.last().copied().unwrap_or("");
        if matches!(kind, Kind::State) || *role == Role::VentOpening {
            if let Some(v) = state_word(last) {
                return Ok((v, 1));
            }
            if kind == Kind::State {
                return Err(self.bad(last, "on, off, open or shut", number));
            }
        }
        let starts_number =
            |t: &str| t.bytes().next().is_some_and(|b| b.is_ascii_digit() || matches!(b, b'-' | b'+' | b'.'));
        let (text, used) = if starts_number(last) || tokens.len() < 2 {
            (last.to_owned(), 1)
        } else {
            (tokens.get(tokens.len() - 2..).unwrap_or(&[]).concat(), 2)
        };
        let end = text
            .find(|c: char| !(c.is_ascii_digit() || matches!(c, '-' | '+' | '.' | ',')))
            .unwrap_or(text.len());
        let (digits, unit) = (text.get(..end).unwrap_or(""), text.get(end..).unwrap_or(""));
        let mark = if digits.contains(',') { DecimalMark::Comma } else { DecimalMark::Point };
        let value = parse_number(digits.as_bytes(), mark)
            .ok_or_else(|| self.bad(&tokens.join(" "), &allowed, number))?;
        if unit.is_empty() {
            let both: Vec<String> = units.iter().take(2).map(|u| format!("'{digits} {u}'")).collect();
            return Err(self.bad(&text, &both.join(" or "), number));
        }
        let unit =
            unit_word(unit).filter(|u| u.kind == kind).ok_or_else(|| self.bad(&text, &allowed, number))?;
        Ok((unit.base_from(value), used))
    }

    /// The role with its number and position.
    pub(crate) fn place_role(&self, role: Role, names: &[&str], line: u64) -> Result<Role, IngestError> {
        let number = names.first().and_then(|t| t.parse::<u16>().ok()).filter(|n| *n > 0);
        let position = names
            .iter()
            .skip(usize::from(number.is_some()))
            .copied()
            .collect::<Vec<_>>()
            .join(" ")
            .replace('-', " ");
        let spoiled = position.bytes().any(|b| b.is_ascii_digit())
            && number.is_none()
            && position.parse::<f64>().is_ok();
        match role {
            Role::CoreProbe { .. } | Role::SurfaceProbe { .. }
                if number.is_none() && position.is_empty() || spoiled =>
            {
                Err(self.bad(
                    &names.join(" "),
                    "the probe's number, its position, or both, before the value",
                    line,
                ))
            }
            Role::CoreProbe { .. } => Ok(Role::CoreProbe { number: number.unwrap_or(0), position }),
            Role::SurfaceProbe { .. } => Ok(Role::SurfaceProbe { number: number.unwrap_or(0), position }),
            Role::TrayWeight { .. } => match (number, position.is_empty()) {
                (Some(tray), true) => Ok(Role::TrayWeight { tray }),
                _ => Err(self.bad(&names.join(" "), "the tray's number before the weight", line)),
            },
            other if names.is_empty() => Ok(other),
            other => Err(self.bad(
                &names.join(" "),
                &format!("nothing between '{}' and its value", word_of_role(Some(&other))),
                line,
            )),
        }
    }
}

/// `8:05 PM air ...`: the half of the day belongs to the clock time.
pub(crate) fn with_half_day(clock: &str, rest: &str) -> (String, String) {
    let (word, tail) = rest.split_once(char::is_whitespace).unwrap_or((rest, ""));
    if matches!(word.to_ascii_lowercase().replace('.', "").as_str(), "am" | "pm") {
        return (format!("{clock} {word}"), tail.trim().to_owned());
    }
    (clock.to_owned(), rest.to_owned())
}
