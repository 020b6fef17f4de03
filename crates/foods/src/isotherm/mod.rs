//! Published sorption isotherms: moisture from water activity and back, with both derivatives.

mod explicit;
mod gab;

use crate::error::{FoodsError, between};
use fallrate_units::ZERO_CELSIUS_K;

pub use gab::Gab;

/// Gas constant with the four digits the published temperature-dependent GAB sets were fitted with, kJ/(mol K).
const GAS_CONSTANT_KJ_PER_MOL_K: f64 = 8.314e-3;

/// Moisture of a food in equilibrium, with its derivatives.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct MoisturePoint {
    /// kg water per kg dry solids.
    pub moisture_dry_basis_kg_per_kg: f64,
    /// Derivative by water activity, kg/kg.
    pub d_daw: f64,
    /// Derivative by temperature at constant water activity, kg/(kg K).
    pub d_dt_k: f64,
}

/// Water activity of a food, with its derivatives.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Activity {
    /// Water activity, fraction.
    pub aw: f64,
    /// Derivative by dry-basis moisture, kg/kg.
    pub d_dx: f64,
    /// Derivative by temperature at constant moisture, 1/K.
    pub d_dt_k: f64,
}

/// A sorption isotherm. T in degC unless said, M in % dry basis, X in kg/kg dry basis, a the water activity.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Isotherm {
    /// `X = Xm C K a / ((1 - K a)(1 - K a + C K a))`, no temperature dependence.
    Gab(Gab),
    /// GAB with `Xm = p1 exp(p2/RT)`, `C = p3 exp(p4/RT)`, `K = p5 exp(p6/RT)`; p2, p4, p6 in kJ/mol, T in K.
    GabT([f64; 6]),
    /// `X = (p1 + p2 T) (a/(1 - a))^(p3 + p4 T)`.
    OswinLinear([f64; 4]),
    /// `M = (p1 + p2 T) (a/(1 - a))^(1/p3)`.
    ModifiedOswin([f64; 3]),
    /// `a = exp(-exp(p1 + p2 T) M^-p3)`.
    ModifiedHalsey([f64; 3]),
    /// `a = 1 - exp(-p1 (T + p3) M^p2)`.
    ModifiedHenderson([f64; 3]),
    /// `a = exp(-p1/(T + p3) exp(-p2 M))`: activity above 0 at no moisture, so the lowest activities have no moisture.
    ModifiedChungPfost([f64; 3]),
    /// `a = 1 - exp(-p1 (T - p2)^p3 M^p4)`, T in K.
    Henderson4([f64; 4]),
    /// `M = (p1 a + p2 a^2 + p3 a^3) exp((p4 + p5 a + p6 a^2 + p7 a^3)(T + p8))`.
    Roa([f64; 8]),
}

/// Names of the forms, as product files and reference tables write them.
pub const ISOTHERM_MODELS: &str =
    "GAB, GAB_T, OSWIN_LIN, MOD_OSWIN, MOD_HALSEY, MOD_HENDERSON, MOD_CHUNG_PFOST, HENDERSON_4, ROA";

impl Isotherm {
    /// Builds a form from its name and its parameters in the order p1, p2, ...
    ///
    /// # Errors
    /// [`FoodsError::UnknownModel`] or [`FoodsError::ParameterCount`].
    pub fn from_model(name: &str, p: &[f64]) -> Result<Self, FoodsError> {
        let wrong = |model, needed| FoodsError::ParameterCount { model, found: p.len(), needed };
        Ok(match name {
            "GAB" => match *p {
                [monolayer, c, k] => Self::Gab(Gab { monolayer_kg_per_kg: monolayer, c, k }),
                _ => return Err(wrong("GAB", 3)),
            },
            "GAB_T" => Self::GabT(p.try_into().map_err(|_| wrong("GAB_T", 6))?),
            "OSWIN_LIN" => Self::OswinLinear(p.try_into().map_err(|_| wrong("OSWIN_LIN", 4))?),
            "MOD_OSWIN" => Self::ModifiedOswin(p.try_into().map_err(|_| wrong("MOD_OSWIN", 3))?),
            "MOD_HALSEY" => Self::ModifiedHalsey(p.try_into().map_err(|_| wrong("MOD_HALSEY", 3))?),
            "MOD_HENDERSON" => Self::ModifiedHenderson(p.try_into().map_err(|_| wrong("MOD_HENDERSON", 3))?),
            "MOD_CHUNG_PFOST" => {
                Self::ModifiedChungPfost(p.try_into().map_err(|_| wrong("MOD_CHUNG_PFOST", 3))?)
            }
            "HENDERSON_4" => Self::Henderson4(p.try_into().map_err(|_| wrong("HENDERSON_4", 4))?),
            "ROA" => Self::Roa(p.try_into().map_err(|_| wrong("ROA", 8))?),
            other => {
                return Err(FoodsError::UnknownModel {
                    what: "sorption isotherm",
                    name: other.to_owned(),
                    allowed: ISOTHERM_MODELS,
                });
            }
        })
    }

    /// Equilibrium moisture (kg/kg dry basis) at a water activity and temperature, with derivatives.
    ///
    /// Range: 0 < a < 1 (GAB with K > 1: a < 1/K). Outside: an error. Whether the pair lies in the range the
    /// parameters were fitted in is a matter of [`IsothermRange`].
    /// Source: the forms as listed in `reference/foods/sorption_isotherms.csv`.
    ///
    /// ```
    /// use fallrate_foods::Isotherm;
    /// // Shelled corn, ASAE D245.5: 15.643 % dry basis at 25 degC and 0.65.
    /// let corn = Isotherm::from_model("MOD_OSWIN", &[15.303, -0.10184, 3.0358])?;
    /// let m = corn.moisture(0.65, 25.0)?.moisture_dry_basis_kg_per_kg;
    /// assert!((m - 0.15643).abs() < 1e-5);
    /// # Ok::<(), fallrate_foods::FoodsError>(())
    /// ```
    ///
    /// # Errors
    /// [`FoodsError::OutOfRange`].
    pub fn moisture(&self, aw: f64, temperature_c: f64) -> Result<MoisturePoint, FoodsError> {
        between("water activity", aw, "aw", (0.0, 1.0), "above 0 and below 1")?;
        between("temperature", temperature_c, "degC", (-40.0, 150.0), "-40 to 150 degC")?;
        let point = match self {
            Self::Gab(gab) => gab.moisture(aw)?,
            Self::GabT(p) => gab::moisture_t(p, aw, temperature_c)?,
            _ => explicit::moisture(self, aw, temperature_c),
        };
        if point.moisture_dry_basis_kg_per_kg.is_finite() && point.moisture_dry_basis_kg_per_kg >= 0.0 {
            Ok(point)
        } else {
            Err(FoodsError::OutOfRange {
                what: "water activity",
                value: aw,
                unit: "aw",
                allowed: "where the isotherm has a moisture of 0 or more",
            })
        }
    }

    /// Water activity at a dry-basis moisture and temperature, with derivatives. Closed form for every model but ROA,
    /// which is solved in a bracket to 1e-13.
    ///
    /// Range: X > 0. GAB with K < 1 exceeds 1 at high moisture: that is returned as it is, because the parameters
    /// say so; the drying model uses [`Sorption`](crate::Sorption), which stays below 1.
    ///
    /// # Errors
    /// [`FoodsError::OutOfRange`], or [`FoodsError::NoSolution`] where ROA has none.
    pub fn activity(&self, moisture_dry_basis: f64, temperature_c: f64) -> Result<Activity, FoodsError> {
        between("moisture", moisture_dry_basis, "kg/kg db", (0.0, 1e3), "above 0 kg/kg db")?;
        between("temperature", temperature_c, "degC", (-40.0, 150.0), "-40 to 150 degC")?;
        match self {
            Self::Gab(gab) => Ok(gab.activity(moisture_dry_basis)),
            Self::GabT(p) => gab::activity_t(p, moisture_dry_basis, temperature_c),
            _ => explicit::activity(self, moisture_dry_basis, temperature_c),
        }
    }

    /// Net isosteric heat of sorption in J/kg water at a dry-basis moisture and temperature.
    ///
    /// Clausius-Clapeyron at constant moisture: `s = R_v T^2 (d ln a_w / dT)_X`. Zero for a form without temperature
    /// dependence. Negative where the form says that activity falls with temperature.
    ///
    /// # Errors
    /// As [`Isotherm::activity`].
    pub fn net_isosteric_heat_j_per_kg(
        &self,
        moisture_dry_basis: f64,
        temperature_c: f64,
    ) -> Result<f64, FoodsError> {
        let a = self.activity(moisture_dry_basis, temperature_c)?;
        let t_k = temperature_c + ZERO_CELSIUS_K;
        Ok(fallrate_units::WATER_VAPOUR_GAS_CONSTANT_J_PER_KG_K * t_k * t_k * a.d_dt_k / a.aw)
    }

    /// Net isosteric heat in J/mol by Clausius-Clapeyron between two temperatures:
    /// `q = -R ln(a2/a1) / (1/T2 - 1/T1)`.
    ///
    /// # Errors
    /// As [`Isotherm::activity`].
    pub fn net_isosteric_heat_between_j_per_mol(
        &self,
        moisture_dry_basis: f64,
        first_c: f64,
        second_c: f64,
    ) -> Result<f64, FoodsError> {
        let a1 = self.activity(moisture_dry_basis, first_c)?.aw;
        let a2 = self.activity(moisture_dry_basis, second_c)?.aw;
        let inverse = 1.0 / (second_c + ZERO_CELSIUS_K) - 1.0 / (first_c + ZERO_CELSIUS_K);
        Ok(-fallrate_units::GAS_CONSTANT_J_PER_MOL_K * (a2 / a1).ln() / inverse)
    }
}

/// The range a set of parameters was fitted in; a missing bound is unknown.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct IsothermRange {
    /// Lowest temperature, degC.
    pub temperature_min_c: Option<f64>,
    /// Highest temperature, degC.
    pub temperature_max_c: Option<f64>,
    /// Lowest water activity.
    pub aw_min: Option<f64>,
    /// Highest water activity.
    pub aw_max: Option<f64>,
}

/// Where a state lies against the fitted range.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct RangeFlags {
    /// Temperature outside the fitted range.
    pub temperature_outside: bool,
    /// Water activity outside the fitted range.
    pub aw_outside: bool,
    /// Some bound is not known.
    pub bounds_unknown: bool,
}

impl IsothermRange {
    /// Flags for a state.
    #[must_use]
    pub fn flags(&self, aw: f64, temperature_c: f64) -> RangeFlags {
        let below = |bound: Option<f64>, v: f64| bound.is_some_and(|b| v < b);
        let above = |bound: Option<f64>, v: f64| bound.is_some_and(|b| v > b);
        RangeFlags {
            temperature_outside: below(self.temperature_min_c, temperature_c)
                || above(self.temperature_max_c, temperature_c),
            aw_outside: below(self.aw_min, aw) || above(self.aw_max, aw),
            bounds_unknown: [self.temperature_min_c, self.temperature_max_c, self.aw_min, self.aw_max]
                .iter()
                .any(Option::is_none),
        }
    }
}
