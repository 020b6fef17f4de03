//! What the published options would come to if the rest went as forecast. A forecast, never a verdict.

use fallrate_foods::KillStep;
use fallrate_plan::Setup;
use fallrate_plan::band::Band;
use fallrate_plan::kill::{KillForecast, kill_forecast};
use fallrate_plan::sweep::FINE;
use fallrate_simulate::{Options, Run, StageInput, VentSetting, run_from};

use crate::FollowError;
use crate::course::Track;
use crate::dial::evened;
use crate::ensemble::{Ahead, Ensemble, grid};
use crate::estimate::{Mode, Question};
use crate::forecast::{free_last, remaining};
use crate::predict::followed;

/// Samples of the run that is looked at.
const SAMPLES: usize = 300;

/// Options of the batch at the mode, its past as walked and the rest with the power on to a time, s from the start.
pub(crate) fn kill_now(
    q: &Question<'_, '_>,
    setup: &Setup,
    mode: &Mode,
    (ensemble, band): (&Ensemble, &Band),
    power_off_s: f64,
    progress: &dyn Fn() -> bool,
) -> Result<Vec<KillForecast>, FollowError> {
    let case = &q.track.case;
    if case.product.kill_step != KillStep::Required || !power_off_s.is_finite() {
        return Ok(Vec::new());
    }
    let (setup, run) = whole_run(q.track, setup, mode.mean.as_slice(), None, power_off_s, progress)?;
    let band = shut_ends(q, &setup, ensemble, band);
    Ok(kill_forecast(&setup, case.product, case.cabinet, &run, Some(&band)))
}

/// The run of a draw from its start to a power-off on the plan's own grid, and the setup with the stages as they came; what
/// is ahead where it is not as the plan says.
pub(crate) fn whole_run(
    track: &Track<'_>,
    setup: &Setup,
    z: &[f64],
    ahead: Option<&Ahead<'_>>,
    power_off_s: f64,
    progress: &dyn Fn() -> bool,
) -> Result<(Setup, Run), FollowError> {
    let mut batch = followed(track, z, &FINE);
    batch.interruptions.extend(ahead.map_or(&[][..], |a| &a.interruptions));
    let mut go_on = |_: f64| progress();
    let times = grid(0.0, track.now_s, SAMPLES);
    let standing = track.walk(&batch, &FINE, &times, &mut go_on).map_err(FollowError::of)?;
    let mut stages = ahead.map_or_else(|| track.remaining(&standing, track.now_s), |a| a.stages.clone());
    free_last(&mut stages);
    let options = Options {
        sample_every_s: None,
        samples_at_s: grid(track.now_s, power_off_s, SAMPLES),
        timer_ends_s: Some(power_off_s.max(track.now_s)),
        enforce_balances: false,
        ..Options::default()
    };
    let mut run =
        run_from(&batch, &standing.state, &stages, &options, &mut go_on).map_err(FollowError::of)?;
    let mut whole = setup.clone();
    whole.stages = standing.trail.iter().map(|t| t.0.clone()).chain(stages).collect();
    run.samples = standing.samples.into_iter().chain(run.samples).collect();
    run.stage_ends = standing.trail.into_iter().map(|t| t.1).chain(run.stage_ends).collect();
    whole.batch = batch;
    Ok((whole, run))
}

/// The plan's forecast reads each draw's core where its own shut time ended; the stages of the draws are not the same list,
/// so every one of their ends is given as that.
fn shut_ends(q: &Question<'_, '_>, setup: &Setup, ensemble: &Ensemble, band: &Band) -> Band {
    let mut band = band.clone();
    for (draw, i) in band.draws.iter_mut().zip(evened(ensemble)) {
        let member = &ensemble.members[i];
        let ahead = remaining(q, member, setup, 0.0).stages;
        let stages = member.standing.trail.iter().map(|t| &t.0).chain(&ahead);
        let shut = |s: &StageInput| matches!(s.vent, VentSetting::Opening(o) if o <= 1e-9);
        let shut_s = stages.zip(&draw.sweep.stage_ends_s).take_while(|(s, _)| shut(s)).last();
        let shut_s = shut_s.map_or(0.0, |(_, end)| *end);
        draw.sweep.stage_ends_s = vec![shut_s; setup.stages.len()];
    }
    band
}
