//! The product with its unknowns at given values, as the drying model takes it.

use std::sync::Arc;

use fallrate_foods::{Component, Diffusivity as DiffusivityLaw, FoodsError, MoistureTerm, Product, Shape};
use fallrate_simulate::{Geometry, Material};
use fallrate_units::{Diffusivity, MolarEnergy};

use crate::FitError;
use crate::trial::{Belief, Trial, TrialFault, Unknown, product_beliefs};

/// Temperature at which the heat properties of the food are taken, degC.
const PROPERTY_C: f64 = 50.0;
/// Specific heat of the water held, J/(kg K): with the slope of the latent heat it fixes that of the vapour.
const WATER_HEAT_J_PER_KG_K: f64 = 4186.0;

/// Values of the unknowns of the product.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct FoodValues {
    pub diffusivity_m2_per_s: f64,
    pub activation_energy_j_per_mol: f64,
    /// None: the file's own term.
    pub moisture_parameter: Option<f64>,
    pub exchange: f64,
    pub water_held: f64,
    pub sideways: f64,
}

impl FoodValues {
    /// The file's values.
    pub fn of(product: &Product) -> Self {
        let beliefs = product_beliefs(product);
        let value = |u: Unknown| beliefs.iter().find(|b| b.unknown == u).map_or(1.0, |b: &Belief| b.value);
        Self {
            diffusivity_m2_per_s: value(Unknown::Diffusivity),
            activation_energy_j_per_mol: value(Unknown::ActivationEnergy),
            moisture_parameter: None,
            exchange: 1.0,
            water_held: value(Unknown::WaterHeld),
            sideways: value(Unknown::SidewaysShrinkage),
        }
    }
    /// What is believed. The moisture parameter stays the file's own where nothing else is believed of it: by the fresh-size
    /// term it follows the sideways shrinkage.
    pub fn believed(product: &Product, beliefs: &[Belief]) -> Self {
        let file = product_beliefs(product);
        let mut values = Self::of(product);
        for b in beliefs {
            let own = file.iter().find(|f| f.unknown == b.unknown).is_some_and(|f| f.value == b.value);
            if b.unknown != Unknown::DiffusivityMoisture || !own {
                values.set(b.unknown, b.value);
            }
        }
        values
    }
    /// Sets one of them; false for an unknown of a trial.
    pub fn set(&mut self, unknown: Unknown, value: f64) -> bool {
        match unknown {
            Unknown::Diffusivity => self.diffusivity_m2_per_s = value,
            Unknown::ActivationEnergy => self.activation_energy_j_per_mol = value,
            Unknown::DiffusivityMoisture => self.moisture_parameter = Some(value),
            Unknown::Exchange => self.exchange = value,
            Unknown::WaterHeld => self.water_held = value,
            Unknown::SidewaysShrinkage => self.sideways = value,
            Unknown::InitialMoisture { .. } | Unknown::Size { .. } => return false,
        }
        true
    }
}

/// The material of a trial's load.
pub(crate) fn material(
    product: &Product,
    values: &FoodValues,
    trial: &Trial,
    raw_moisture_wet_basis: f64,
    size_factor: f64,
) -> Result<Material, FitError> {
    let refuse = |source: FoodsError| TrialFault::Food { trial: trial.name.clone(), source };
    let mut moved = product.clone();
    moved.diffusivity.at_60c.value = Diffusivity::from_m2_per_s(values.diffusivity_m2_per_s);
    moved.diffusivity.activation_energy.value =
        MolarEnergy::from_j_per_mol(values.activation_energy_j_per_mol);
    moved.sorption.moisture_factor.value = values.water_held;
    moved.volume.lateral_exponent.value = values.sideways;
    let mut preparation = trial.preparation;
    preparation.raw_moisture_wet_basis = raw_moisture_wet_basis;
    let prepared = moved.prepare(&preparation).map_err(refuse)?;
    let volume = moved.volume_law(&prepared);
    let sorption = moved.sorption_model(prepared.solutes).map_err(refuse)?;
    let geometry = match moved.geometry.shape {
        Shape::Slab => Geometry::Slab,
        Shape::Cylinder => Geometry::Cylinder,
        Shape::Sphere => Geometry::Sphere,
    };
    let mut diffusivity = moved.diffusivity_law_of(&prepared);
    if let Some(value) = values.moisture_parameter {
        set_moisture_parameter(&mut diffusivity, value);
    }
    Ok(Material {
        geometry,
        size_m: trial.size_m * size_factor,
        moisture_initial_dry_basis: prepared.x0_kg_per_kg,
        temperature_initial_c: trial.temperature_initial_c,
        solids_density_kg_per_m3: volume.solids_density_kg_per_m3,
        water_density_kg_per_m3: volume.water_density_kg_per_m3,
        shrinkage_share: volume.shrinkage_share,
        lateral_shrinkage_exponent: if geometry == Geometry::Slab { volume.lateral_exponent } else { 0.0 },
        specific_heat_solids_j_per_kg_k: prepared.composition.solids_specific_heat_j_per_kg_k(PROPERTY_C),
        specific_heat_water_j_per_kg_k: WATER_HEAT_J_PER_KG_K,
        conductivity_solids_w_per_m_k: prepared.composition.solids_conductivity_w_per_m_k(PROPERTY_C),
        conductivity_water_w_per_m_k: Component::Water.conductivity_w_per_m_k(PROPERTY_C),
        diffusivity,
        sorption: Arc::new(sorption),
        sorption_heat_inside: true,
        core_is_middle_node: false,
    })
}

fn set_moisture_parameter(law: &mut DiffusivityLaw, value: f64) {
    let DiffusivityLaw::Arrhenius { moisture_term, .. } = law else { return };
    match moisture_term {
        MoistureTerm::None => {}
        MoistureTerm::Reciprocal { b_kg_per_kg, .. } => *b_kg_per_kg = value,
        MoistureTerm::FreshSize { exponent, .. } => *exponent = value,
        MoistureTerm::Exponential { a_per_kg_per_kg, .. } => *a_per_kg_per_kg = value,
    }
}
