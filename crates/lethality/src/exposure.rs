//! Growth while warm: cumulative exposure by organism and degree-hours. Information, unless the plan claims them.

use fallrate_series::{Log, Realm};
use serde::{Deserialize, Serialize};

use crate::clocks::{Clocks, judge_reads};
use crate::come_up::{COME_UP_HIGH_F, share_in_band, touches};
use crate::data::{DEGREE_HOURS, EXPOSURE_LIMITS, table_once};
use crate::facts::Case;
use crate::position::PositionRecord;
use crate::table::{celsius_from_fahrenheit, fahrenheit_from_celsius};
use crate::track::{Shown, Track};
use crate::{Answer, Basis, LethalityError};

/// Longest cumulative time of one organism in one band of temperature.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct ExposureLimit {
    /// The organism.
    pub organism: String,
    /// Lower end of the band as printed, degC.
    #[serde(rename = "T_low_C")]
    pub low_c: f64,
    /// Upper end as printed, degC; open upward where there is none.
    #[serde(rename = "T_high_C")]
    pub high_c: Option<f64>,
    /// Longest time, h.
    #[serde(rename = "max_cumulative_exposure_h")]
    pub limit_h: f64,
    /// Section.
    pub section: String,
    /// How it is known.
    pub basis: Basis,
}

table_once!(
    /// The limits of FDA fish guidance, 4th ed., Appendix 4, Table A-2.
    ///
    /// # Errors
    /// [`LethalityError::Criteria`] where the compiled-in table is damaged.
    pub fn exposure_limits -> ExposureLimit = "exposure_limits.csv", EXPOSURE_LIMITS
);

/// One limit against a record.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct ExposureFinding {
    /// The position.
    pub position: String,
    /// The organism.
    pub organism: String,
    /// The band counted, degC. Between two printed bands the time counts in the warmer one; the topmost band ends at
    /// 130 degF, the end of the come-up band.
    pub band_c: (f64, f64),
    /// Shown in the band, h.
    pub shown_h: f64,
    /// At the most, with unknown time and tolerance, h.
    pub at_most_h: f64,
    /// Longest allowed, h.
    pub limit_h: f64,
    /// Met: stayed within, whatever the missing minutes held.
    pub answer: Answer,
}

/// Every limit against every required position. A position without a usable record counts as inside for the whole time.
///
/// # Errors
/// [`LethalityError`] where a table is damaged.
pub fn exposure<R: Realm>(log: &Log<R>, case: &Case) -> Result<Vec<ExposureFinding>, LethalityError> {
    exposure_limits().map(|limits| exposure_to(limits, log, case))
}

pub(crate) fn exposure_to<R: Realm>(
    limits: &[ExposureLimit],
    log: &Log<R>,
    case: &Case,
) -> Vec<ExposureFinding> {
    let clocks = Clocks::new(log, &case.facts);
    let window = crate::judge::window(log, case, &clocks);
    let clocks_known = clocks.missing(log, judge_reads).is_empty();
    let mut out = Vec::new();
    for name in &case.facts.required_positions {
        let record = PositionRecord::new(log, name, window, case, &clocks);
        let whole_s = window.filter(|_| clocks_known).map_or(f64::INFINITY, |w| w.end);
        let unknown_s = if record.usable() { 0.0 } else { whole_s };
        for (i, l) in limits.iter().enumerate() {
            let before = i.checked_sub(1).and_then(|j| limits.get(j)).filter(|b| b.organism == l.organism);
            let low = before.and_then(|b| b.high_c).unwrap_or(l.low_c);
            let high = l.high_c.unwrap_or_else(|| celsius_from_fahrenheit(COME_UP_HIGH_F));
            let least = seconds_in_band(record.shown(), low, high).0;
            let most = seconds_in_band(record.possible(), low, high).1;
            let (shown_h, at_most_h) = (least / 3600.0, (most + unknown_s) / 3600.0);
            out.push(ExposureFinding {
                position: name.clone(),
                organism: l.organism.clone(),
                band_c: (low, high),
                shown_h,
                at_most_h,
                limit_h: l.limit_h,
                answer: Answer::from_bounds(at_most_h <= l.limit_h + 1e-9, shown_h <= l.limit_h + 1e-9),
            });
        }
    }
    out
}

/// Seconds of a track in a band: on the line as read; at the most.
fn seconds_in_band(track: &Track, low: f64, high: f64) -> (f64, f64) {
    let mut sums = (0.0, 0.0);
    for p in &track.pieces {
        let dt = p.to - p.from;
        match p.shown {
            Shown::Known(l) => {
                sums.0 += share_in_band(&l, low, high) * dt;
                sums.1 += if touches(&l, low, high) { dt } else { 0.0 };
            }
            Shown::Unknown(_) => sums.1 += dt,
        }
    }
    sums
}

#[derive(Clone, Debug, Deserialize)]
struct DegreeHourRow {
    #[serde(rename = "highest_temp_low_F")]
    low_f: Option<f64>,
    #[serde(rename = "highest_temp_high_F")]
    high_f: Option<f64>,
    #[serde(rename = "limit_degree_hours_F")]
    limit: f64,
    #[serde(rename = "counts_above_F")]
    above_f: f64,
}

table_once!(fn degree_hour_rows -> DegreeHourRow = "degree_hours.csv", DEGREE_HOURS);

/// Degree-hours of a slow warm step.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct DegreeHours {
    /// Sum over time of the degrees F above 60 degF, degF h.
    pub degree_hours_f: f64,
    /// The limit for the highest temperature reached, degF h.
    pub limit_f: f64,
    /// Highest temperature, degF.
    pub highest_f: f64,
    /// Whether the sum is within the limit.
    pub within: bool,
}

/// Degree-hours of steps at constant temperature, each (degF, h), until pH 5.3 is reached.
///
/// # Errors
/// [`LethalityError`] where a step is not finite or negative in time.
///
/// ```
/// let d = fallrate_lethality::degree_hours(&[(80.0, 24.0), (95.0, 15.0)])?;
/// assert_eq!((d.degree_hours_f, d.limit_f, d.within), (1005.0, 1000.0, false));
/// # Ok::<(), fallrate_lethality::LethalityError>(())
/// ```
pub fn degree_hours(steps: &[(f64, f64)]) -> Result<DegreeHours, LethalityError> {
    let rows = degree_hour_rows().unwrap_or_default();
    let highest_f = steps.iter().map(|s| s.0).fold(f64::NEG_INFINITY, f64::max);
    LethalityError::within("highest temperature", highest_f, "degF", -100.0..=400.0, "-100 to 400 degF")?;
    let row = rows.iter().find(|r| {
        // Printed: under 90, 90 to 100, above 100.
        r.low_f.is_none_or(|l| if l >= 100.0 { highest_f > l } else { highest_f >= l })
            && r.high_f.is_none_or(|h| if h <= 90.0 { highest_f < h } else { highest_f <= h })
    });
    // The rows leave no temperature out; without a row nothing would be allowed.
    let (limit_f, above_f) = row.map_or((0.0, f64::NEG_INFINITY), |r| (r.limit, r.above_f));
    let mut sum = 0.0;
    for (f, h) in steps {
        let h = LethalityError::within("length of a step", *h, "h", 0.0..=10_000.0, "0 or more")?;
        sum += (f - above_f).max(0.0) * h;
    }
    Ok(DegreeHours { degree_hours_f: sum, limit_f, highest_f, within: sum <= limit_f + 1e-9 })
}

/// Degree-hours of a position's record, each interval at its hotter end plus the tolerance. `None` where some of the
/// time is unknown or the position has no usable record.
///
/// # Errors
/// As [`degree_hours`].
pub fn degree_hours_of_record<R: Realm>(
    log: &Log<R>,
    case: &Case,
    position: &str,
) -> Result<Option<DegreeHours>, LethalityError> {
    degree_hour_bounds(log, case, position).map(|bounds| bounds.1)
}

/// Degree-hours of a position's record: at the colder ends less the tolerance, of the time that is known; and at the
/// hotter ends plus the tolerance, where all time is known.
pub(crate) fn degree_hour_bounds<R: Realm>(
    log: &Log<R>,
    case: &Case,
    position: &str,
) -> Result<(Option<DegreeHours>, Option<DegreeHours>), LethalityError> {
    let clocks = Clocks::new(log, &case.facts);
    let window = crate::judge::window(log, case, &clocks);
    let record = PositionRecord::new(log, position, window, case, &clocks);
    if !record.usable() {
        return Ok((None, None));
    }
    let least = steps(record.shown(), |l| l.cold_c);
    let most = steps(record.possible(), |l| l.from_c.max(l.to_c) + l.tolerance_k);
    let sum = |steps: &[(f64, f64)]| if steps.is_empty() { Ok(None) } else { degree_hours(steps).map(Some) };
    let all_known = record.possible().unknown_s() <= 0.0;
    Ok((sum(&least)?, if all_known { sum(&most)? } else { None }))
}

/// The known pieces of a track as steps: degF, h.
fn steps(track: &Track, at_c: impl Fn(&crate::track::Line) -> f64) -> Vec<(f64, f64)> {
    let known = track.pieces.iter().filter_map(|p| match p.shown {
        Shown::Known(l) => Some((fahrenheit_from_celsius(at_c(&l)), (p.to - p.from) / 3600.0)),
        Shown::Unknown(_) => None,
    });
    known.collect()
}
