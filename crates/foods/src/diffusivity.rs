//! Effective diffusivity of moisture in a food, with both derivatives.

use fallrate_units::GAS_CONSTANT_J_PER_MOL_K;

/// The temperature at which product files give a diffusivity: 60 degC, K.
pub const DIFFUSIVITY_REFERENCE_TEMPERATURE_K: f64 = 333.15;

/// Moisture below which the reciprocal and power terms stop changing, kg/kg dry basis.
const MOISTURE_FLOOR_KG_PER_KG: f64 = 1e-3;

/// A diffusivity with its derivatives.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct DiffusivityPoint {
    /// m2/s.
    pub d_m2_per_s: f64,
    /// Derivative by dry-basis moisture, m2/s per kg/kg.
    pub d_dx: f64,
    /// Derivative by temperature, m2/(s K).
    pub d_dt_k: f64,
}

/// The factor by which moisture changes a diffusivity; it is 1 at its reference moisture.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub enum MoistureTerm {
    /// No dependence on moisture.
    #[default]
    None,
    /// `exp(-B (1/X - 1/X_ref))`: little change in a wet food, falling fast as it dries. The form of the potato set of
    /// Chemkhi et al. (2004), B = 0.0725 kg/kg (READ second hand). Constant below 0.001 kg/kg.
    Reciprocal {
        /// B, kg/kg dry basis.
        b_kg_per_kg: f64,
        /// X_ref, kg/kg dry basis.
        x_ref_kg_per_kg: f64,
    },
    /// `(r + (1 - r) X/X_0)^p`: turns a diffusivity fitted on the fresh size into the one of the shrinking piece. r is the
    /// dry volume over the fresh volume, so the bracket is v(X)/v(X_0); p is 2 (1 - s) for a slab with sideways
    /// exponent s, 1 for a cylinder, 2/3 for a sphere. Thin-layer articles fit Fick's law with the fresh thickness: then
    /// D/L^2 is what they found, and with L shrinking D must fall with L^2. Constant below no moisture.
    FreshSize {
        /// r.
        dry_volume_ratio: f64,
        /// X_0, kg/kg dry basis.
        x0_kg_per_kg: f64,
        /// p.
        exponent: f64,
    },
    /// `exp(a (X - X_ref))` up to X_max, constant (with a rounded corner of the slope) above: the exponential form of
    /// the drying literature, which must not be carried to a wet food.
    Exponential {
        /// a, per kg/kg.
        a_per_kg_per_kg: f64,
        /// X_ref, kg/kg dry basis.
        x_ref_kg_per_kg: f64,
        /// X_max, kg/kg dry basis.
        x_max_kg_per_kg: f64,
    },
}

impl MoistureTerm {
    /// Logarithm of the factor and its derivative by moisture.
    #[inline]
    fn ln_factor(&self, x: f64) -> (f64, f64) {
        match *self {
            Self::None => (0.0, 0.0),
            Self::Reciprocal { b_kg_per_kg: b, x_ref_kg_per_kg: x_ref } => {
                if x <= MOISTURE_FLOOR_KG_PER_KG {
                    return (-b * (1.0 / MOISTURE_FLOOR_KG_PER_KG - 1.0 / x_ref), 0.0);
                }
                (-b * (1.0 / x - 1.0 / x_ref), b / (x * x))
            }
            Self::FreshSize { dry_volume_ratio: r, x0_kg_per_kg: x0, exponent: p } => {
                let slope = (1.0 - r) / x0;
                if x <= 0.0 {
                    return (p * r.ln(), 0.0);
                }
                let ratio = r + slope * x;
                (p * ratio.ln(), p * slope / ratio)
            }
            Self::Exponential { a_per_kg_per_kg: a, x_ref_kg_per_kg: x_ref, x_max_kg_per_kg: x_max } => {
                // Softened minimum of X and X_max over a width of a twentieth of X_max.
                let width = 0.05 * x_max;
                let z = ((x - x_max) / width).clamp(-60.0, 60.0);
                let soft = x_max.min(x) - width * (-z.abs()).exp().ln_1p();
                (a * (soft - x_ref), a / (1.0 + z.exp()))
            }
        }
    }
}

/// An effective diffusivity as a function of moisture and temperature.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Diffusivity {
    /// `D = D60 exp(-Ea/R (1/T - 1/333.15 K)) g(X)`.
    Arrhenius {
        /// Diffusivity at 60 degC and the term's reference moisture, m2/s.
        at_60c_m2_per_s: f64,
        /// Activation energy, J/mol.
        activation_energy_j_per_mol: f64,
        /// g.
        moisture_term: MoistureTerm,
    },
    /// `D = D0/(1+X) e0 + Di X/(1+X) ei`, e the Arrhenius factors from 60 degC: two end members at no and at infinite
    /// moisture (Maroulis & Saravacos, the form from memory).
    TwoMember {
        /// D0 at 60 degC, m2/s.
        dry_m2_per_s: f64,
        /// E0, J/mol.
        dry_energy_j_per_mol: f64,
        /// Di at 60 degC, m2/s.
        wet_m2_per_s: f64,
        /// Ei, J/mol.
        wet_energy_j_per_mol: f64,
    },
    /// `D = D0 exp(-Ea/RT) K e/(1 + K e)`, `e = exp(-Eb/RT)` with Eb the binding energy at this moisture, given as the
    /// exponential `Eb0 exp(-X/X_b)` (form: Xiong et al. 1991, READ second hand; there Eb came from the isotherm).
    Binding {
        /// D0, m2/s.
        d0_m2_per_s: f64,
        /// Ea, J/mol.
        activation_energy_j_per_mol: f64,
        /// K.
        k: f64,
        /// Eb0, J/mol.
        binding_at_zero_j_per_mol: f64,
        /// X_b, kg/kg dry basis.
        binding_decay_kg_per_kg: f64,
    },
    /// `D = 2.3920e-7 exp(-3156.3/T) (1 - exp(-7.9082e14 X^15.706) + X^0.68589)`: pasta, Litchfield & Okos (1992),
    /// READ second hand (the factor 1e-12 in it is a coder's correction).
    LitchfieldOkos,
}

fn arrhenius(energy_j_per_mol: f64, t_k: f64) -> (f64, f64) {
    let e_r = energy_j_per_mol / GAS_CONSTANT_J_PER_MOL_K;
    ((-e_r * (1.0 / t_k - 1.0 / DIFFUSIVITY_REFERENCE_TEMPERATURE_K)).exp(), e_r / (t_k * t_k))
}

impl Diffusivity {
    /// The potato set of Chemkhi et al. (2004), `D = 1.29e-6 exp(-0.0725/X) exp(-2044/T)`, READ second hand.
    #[must_use]
    pub fn chemkhi_potato() -> Self {
        let energy = 2044.0 * GAS_CONSTANT_J_PER_MOL_K;
        Self::Arrhenius {
            at_60c_m2_per_s: 1.29e-6 * (-0.0725_f64 - 2044.0 / DIFFUSIVITY_REFERENCE_TEMPERATURE_K).exp(),
            activation_energy_j_per_mol: energy,
            moisture_term: MoistureTerm::Reciprocal { b_kg_per_kg: 0.0725, x_ref_kg_per_kg: 1.0 },
        }
    }

    /// Diffusivity (m2/s) at a dry-basis moisture and a temperature in K, with derivatives.
    ///
    /// ```
    /// use fallrate_foods::{Diffusivity, MoistureTerm};
    /// let d = Diffusivity::Arrhenius {
    ///     at_60c_m2_per_s: 3.0e-10, activation_energy_j_per_mol: 30_000.0, moisture_term: MoistureTerm::None };
    /// assert!((d.at(1.0, 333.15).d_m2_per_s - 3.0e-10).abs() < 1e-22);
    /// ```
    #[must_use]
    #[inline]
    pub fn at(&self, moisture_dry_basis: f64, temperature_k: f64) -> DiffusivityPoint {
        let Self::Arrhenius { at_60c_m2_per_s, activation_energy_j_per_mol, moisture_term } = *self else {
            return self.other_form(moisture_dry_basis, temperature_k);
        };
        let rate = activation_energy_j_per_mol / GAS_CONSTANT_J_PER_MOL_K;
        let inverse = 1.0 / temperature_k;
        // One exponential for both factors.
        let (ln_g, ln_g_x) = if moisture_term == MoistureTerm::None {
            (0.0, 0.0)
        } else {
            moisture_term.ln_factor(moisture_dry_basis)
        };
        let d = at_60c_m2_per_s * (ln_g - rate * (inverse - 1.0 / DIFFUSIVITY_REFERENCE_TEMPERATURE_K)).exp();
        DiffusivityPoint { d_m2_per_s: d, d_dx: d * ln_g_x, d_dt_k: d * rate * inverse * inverse }
    }

    #[inline(never)]
    fn other_form(&self, x: f64, temperature_k: f64) -> DiffusivityPoint {
        match *self {
            Self::TwoMember { dry_m2_per_s, dry_energy_j_per_mol, wet_m2_per_s, wet_energy_j_per_mol } => {
                let (e0, r0) = arrhenius(dry_energy_j_per_mol, temperature_k);
                let (ei, ri) = arrhenius(wet_energy_j_per_mol, temperature_k);
                let (dry, wet) = (dry_m2_per_s * e0, wet_m2_per_s * ei);
                let x = x.max(0.0);
                let share = 1.0 / (1.0 + x);
                DiffusivityPoint {
                    d_m2_per_s: dry * share + wet * x * share,
                    d_dx: (wet - dry) * share * share,
                    d_dt_k: dry * r0 * share + wet * ri * x * share,
                }
            }
            Self::Binding { .. } => self.binding(x, temperature_k),
            Self::Arrhenius { .. } | Self::LitchfieldOkos => litchfield_okos(x, temperature_k),
        }
    }

    fn binding(&self, x: f64, t_k: f64) -> DiffusivityPoint {
        let Self::Binding {
            d0_m2_per_s,
            activation_energy_j_per_mol: ea,
            k,
            binding_at_zero_j_per_mol,
            binding_decay_kg_per_kg,
        } = *self
        else {
            return DiffusivityPoint { d_m2_per_s: 0.0, d_dx: 0.0, d_dt_k: 0.0 };
        };
        let rt = GAS_CONSTANT_J_PER_MOL_K * t_k;
        let eb = binding_at_zero_j_per_mol * (-x / binding_decay_kg_per_kg).exp();
        let ke = k * (-eb / rt).exp();
        let d = d0_m2_per_s * (-ea / rt).exp() * ke / (1.0 + ke);
        // d ln D / d Eb = -1/(RT (1 + K e)).
        let by_eb = -1.0 / (rt * (1.0 + ke));
        DiffusivityPoint {
            d_m2_per_s: d,
            d_dx: d * by_eb * -eb / binding_decay_kg_per_kg,
            d_dt_k: d * (ea - eb * by_eb * rt) / (rt * t_k),
        }
    }
}

fn litchfield_okos(x: f64, t_k: f64) -> DiffusivityPoint {
    let x = x.max(MOISTURE_FLOOR_KG_PER_KG);
    let scale = 2.3920e-7 * (-3156.3 / t_k).exp();
    let power = 7.9082e14 * x.powf(15.706);
    let step = -(-power).exp_m1();
    let root = x.powf(0.685_89);
    let d = scale * (step + root);
    DiffusivityPoint {
        d_m2_per_s: d,
        d_dx: scale * ((-power).exp() * power * 15.706 / x + 0.685_89 * root / x),
        d_dt_k: d * 3156.3 / (t_k * t_k),
    }
}
