//! Energy, cost, yield and tray weights of a run.

use fallrate_simulate::Sample;

use crate::curve::Curve;
use crate::request::Tariff;
use crate::setup::{DAY_S, Setup};

/// Energy and cost of a batch.
#[derive(Clone, Debug, PartialEq)]
pub struct EnergyCost {
    /// kWh of the heater.
    pub heater_kwh: f64,
    /// kWh of the fan.
    pub fan_kwh: f64,
    /// kWh per kg of water removed.
    pub kwh_per_kg_water: f64,
    /// Latent heat of the water removed over the energy drawn.
    pub efficiency: f64,
    /// Highest quarter-hour demand, kW.
    pub peak_kw: f64,
    /// Cost of the energy; none without a tariff.
    pub energy_cost: Option<f64>,
    /// Demand charge that this batch's peak would cause if it were the period's highest; none without one.
    pub demand_cost: Option<f64>,
    /// Labour; none without a price and hours.
    pub labour_cost: Option<f64>,
    /// Raw material; none without a price.
    pub raw_cost: Option<f64>,
    /// All that is known, per kg finished; none where nothing is.
    pub cost_per_kg_finished: Option<f64>,
}

/// Yield of a batch.
#[derive(Clone, Debug, PartialEq)]
pub struct Yield {
    /// Loaded, kg.
    pub fresh_kg: f64,
    /// Dry solids, kg.
    pub solids_kg: f64,
    /// Water removed by unloading, kg.
    pub water_removed_kg: f64,
    /// Finished at the forecast moisture, kg.
    pub finished_kg: f64,
    /// Finished exactly at the target moisture, kg.
    pub finished_at_target_kg: f64,
    /// Fresh over finished.
    pub drying_ratio: f64,
    /// Given away below the target, kg (nominal run).
    pub given_away_kg: f64,
    /// The same in money; none without a price.
    pub given_away_cost: Option<f64>,
}

/// Target weight of one tray.
#[derive(Clone, Debug, PartialEq)]
pub struct TrayWeight {
    /// Fresh product on it, kg.
    pub fresh_kg: f64,
    /// Product at the target, kg.
    pub net_kg: f64,
    /// With the tray, kg.
    pub gross_kg: f64,
    /// Tray with liner, kg.
    pub tare_kg: f64,
    /// What the same weight means if the solids are off by so many points: (points, moisture wet basis).
    pub if_solids_off: Vec<(f64, f64)>,
}

/// Latent heat used for the efficiency: water at about 40 degC (steam tables, from memory), J/kg.
const LATENT_J_PER_KG: f64 = 2.406e6;

/// Energy and cost of a run from its samples.
#[must_use]
pub fn energy_cost(setup: &Setup, samples: &[Sample], finished_kg: f64, water_kg: f64) -> EnergyCost {
    let (heater, fan) = samples.last().map_or((0.0, 0.0), |s| (s.heater_j / 3.6e6, s.fan_j / 3.6e6));
    let m = &setup.money;
    let drawn = Curve::new(&samples.iter().map(|s| (s.elapsed_s, s.heater_j + s.fan_j)).collect::<Vec<_>>());
    let last = samples.last().map_or(0.0, |s| s.elapsed_s);
    let energy_cost = m.tariff.as_ref().map(|tariff| tariff_cost(setup, tariff, &drawn, last));
    let peak_kw = peak_quarter_hour_kw(samples);
    let demand_cost = m.tariff.as_ref().and_then(|t| t.demand_charge_per_kw).map(|d| d * peak_kw);
    let labour_cost = m.labour_price_per_hour.zip(m.labour).map(|(p, d)| p * d.hours());
    let raw_cost = m.raw_price_per_kg.map(|p| p * setup.batch.fresh_kg());
    // The demand charge is a cost of the month, not of the batch: shown, not summed.
    let known: Vec<f64> = [energy_cost, labour_cost, raw_cost].into_iter().flatten().collect();
    EnergyCost {
        heater_kwh: heater,
        fan_kwh: fan,
        kwh_per_kg_water: (heater + fan) / water_kg.max(1e-9),
        efficiency: water_kg * LATENT_J_PER_KG / ((heater + fan) * 3.6e6).max(1.0),
        peak_kw,
        energy_cost,
        demand_cost,
        labour_cost,
        raw_cost,
        cost_per_kg_finished: (!known.is_empty()).then(|| known.iter().sum::<f64>() / finished_kg.max(1e-9)),
    }
}

/// Cost of the energy drawn from the start to an instant of the run: each part of the day at its own price, the curve of
/// the energy (J against s) cut exactly where the price changes.
#[must_use]
pub fn tariff_cost(setup: &Setup, tariff: &Tariff, energy_j: &Curve, until_s: f64) -> f64 {
    let Some((first, last)) = energy_j.range() else { return 0.0 };
    let until = until_s.min(last);
    let mut cuts = vec![first, until];
    for change in tariff.changes_s() {
        let mut at = (change - setup.start.seconds()).rem_euclid(DAY_S);
        while at < until {
            cuts.push(at.max(first));
            at += DAY_S;
        }
    }
    cuts.sort_by(f64::total_cmp);
    let parts = cuts.windows(2).filter(|w| w[1] > w[0]).map(|w| {
        let price = tariff.price_per_kwh_at(setup.clock(0.5 * (w[0] + w[1]))).unwrap_or(0.0);
        (energy_j.at(w[1]) - energy_j.at(w[0])) / 3.6e6 * price
    });
    parts.sum()
}

fn peak_quarter_hour_kw(samples: &[Sample]) -> f64 {
    let energy = |s: &Sample| s.heater_j + s.fan_j;
    let mut peak = 0.0_f64;
    let mut low = 0;
    for high in 1..samples.len() {
        while samples[high].elapsed_s - samples[low + 1].elapsed_s >= 900.0 {
            low += 1;
        }
        let span = samples[high].elapsed_s - samples[low].elapsed_s;
        if span >= 600.0 {
            peak = peak.max((energy(&samples[high]) - energy(&samples[low])) / span / 1000.0);
        }
    }
    peak
}

/// Yield from the moisture of the mean piece at unloading.
#[must_use]
pub fn yields(setup: &Setup, moisture_at_unloading: f64) -> Yield {
    let (fresh, solids) = (setup.batch.fresh_kg(), setup.batch.solids_kg());
    let finished = solids * (1.0 + moisture_at_unloading);
    let at_target = solids * (1.0 + setup.target.moisture_dry_basis);
    let given_away = (at_target - finished).max(0.0);
    Yield {
        fresh_kg: fresh,
        solids_kg: solids,
        water_removed_kg: fresh - finished,
        finished_kg: finished,
        finished_at_target_kg: at_target,
        drying_ratio: fresh / finished,
        given_away_kg: given_away,
        given_away_cost: setup.money.product_price_per_kg.map(|p| p * given_away),
    }
}

/// Target weight of a tray, with what a wrong solids figure would make of it (job arithmetic: the same weight holds more
/// water where the solids are fewer).
#[must_use]
pub fn tray_weight(setup: &Setup, tare_kg: f64) -> TrayWeight {
    let fresh = setup.batch.load.fresh_kg_per_tray;
    let solids = 1.0 / (1.0 + setup.batch.material.moisture_initial_dry_basis);
    let net = fresh * solids * (1.0 + setup.target.moisture_dry_basis);
    let off = [-2.0, -1.0, 1.0, 2.0].map(|points| (points, 1.0 - fresh * (solids + points / 100.0) / net));
    TrayWeight { fresh_kg: fresh, net_kg: net, gross_kg: net + tare_kg, tare_kg, if_solids_off: off.to_vec() }
}
