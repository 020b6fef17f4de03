//! A process authority's own criterion.

use fallrate_series::{Instant, Log, Proof, Reading, Realm, Role};
use fallrate_units::{LogReduction, RelativeHumidity, TemperatureDifference};
use serde::{Deserialize, Serialize};

use crate::clocks::{Clocks, Reader, judge_reads};
use crate::facts::Case;
use crate::humid::HumidRecord;
use crate::kinetics::{LogLinear, exact_line_log10};
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
    by_authority(log, case, criterion)
}

pub(crate) fn by_authority<R: Realm>(
    log: &Log<R>,
    case: &Case,
    criterion: &AuthorityCriterion,
) -> Result<AuthorityVerdict, LethalityError> {
    criterion.checked()?;
    let clocks = Clocks::new(log, &case.facts);
    let window = crate::judge::window(log, case, &clocks);
    let mut missing = clocks.missing(log, judge_reads);
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
        let record = PositionRecord::new(log, name, window, case, &clocks);
        missing.extend(record.missing.iter().filter(|m| !missing.contains(m)).cloned().collect::<Vec<_>>());
        if let Some(w) = window.filter(|_| record.usable()) {
            let until = credited_until(log, case, criterion, (name, record.clock), &clocks, w, &mut missing);
            positions.push(position(criterion, name, &record, w, until));
        }
    }
    let humid = criterion.humidity.zip(window).map(|(h, w)| {
        let record = HumidRecord { log, facts: &case.facts, clocks: &clocks, w, span: w.span() };
        let e = record.relative_humidity(h.least.fraction());
        let shown = record.seconds(&e);
        missing.extend(e.missing);
        (h, shown)
    });
    let mut answers: Vec<Answer> = positions.iter().map(|p| p.answer).collect();
    if criterion.humidity.is_some() {
        let answer = humid.map(|(h, shown)| shown.minutes_at_least(h.minutes));
        answers.push(answer.unwrap_or(Answer::CannotBeJudged));
    }
    let humid_minutes = humid.map(|(_, shown)| (shown.yes_s / 60.0, shown.unknown_s / 60.0));
    let blocked = !missing.is_empty() || positions.len() != case.facts.required_positions.len();
    let mut answer = Answer::all(answers).unwrap_or(Answer::CannotBeJudged);
    if void {
        answer = Answer::CannotBeJudged;
    } else if blocked {
        answer = answer.and(Answer::CannotBeJudged);
    }
    Ok(AuthorityVerdict { answer, criterion: criterion.clone(), positions, humid_minutes, missing })
}

/// From when on nothing is credited, on the clock of the position's probes.
struct Until {
    /// As the clocks stand, s.
    as_clocks_stand: f64,
    /// At the earliest and at the latest, with the clocks shifted, s.
    bounds: (f64, f64),
}

impl Until {
    fn at(t: f64, slack: f64) -> Self {
        Self { as_clocks_stand: t, bounds: (t - slack, t + slack) }
    }
    fn earlier_of(self, other: Self) -> Self {
        let bounds = (self.bounds.0.min(other.bounds.0), self.bounds.1.min(other.bounds.1));
        Self { as_clocks_stand: self.as_clocks_stand.min(other.as_clocks_stand), bounds }
    }
}

fn credited_until<R: Realm>(
    log: &Log<R>,
    case: &Case,
    criterion: &AuthorityCriterion,
    (name, core): (&str, Reader),
    clocks: &Clocks,
    w: Window,
    missing: &mut Vec<Missing>,
) -> Until {
    let stated = |at: Instant| Until::at(at.seconds_since(w.t0), clocks.apart_s(Reader::Stated, core));
    let drying = case.facts.drying_began.map_or(Until::at(f64::INFINITY, 0.0), stated);
    match criterion.dryness {
        None => drying,
        Some(DrynessProxy::StatedInstant(at)) => drying.earlier_of(stated(at)),
        Some(DrynessProxy::SurfaceAboveWetBulb(by)) => {
            match surface_dry(log, name, by.kelvin(), clocks, core, w) {
                Some(until) => drying.earlier_of(until),
                None => {
                    missing.push(Missing::ProbeAt { position: format!("{name} (surface)") });
                    drying
                }
            }
        }
    }
}

fn position(
    criterion: &AuthorityCriterion,
    name: &str,
    record: &PositionRecord,
    w: Window,
    until: Until,
) -> AuthorityPosition {
    let k = &criterion.kinetics;
    let (credited, _) = credited_log10(record.shown(), k, until.bounds.0);
    let (most, granted) = credited_log10(record.possible(), k, until.bounds.1);
    let mut exact = 0.0;
    let stop = until.as_clocks_stand;
    for p in record.track.pieces.iter().filter(|p| p.from < stop) {
        if let Shown::Known(l) = p.shown {
            let to = p.to.min(stop);
            exact += exact_line_log10(l.from_c, p.at(&l, to), to - p.from, k);
        }
    }
    let target = criterion.target.log10() - 1e-9;
    AuthorityPosition {
        position: name.to_owned(),
        answer: Answer::from_bounds(credited >= target, most + granted >= target),
        credited_log10: credited,
        possible_log10: most + granted,
        exact_log10: exact,
        credited_until: (stop < w.end).then(|| instant_at(w.t0, stop.max(0.0))),
    }
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
fn surface_dry<R: Realm>(
    log: &Log<R>,
    position: &str,
    by_k: f64,
    clocks: &Clocks,
    core: Reader,
    w: Window,
) -> Option<Until> {
    let surface = log
        .channels
        .iter()
        .find(|c| matches!(&c.role, Role::SurfaceProbe { position: p, .. } if p == position))?;
    let wet = log.channels.iter().find(|c| c.role == Role::AirWetBulb)?;
    let clock = Reader::of(surface.source);
    let apart_s = clocks.apart_s(clock, Reader::of(wet.source));
    let counted = || surface.readings().iter().filter(|r| r.quality.counts());
    let second = |r: Option<&Reading>| r.map_or(f64::INFINITY, |r| r.at.seconds_since(w.t0));
    let mut follow = crate::probe::Follow::new(wet.readings());
    let as_clocks_stand = second(counted().find(|r| follow.at(r.at).is_some_and(|wb| r.value - wb > by_k)));
    let dry = |r: &Reading, wet_c: fn((f64, f64)) -> f64| {
        wet_bulb_about(wet.readings(), r.at, apart_s).is_some_and(|about| r.value - wet_c(about) > by_k)
    };
    let (earliest, latest) = if apart_s > 0.0 {
        (
            second(counted().find(|r| dry(r, |about| about.0))),
            second(counted().find(|r| dry(r, |about| about.1))),
        )
    } else {
        (as_clocks_stand, as_clocks_stand)
    };
    let slack = clocks.apart_s(clock, core);
    Some(Until { as_clocks_stand, bounds: (earliest - slack, latest + slack) })
}

/// Lowest and highest wet bulb that may stand beside a reading, where the clocks may be so far apart.
fn wet_bulb_about(readings: &[Reading], at: Instant, apart_s: f64) -> Option<(f64, f64)> {
    let from = readings.partition_point(|r| at.seconds_since(r.at) > apart_s + crate::probe::LATEST_WITHIN_S);
    let to = readings.partition_point(|r| r.at.seconds_since(at) <= apart_s);
    let around = readings.get(from..to).unwrap_or_default();
    let counted = around.iter().filter(|r| r.quality.counts()).map(|r| (r.value, r.value));
    counted.reduce(|a, b| (a.0.min(b.0), a.1.max(b.1)))
}
