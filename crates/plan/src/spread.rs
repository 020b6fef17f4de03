//! What is not known exactly, and how a draw of it changes the batch.

use std::sync::Arc;

use fallrate_simulate::{Activity, Batch, Diffusivity, Sorption};

/// An uncertain input.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Input {
    /// Thickness or diameter of the pieces.
    Thickness,
    /// Dry solids of the raw product.
    Solids,
    /// Moisture diffusivity.
    Diffusivity,
    /// Heat and mass transfer coefficient.
    Exchange,
    /// Sideways shrinkage.
    LateralShrinkage,
    /// Moisture at a given water activity.
    Isotherm,
    /// Unevenness of the air over the trays.
    AirShare,
    /// Leakage of the cabinet.
    Leakage,
    /// Vent flow at its marks.
    VentFlow,
    /// Heater power.
    HeaterPower,
    /// Heat loss of the shell.
    ShellLoss,
    /// Room temperature.
    RoomTemperature,
    /// Room humidity.
    RoomHumidity,
}

/// Where a spread comes from, for the reader.
#[derive(Clone, Debug, PartialEq)]
pub struct Spread {
    /// Input.
    pub input: Input,
    /// Standard deviation: of the natural logarithm for factors, in the input's unit for differences
    /// (solids fraction, exponent, K, RH fraction).
    pub sd: f64,
    /// Value in the plan, for printing.
    pub value: f64,
    /// Source.
    pub source: String,
    /// "read", "computed", "memory" or "assumed".
    pub mark: String,
}

impl Spread {
    /// Changes a batch by a draw of `z` standard deviations.
    pub fn apply(&self, batch: &mut Batch, z: f64) {
        let factor = (self.sd * z).exp();
        let shift = self.sd * z;
        match self.input {
            Input::Thickness => batch.material.size_m *= factor,
            Input::Solids => {
                let solids =
                    (1.0 / (1.0 + batch.material.moisture_initial_dry_basis) + shift).clamp(0.02, 0.9);
                batch.material.moisture_initial_dry_basis = 1.0 / solids - 1.0;
            }
            Input::Diffusivity => scale_diffusivity(&mut batch.material.diffusivity, factor),
            Input::Exchange => batch.exchange.heat_transfer_w_per_m2_k *= factor,
            Input::LateralShrinkage => {
                let s = &mut batch.material.lateral_shrinkage_exponent;
                *s = (*s + shift).clamp(0.0, 2.0 / 3.0);
            }
            Input::Isotherm => {
                batch.material.sorption =
                    Arc::new(Scaled { inner: Arc::clone(&batch.material.sorption), factor });
            }
            Input::AirShare => uneven(batch, factor),
            Input::Leakage => batch.chamber.leakage_kg_per_s *= factor,
            Input::VentFlow => batch.chamber.vent_full_kg_per_s *= factor,
            Input::HeaterPower => batch.chamber.heater_w *= factor,
            Input::ShellLoss => batch.chamber.shell_loss_w_per_k *= factor,
            Input::RoomTemperature => {
                batch.room.temperature_c = (batch.room.temperature_c + shift).clamp(-20.0, 50.0)
            }
            Input::RoomHumidity => {
                batch.room.relative_humidity = (batch.room.relative_humidity + shift).clamp(0.05, 0.98);
            }
        }
    }
}

/// Multiplies a diffusivity, whatever its form, by a factor.
fn scale_diffusivity(d: &mut Diffusivity, factor: f64) {
    match d {
        Diffusivity::Arrhenius { at_60c_m2_per_s, .. } => *at_60c_m2_per_s *= factor,
        Diffusivity::TwoMember { dry_m2_per_s, wet_m2_per_s, .. } => {
            *dry_m2_per_s *= factor;
            *wet_m2_per_s *= factor;
        }
        Diffusivity::Binding { d0_m2_per_s, .. } => *d0_m2_per_s *= factor,
        Diffusivity::LitchfieldOkos => {}
    }
}

/// Stretches the differences of the groups' air about their mean.
fn uneven(batch: &mut Batch, factor: f64) {
    let groups = &mut batch.load.groups;
    let trays: f64 = groups.iter().map(|g| g.loaded_trays).sum();
    let air: f64 = groups.iter().map(|g| g.air_share).sum();
    for g in groups {
        let even = air * g.loaded_trays / trays;
        let old = g.air_share / even;
        let new = (1.0 + (old - 1.0) * factor).max(0.2);
        g.air_share = even * new;
        g.heat_transfer_share *= (new / old).powf(0.6);
    }
}

/// An isotherm that holds a factor more water at the same water activity.
#[derive(Debug)]
struct Scaled {
    inner: Arc<dyn Sorption>,
    factor: f64,
}

impl Sorption for Scaled {
    fn activity(&self, x: f64, t_k: f64) -> Activity {
        let a = self.inner.activity(x / self.factor, t_k);
        Activity { d_dx: a.d_dx / self.factor, ..a }
    }
    fn net_heat_j_per_kg(&self, x: f64) -> (f64, f64) {
        let (s, ds) = self.inner.net_heat_j_per_kg(x / self.factor);
        (s, ds / self.factor)
    }
    fn net_heat_integral_j_per_kg(&self, x: f64) -> f64 {
        self.inner.net_heat_integral_j_per_kg(x / self.factor) * self.factor
    }
}
