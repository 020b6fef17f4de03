//! What to dial now, and what the countdown that runs leads to.

use fallrate_plan::Setup;
use fallrate_plan::band::{Band, Draw};
use fallrate_plan::timer::advise;

use crate::course::{Case, Course};
use crate::ensemble::Ensemble;
use crate::forecast::{Forecast, range};
use crate::predict::drawn;
use crate::update::{AsDialled, TimerNow};

/// Draws of equal weight, as many as there are: the plan's rules know no weights. Systematic, so that it is always the same.
pub(crate) fn evened(ensemble: &Ensemble) -> Vec<usize> {
    let n = ensemble.members.len();
    let mut chosen = Vec::with_capacity(n);
    let (mut sum, mut i) = (0.0, 0);
    for k in 0..n {
        #[allow(clippy::cast_precision_loss)]
        let at = (k as f64 + 0.5) / n as f64;
        while i + 1 < n && sum + ensemble.members[i].weight < at {
            sum += ensemble.members[i].weight;
            i += 1;
        }
        chosen.push(i);
    }
    chosen
}

fn even_band(setup: &Setup, ahead: &Forecast, ensemble: &Ensemble, case: &Case<'_>) -> Band {
    let target = setup.target;
    let draws: Vec<Draw> = evened(ensemble)
        .into_iter()
        .filter_map(|i| {
            let (m, sweep) = (&ensemble.members[i], ahead.sweeps[i].as_ref()?);
            Some(Draw {
                z: m.z.clone(),
                timer_s: sweep.at_unloading(target.piece).first_at_or_below(target.moisture_dry_basis),
                direct_s: sweep.at_power_off(target.piece).first_at_or_below(target.moisture_dry_basis),
                sweep: sweep.clone(),
                solids_kg: drawn(case, &m.z).solids_kg(),
            })
        })
        .collect();
    let unreached = draws.iter().filter(|d| d.timer_s.is_none()).count();
    Band { draws, unreached }
}

/// The plan's rules for the rest: what to dial now, and the draws of equal weight they were asked with.
pub(crate) fn timer_now(
    setup: &Setup,
    ahead: &Forecast,
    ensemble: &Ensemble,
    case: &Case<'_>,
) -> (TimerNow, Band) {
    let band = even_band(setup, ahead, ensemble, case);
    let advice = advise(setup, &ahead.nominal, None, Some(&band));
    (TimerNow { dial_s: advice.dial_s - setup.dial.from_s, advice }, band)
}

/// How wet it is when the countdown that runs has run down.
pub(crate) fn as_dialled(
    course: &Course,
    setup: &Setup,
    ahead: &Forecast,
    ensemble: &Ensemble,
) -> Option<AsDialled> {
    let power_off_s = course.dialled_end_s().filter(|end| *end > course.now_s)?;
    let values: Vec<(f64, f64)> = ensemble
        .members
        .iter()
        .zip(&ahead.sweeps)
        .filter_map(|(m, s)| Some((m.weight, s.as_ref()?.at_unloading(setup.target.piece).at(power_off_s))))
        .collect();
    let all: f64 = values.iter().map(|v| v.0).sum();
    let wet = values.iter().filter(|v| v.1 > setup.target.moisture_dry_basis * (1.0 + 1e-9));
    Some(AsDialled {
        power_off_s,
        moisture_dry_basis: range(&values),
        too_wet: wet.map(|v| v.0).sum::<f64>() / all.max(1e-12),
    })
}
