//! What would come of doing otherwise from now on, or of a power cut: the same draws followed both ways.

use fallrate_plan::Setup;
use fallrate_plan::kill::{KillForecast, kill_forecast};
use fallrate_plan::sweep::{COARSE, Sweep};
use fallrate_schedule as schedule;
use rayon::prelude::*;

use crate::FollowError;
use crate::course::{Case, Course, Deed, Interrupted, Settings, Track, interruption, settings};
use crate::dial::evened;
use crate::ensemble::{Ahead, Member, sweep_ahead};
use crate::estimate::Question;
use crate::forecast::{free_last, member_at, range, remaining};
use crate::kill::whole_run;
use crate::update::{Range, Update};

/// Something done otherwise.
#[derive(Clone, Debug, PartialEq)]
pub enum WhatIf {
    /// Another vent setting from now on, in every stage that is left.
    Vent(schedule::VentSetting),
    /// Another set point from now on, degC; none: heater off.
    SetPoint(Option<f64>),
    /// Another fan step from now on.
    Fan(schedule::FanSetting),
    /// The power off now.
    StopNow,
    /// The plan's next stage now; in the last stage nothing changes.
    NextStageNow,
    /// An interruption, past or to come, s from the start.
    Interruption {
        /// What.
        kind: schedule::InterruptionKind,
        /// s
        from_s: f64,
        /// s
        until_s: f64,
    },
}

/// What comes of one way.
#[derive(Clone, Debug)]
pub struct Way {
    /// Power off at which the target is met at unloading, s from the start; for a stop now, now.
    pub power_off_s: Range,
    /// When it is then unloaded, for the expected one, s.
    pub unloaded_s: f64,
    /// Electric energy from the start, kWh.
    pub energy_kwh: Range,
    /// Mean moisture at unloading, kg/kg dry basis.
    pub mean_dry_basis: Range,
    /// Wettest piece at unloading.
    pub wettest_dry_basis: Range,
    /// Driest piece at unloading.
    pub driest_dry_basis: Range,
    /// Share of the draws wetter than the target at unloading.
    pub too_wet: f64,
    /// What the published options would come to; empty for products without a kill step.
    pub kill: Vec<KillForecast>,
}

/// Two ways from the same draws.
#[derive(Clone, Debug)]
pub struct Difference {
    /// As it runs.
    pub as_it_is: Way,
    /// Done otherwise.
    pub otherwise: Way,
    /// How much later the other way ends, draw by draw, s.
    pub end_later_s: Range,
    /// How much more energy it takes, kWh.
    pub energy_more_kwh: Range,
}

/// Draws followed both ways.
const DRAWS: usize = 24;
/// The other way is looked at for this many times the rest of the first, and an hour more.
const LOOKED: f64 = 2.5;

/// One draw's end one way.
#[derive(Clone, Copy)]
struct End {
    power_off_s: f64,
    energy_kwh: f64,
    mean: f64,
    wettest: f64,
    driest: f64,
}

/// Follows the update's draws both ways.
///
/// # Errors
/// [`FollowError`] where the change asks for what the cabinet does not have, the model has no result, or it was cancelled.
pub fn what_if(
    case: Case<'_>,
    course: &Course,
    update: &Update,
    change: &WhatIf,
    progress: &(dyn Fn(f64) -> bool + Sync),
) -> Result<Difference, FollowError> {
    let base = Followers::new(case, course, update, false, progress)?;
    let sweeps = chosen(update).into_iter().map(|i| update.state.sweeps[i].clone());
    let as_it_is: Vec<End> = sweeps.map(|s| base.end(&s.unwrap_or_default(), false)).collect();
    let mut changed = course.clone();
    if let WhatIf::Interruption { kind, from_s, until_s } = change {
        if *from_s < course.now_s {
            let until_s = Some(until_s.min(course.now_s));
            changed.interrupted.push(Interrupted { kind: kind.clone(), from_s: *from_s, until_s });
        }
        check_times(*from_s, *until_s)?;
    }
    let other = Followers::new(case, &changed, update, changed != *course, progress)?;
    let otherwise = other.follow(change, progress)?;
    let later: Vec<(f64, f64)> =
        as_it_is.iter().zip(&otherwise).map(|(a, b)| (1.0, b.power_off_s - a.power_off_s)).collect();
    let more: Vec<(f64, f64)> =
        as_it_is.iter().zip(&otherwise).map(|(a, b)| (1.0, b.energy_kwh - a.energy_kwh)).collect();
    Ok(Difference {
        as_it_is: base.way(&as_it_is, None, &|| progress(0.9))?,
        otherwise: other.way(&otherwise, Some(change), &|| progress(1.0))?,
        end_later_s: range(&later),
        energy_more_kwh: range(&more),
    })
}

fn check_times(from_s: f64, until_s: f64) -> Result<(), FollowError> {
    let high_s = schedule::LONGEST_S;
    for (what, at_s, low_s) in
        [("begin of an interruption", from_s, 0.0), ("end of an interruption", until_s, from_s)]
    {
        if !(at_s >= low_s && at_s <= high_s) {
            return Err(FollowError::Time { what, at_s, low_s, high_s });
        }
    }
    Ok(())
}

/// A few draws of equal weight out of an update's.
fn chosen(update: &Update) -> Vec<usize> {
    let even = evened(&update.state.ensemble);
    let step = (even.len() / DRAWS).max(1);
    even.into_iter().step_by(step).collect()
}

/// The draws and what they are followed with.
struct Followers<'a> {
    track: Track<'a>,
    course: Course,
    setup: Setup,
    members: Vec<Member>,
    middle: Vec<f64>,
    look_s: f64,
}

impl<'a> Followers<'a> {
    /// The update's draws as they stand, or walked anew along another course.
    fn new(
        case: Case<'a>,
        course: &Course,
        update: &Update,
        anew: bool,
        progress: &(dyn Fn(f64) -> bool + Sync),
    ) -> Result<Self, FollowError> {
        let track = Track::new(case, course)?;
        let mut setup = case.assembled.setup.clone();
        setup.dial.from_s = course.now_s;
        let end = update.end.power_off_s;
        let rest = if end.high.is_finite() { end.high - course.now_s } else { 86_400.0 };
        let look_s = course.now_s + LOOKED * rest + 3600.0;
        let middle = update.state.middle.clone();
        let members = chosen(update).into_iter().map(|i| update.state.ensemble.members[i].clone()).collect();
        let mut f = Self { track, course: course.clone(), setup, members, middle, look_s };
        if anew {
            let walked: Vec<Result<Member, FollowError>> =
                f.members.par_iter().map(|m| member_at(&f.question(), &m.z, &|| progress(0.1))).collect();
            f.members = walked.into_iter().collect::<Result<_, _>>()?;
        }
        Ok(f)
    }

    fn question(&self) -> Question<'_, 'a> {
        Question {
            track: &self.track,
            course: &self.course,
            readings: &[],
            fineness: COARSE,
            inputs: self.middle.len(),
        }
    }

    /// What is ahead of a draw when something is done otherwise.
    fn ahead(&self, member: &Member, change: &WhatIf) -> Result<Ahead<'_>, FollowError> {
        let case = &self.track.case;
        let mut ahead = remaining(&self.question(), member, &self.setup, self.look_s);
        let set: Settings = match change {
            WhatIf::Vent(v) => settings(case, &Deed::Vent(v.clone()))?,
            WhatIf::SetPoint(c) => settings(case, &Deed::SetPoint(*c))?,
            WhatIf::Fan(f) => settings(case, &Deed::Fan(f.clone()))?,
            _ => Settings::default(),
        };
        ahead.stages.iter_mut().for_each(|s| set.apply(s));
        if *change == WhatIf::NextStageNow && ahead.stages.len() > 1 {
            ahead.stages.remove(0);
        }
        if let WhatIf::Interruption { kind, from_s, until_s } = change
            && *until_s > self.course.now_s
        {
            ahead.interruptions.push(interruption(case, kind, from_s.max(self.course.now_s), *until_s)?);
        }
        free_last(&mut ahead.stages);
        Ok(ahead)
    }

    /// The draws another way.
    fn follow(
        &self,
        change: &WhatIf,
        progress: &(dyn Fn(f64) -> bool + Sync),
    ) -> Result<Vec<End>, FollowError> {
        let q = self.question();
        let ends: Vec<Result<End, FollowError>> = self
            .members
            .par_iter()
            .map(|m| {
                let ahead = self.ahead(m, change)?;
                let s = sweep_ahead(&q, m, &ahead, &mut |_| progress(0.5)).map_err(FollowError::of)?;
                Ok(self.end(&s, *change == WhatIf::StopNow))
            })
            .collect();
        ends.into_iter().collect()
    }

    /// Where a sweep ends.
    fn end(&self, s: &Sweep, stop: bool) -> End {
        let (now_s, target) = (self.course.now_s, self.setup.target);
        let met = s.at_unloading(target.piece).first_at_or_below(target.moisture_dry_basis);
        let power_off_s = if stop { now_s } else { met.unwrap_or(f64::INFINITY).max(now_s) };
        End {
            power_off_s,
            energy_kwh: s.energy_j.at(power_off_s) / 3.6e6,
            mean: s.mean_at_unloading.at(power_off_s),
            wettest: s.slowest_at_unloading.at(power_off_s),
            driest: s.fastest_at_unloading.at(power_off_s),
        }
    }

    fn way(
        &self,
        ends: &[End],
        change: Option<&WhatIf>,
        progress: &(dyn Fn() -> bool + Sync),
    ) -> Result<Way, FollowError> {
        let of = |f: &dyn Fn(&End) -> f64| range(&ends.iter().map(|e| (1.0, f(e))).collect::<Vec<_>>());
        let target = self.setup.target;
        let looked = |e: &End| match target.piece {
            fallrate_simulate::Piece::Mean => e.mean,
            fallrate_simulate::Piece::Slowest => e.wettest,
            fallrate_simulate::Piece::Fastest => e.driest,
        };
        // What ends where it meets the target meets it to the accuracy of the curve.
        let wet = ends.iter().filter(|e| looked(e) > target.moisture_dry_basis * 1.001);
        #[allow(clippy::cast_precision_loss)]
        let too_wet = wet.count() as f64 / ends.len().max(1) as f64;
        let power_off_s = of(&|e| e.power_off_s);
        let finite = power_off_s.middle.is_finite();
        Ok(Way {
            power_off_s,
            unloaded_s: if finite { self.setup.unloaded_s(power_off_s.middle) } else { f64::INFINITY },
            energy_kwh: of(&|e| e.energy_kwh),
            mean_dry_basis: of(&|e| e.mean),
            wettest_dry_basis: of(&|e| e.wettest),
            driest_dry_basis: of(&|e| e.driest),
            too_wet,
            kill: self.kill(change, power_off_s.middle.min(self.look_s), progress)?,
        })
    }

    fn kill(
        &self,
        change: Option<&WhatIf>,
        power_off_s: f64,
        progress: &(dyn Fn() -> bool + Sync),
    ) -> Result<Vec<KillForecast>, FollowError> {
        let case = &self.track.case;
        if case.product.kill_step != fallrate_foods::KillStep::Required {
            return Ok(Vec::new());
        }
        let member = member_at(&self.question(), &self.middle, progress)?;
        let ahead = change.map(|c| self.ahead(&member, c)).transpose()?;
        let (setup, run) =
            whole_run(&self.track, &self.setup, &self.middle, ahead.as_ref(), power_off_s, progress)?;
        Ok(kill_forecast(&setup, case.product, case.cabinet, &run, None))
    }
}
