//! What happened beside the plan: interruptions, settings changed, corrections, corrective actions.

use fallrate_series::{EventKind, Instant};
use fallrate_store::{
    ActionPart, ActionTaken, Body, Corrected, Disposition, Draft, Interrupted, Kept, Noted, ReadingsEntered,
    Records, Rule, StoreError, StreamName, append_to, chain_of,
};

use super::Stamp;
use super::enter::{ReadingKind, add, by_now, draft, hand_form};

/// How a note of a changed setting begins.
pub(crate) const SET: &str = "set by hand: ";

/// Something set otherwise than the plan says. Kept as a note in a fixed form, so that the record tells it to any reader.
#[derive(Clone, Debug, PartialEq)]
pub enum Setting {
    /// Vent to a mark of the cabinet.
    Vent(String),
    /// Set point, degC.
    SetPoint(f64),
    /// The countdown timer dialled anew, s.
    Dialled(f64),
}

impl Setting {
    /// The note.
    #[must_use]
    pub fn note(&self) -> String {
        match self {
            Self::Vent(mark) => format!("{SET}vent {mark}"),
            Self::SetPoint(c) => format!("{SET}set point {c:.1} degC"),
            Self::Dialled(s) => format!("{SET}timer {:.0} min", s / 60.0),
        }
    }

    /// The setting, where a note is of that form.
    #[must_use]
    pub fn of_note(note: &str) -> Option<Self> {
        let words = note.strip_prefix(SET)?;
        let number = |rest: &str, unit: &str| rest.strip_suffix(unit)?.trim().parse::<f64>().ok();
        if let Some(mark) = words.strip_prefix("vent ") {
            Some(Self::Vent(mark.to_owned()))
        } else if let Some(rest) = words.strip_prefix("set point ") {
            number(rest, "degC").map(Self::SetPoint)
        } else {
            number(words.strip_prefix("timer ")?, "min").map(|min| Self::Dialled(min * 60.0))
        }
    }
}

/// What can interrupt a run.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum StoppedKind {
    /// No electric power.
    Power,
    /// The door stood open.
    Door,
    /// The fan stood still.
    Fan,
    /// Trays were out of the cabinet.
    Trays,
}

impl StoppedKind {
    /// All of them, with their words in addresses and forms.
    pub const ALL: [(&'static str, Self); 4] = [
        ("power_cut", Self::Power),
        ("door_open", Self::Door),
        ("fan_stopped", Self::Fan),
        ("tray_out", Self::Trays),
    ];

    /// By its word.
    #[must_use]
    pub fn named(word: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|(w, _)| *w == word).map(|(_, k)| k)
    }
    /// Its word.
    #[must_use]
    pub fn word(self) -> &'static str {
        Self::ALL.into_iter().find(|(_, k)| *k == self).map_or("", |(w, _)| w)
    }
    fn event(self) -> EventKind {
        match self {
            Self::Power => EventKind::PowerCut,
            Self::Door => EventKind::DoorOpen,
            Self::Fan => EventKind::FanStopped,
            Self::Trays => EventKind::TrayOut,
        }
    }
    fn of(event: &EventKind) -> Option<Self> {
        Self::ALL.into_iter().map(|(_, k)| k).find(|k| k.event() == *event)
    }
}

/// An interruption of a run, as its record tells it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Stopped {
    /// What.
    pub kind: StoppedKind,
    /// From.
    pub from: Instant,
    /// To; none: it still lasts.
    pub until: Option<Instant>,
    /// Trays that were out, where it is that.
    pub trays: Vec<u32>,
    /// The person's words.
    pub note: String,
    /// By whom it was entered.
    pub by: String,
    /// Number of the entry.
    pub entry: u64,
}

/// How the note begins that says which trays were out.
const TRAYS: &str = "trays ";

pub(super) fn stopped_of(k: &Kept<Interrupted>) -> Option<Stopped> {
    let kind = StoppedKind::of(&k.value.kind)?;
    let numbers = k.value.note.strip_prefix(TRAYS).map(|rest| rest.split([';', ':']).next().unwrap_or(""));
    let trays = numbers.unwrap_or("").split([',', ' ']).filter_map(|n| n.trim().parse().ok()).collect();
    Some(Stopped {
        kind,
        from: k.value.from,
        until: k.value.until,
        trays: if kind == StoppedKind::Trays { trays } else { Vec::new() },
        note: k.value.note.clone(),
        by: k.by.clone(),
        entry: k.entry,
    })
}

/// Enters that a setting was changed.
///
/// # Errors
/// A rule that is broken; what the place of the records says.
pub fn change_setting(
    records: &mut dyn Records,
    id: &str,
    stamp: &Stamp,
    setting: &Setting,
    happened: Option<Instant>,
) -> Result<u64, StoreError> {
    let body = Body::Noted(Noted { text: setting.note(), happened: by_now(happened, stamp.at) });
    Ok(add(records, id, stamp, body)?.entry.n)
}

/// Enters an interruption; `until` is none while it lasts.
///
/// # Errors
/// A rule that is broken; what the place of the records says.
pub fn enter_stop(
    records: &mut dyn Records,
    id: &str,
    stamp: &Stamp,
    kind: StoppedKind,
    (from, until): (Instant, Option<Instant>),
    (trays, note): (&[u32], &str),
) -> Result<u64, StoreError> {
    let numbers = trays.iter().map(u32::to_string).collect::<Vec<_>>().join(", ");
    let note = match (kind, numbers.is_empty(), note.trim().is_empty()) {
        (StoppedKind::Trays, false, true) => format!("{TRAYS}{numbers}"),
        (StoppedKind::Trays, false, false) => format!("{TRAYS}{numbers}; {}", note.trim()),
        _ => note.trim().to_owned(),
    };
    let body = Body::Interrupted(Interrupted { kind: kind.event(), from, until, note });
    Ok(add(records, id, stamp, body)?.entry.n)
}

/// Says when an interruption that was entered as lasting was over: a correction of its entry.
///
/// # Errors
/// A rule that is broken, as an end before its beginning; what the place of the records says.
pub fn stop_over(
    records: &mut dyn Records,
    id: &str,
    stamp: &Stamp,
    (entry, until): (u64, Instant),
    reason: &str,
) -> Result<(), StoreError> {
    let stream = StreamName::batch(id)?;
    let view = chain_of::<Body>(records, &stream)?.map(|c| c.view());
    let found = view.iter().flat_map(|v| &v.interruptions).find(|i| i.entry == entry).cloned();
    let entries = view.map_or(0, |v| v.last_n);
    let refused = || StoreError::Rule { n: entries + 1, rule: Rule::NoSuchEntry { entry, entries } };
    let found = found.ok_or_else(refused)?;
    let new = Box::new(Body::Interrupted(Interrupted { until: Some(until), ..found.value }));
    correct(records, id, stamp, (entry, new), reason)
}

fn correct(
    records: &mut dyn Records,
    id: &str,
    stamp: &Stamp,
    (entry, new): (u64, Box<Body>),
    reason: &str,
) -> Result<(), StoreError> {
    let body = Body::Corrected(Corrected { entry, new });
    let draft = Draft { reason: reason.to_owned(), ..draft(stamp, body) };
    append_to(records, &StreamName::batch(id)?, stamp.client_id.as_deref(), None, draft)?;
    Ok(())
}

/// Corrects a reading: the entry stays, what it should have said stands beside it with the reason.
///
/// # Errors
/// A rule that is broken; what the place of the records says.
pub fn correct_reading(
    records: &mut dyn Records,
    id: &str,
    stamp: &Stamp,
    (entry, at): (u64, Instant),
    (kind, value): (&ReadingKind, &str),
    reason: &str,
) -> Result<(), StoreError> {
    let text = hand_form(stamp, at, kind, value);
    let new = Body::ReadingsEntered(ReadingsEntered { text, happened: by_now(Some(at), stamp.at) });
    correct(records, id, stamp, (entry, Box::new(new)), reason)
}

/// A corrective action as its form asks for it: the four parts, those that are filled in.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct FourParts {
    /// Name of the deviation.
    pub deviation: String,
    /// The cause, found and removed.
    pub cause: String,
    /// The control point, back under control.
    pub control: String,
    /// Measures against recurrence.
    pub prevention: String,
    /// What happened to the product.
    pub disposition: String,
    /// Which it is, with the product held, kg; needed with the fourth part.
    pub decided: Option<(Disposition, f64)>,
}

/// Enters the parts that are filled in, each an entry of its own; hands back how many.
///
/// # Errors
/// A rule that is broken; what the place of the records says.
pub fn action_taken(
    records: &mut dyn Records,
    id: &str,
    stamp: &Stamp,
    parts: &FourParts,
) -> Result<usize, StoreError> {
    let list = [
        (ActionPart::Cause, &parts.cause),
        (ActionPart::Control, &parts.control),
        (ActionPart::Prevention, &parts.prevention),
        (ActionPart::Disposition, &parts.disposition),
    ];
    let mut entered = 0;
    for (n, (part, text)) in list.into_iter().enumerate() {
        if text.trim().is_empty() {
            continue;
        }
        let decided = parts.decided.filter(|_| part == ActionPart::Disposition);
        let body = Body::ActionTaken(Box::new(ActionTaken {
            deviation: parts.deviation.trim().to_owned(),
            part,
            text: text.trim().to_owned(),
            quantity_held_kg: decided.map(|d| d.1),
            disposition: decided.map(|d| d.0),
            happened: None,
        }));
        // One form makes up to four entries: each has an id of its own, so that a form sent twice stands once.
        let client_id = stamp.client_id.as_ref().map(|c| format!("{c}-{n}"));
        add(records, id, &Stamp { client_id, ..stamp.clone() }, body)?;
        entered += 1;
    }
    Ok(entered)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn identity_a_setting_is_read_back_from_its_note() {
        for s in [Setting::Vent("half open".to_owned()), Setting::SetPoint(62.5), Setting::Dialled(19_800.0)]
        {
            assert_eq!(Setting::of_note(&s.note()), Some(s));
        }
        for no in ["vent half", "set by hand: fan full", "set by hand: timer soon", ""] {
            assert_eq!(Setting::of_note(no), None, "{no}");
        }
    }
}
