//! What came of a run of the true cabinet.

use fallrate_simulate::Piece;

use crate::VirtualCabinet;
use crate::history::State;
use crate::replay::Replay;

/// What came of a run.
#[derive(Clone, Debug, PartialEq)]
pub struct Outcome {
    /// When the power went off for good, s from the start.
    pub power_off_s: f64,
    /// When it was unloaded, s.
    pub unloaded_s: f64,
    /// When the piece that the plan's target asks for first met it, s; none: not in this run.
    pub target_met_s: Option<f64>,
    /// Electric energy, kWh.
    pub energy_kwh: f64,
    /// Moisture at unloading, kg/kg dry basis: mean, wettest piece, driest piece.
    pub mean_dry_basis: f64,
    /// Wettest piece at unloading.
    pub wettest_dry_basis: f64,
    /// Driest piece at unloading.
    pub driest_dry_basis: f64,
    /// Finished, kg.
    pub finished_kg: f64,
    /// Given away below the target, kg.
    pub given_away_kg: f64,
    /// The target is met at unloading.
    pub target_met: bool,
    /// Trays whose mean is wetter than the target at unloading.
    pub trays_too_wet: Vec<u32>,
    /// Minutes that the coldest core was in the product's growth range while the wettest piece was wetter than its limit;
    /// none where the product file has neither.
    pub growth_min: Option<f64>,
    /// Highest temperature that the coldest core reached, degC.
    pub core_highest_c: f64,
    /// What was lost as a share of the batch's value: given away, energy (where both prices are known), and
    /// [`WET_LOSS`] where the target is missed. Without prices only the rest counts.
    pub loss: f64,
}

/// A batch that misses its target costs this share of its value: a second run, or worse (own judgement, as the plan takes it).
pub const WET_LOSS: f64 = 0.15;

pub(crate) fn outcome(cabinet: &VirtualCabinet, run: &Replay) -> Outcome {
    let setup = &cabinet.plan.assembled.setup;
    let target = setup.target;
    let of = |s: &State| match target.piece {
        Piece::Mean => s.mean_dry_basis,
        Piece::Slowest => s.wettest_dry_basis,
        Piece::Fastest => s.driest_dry_basis,
    };
    let met = |s: &State| of(s) <= target.moisture_dry_basis * (1.0 + 1e-9);
    let nan = |f: fn(&State) -> f64| run.states.last().map_or(f64::NAN, f);
    let truth = cabinet.truth();
    let solids_per_tray =
        truth.batch.load.fresh_kg_per_tray / (1.0 + truth.batch.material.moisture_initial_dry_basis);
    let trays: Vec<(u32, f64)> = run.states.last().map_or_else(Vec::new, |s| {
        truth.trays.iter().zip(&s.trays_dry_basis).map(|(t, x)| (t.number, *x)).collect()
    });
    let finished_kg = nan(|s| s.trays_kg.iter().sum());
    #[allow(clippy::cast_precision_loss)]
    let solids_kg = solids_per_tray * truth.trays.len() as f64;
    let mean = finished_kg / solids_kg - 1.0;
    let given_away_kg = (solids_kg * (target.moisture_dry_basis - mean)).max(0.0);
    let energy_kwh = nan(|s| s.energy_j) / 3.6e6;
    let target_met = run.states.last().is_some_and(met);
    let value_kg = solids_kg * (1.0 + target.moisture_dry_basis);
    let energy_loss = energy_price(cabinet)
        .zip(setup.money.product_price_per_kg)
        .map_or(0.0, |(kwh, kg)| energy_kwh * kwh / (kg * value_kg));
    Outcome {
        power_off_s: run.power_off_s,
        unloaded_s: run.unloaded_s,
        target_met_s: run.states.iter().find(|s| met(s)).map(|s| s.elapsed_s),
        energy_kwh,
        mean_dry_basis: nan(|s| s.mean_dry_basis),
        wettest_dry_basis: nan(|s| s.wettest_dry_basis),
        driest_dry_basis: nan(|s| s.driest_dry_basis),
        finished_kg,
        given_away_kg,
        target_met,
        trays_too_wet: trays
            .iter()
            .filter(|(_, x)| *x > target.moisture_dry_basis * (1.0 + 1e-9))
            .map(|(n, _)| *n)
            .collect(),
        growth_min: setup.stand_limit.map(|l| {
            let grows = |s: &State| {
                (l.growth_from_c..=l.growth_to_c).contains(&s.core_coldest_c)
                    && s.water_activity_wettest > l.water_activity
            };
            let steps = run.states.windows(2).filter(|w| grows(&w[0]));
            steps.map(|w| (w[1].elapsed_s - w[0].elapsed_s) / 60.0).sum()
        }),
        core_highest_c: run.states.iter().map(|s| s.core_coldest_c).fold(f64::NEG_INFINITY, f64::max),
        loss: given_away_kg / value_kg + energy_loss + if target_met { 0.0 } else { WET_LOSS },
    }
}

/// Price of energy at the start of the run, per kWh.
fn energy_price(cabinet: &VirtualCabinet) -> Option<f64> {
    let setup = &cabinet.plan.assembled.setup;
    setup.money.tariff.as_ref().and_then(|t| t.price_per_kwh_at(setup.start))
}
