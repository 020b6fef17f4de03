//! From what a product file states to what the drying model takes.

use super::{LiftOff, NetHeatData, Product, Shape};
use crate::composition::{Component, Composition};
use crate::diffusivity::{Diffusivity, MoistureTerm};
use crate::error::{FoodsError, between};
use crate::net_heat::{HeatTable, NetHeat};
use crate::solutes::Solutes;
use crate::sorption::{Sorption, UpperEnd};
use crate::volume::{ConductivityLaw, VolumeLaw};
use fallrate_units::STANDARD_GRAVITY_M_PER_S2;

/// Water at 40 degC (steam tables, from memory), kg/m3.
const WATER_DENSITY_KG_PER_M3: f64 = 992.2;

/// What is done to the raw food before it goes on the trays.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Preparation {
    /// Moisture of the raw food, kg/kg wet basis.
    pub raw_moisture_wet_basis: f64,
    /// Salt added, kg per kg raw.
    pub salt_kg_per_kg_raw: f64,
    /// Sugar added, kg per kg raw.
    pub sugar_kg_per_kg_raw: f64,
    /// Water taken up (negative: drained), kg per kg raw.
    pub water_kg_per_kg_raw: f64,
}

/// The food as it goes on the trays.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Prepared {
    /// Composition with salt (as ash), sugar (as carbohydrate) and water.
    pub composition: Composition,
    /// Moisture, kg/kg of all dry solids.
    pub x0_kg_per_kg: f64,
    /// Salt and added sugar per kg of all dry solids.
    pub solutes: Solutes,
    /// kg prepared per kg raw.
    pub mass_kg_per_kg_raw: f64,
}

impl Prepared {
    /// Moisture, kg/kg wet basis.
    #[must_use]
    pub fn moisture_wet_basis(&self) -> f64 {
        self.x0_kg_per_kg / (1.0 + self.x0_kg_per_kg)
    }
}

impl Product {
    /// The usual preparation.
    #[must_use]
    pub fn usual_preparation(&self) -> Preparation {
        Preparation {
            raw_moisture_wet_basis: self.initial_moisture.value.kg_per_kg(),
            salt_kg_per_kg_raw: self.solutes.salt.value.fraction(),
            sugar_kg_per_kg_raw: self.solutes.sugar.value.fraction(),
            water_kg_per_kg_raw: self.solutes.water.value.fraction(),
        }
    }

    /// The food as it goes on the trays.
    ///
    /// # Errors
    /// [`FoodsError::OutOfRange`] where the moisture is not between 1 and 99 % wet basis or the additions are impossible.
    pub fn prepare(&self, p: &Preparation) -> Result<Prepared, FoodsError> {
        let m = between(
            "raw moisture",
            p.raw_moisture_wet_basis,
            "kg/kg wb",
            (0.01, 0.99),
            "0.01 to 0.99 kg/kg wet basis",
        )?;
        between("salt added", p.salt_kg_per_kg_raw, "kg/kg raw", (-1e-12, 0.5), "0 to 0.5 kg per kg raw")?;
        between("sugar added", p.sugar_kg_per_kg_raw, "kg/kg raw", (-1e-12, 1.0), "0 to 1 kg per kg raw")?;
        between(
            "water taken up",
            p.water_kg_per_kg_raw,
            "kg/kg raw",
            (-m, 1.0),
            "more than the food loses, up to 1",
        )?;
        let raw = self.composition.composition.at_moisture(m / (1.0 - m));
        let composition =
            raw.with_added(p.salt_kg_per_kg_raw, p.sugar_kg_per_kg_raw, p.water_kg_per_kg_raw)?;
        let solids = 1.0 - m + p.salt_kg_per_kg_raw + p.sugar_kg_per_kg_raw;
        Ok(Prepared {
            composition,
            x0_kg_per_kg: composition.moisture_dry_basis_kg_per_kg(),
            solutes: Solutes::from_solids_shares(
                p.salt_kg_per_kg_raw / solids,
                p.sugar_kg_per_kg_raw / solids,
            )?,
            mass_kg_per_kg_raw: solids + m + p.water_kg_per_kg_raw,
        })
    }

    /// The sorption model of the prepared food.
    ///
    /// # Errors
    /// As [`Sorption::new`].
    pub fn sorption_model(&self, solutes: Solutes) -> Result<Sorption, FoodsError> {
        let data = &self.sorption;
        let t_c = data.reference_temperature.celsius();
        let net_heat = match &data.net_heat {
            NetHeatData::None => NetHeat::None,
            NetHeatData::Exponential { at_zero_j_per_kg, decay_kg_per_kg } => NetHeat::Exponential {
                at_zero_j_per_kg: at_zero_j_per_kg.value,
                decay_kg_per_kg: *decay_kg_per_kg,
            },
            NetHeatData::FromIsotherm => {
                let x = |aw| data.isotherm.moisture(aw, t_c).map(|p| p.moisture_dry_basis_kg_per_kg);
                NetHeat::Table(HeatTable::from_isotherm(&data.isotherm, (x(0.05)?, x(0.85)?), t_c)?)
            }
        };
        let end = UpperEnd::DiluteTail { from_aw: data.tail_from_aw };
        Sorption::new(&data.isotherm, t_c, net_heat, solutes, end)?
            .with_moisture_factor(data.moisture_factor.value)
    }

    /// The diffusivity law of the usually prepared food, with the file's usual values.
    #[must_use]
    pub fn diffusivity_law(&self) -> Diffusivity {
        match self.prepare(&self.usual_preparation()) {
            Ok(prepared) => self.diffusivity_law_of(&prepared),
            // A file whose usual preparation is impossible does not pass `Product::parse`.
            Err(_) => self.arrhenius(MoistureTerm::None),
        }
    }

    /// The diffusivity law of the food as prepared: a [`MoistureTerm::FreshSize`] takes its moisture and volume from it.
    #[must_use]
    pub fn diffusivity_law_of(&self, prepared: &Prepared) -> Diffusivity {
        self.arrhenius(self.diffusivity.moisture_term.unwrap_or_else(|| self.fresh_size_term(prepared)))
    }

    fn arrhenius(&self, moisture_term: MoistureTerm) -> Diffusivity {
        Diffusivity::Arrhenius {
            at_60c_m2_per_s: self.diffusivity.at_60c.value.m2_per_s(),
            activation_energy_j_per_mol: self.diffusivity.activation_energy.value.j_per_mol(),
            moisture_term,
        }
    }

    fn fresh_size_term(&self, prepared: &Prepared) -> MoistureTerm {
        let volume = self.volume_law(prepared);
        let fresh = volume.specific_volume(prepared.x0_kg_per_kg).0;
        MoistureTerm::FreshSize {
            dry_volume_ratio: volume.specific_volume(0.0).0 / fresh,
            x0_kg_per_kg: prepared.x0_kg_per_kg,
            exponent: match (&self.diffusivity.moisture_parameter, self.geometry.shape) {
                (Some(fitted), _) => fitted.value,
                (None, Shape::Slab) => 2.0 * (1.0 - volume.lateral_exponent),
                (None, Shape::Cylinder) => 1.0,
                (None, Shape::Sphere) => 2.0 / 3.0,
            },
        }
    }

    /// The volume law of the prepared food: its own solids with their air, salt and sugar at their true densities.
    #[must_use]
    pub fn volume_law(&self, prepared: &Prepared) -> VolumeLaw {
        let s = &prepared.solutes;
        let v = s.food_share() / self.volume.solids_density.value.kg_per_m3()
            + s.salt_kg_per_kg_solids() / Component::Ash.density_kg_per_m3(50.0)
            + s.sugar_kg_per_kg_solids() / Component::Carbohydrate.density_kg_per_m3(50.0);
        VolumeLaw {
            solids_density_kg_per_m3: 1.0 / v,
            water_density_kg_per_m3: WATER_DENSITY_KG_PER_M3,
            shrinkage_share: self.volume.shrinkage_share.value.fraction(),
            x0_kg_per_kg: prepared.x0_kg_per_kg,
            lateral_exponent: self.volume.lateral_exponent.value,
        }
    }

    /// The conductivity law of the prepared food.
    #[must_use]
    pub fn conductivity_law(&self, prepared: &Prepared) -> ConductivityLaw {
        ConductivityLaw::new(&prepared.composition, self.volume_law(prepared))
    }
}

impl LiftOff {
    /// The air speed (m/s) at which a piece leaves the tray: `sqrt(2 g m/(Cf rho))` with m the piece's mass per area,
    /// which falls as it dries: `m = m_fresh (1 + X)/(1 + X_0) / (A/A_0)`.
    #[must_use]
    pub fn speed_m_per_s(&self, x: f64, x0: f64, area_ratio: f64, air_density_kg_per_m3: f64) -> f64 {
        let mass = self.fresh_mass_per_area.value.kg_per_m2() * (1.0 + x) / ((1.0 + x0) * area_ratio);
        (2.0 * STANDARD_GRAVITY_M_PER_S2 * mass / (self.force_coefficient.value * air_density_kg_per_m3))
            .sqrt()
    }
}
