//! A process authority's own criterion.

use fallrate_series::{Instant, Log, Proof, Role, Span};
use fallrate_units::{LogReduction, RelativeHumidity, TemperatureDifference};
use serde::{Deserialize, Serialize};

use crate::facts::Case;
use crate::humid::HumidRecord;
use crate::kinetics::{LogLinear, log_reduction_exact};
use crate::position::PositionRecord;
use crate::reason::{Missing, instant_at};
use crate::track::{Shown, Track, Window};
use crate::{Answer, LethalityError};

/// A person's approval.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Approval {
    /// Who.
    pub name: String,
    /// When.
    pub at: Instant,
}

/// A humidity condition of the criterion.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct HumidityCondition {
    /// Least relative humidity.
    pub least: RelativeHumidity,
    /// For so many minutes in total.
    pub minutes: f64,
}

/// From when on the surface counts as dry and nothing is credited.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum DrynessProxy {
    /// A surface probe at the position stands this far above the wet bulb.
    SurfaceAboveWetBulb(TemperatureDifference),
    /// An instant a person states.
    StatedInstant(Instant),
}

/// A process authority's own criterion. Inactive until a second person approves.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct AuthorityCriterion {
    /// The authority.
    pub author: String,
    /// Their document and its date.
    pub document: String,
    /// The moist product it is for, in their words.
    pub product_range: String,
    /// Decimal reductions asked.
    pub target: LogReduction,
    /// The kinetics.
    pub kinetics: LogLinear,
    /// A humidity condition.
    pub humidity: Option<HumidityCondition>,
    /// From when on the surface counts as dry.
    pub dryness: Option<DrynessProxy>,
    /// Second person's approval.
    pub approved: Option<Approval>,
}

/// One position by an authority's criterion.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct AuthorityPosition {
    /// Its name.
    pub position: String,
    /// How it came out.
    pub answer: Answer,
    /// Shown, each interval at its colder end less the tolerance, log10.
    pub credited_log10: f64,
    /// Possible if the missing minutes held the highest credited temperature, log10.
    pub possible_log10: f64,
    /// Exact integral of the record as read, log10. Information.
    pub exact_log10: f64,
    /// From when on nothing was credited.
    pub credited_until: Option<Instant>,
}

/// The verdict by an authority's criterion; to be headed so.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct AuthorityVerdict {
    /// Over all required positions and the humidity condition.
    pub answer: Answer,
    /// The criterion it was judged by.
    pub criterion: AuthorityCriterion,
    /// The positions.
    pub positions: Vec<AuthorityPosition>,
    /// Humid minutes shown, and unknown.
    pub humid_minutes: Option<(f64, f64)>,
    /// What to supply.
    pub missing: Vec<Missing>,
}

impl AuthorityCriterion {
    /// Checks texts and ranges.
    ///
    /// # Errors
    /// [`LethalityError`].
    pub fn checked(&self) -> Result<(), LethalityError> {
        let texts = [
            (&self.author, "author of the criterion", "the process authority's name"),
            (&self.document, "document of the criterion", "title and date"),
            (&self.product_range, "product range of the criterion", "the moist product it is for"),
        ];
        for (text, what, allowed) in texts {
            if text.trim().is_empty() {
                return Err(LethalityError::Empty { what, allowed });
            }
        }
        LethalityError::within("target", self.target.log10(), "log10", 0.1..=20.0, "0.1 to 20 log10")?;
        self.kinetics.checked().map(|_| ())
    }
    /// Whether a second person, not the author, has approved.
    #[must_use]
    pub fn is_active(&self) -> bool {
        let author = self.author.trim().to_lowercase();
        self.approved
            .as_ref()
            .is_some_and(|a| !a.name.trim().is_empty() && a.name.trim().to_lowercase() != author)
    }
}

/// Judges a measured record by an authority's criterion.
///
/// # Errors
/// [`LethalityError`] where the criterion is incomplete or out of range.
pub fn judge_by_authority(
    log: &Log<Proof>,
    case: &Case,
    criterion: &AuthorityCriterion,
) -> Result<AuthorityVerdict, LethalityError> {
    criterion.checked()?;
    let window = crate::judge::window(log, case);
    let mut missing = crate::judge::unknown_clocks(log);
    let void = !missing.is_empty() || !criterion.is_active();
    if !criterion.is_active() {
        missing.push(Missing::SecondPersonApproval);
    }
    if window.is_none() {
        missing.push(Missing::ProductMetHeat);
    }
    if case.facts.required_positions.is_empty() {
        missing.push(Missing::RequiredPositions);
    }
    let mut positions = Vec::new();
    for name in &case.facts.required_positions {
        let record = PositionRecord::new(log, name, window, case);
        missing.extend(record.missing.iter().cloned());
        if let Some(w) = window.filter(|_| record.usable()) {
            positions.push(position(log, case, criterion, name, &record.track, w, &mut missing)?);
        }
    }
    let humid =
        criterion.humidity.zip(window).and_then(|(h, w)| humid_minutes(log, case, w, h, &mut missing));
    let mut answers: Vec<Answer> = positions.iter().map(|p| p.answer).collect();
    if let Some(h) = criterion.humidity {
        answers.push(humid.map_or(Answer::CannotBeJudged, |(yes, unknown)| {
            Answer::from_bounds(yes >= h.minutes - 1e-7, yes + unknown >= h.minutes - 1e-7)
        }));
    }
    let blocked = !missing.is_empty() || positions.len() != case.facts.required_positions.len();
    let mut answer = Answer::all(answers).unwrap_or(Answer::CannotBeJudged);
    if void {
        answer = Answer::CannotBeJudged;
    } else if blocked {
        answer = answer.and(Answer::CannotBeJudged);
    }
    Ok(AuthorityVerdict { answer, criterion: criterion.clone(), positions, humid_minutes: humid, missing })
}

fn humid_minutes(
    log: &Log<Proof>,
    case: &Case,
    w: Window,
    h: HumidityCondition,
    missing: &mut Vec<Missing>,
) -> Option<(f64, f64)> {
    let span = Span::new(w.t0, instant_at(w.t0, w.end)).ok()?;
    let e = HumidRecord { log, facts: &case.facts, w, span }.relative_humidity(h.least.fraction());
    missing.extend(e.missing.iter().cloned());
    let (yes, unknown) = e.line.yes_and_unknown_s(w.end);
    Some((yes / 60.0, unknown / 60.0))
}

fn position(
    log: &Log<Proof>,
    case: &Case,
    criterion: &AuthorityCriterion,
    name: &str,
    track: &Track,
    w: Window,
    missing: &mut Vec<Missing>,
) -> Result<AuthorityPosition, LethalityError> {
    let mut until = case.facts.drying_began.map_or(w.end, |d| d.seconds_since(w.t0).clamp(0.0, w.end));
    match criterion.dryness {
        Some(DrynessProxy::StatedInstant(at)) => until = until.min(at.seconds_since(w.t0).max(0.0)),
        Some(DrynessProxy::SurfaceAboveWetBulb(by)) => match surface_dry_at(log, name, by.kelvin()) {
            Some(at) => until = until.min(at.map_or(f64::INFINITY, |i| i.seconds_since(w.t0).max(0.0))),
            None => missing.push(Missing::ProbeAt { position: format!("{name} (surface)") }),
        },
        None => {}
    }
    let k = &criterion.kinetics;
    let (credited, granted) = credited_log10(track, k, until);
    let mut exact = 0.0;
    for p in track.pieces.iter().filter(|p| p.from < until) {
        if let Shown::Known(l) = p.shown {
            let to = p.to.min(until);
            let end_c = l.from_c + (l.to_c - l.from_c) * (to - p.from) / (p.to - p.from);
            exact += log_reduction_exact(&[(p.from, l.from_c), (to, end_c)], k)?.log10();
        }
    }
    let target = criterion.target.log10() - 1e-9;
    Ok(AuthorityPosition {
        position: name.to_owned(),
        answer: Answer::from_bounds(credited >= target, credited + granted >= target),
        credited_log10: credited,
        possible_log10: credited + granted,
        exact_log10: exact,
        credited_until: (until < w.end).then(|| instant_at(w.t0, until)),
    })
}

/// Credit shown, at the colder end of each interval less the tolerance, and what unknown time could add.
pub(crate) fn credited_log10(track: &Track, k: &LogLinear, until: f64) -> (f64, f64) {
    let (mut shown, mut granted) = (0.0, 0.0);
    for p in track.pieces.iter().filter(|p| p.from < until) {
        let dt = p.to.min(until) - p.from;
        match p.shown {
            Shown::Known(l) => shown += k.rate_per_s(l.cold_c) * dt,
            Shown::Unknown(_) => granted += k.rate_per_s(k.highest_credited.celsius()) * dt,
        }
    }
    (shown, granted)
}

/// First instant at which a surface probe at the position stands so far above the wet bulb; `None` where either is
/// not recorded.
fn surface_dry_at(log: &Log<Proof>, position: &str, by_k: f64) -> Option<Option<Instant>> {
    let surface = log
        .channels
        .iter()
        .find(|c| matches!(&c.role, Role::SurfaceProbe { position: p, .. } if p == position))?;
    let wet = log.channels.iter().find(|c| c.role == Role::AirWetBulb)?;
    let mut follow = crate::probe::Follow::new(wet.readings());
    let mut counted = surface.readings().iter().filter(|r| r.quality.counts());
    Some(counted.find(|r| follow.at(r.at).is_some_and(|wb| r.value - wb > by_k)).map(|r| r.at))
}
