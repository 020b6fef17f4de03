//! What the forecast run would come to under the published options. A forecast, never a verdict.

use fallrate_equipment::Cabinet;
use fallrate_foods::{KillStep, Product, ProofSpecies};
use fallrate_lethality::{
    BatchFacts, Case, Claim, ClaimedDocument, Endpoint, ForecastTrace, LogTarget, OptionId, Species,
    VerdictForecast, forecast,
};
use fallrate_simulate::{Run, VentSetting};
use fallrate_units::Duration;

use crate::band::Band;
use crate::curve::quantile;
use crate::setup::Setup;

/// Tolerance of a usual core probe (own judgement), K.
const PROBE_K: f64 = 1.0;

/// One option looked at.
#[derive(Clone, Debug, PartialEq)]
pub struct KillForecast {
    /// The document's option.
    pub option: OptionId,
    /// Log target of the table.
    pub target: LogTarget,
    /// What is expected.
    pub verdict: VerdictForecast,
    /// Forecast minutes that count as humid for it.
    pub humid_minutes: f64,
    /// Cold side of the band that was taken off the forecast core, K.
    pub band_k: f64,
}

/// Looks at the options that this cabinet can claim. Empty for products without a required kill step or without a table.
#[must_use]
pub fn kill_forecast(
    setup: &Setup,
    product: &Product,
    cabinet: &Cabinet,
    run: &Run,
    band: Option<&Band>,
) -> Vec<KillForecast> {
    let Some(species) = species(product) else { return Vec::new() };
    if product.kill_step != KillStep::Required {
        return Vec::new();
    }
    let shut_s = shut_until(setup, cabinet, run);
    let band_k = PROBE_K + core_band_k(setup, run, band, shut_s);
    let poultry = matches!(species, Species::Chicken | Species::Turkey);
    let target = if poultry { LogTarget::Seven } else { LogTarget::SixPointFive };
    let humid_rh = spans(run, |s| s.relative_humidity >= 0.9);
    let mut options = Vec::new();
    if cabinet.sealed_capable && shut_s > 0.0 {
        options.push((OptionId::Sealed2021, ClaimedDocument::CookingGuideline2021, vec![(0.0, shut_s)]));
        options.push((OptionId::JerkyB, ClaimedDocument::JerkyGuideline2014, vec![(0.0, shut_s)]));
    }
    options.push((OptionId::Rh90Share2021, ClaimedDocument::CookingGuideline2021, humid_rh));
    let looked = options.into_iter().filter_map(|(option, document, humid)| {
        let mut facts = BatchFacts::new(Duration::from_minutes(5.0));
        facts.species = Some(species);
        let claim = Claim {
            document: Some(document),
            options: vec![option],
            target,
            endpoint: Endpoint::Tables,
            claimed_at: None,
        };
        let trace = ForecastTrace {
            elapsed_s: run.samples.iter().map(|s| s.elapsed_s).collect(),
            coldest_core_c: run.samples.iter().map(|s| s.core_coldest_c).collect(),
            band_k,
            humid_spans_s: humid.clone(),
            drying_begins_s: Some(shut_s).filter(|s| *s > 0.0),
        };
        let trace = rising(trace);
        let verdict = forecast(&trace, &Case { claim, facts }, option).ok()?;
        let humid_minutes = humid.iter().map(|(a, b)| (b - a) / 60.0).sum();
        Some(KillForecast { option, target, verdict, humid_minutes, band_k })
    });
    looked.collect()
}

/// Keeps the samples whose time rises: a stage end is sampled twice.
fn rising(mut t: ForecastTrace) -> ForecastTrace {
    let mut elapsed: Vec<f64> = Vec::with_capacity(t.elapsed_s.len());
    let mut core: Vec<f64> = Vec::with_capacity(t.elapsed_s.len());
    for (s, c) in t.elapsed_s.iter().zip(&t.coldest_core_c) {
        if elapsed.last().is_none_or(|&last| *s > last + 1e-6) {
            elapsed.push(*s);
            core.push(*c);
        }
    }
    t.elapsed_s = elapsed;
    t.coldest_core_c = core;
    t
}

fn species(product: &Product) -> Option<Species> {
    Some(match product.proof_species? {
        ProofSpecies::Beef => Species::Beef,
        ProofSpecies::Pork => Species::Pork,
        ProofSpecies::Game => Species::OtherRedMeat,
        ProofSpecies::Chicken => Species::Chicken,
        ProofSpecies::Turkey => Species::Turkey,
        ProofSpecies::Fish => return None,
    })
}

/// How long the vent stays at its shut mark from the start, s.
pub(crate) fn shut_until(setup: &Setup, cabinet: &Cabinet, run: &Run) -> f64 {
    if !cabinet.vent.closes {
        return 0.0;
    }
    let shut = |v: &VentSetting| matches!(v, VentSetting::Opening(o) if *o <= 1e-9);
    let stages = setup.stages.iter().zip(&run.stage_ends);
    stages.take_while(|(s, _)| shut(&s.vent)).last().map_or(0.0, |(_, e)| e.sample.elapsed_s)
}

fn spans(run: &Run, humid: impl Fn(&fallrate_simulate::Sample) -> bool) -> Vec<(f64, f64)> {
    let mut list: Vec<(f64, f64)> = Vec::new();
    for w in run.samples.windows(2) {
        if humid(&w[0]) && humid(&w[1]) {
            match list.last_mut() {
                Some(last) if (last.1 - w[0].elapsed_s).abs() < 1e-6 => last.1 = w[1].elapsed_s,
                _ => list.push((w[0].elapsed_s, w[1].elapsed_s)),
            }
        }
    }
    list
}

/// How far the coldest core of nine draws in ten lies below the nominal one at the end of the shut time (each draw at its
/// own, since its stages end by conditions), K.
fn core_band_k(setup: &Setup, run: &Run, band: Option<&Band>, shut_s: f64) -> f64 {
    let Some(band) = band else { return 0.0 };
    let shut_stages = run
        .stage_ends
        .iter()
        .take(setup.stages.len())
        .filter(|e| e.sample.elapsed_s <= shut_s + 1e-6)
        .count();
    let Some(last) = shut_stages.checked_sub(1) else { return 0.0 };
    let own = |d: &crate::band::Draw| d.sweep.stage_ends_s.get(last).map(|&s| core_at(&d.sweep.samples, s));
    let cores: Vec<f64> = band.draws.iter().filter_map(own).collect();
    let low = quantile(&cores, 0.1);
    if low.is_nan() { 0.0 } else { (core_at(&run.samples, shut_s) - low).max(0.0) }
}

/// Coldest core at a time, on the line between samples, degC.
fn core_at(samples: &[fallrate_simulate::Sample], at_s: f64) -> f64 {
    let k = samples.partition_point(|s| s.elapsed_s < at_s);
    match (k.checked_sub(1).and_then(|i| samples.get(i)), samples.get(k)) {
        (Some(a), Some(b)) => {
            let share = (at_s - a.elapsed_s) / (b.elapsed_s - a.elapsed_s).max(1e-9);
            a.core_coldest_c + share * (b.core_coldest_c - a.core_coldest_c)
        }
        (None, Some(one)) | (Some(one), None) => one.core_coldest_c,
        (None, None) => f64::NAN,
    }
}
