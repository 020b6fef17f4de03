//! A wet cloth on each tray: free water until it is nearly dry.

use std::sync::Arc;

use fallrate_simulate::{Activity, Batch, Diffusivity, Material, MoistureTerm, Sorption};

/// Water of a cloth as it is laid, kg/kg dry cloth (own judgement: wrung, not dripping).
const WET: f64 = 2.5;
/// The cloth gives its water off freely above about this moisture, kg/kg dry cloth (own judgement).
const BOUND: f64 = 0.05;
/// Thickness of the wet cloth, m (own judgement).
const THICKNESS_M: f64 = 0.002;

/// a_w = 1 - exp(-X/bound): nearly 1 while there is free water.
#[derive(Clone, Copy, Debug)]
struct Cloth;

impl Sorption for Cloth {
    fn activity(&self, x: f64, _t_k: f64) -> Activity {
        let left = (-x.max(0.0) / BOUND).exp();
        Activity { aw: 1.0 - left, d_dx: left / BOUND, d_dt_k: 0.0 }
    }
    fn net_heat_j_per_kg(&self, _x: f64) -> (f64, f64) {
        (0.0, 0.0)
    }
}

/// Puts a wet cloth in place of the product on every tray. `tray_m2` is the area of a tray.
pub(crate) fn lay_cloths(batch: &mut Batch, tray_m2: f64) {
    let material = Material {
        size_m: THICKNESS_M,
        geometry: fallrate_simulate::Geometry::Slab,
        moisture_initial_dry_basis: WET,
        temperature_initial_c: batch.room.temperature_c,
        shrinkage_share: 0.0,
        lateral_shrinkage_exponent: 0.0,
        // Water moves in a cloth far more readily than off it.
        diffusivity: Diffusivity::Arrhenius {
            at_60c_m2_per_s: 1e-8,
            activation_energy_j_per_mol: 0.0,
            moisture_term: MoistureTerm::None,
        },
        sorption: Arc::new(Cloth),
        ..batch.material.clone()
    };
    batch.load.fresh_kg_per_tray = material.solids_kg_per_m2() * (1.0 + WET) * tray_m2;
    batch.material = material;
}
