//! What a forecast run would come to. Never a verdict: its own input, its own answer, its own type.

use serde::Serialize;

use crate::come_up::ComeUp;
use crate::count::Curve;
use crate::dwell::dwell;
use crate::facts::Case;
use crate::option::humidity_option;
use crate::position::required_rows;
use crate::reason::{Counted, StripReason};
use crate::search::{Search, Slack};
use crate::table::required_times;
use crate::timeline::Timeline;
use crate::track::{Line, Piece, Shown, Track};
use crate::{LethalityError, OptionId, RowDwell, gate};

/// Forecast temperatures of the coldest place, with the band of the forecast.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct ForecastTrace {
    /// Time since the product meets heat, s, rising from 0.
    pub elapsed_s: Vec<f64>,
    /// Coldest core temperature at those times, degC.
    pub coldest_core_c: Vec<f64>,
    /// Half width of the forecast's band, K, with the tolerance of the instrument that will measure.
    pub band_k: f64,
    /// Stretches forecast to be humid in the sense of the option, s.
    pub humid_spans_s: Vec<(f64, f64)>,
    /// When the drying stage is to begin, s.
    pub drying_begins_s: Option<f64>,
}

/// What a forecast says of a criterion.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum ForecastAnswer {
    /// Expected to hold even at the cold side of the band.
    ExpectedToHold,
    /// Inside the band: too close to call.
    TooCloseToCall,
    /// Not expected to hold even at the hot side of the band.
    NotExpectedToHold,
}

/// A forecast. It cannot become a verdict:
///
/// ```compile_fail,E0277
/// use fallrate_lethality::{VerdictForecast, VerdictMeasured};
/// fn cheat(f: VerdictForecast) -> VerdictMeasured { f.into() }
/// ```
#[derive(Clone, Debug, PartialEq, Serialize)]
#[serde(tag = "kind", rename = "forecast")]
pub struct VerdictForecast {
    option: OptionId,
    answer: ForecastAnswer,
    end_s: Option<f64>,
    row: Option<RowDwell>,
    label: &'static str,
}

/// The label every forecast carries.
pub const FORECAST_LABEL: &str = "forecast, not a verdict";

impl VerdictForecast {
    /// The option looked at.
    #[must_use]
    pub const fn option(&self) -> OptionId {
        self.option
    }
    /// What is expected.
    #[must_use]
    pub const fn answer(&self) -> ForecastAnswer {
        self.answer
    }
    /// Earliest end of the kill step expected at the cold side of the band, s.
    #[must_use]
    pub const fn end_s(&self) -> Option<f64> {
        self.end_s
    }
    /// The row that serves, at the cold side of the band.
    #[must_use]
    pub const fn row(&self) -> Option<&RowDwell> {
        self.row.as_ref()
    }
    /// Always [`FORECAST_LABEL`].
    #[must_use]
    pub const fn label(&self) -> &'static str {
        self.label
    }
}

/// Looks what an option would come to if the run went as forecast. Uses the claim's target and the facts on animal, fat
/// and dry steps; instruments, papers and clocks play no part.
///
/// # Errors
/// [`LethalityError`] where the animal is not stated or the trace is not in order.
pub fn forecast(
    trace: &ForecastTrace,
    case: &Case,
    option: OptionId,
) -> Result<VerdictForecast, LethalityError> {
    let unknown = LethalityError::Empty { what: "species", allowed: "the animal" };
    let species = case.facts.species.ok_or(unknown);
    let (species, option) = species.and_then(|s| humidity_option(option).map(|o| (s, o)))?;
    let table = required_rows(&required_times(species, case.facts.fat_percent, case.claim.target)?, option);
    let cold = track(trace, -trace.band_k)?;
    let hot = track(trace, trace.band_k)?;
    let mut d = dwell(&cold, &table);
    d.possible_at = dwell(&hot, &table).shown_at.map(|(t, _)| t);
    let spans: Vec<_> =
        trace.humid_spans_s.iter().map(|(a, b)| (*a, *b, Counted::Yes, StripReason::Humid)).collect();
    let line = Timeline::from_spans((0.0, cold.end), (Counted::No, StripReason::NotHumid), &spans);
    let curve = Curve::new(&line);
    let come_up = ComeUp::from_track(&cold, case.facts.earlier_minutes_in_band, 0.0);
    let found = Search {
        option,
        reading: None,
        dwell: &d,
        come_up: &come_up,
        humid: option.share.map(|_| &curve),
        least_cook_min: gate::least_cook_min(&case.facts, option),
        end: (cold.end, cold.end),
        dry_began: trace.drying_begins_s.unwrap_or(cold.end),
        slack: Slack::default(),
    }
    .run();
    let answer = match (found.shown, found.possible) {
        (Some(_), _) => ForecastAnswer::ExpectedToHold,
        (None, Some(_)) => ForecastAnswer::TooCloseToCall,
        (None, None) => ForecastAnswer::NotExpectedToHold,
    };
    let row = d.row_to_print().cloned();
    Ok(VerdictForecast { option: option.id, answer, end_s: found.shown, row, label: FORECAST_LABEL })
}

fn track(trace: &ForecastTrace, shift_k: f64) -> Result<Track, LethalityError> {
    let points: Vec<(f64, f64)> =
        trace.elapsed_s.iter().copied().zip(trace.coldest_core_c.iter().map(|t| t + shift_k)).collect();
    let mut out =
        Track { pieces: Vec::new(), begin: 0.0, end: points.last().map_or(0.0, |p| p.0), tolerance_k: 0.0 };
    for (a, b) in points.iter().zip(points.iter().skip(1)) {
        LethalityError::within("step of the forecast", b.0 - a.0, "s", 1e-9..=86_400.0, "above 0 to 24 h")?;
        LethalityError::within("forecast temperature", a.1 + b.1, "degC", -200.0..=1000.0, "finite")?;
        let cold_c = a.1.min(b.1);
        let line = Line { cold_c, from_c: a.1, to_c: b.1, tolerance_k: 0.0 };
        out.pieces.push(Piece { from: a.0, to: b.0, shown: Shown::Known(line), pair_cold_c: Some(cold_c) });
    }
    Ok(out)
}
