//! "What if I ...": the same draws followed as it runs and otherwise.

use fallrate_follow::{Difference, Range, Way, WhatIf, what_if};
use fallrate_lethality::ForecastAnswer;
use fallrate_plan::kill::KillForecast;
use fallrate_report::{Column, Table};
use fallrate_schedule::{InterruptionKind, VentSetting};
use fallrate_series::Instant;

use super::Followed;
use super::asked::case_of;
use super::reason::clock_words;
use crate::AppError;
use crate::batches::Run;
use crate::plan_case::Planned;
use crate::words::{Reader, fixed, say};

/// Something to be done otherwise.
#[derive(Clone, Debug, PartialEq)]
pub enum Otherwise {
    /// The vent to another mark, from now on.
    Vent(String),
    /// Another set point from now on, degC.
    SetPoint(f64),
    /// The power off now.
    StopNow,
    /// The plan's next stage now.
    NextStageNow,
    /// The power off from one time to another, past or to come.
    PowerOff {
        /// From.
        from: Instant,
        /// To.
        until: Instant,
    },
}

/// Both ways.
#[derive(Clone, Debug)]
pub struct Compared {
    /// What was asked.
    pub otherwise: Otherwise,
    pub(crate) difference: Difference,
}

/// Follows a batch both ways.
///
/// # Errors
/// [`AppError::Follow`] where the cabinet does not have what is asked for, [`AppError::Cancelled`].
pub fn ask(
    planned: &Planned,
    f: &Followed,
    otherwise: Otherwise,
    progress: &(dyn Fn(f64) -> bool + Sync),
) -> Result<Compared, AppError> {
    let since = |at: Instant| at.seconds_since(f.question.start).max(0.0);
    let change = match &otherwise {
        Otherwise::Vent(mark) => WhatIf::Vent(VentSetting::Mark(mark.clone())),
        Otherwise::SetPoint(c) => WhatIf::SetPoint(Some(*c)),
        Otherwise::StopNow => WhatIf::StopNow,
        Otherwise::NextStageNow => WhatIf::NextStageNow,
        Otherwise::PowerOff { from, until } => WhatIf::Interruption {
            kind: InterruptionKind::PowerOff,
            from_s: since(*from),
            until_s: since(*until),
        },
    };
    let course = f.question.course(f.at);
    let difference = what_if(case_of(planned), &course, &f.update, &change, progress)?;
    Ok(Compared { otherwise, difference })
}

/// One way in figures, for programs. Times are instants; `None` where the target is not reached.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct WayFigures {
    /// The end: early, expected, late.
    pub power_off: [Option<Instant>; 3],
    /// Electric energy from the start, kWh.
    pub energy_kwh: f64,
    /// Mean moisture at unloading, kg/kg dry basis: low, middle, high.
    pub mean_dry_basis: [f64; 3],
    /// Share of the draws wetter than the target at unloading.
    pub too_wet: f64,
}

impl Compared {
    /// Figures as it runs, and otherwise.
    #[must_use]
    pub fn figures(&self, f: &Followed) -> [WayFigures; 2] {
        [&self.difference.as_it_is, &self.difference.otherwise].map(|w| WayFigures {
            power_off: [w.power_off_s.low, w.power_off_s.middle, w.power_off_s.high].map(|s| f.instant(s)),
            energy_kwh: w.energy_kwh.middle,
            mean_dry_basis: [w.mean_dry_basis.low, w.mean_dry_basis.middle, w.mean_dry_basis.high],
            too_wet: w.too_wet,
        })
    }
}

/// What would come of it, in one sentence.
#[must_use]
pub fn asked_words(c: &Compared, f: &Followed, run: &Run, r: &Reader) -> String {
    let (was, is) = (&c.difference.as_it_is, &c.difference.otherwise);
    let of =
        |s: f64| f.instant(s).map_or_else(|| r.text("not-reached"), |i| clock_words(r, &run.zone, i, f.at));
    if c.otherwise == Otherwise::StopNow {
        let moisture = r.moisture(is.mean_dry_basis.middle);
        return say!(r, "run-if-stop", moisture = moisture, share = r.percent(is.too_wet));
    }
    let later = c.difference.end_later_s.middle;
    let (from, to) = (of(was.power_off_s.middle), of(was.power_off_s.middle + later));
    let energy = c.difference.energy_more_kwh.middle;
    let energy = if energy.is_finite() {
        format!("{}{}", if energy < 0.0 { "−" } else { "+" }, fixed(energy.abs(), 1))
    } else {
        "–".to_owned()
    };
    let key = if !later.is_finite() {
        "run-if-unknown"
    } else if later.abs() < 150.0 {
        "run-if-same"
    } else if later > 0.0 {
        "run-if-later"
    } else {
        "run-if-earlier"
    };
    say!(r, key, from = from, to = to, dur = r.duration(later.abs()), energy = energy)
}

/// Both ways side by side.
#[must_use]
pub fn asked_table(c: &Compared, f: &Followed, run: &Run, r: &Reader) -> Table {
    let (was, is) = (&c.difference.as_it_is, &c.difference.otherwise);
    let of =
        |s: f64| f.instant(s).map_or_else(|| r.text("not-reached"), |i| clock_words(r, &run.zone, i, f.at));
    let span = |g: &Range, to: &dyn Fn(f64) -> String| {
        say!(r, "run-span", middle = to(g.middle), low = to(g.low), high = to(g.high))
    };
    let moisture = |g: &Range| span(g, &|x| r.moisture_short(x));
    let row = |key: &str, cell: &dyn Fn(&Way) -> String| vec![r.text(key), cell(was), cell(is)];
    let mut rows = vec![
        row("run-if-off", &|w| span(&w.power_off_s, &of)),
        row("run-if-unloaded", &|w| of(w.unloaded_s)),
        row("run-if-mean", &|w| moisture(&w.mean_dry_basis)),
        row("run-if-wettest", &|w| moisture(&w.wettest_dry_basis)),
        row("run-if-driest", &|w| moisture(&w.driest_dry_basis)),
        row("run-if-too-wet", &|w| r.percent(w.too_wet)),
        row("run-if-energy", &|w| fixed(w.energy_kwh.middle, 1)),
    ];
    for (a, b) in was.kill.iter().zip(&is.kill) {
        rows.push(vec![crate::page::kill_option_name(r, a.option), kill(r, a), kill(r, b)]);
    }
    Table {
        title: r.text("run-if-title"),
        header: vec![
            Column::left(""),
            Column::left(&r.text("run-if-as-it-is")),
            Column::left(&r.text("run-if-otherwise")),
        ],
        rows,
        note: Some(r.text("run-if-note")),
    }
}

fn kill(r: &Reader, k: &KillForecast) -> String {
    r.text(match k.verdict.answer() {
        ForecastAnswer::ExpectedToHold => "kill-hold",
        ForecastAnswer::TooCloseToCall => "kill-close",
        ForecastAnswer::NotExpectedToHold => "kill-no",
    })
}
