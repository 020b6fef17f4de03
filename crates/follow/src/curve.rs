//! The batch over time as the draws have it: from its start, through now, to the power-off.

use fallrate_simulate::Sample;

use crate::ensemble::grid;
use crate::forecast::range;
use crate::update::{Range, Update};

/// The batch at one time, over the draws.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Moment {
    /// s from the start of the run.
    pub at_s: f64,
    /// Mean moisture of the load, kg/kg dry basis.
    pub mean_dry_basis: Range,
    /// Wettest piece.
    pub wettest_dry_basis: Range,
    /// Air before the trays, degC.
    pub chamber_c: Range,
    /// Its wet bulb, degC.
    pub wet_bulb_c: Range,
    /// Coldest core, degC.
    pub core_coldest_c: Range,
    /// Relative humidity of the cabinet air, fraction.
    pub relative_humidity: Range,
}

/// Value of a piecewise linear run of samples; none outside of it.
fn at(samples: &[&Sample], at_s: f64, f: &dyn Fn(&Sample) -> f64) -> Option<f64> {
    let k = samples.partition_point(|s| s.elapsed_s < at_s);
    let b = samples.get(k)?;
    let Some(a) = k.checked_sub(1).map(|a| samples[a]) else {
        return (b.elapsed_s - at_s < 1.0).then(|| f(b));
    };
    let span = b.elapsed_s - a.elapsed_s;
    let share = if span > 0.0 { (at_s - a.elapsed_s) / span } else { 1.0 };
    Some(f(a) + share * (f(b) - f(a)))
}

impl Update {
    /// The batch at about so many times from its start to a time, s, with the power on; as far as every draw was followed.
    #[must_use]
    pub fn moments(&self, until_s: f64, count: usize) -> Vec<Moment> {
        let paths: Vec<(f64, Vec<&Sample>)> = self
            .state
            .ensemble
            .members
            .iter()
            .zip(&self.state.sweeps)
            .filter_map(|(m, sweep)| Some((m.weight, sweep.as_ref()?.samples.iter().collect())))
            .collect();
        let half = (count / 2).max(2);
        let times = grid(0.0, self.now_s, half).into_iter().chain(grid(self.now_s, until_s, half));
        let mut list: Vec<Moment> = times.map_while(|t| moment(&paths, t)).collect();
        list.dedup_by(|a, b| a.at_s == b.at_s);
        list
    }
}

fn moment(paths: &[(f64, Vec<&Sample>)], at_s: f64) -> Option<Moment> {
    let of = |f: &dyn Fn(&Sample) -> f64| {
        let values: Option<Vec<(f64, f64)>> =
            paths.iter().map(|(w, samples)| Some((*w, at(samples, at_s, f)?))).collect();
        values.filter(|v| !v.is_empty()).map(|v| range(&v))
    };
    Some(Moment {
        at_s,
        mean_dry_basis: of(&|s| s.moisture_mean_dry_basis)?,
        wettest_dry_basis: of(&|s| s.moisture_slowest_dry_basis)?,
        chamber_c: of(&|s| s.chamber_temperature_c)?,
        wet_bulb_c: of(&|s| s.wet_bulb_c)?,
        core_coldest_c: of(&|s| s.core_coldest_c)?,
        relative_humidity: of(&|s| s.relative_humidity)?,
    })
}
