//! Water activity over salt and sugar in a food's water, as they concentrate while it dries.

use crate::error::{FoodsError, between};
use fallrate_units::WATER_MOLAR_MASS_KG_PER_MOL;

/// Molar mass of sodium chloride (standard atomic weights, from memory), kg/mol.
pub const SALT_MOLAR_MASS_KG_PER_MOL: f64 = 0.058_443;
/// Molar mass of sucrose (standard atomic weights, from memory), kg/mol.
pub const SUCROSE_MOLAR_MASS_KG_PER_MOL: f64 = 0.342_297;
/// Molality of saturated sodium chloride at 25 degC (from memory), mol/kg water.
pub const SALT_SATURATION_MOL_PER_KG: f64 = 6.146;
/// Molality of saturated sucrose at 25 degC, 67.3 % by mass (from memory), mol/kg water.
pub const SUCROSE_SATURATION_MOL_PER_KG: f64 = 6.01;

/// Norrish's constant for sucrose, Norrish (1966), from memory.
const NORRISH_SUCROSE: f64 = 6.47;
/// Pitzer & Mayorga (1973), sodium chloride at 25 degC, from memory: beta0, beta1, C phi.
const PITZER_SALT: [f64; 3] = [0.0765, 0.2664, 0.001_27];
/// Debye-Hueckel slope for the osmotic coefficient at 25 degC, Pitzer's 0.392, from memory.
const DEBYE_HUECKEL: f64 = 0.392;

/// Osmotic coefficient of sodium chloride and its derivative by molality.
fn salt_osmotic_coefficient(m: f64) -> (f64, f64) {
    let [beta0, beta1, c_phi] = PITZER_SALT;
    let root = m.sqrt();
    let screen = 1.0 + 1.2 * root;
    let e = (-2.0 * root).exp();
    let phi = 1.0 - DEBYE_HUECKEL * root / screen + m * (beta0 + beta1 * e) + m * m * c_phi;
    let d_phi =
        -DEBYE_HUECKEL / (2.0 * root * screen * screen) + beta0 + beta1 * e * (1.0 - root) + 2.0 * m * c_phi;
    (phi, d_phi)
}

/// Water activity over a sodium chloride solution, fraction, at a molality in mol/kg water.
///
/// Pitzer's equation for a 1-1 salt: `ln a_w = -2 m M_w phi`, `phi = 1 - A sqrt(m)/(1 + 1.2 sqrt(m)) +
/// m (beta0 + beta1 exp(-2 sqrt(m))) + m^2 C`. Parameters Pitzer & Mayorga (1973) at 25 degC, from memory; used at all
/// temperatures (the saturated solution moves by less than 0.01 between 10 and 70 degC). Range 0 to 6.15 mol/kg.
///
/// ```
/// use fallrate_foods::salt_water_activity;
/// assert!((salt_water_activity(6.146).unwrap() - 0.753).abs() < 0.001);
/// ```
///
/// # Errors
/// [`FoodsError::OutOfRange`].
pub fn salt_water_activity(molality_mol_per_kg: f64) -> Result<f64, FoodsError> {
    between("salt molality", molality_mol_per_kg, "mol/kg", (0.0, 6.2), "above 0, up to 6.2 mol/kg water")?;
    Ok(salt_ln_activity(molality_mol_per_kg).0.exp())
}

fn salt_ln_activity(m: f64) -> (f64, f64) {
    let (phi, d_phi) = salt_osmotic_coefficient(m);
    let scale = -2.0 * WATER_MOLAR_MASS_KG_PER_MOL;
    (scale * m * phi, scale * (phi + m * d_phi))
}

/// Water activity over a sucrose solution, fraction, at a molality in mol/kg water.
///
/// Norrish: `a_w = x_w exp(-K (1 - x_w)^2)`, x_w the mole fraction of water, K = 6.47 (from memory).
/// Range 0 to saturation at 6.01 mol/kg (0.848; tables give about 0.844 to 0.850).
///
/// # Errors
/// [`FoodsError::OutOfRange`].
pub fn sucrose_water_activity(molality_mol_per_kg: f64) -> Result<f64, FoodsError> {
    between(
        "sucrose molality",
        molality_mol_per_kg,
        "mol/kg",
        (0.0, 6.1),
        "above 0, up to 6.1 mol/kg water",
    )?;
    Ok(sucrose_ln_activity(molality_mol_per_kg).0.exp())
}

fn sucrose_ln_activity(m: f64) -> (f64, f64) {
    let mm = m * WATER_MOLAR_MASS_KG_PER_MOL;
    let x_w = 1.0 / (1.0 + mm);
    let x_s = mm * x_w;
    let d_x_s = WATER_MOLAR_MASS_KG_PER_MOL * x_w * x_w;
    (x_w.ln() - NORRISH_SUCROSE * x_s * x_s, -d_x_s / x_w - 2.0 * NORRISH_SUCROSE * x_s * d_x_s)
}

/// Salt and added sugar of a food, per kg of its dry solids (all solids: food, salt and sugar).
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Solutes {
    salt_kg_per_kg_solids: f64,
    sugar_kg_per_kg_solids: f64,
    salt: Option<Saturating>,
    sugar: Option<Saturating>,
}

/// The molality of one solute as a function of moisture: `m_sat (1 + (X/X_sat)^16)^(-1/16)`, which is share/(M X)
/// while the solution is unsaturated and turns smoothly into the saturation molality (within 4 % at the corner).
#[derive(Clone, Copy, Debug, PartialEq)]
struct Saturating {
    molality_max: f64,
    x_saturated: f64,
}

impl Saturating {
    fn new(share: f64, molar_mass: f64, molality_max: f64) -> Option<Self> {
        (share > 0.0).then(|| Self { molality_max, x_saturated: share / (molar_mass * molality_max) })
    }
    fn molality(&self, x: f64) -> (f64, f64) {
        let y = x / self.x_saturated;
        let y16 = y.powi(16);
        if y16 > 1e60 {
            return (self.molality_max / y, -self.molality_max / (y * y * self.x_saturated));
        }
        let s = 1.0 + y16;
        let m = self.molality_max / s.sqrt().sqrt().sqrt().sqrt();
        (m, -m / s * y.powi(15) / self.x_saturated)
    }
}

impl Solutes {
    /// From shares of the dry solids.
    ///
    /// # Errors
    /// [`FoodsError::OutOfRange`] where a share is negative or both together exceed 0.9.
    pub fn from_solids_shares(salt: f64, sugar: f64) -> Result<Self, FoodsError> {
        between("salt per kg dry solids", salt, "kg/kg", (-1e-15, 0.9), "0 to 0.9")?;
        between("added sugar per kg dry solids", sugar, "kg/kg", (-1e-15, 0.9), "0 to 0.9")?;
        between("salt and sugar per kg dry solids", salt + sugar, "kg/kg", (-1e-15, 0.9), "0 to 0.9")?;
        Ok(Self {
            salt_kg_per_kg_solids: salt,
            sugar_kg_per_kg_solids: sugar,
            salt: Saturating::new(salt, SALT_MOLAR_MASS_KG_PER_MOL, SALT_SATURATION_MOL_PER_KG),
            sugar: Saturating::new(sugar, SUCROSE_MOLAR_MASS_KG_PER_MOL, SUCROSE_SATURATION_MOL_PER_KG),
        })
    }
    /// Salt, kg per kg of all dry solids.
    #[must_use]
    pub const fn salt_kg_per_kg_solids(&self) -> f64 {
        self.salt_kg_per_kg_solids
    }
    /// Added sugar, kg per kg of all dry solids.
    #[must_use]
    pub const fn sugar_kg_per_kg_solids(&self) -> f64 {
        self.sugar_kg_per_kg_solids
    }
    /// Share of the dry solids that is food: 1 - salt - sugar.
    #[must_use]
    pub const fn food_share(&self) -> f64 {
        1.0 - self.salt_kg_per_kg_solids - self.sugar_kg_per_kg_solids
    }
    /// Factor on the water activity and its derivative by the moisture X of all solids: Ross's product of the salt's
    /// (Pitzer) and the sugar's (Norrish) water activities, each alone in all of the food's water.
    ///
    /// Capped at the saturated solution (0.753 for salt). Ross's rule: from memory; good to about 0.01 above 0.8.
    #[must_use]
    pub fn factor(&self, moisture_dry_basis: f64) -> (f64, f64) {
        let (mut ln, mut d_ln) = (0.0, 0.0);
        if let Some(salt) = &self.salt {
            let (m, dm) = salt.molality(moisture_dry_basis);
            let (l, dl) = salt_ln_activity(m);
            ln += l;
            d_ln += dl * dm;
        }
        if let Some(sugar) = &self.sugar {
            let (m, dm) = sugar.molality(moisture_dry_basis);
            let (l, dl) = sucrose_ln_activity(m);
            ln += l;
            d_ln += dl * dm;
        }
        if ln == 0.0 {
            return (1.0, 0.0);
        }
        let f = ln.exp();
        (f, f * d_ln)
    }
}
