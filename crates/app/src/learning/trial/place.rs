//! Where a trial's pieces lay: a cabinet with its plan, or a tunnel.

use fallrate_datafile::Section;
use fallrate_fit::trial::{Apparatus, Trial, TrialAir};
use fallrate_foods::Product;
use fallrate_plan::sweep::COARSE;
use fallrate_units::{HeatTransfer, RelativeHumidity, Temperature};

use super::file::Stated;
use crate::error::AppError;
use crate::learning::LearningFault;
use crate::plan_case::PlanCase;

/// Standard deviation of the mean size of a few measured pieces, as a share, where none is stated (own judgement).
const SIZE_ERROR: f64 = 0.04;
/// Both faces in air of 1 to 2 m/s, as far as nothing is stated (laminar flat plate, from memory).
const USUAL_EXCHANGE: f64 = 25.0;

/// A tunnel as stated.
pub(super) struct TunnelStated {
    pub temperature_c: f64,
    pub relative_humidity: f64,
    pub exchange: f64,
    pub both_faces: bool,
    pub product_c: f64,
}

/// A trial without its readings.
pub(super) struct Place {
    pub trial: Trial,
    pub load_kg: Option<f64>,
    /// Names of the loaded tray groups in the model's order; empty in a tunnel.
    pub groups: Vec<String>,
}

/// Reads `[trial.tunnel]`.
pub(super) fn tunnel(s: &Section<'_>) -> Option<TunnelStated> {
    let c = Temperature::from_celsius;
    let temperature = s.required("air", c(20.0)..=c(100.0));
    let rh = RelativeHumidity::from_fraction;
    let humidity = s.required("relative_humidity", rh(0.001)..=rh(0.95));
    let h = HeatTransfer::from_w_per_m2_k;
    let exchange = s.quantity("exchange", h(1.0)..=h(300.0));
    let faces = s.choice("faces", &["both", "upper"]);
    let product = s.quantity("product", c(-5.0)..=c(60.0));
    Some(TunnelStated {
        temperature_c: temperature?.celsius(),
        relative_humidity: humidity?.fraction(),
        exchange: exchange.map_or(USUAL_EXCHANGE, HeatTransfer::w_per_m2_k),
        both_faces: faces != Some(1),
        product_c: product.map_or(20.0, Temperature::celsius),
    })
}

/// The trial as stated, without readings.
pub(super) fn place(
    stated: &Stated,
    plan: Option<&PlanCase>,
    product: &Product,
    file: &str,
) -> Result<Place, AppError> {
    let usual = stated.tunnel.as_ref();
    let air = usual.map_or((60.0, 0.15), |t| (t.temperature_c, t.relative_humidity));
    let exchange = usual.map_or(USUAL_EXCHANGE, |t| t.exchange);
    let mut trial = Trial::in_tunnel(&stated.name, product, air, exchange);
    let (mut load_kg, mut groups) = (None, Vec::new());
    if let (Some(t), Apparatus::Tunnel { both_faces, .. }) = (usual, &mut trial.apparatus) {
        *both_faces = t.both_faces;
        trial.temperature_initial_c = t.product_c;
    }
    if let Some(plan) = plan {
        let names = cabinet(&mut trial, plan, product, file)?;
        groups = names.0;
        load_kg = Some(names.1);
    }
    if let Some(m) = stated.raw_moisture {
        trial.preparation.raw_moisture_wet_basis = m.kg_per_kg();
    }
    if let Some(m) = stated.raw_moisture_error {
        trial.moisture_error_wet_basis = m.kg_per_kg();
    }
    trial.size_m = stated.thickness.map_or(trial.size_m, fallrate_units::Length::metres);
    trial.size_error = stated.thickness_error.unwrap_or(SIZE_ERROR);
    trial.scale_error_kg = stated.scale_error.kilograms();
    trial.core_error_k = stated.core_error_k;
    Ok(Place { trial, load_kg, groups })
}

/// Puts a trial into the cabinet of a plan; names of the loaded groups and the load of a tray.
fn cabinet(
    trial: &mut Trial,
    plan: &PlanCase,
    product: &Product,
    file: &str,
) -> Result<(Vec<String>, f64), AppError> {
    if plan.product.key != product.key {
        return Err(LearningFault::OtherProduct {
            plan: plan.name.clone(),
            found: plan.product.key.clone(),
            expected: product.key.clone(),
            file: file.to_owned(),
        }
        .into());
    }
    let made =
        fallrate_plan::assemble(&plan.request, &plan.product, &plan.cabinet).map_err(|e| plan.error(e))?;
    if made.setup.stages.is_empty() {
        return Err(LearningFault::NoStages { plan: plan.name.clone() }.into());
    }
    Ok(put_into(trial, plan, product, made))
}

/// Puts a trial into a cabinet as a plan assembled it; names of the loaded groups and the load of a tray.
pub(in crate::learning) fn put_into(
    trial: &mut Trial,
    plan: &PlanCase,
    product: &Product,
    made: fallrate_plan::Assembled,
) -> (Vec<String>, f64) {
    let setup = made.setup;
    trial.pressure_pa = setup.batch.room.pressure_pa;
    trial.size_m = setup.batch.material.size_m;
    trial.temperature_initial_c = setup.batch.material.temperature_initial_c;
    trial.preparation = preparation(plan, product);
    let load_kg = setup.batch.load.fresh_kg_per_tray;
    let mut batch = setup.batch;
    batch.load.positions = COARSE.positions;
    trial.air = TrialAir::Computed;
    trial.apparatus = Apparatus::Cabinet { batch: Box::new(batch), stages: setup.stages };
    let loaded = plan.cabinet.groups.iter().zip(&made.trays_by_group).filter(|(_, n)| **n > 0);
    (loaded.map(|(g, _)| g.name.clone()).collect(), load_kg)
}

/// What the plan says was done to the raw food.
fn preparation(plan: &PlanCase, product: &Product) -> fallrate_foods::Preparation {
    let mut p = product.usual_preparation();
    if let Some(salt) = plan.request.raw.salt {
        p.salt_kg_per_kg_raw = salt.fraction();
    }
    if let Some(sugar) = plan.request.raw.sugar {
        p.sugar_kg_per_kg_raw = sugar.fraction();
    }
    if let Some(solids) = plan.request.raw.solids {
        let total = 1.0 + p.salt_kg_per_kg_raw + p.sugar_kg_per_kg_raw + p.water_kg_per_kg_raw;
        p.raw_moisture_wet_basis = (1.0 - solids.fraction()) * total - p.water_kg_per_kg_raw;
    }
    p
}
