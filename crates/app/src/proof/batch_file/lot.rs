//! The lot after drying, what went wrong on the way, and what a person said about suspect readings.

use fallrate_datafile::Section;
use fallrate_lethality::{LotClaims, LotFacts, Pack};
use fallrate_series::{CalendarDate, EventKind, Instant, Span, SuspectReason};

use super::when::When;

/// A result of a laboratory or a bench meter.
#[derive(Clone, Debug, PartialEq)]
pub struct LabResult {
    /// Water activity.
    pub water_activity: f64,
    /// Tolerance of the meter; `None` where unknown.
    pub tolerance: Option<f64>,
    /// What was sampled.
    pub sample: String,
    /// The meter or the laboratory.
    pub meter: String,
    /// Day of the meter's last calibration.
    pub calibrated_on: Option<CalendarDate>,
    /// When.
    pub at: Option<Instant>,
}

/// A power cut, an open door and the like.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Deviation {
    /// What it was.
    pub kind: EventKind,
    /// From and to.
    pub span: Span,
    /// It is not over, or its end is not known: it lasts to the end of the record.
    pub open: bool,
    /// In a person's words.
    pub note: String,
    /// Who entered it.
    pub by: String,
}

/// What a named person said about suspect readings.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct SuspectAnswer {
    /// Channel.
    pub channel: String,
    /// Which stretch.
    pub span: Span,
    /// What was suspect.
    pub about: SuspectReason,
    /// Whether the readings may count.
    pub accepted: bool,
    /// Who.
    pub by: String,
    /// Why.
    pub reason: String,
    /// When they answered.
    pub answered_at: Instant,
}

/// The kinds a person may enter, by their words.
pub(crate) const DEVIATIONS: [(&str, EventKind); 5] = [
    ("power cut", EventKind::PowerCut),
    ("door open", EventKind::DoorOpen),
    ("fan stopped", EventKind::FanStopped),
    ("heater failed", EventKind::HeaterFailed),
    ("tray out", EventKind::TrayOut),
];

/// The words of the kinds of interruption a person may enter.
pub fn deviation_words() -> impl Iterator<Item = &'static str> {
    DEVIATIONS.iter().map(|(word, _)| *word)
}

/// The kind a word names.
#[must_use]
pub fn deviation_kind(word: &str) -> Option<EventKind> {
    DEVIATIONS.iter().find(|(w, _)| *w == word).map(|(_, kind)| kind.clone())
}

/// What a reading may be suspected of, by its words.
pub(crate) const SUSPICIONS: [(&str, SuspectReason); 11] = [
    ("spike", SuspectReason::Spike),
    ("stuck", SuspectReason::Stuck),
    ("clock jump", SuspectReason::ClockJump),
    ("sock perhaps dry", SuspectReason::SockPerhapsDry),
    ("sensor condensing", SuspectReason::SensorCondensing),
    ("perhaps not in product", SuspectReason::PerhapsNotInProduct),
    ("wet bulb near above dry bulb", SuspectReason::WetBulbNearAboveDryBulb),
    ("sensors disagree", SuspectReason::SensorsDisagree),
    ("conflicting duplicate", SuspectReason::ConflictingDuplicate),
    ("ambiguous local time", SuspectReason::AmbiguousLocalTime),
    ("perhaps fault code", SuspectReason::PerhapsFaultCode),
];

pub(super) fn tests(root: &Section<'_>, when: &When<'_>) -> Vec<LabResult> {
    let one = |s: &Section<'_>| {
        let value = s.required_number("value", 0.0..=1.1);
        Some(LabResult {
            tolerance: s.number("tolerance", 0.0..=0.2),
            sample: s.text("sample").unwrap_or_default(),
            meter: s.text("meter").unwrap_or_default(),
            calibrated_on: super::when::date(s, "calibrated_on"),
            at: when.instant(s, "at"),
            water_activity: value?,
        })
    };
    root.sections("water_activity").iter().filter_map(one).collect()
}

/// The highest result decides; where any result that counts has no tolerance, none is known.
pub(super) fn facts(root: &Section<'_>, tests: &[LabResult]) -> LotFacts {
    let pack = root.section("lot").and_then(|s| s.choice("pack", &["air", "oxygen-proof vacuum"]));
    LotFacts { pack: pack.map(|i| if i == 0 { Pack::Air } else { Pack::OxygenProofVacuum }), ..worst(tests) }
}

/// What is claimed of the lot beside the kill step. A pack that is stated claims shelf stability unless the file says
/// otherwise.
pub(super) fn claims(root: &Section<'_>) -> Option<LotClaims> {
    let s = root.section("lot")?;
    let keys = ["shelf_stable", "single_serving", "called_jerky", "moisture_to_protein"];
    if !keys.iter().any(|k| s.has(k)) {
        return None;
    }
    Some(LotClaims {
        shelf_stable: s.flag("shelf_stable").unwrap_or_else(|| s.has("pack")),
        single_serving: s.flag("single_serving").unwrap_or(false),
        called_jerky: s.flag("called_jerky").unwrap_or(false),
        moisture_to_protein_ratio: s.number("moisture_to_protein", 0.0..=10.0),
    })
}

/// The highest water activity found, with the tolerance that makes it worst.
pub(crate) fn worst(tests: &[LabResult]) -> LotFacts {
    let highest = tests.iter().map(|t| t.water_activity).reduce(f64::max);
    let tolerance =
        tests.iter().map(|t| t.tolerance).reduce(|a, b| a.zip(b).map(|(a, b)| a.max(b))).flatten();
    LotFacts { water_activity: highest, water_activity_tolerance: tolerance, pack: None }
}

pub(super) fn deviations(root: &Section<'_>, when: &When<'_>) -> Vec<Deviation> {
    let names = DEVIATIONS.each_ref().map(|(n, _)| *n);
    let one = |s: &Section<'_>| {
        let kind = s.required_choice("kind", &names).and_then(|i| DEVIATIONS.get(i)).map(|(_, k)| k.clone());
        let span = when.span(s);
        let note = s.text("note").unwrap_or_default();
        let by = s.text("by").unwrap_or_default();
        Some(Deviation { kind: kind?, span: span?, open: false, note, by })
    };
    root.sections("interruption").iter().filter_map(one).collect()
}

pub(super) fn answers(root: &Section<'_>, when: &When<'_>) -> Vec<SuspectAnswer> {
    let names = SUSPICIONS.each_ref().map(|(n, _)| *n);
    let one = |s: &Section<'_>| {
        let channel = s.required_text("channel");
        let about = s.required_choice("about", &names).and_then(|i| SUSPICIONS.get(i)).map(|(_, r)| *r);
        let span = when.span(s);
        let accepted = s.required_flag("counts");
        let (by, reason) = (s.required_text("by"), s.required_text("reason"));
        let answered_at = when.required_instant(s, "at");
        Some(SuspectAnswer {
            channel: channel?,
            span: span?,
            about: about?,
            accepted: accepted?,
            by: by?,
            reason: reason?,
            answered_at: answered_at?,
        })
    };
    root.sections("suspect").iter().filter_map(one).collect()
}
