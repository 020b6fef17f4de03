//! The sorption model the drying engine runs on: fast, smooth, rising with moisture and consistent with its heat.

use crate::error::{FoodsError, between};
use crate::isotherm::{Activity, Gab, Isotherm};
use crate::net_heat::NetHeat;
use crate::solutes::Solutes;
use fallrate_units::{WATER_VAPOUR_GAS_CONSTANT_J_PER_KG_K, ZERO_CELSIUS_K};

/// What happens above the range of the isotherm, towards a water activity of 1.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum UpperEnd {
    /// From this water activity upward `1 - a = (1 - a1) (X1/X)^n`, with n such that the slope is continuous: the form
    /// of a dilute solution (Raoult's law has n = 1). The usual choice: a GAB set is fitted up to about 0.85 and runs
    /// past 1 (K < 1) or stops short of it (K > 1) in a wet food.
    DiluteTail {
        /// Water activity where the tail begins.
        from_aw: f64,
    },
    /// The isotherm as it is, cut off at 1 (for comparing with models that do so; the derivative jumps).
    CutAtOne,
}

/// Moisture below which forms with powers of X are continued as straight lines, kg/kg.
const LINEAR_BELOW_KG_PER_KG: f64 = 1e-6;
/// Highest moisture searched by [`Sorption::moisture_at`], kg/kg dry basis.
const MOISTURE_MAX_KG_PER_KG: f64 = 50.0;
/// Water activity from which the temperature-shifted value is bent so that it never reaches 1.
const CAP_FROM: f64 = 0.995;

/// The isotherm at the reference temperature, as closed forms of X.
#[derive(Clone, Copy, Debug, PartialEq)]
enum Curve {
    Gab(Gab),
    /// `a = y/(1 + y)`, `y = (X/scale)^power`.
    Oswin {
        scale: f64,
        power: f64,
    },
    /// `a = exp(-(X/scale)^-power)`.
    Halsey {
        scale: f64,
        power: f64,
    },
    /// `a = 1 - exp(-(X/scale)^power)`.
    Henderson {
        scale: f64,
        power: f64,
    },
}

impl Curve {
    fn at(&self, x: f64) -> (f64, f64) {
        if let Self::Gab(gab) = self {
            let a = gab.activity(x);
            return (a.aw, a.d_dx);
        }
        if x < LINEAR_BELOW_KG_PER_KG {
            let (a, _) = self.power_form(LINEAR_BELOW_KG_PER_KG);
            return (a * x / LINEAR_BELOW_KG_PER_KG, a / LINEAR_BELOW_KG_PER_KG);
        }
        self.power_form(x)
    }
    fn power_form(&self, x: f64) -> (f64, f64) {
        match *self {
            Self::Gab(gab) => {
                let a = gab.activity(x);
                (a.aw, a.d_dx)
            }
            Self::Oswin { scale, power } => {
                let y = (x / scale).powf(power);
                let a = y / (1.0 + y);
                (a, power * a / ((1.0 + y) * x))
            }
            Self::Halsey { scale, power } => {
                let y = (x / scale).powf(-power);
                let a = (-y).exp();
                (a, a * power * y / x)
            }
            Self::Henderson { scale, power } => {
                let y = (x / scale).powf(power);
                (-(-y).exp_m1(), (-y).exp() * power * y / x)
            }
        }
    }
    fn from_isotherm(isotherm: &Isotherm, temperature_c: f64) -> Result<Self, FoodsError> {
        let t = temperature_c;
        let t_k = t + ZERO_CELSIUS_K;
        Ok(match *isotherm {
            Isotherm::Gab(gab) => Self::Gab(gab),
            Isotherm::GabT(p) => {
                let rt = 8.314e-3 * t_k;
                Self::Gab(Gab {
                    monolayer_kg_per_kg: p[0] * (p[1] / rt).exp(),
                    c: p[2] * (p[3] / rt).exp(),
                    k: p[4] * (p[5] / rt).exp(),
                })
            }
            Isotherm::OswinLinear([p1, p2, p3, p4]) => {
                Self::Oswin { scale: p1 + p2 * t, power: 1.0 / (p3 + p4 * t) }
            }
            Isotherm::ModifiedOswin([p1, p2, p3]) => Self::Oswin { scale: (p1 + p2 * t) / 100.0, power: p3 },
            Isotherm::ModifiedHalsey([p1, p2, p3]) => {
                Self::Halsey { scale: ((p1 + p2 * t) / p3).exp() / 100.0, power: p3 }
            }
            Isotherm::ModifiedHenderson([p1, p2, p3]) => {
                Self::Henderson { scale: (p1 * (t + p3)).powf(-1.0 / p2) / 100.0, power: p2 }
            }
            Isotherm::Henderson4([p1, p2, p3, p4]) => {
                Self::Henderson { scale: (p1 * (t_k - p2).powf(p3)).powf(-1.0 / p4) / 100.0, power: p4 }
            }
            Isotherm::ModifiedChungPfost(_) | Isotherm::Roa(_) => {
                return Err(FoodsError::UnknownModel {
                    what: "sorption form of the drying model",
                    name: "MOD_CHUNG_PFOST or ROA".to_owned(),
                    allowed: "GAB, GAB_T, OSWIN_LIN, MOD_OSWIN, MOD_HALSEY, MOD_HENDERSON, HENDERSON_4",
                });
            }
        })
    }
}

/// The tail `1 - a = (1 - a1) (X1/X)^n`.
#[derive(Clone, Copy, Debug, PartialEq)]
struct Tail {
    x1: f64,
    deficit: f64,
    n: f64,
}

/// Water activity of a food as a function of moisture and temperature.
///
/// `a_w(X, T) = cap(a_ref(X_f) exp(-(s(X_f)/R_v)(1/T - 1/T_ref))) x f(X)`: the isotherm at a reference temperature on
/// the food's own solids (`X_f = X / food share`), moved by the net isosteric heat s (Clausius-Clapeyron, so the two
/// agree by construction), times the factor of salt and added sugar. X is per kg of all dry solids.
#[derive(Clone, Debug, PartialEq)]
pub struct Sorption {
    curve: Curve,
    tail: Option<Tail>,
    inverse_reference_temperature_per_k: f64,
    net_heat: NetHeat,
    solutes: Solutes,
    per_food_share: f64,
}

impl Sorption {
    /// Builds the model.
    ///
    /// # Errors
    /// [`FoodsError`] where the form cannot be used by the engine, the reference temperature is not 0 to 100 degC, or
    /// the tail begins where the isotherm has no moisture.
    pub fn new(
        isotherm: &Isotherm,
        reference_temperature_c: f64,
        net_heat: NetHeat,
        solutes: Solutes,
        upper_end: UpperEnd,
    ) -> Result<Self, FoodsError> {
        between("reference temperature", reference_temperature_c, "degC", (-0.1, 100.1), "0 to 100 degC")?;
        let curve = Curve::from_isotherm(isotherm, reference_temperature_c)?;
        let tail = match upper_end {
            UpperEnd::CutAtOne => None,
            UpperEnd::DiluteTail { from_aw } => {
                between("start of the tail", from_aw, "aw", (0.3, 0.99), "0.3 to 0.99")?;
                let x1 = isotherm.moisture(from_aw, reference_temperature_c)?.moisture_dry_basis_kg_per_kg;
                let (a, slope) = curve.at(x1);
                Some(Tail { x1, deficit: 1.0 - a, n: x1 * slope / (1.0 - a) })
            }
        };
        Ok(Self {
            curve,
            tail,
            inverse_reference_temperature_per_k: 1.0 / (reference_temperature_c + ZERO_CELSIUS_K),
            net_heat,
            per_food_share: 1.0 / solutes.food_share(),
            solutes,
        })
    }

    /// The isotherm at the reference temperature with its upper end, by moisture on the food's own solids.
    fn reference(&self, x: f64) -> (f64, f64) {
        match &self.tail {
            Some(tail) if x > tail.x1 => {
                let deficit = tail.deficit * (tail.x1 / x).powf(tail.n);
                (1.0 - deficit, tail.n * deficit / x)
            }
            _ => self.curve.at(x),
        }
    }

    /// Water activity with derivatives by moisture (all solids) and temperature.
    ///
    /// Range: any X above -0.01 kg/kg (a solver's trial states below 0 continue the curve), any T from 250 to 400 K.
    /// ```
    /// use fallrate_foods::{Isotherm, NetHeat, Solutes, Sorption, UpperEnd};
    /// let meat = Isotherm::from_model("GAB", &[0.065, 15.0, 0.90])?;
    /// let heat = NetHeat::Exponential { at_zero_j_per_kg: 4.0e5, decay_kg_per_kg: 0.065 };
    /// let end = UpperEnd::DiluteTail { from_aw: 0.85 };
    /// let s = Sorption::new(&meat, 40.0, heat, Solutes::default(), end)?;
    /// let warm = s.activity(0.10, 333.15);
    /// let cool = s.activity(0.10, 293.15);
    /// assert!(cool.aw < warm.aw && warm.aw < 1.0);
    /// # Ok::<(), fallrate_foods::FoodsError>(())
    /// ```
    #[must_use]
    pub fn activity(&self, moisture_dry_basis: f64, temperature_k: f64) -> Activity {
        let x_f = moisture_dry_basis * self.per_food_share;
        let (a, a_x) = self.reference(x_f);
        let (mut aw, mut d_dx, mut d_dt_k) = (a, a_x, 0.0);
        if self.net_heat != NetHeat::None {
            let (s, s_x) = self.net_heat.heat_j_per_kg(x_f.max(-0.01));
            let dinv = (1.0 / temperature_k - self.inverse_reference_temperature_per_k)
                / WATER_VAPOUR_GAS_CONSTANT_J_PER_KG_K;
            let e = (-s * dinv).exp();
            aw = a * e;
            d_dx = a_x * e - aw * s_x * dinv;
            d_dt_k = aw * s / (WATER_VAPOUR_GAS_CONSTANT_J_PER_KG_K * temperature_k * temperature_k);
        }
        let (capped, slope) = self.cap(aw);
        let (f, f_x) = self.solutes.factor(moisture_dry_basis);
        Activity {
            aw: capped * f,
            d_dx: slope * d_dx * self.per_food_share * f + capped * f_x,
            d_dt_k: slope * d_dt_k * f,
        }
    }

    /// Bends values above 0.995 so that they tend to 1 (or cuts them at 1), with the derivative.
    fn cap(&self, a: f64) -> (f64, f64) {
        if self.tail.is_none() {
            return if a < 1.0 { (a, 1.0) } else { (1.0, 0.0) };
        }
        if a <= CAP_FROM {
            return (a, 1.0);
        }
        let width = 1.0 - CAP_FROM;
        let e = (-(a - CAP_FROM) / width).exp();
        (1.0 - width * e, e)
    }

    /// Net isosteric heat (J/kg water) at a moisture of all solids, and its derivative by it.
    #[must_use]
    pub fn net_heat_j_per_kg(&self, moisture_dry_basis: f64) -> (f64, f64) {
        let (s, s_x) = self.net_heat.heat_j_per_kg((moisture_dry_basis * self.per_food_share).max(-0.01));
        (s, s_x * self.per_food_share)
    }

    /// Integral of the net isosteric heat over moisture from 0, J per kg of all dry solids.
    #[must_use]
    pub fn net_heat_integral_j_per_kg_solids(&self, moisture_dry_basis: f64) -> f64 {
        self.net_heat.integral_j_per_kg_solids(moisture_dry_basis * self.per_food_share) / self.per_food_share
    }

    /// Moisture (kg/kg of all dry solids) in equilibrium with a water activity at a temperature: the inverse of
    /// [`Sorption::activity`], bisected to 1e-12. None where the activity is not above 0 or is not reached by 50 kg/kg.
    #[must_use]
    pub fn moisture_at(&self, aw: f64, temperature_k: f64) -> Option<f64> {
        let (mut low, mut high) = (0.0, MOISTURE_MAX_KG_PER_KG);
        if !(aw > 0.0 && self.activity(high, temperature_k).aw > aw) {
            return None;
        }
        while high - low > 1e-12 * (1.0 + low) {
            let middle = 0.5 * (low + high);
            if middle <= low || middle >= high {
                break;
            }
            if self.activity(middle, temperature_k).aw > aw { high = middle } else { low = middle }
        }
        Some(0.5 * (low + high))
    }

    /// The same model with every moisture on the food's own solids multiplied by `factor` (the uncertainty of a class
    /// isotherm is stated that way). Activity, heat and integral stay consistent.
    ///
    /// # Errors
    /// [`FoodsError::OutOfRange`] outside 0.2 to 5.
    pub fn with_moisture_factor(mut self, factor: f64) -> Result<Self, FoodsError> {
        self.per_food_share /= between("moisture factor", factor, "-", (0.2, 5.0), "0.2 to 5")?;
        Ok(self)
    }

    /// Salt and added sugar.
    #[must_use]
    pub const fn solutes(&self) -> &Solutes {
        &self.solutes
    }

    /// The lowest moisture at which the activity does not rise with moisture at a temperature, on a fine grid from 0 to
    /// 20 kg/kg; None for a sound model.
    #[must_use]
    pub fn first_fall_with_moisture(&self, temperature_k: f64) -> Option<f64> {
        let mut previous = self.activity(1e-5, temperature_k).aw;
        let mut x = 1e-5;
        while x < 20.0 {
            x *= 1.01;
            let a = self.activity(x, temperature_k).aw;
            if a < previous || !a.is_finite() {
                return Some(x);
            }
            previous = a;
        }
        None
    }
}
