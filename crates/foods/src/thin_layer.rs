//! Thin-layer drying equations: moisture ratio MR = (X - Xe)/(X0 - Xe) against elapsed time.

use crate::error::FoodsError;

/// The equations of the drying literature. `t` in the unit the parameters were fitted with.
/// Source: `reference/foods/thin_layer_equations.csv` (READ; Peleg and the slab series from memory).
#[derive(Clone, Copy, Debug, PartialEq)]
#[allow(missing_docs)]
pub enum ThinLayer {
    /// `exp(-k t)`.
    Lewis { k: f64 },
    /// `exp(-k t^n)`.
    Page { k: f64, n: f64 },
    /// `exp(-(k t)^n)`.
    ModifiedPage { k: f64, n: f64 },
    /// `a exp(-k t)`.
    HendersonPabis { a: f64, k: f64 },
    /// `a exp(-k t) + c`.
    Logarithmic { a: f64, k: f64, c: f64 },
    /// `a exp(-k0 t) + b exp(-k1 t)`.
    TwoTerm { a: f64, k0: f64, b: f64, k1: f64 },
    /// `a exp(-k t) + (1 - a) exp(-k a t)`.
    TwoTermExponential { a: f64, k: f64 },
    /// `a exp(-k t) + (1 - a) exp(-k b t)`.
    DiffusionApproach { a: f64, k: f64, b: f64 },
    /// `a exp(-k t) + (1 - a) exp(-g t)`.
    Verma { a: f64, k: f64, g: f64 },
    /// `a exp(-k t) + b exp(-g t) + c exp(-h t)`.
    ModifiedHendersonPabis { a: f64, k: f64, b: f64, g: f64, c: f64, h: f64 },
    /// `1 + a t + b t^2`.
    WangSingh { a: f64, b: f64 },
    /// `a exp(-k t^n) + b t`.
    Midilli { a: f64, k: f64, n: f64, b: f64 },
    /// `exp(-(t/alpha)^beta)`.
    Weibull { alpha: f64, beta: f64 },
    /// `10^(-(t/delta)^n)`.
    WeibullBase10 { delta: f64, n: f64 },
    /// Slab dried from both faces held at equilibrium, `8/pi^2 sum (2i+1)^-2 exp(-(2i+1)^2 pi^2 r t/4)`, r = D/L^2 with
    /// L the half-thickness.
    FickSlab { rate: f64 },
}

/// Peleg's equation, which gives moisture and not its ratio: `X = X0 - t/(k1 + k2 t)`.
#[must_use]
pub fn peleg_moisture_dry_basis(x0: f64, k1: f64, k2: f64, t: f64) -> f64 {
    x0 - t / (k1 + k2 * t)
}

/// Rate constant of the coffee equation with vapour-pressure deficit: `k = m (Pvs - Pv)^n` with the deficit in kPa, to be
/// used as [`ThinLayer::Page`] with exponent q (h). Parra-Coronado, Roa, Oliveros (2008) eq. 15, READ second hand.
#[must_use]
pub fn vapour_deficit_rate(m: f64, n: f64, vapour_pressure_deficit_kpa: f64) -> f64 {
    m * vapour_pressure_deficit_kpa.powf(n)
}

impl ThinLayer {
    /// Moisture ratio at an elapsed time of 0 or more.
    ///
    /// ```
    /// use fallrate_foods::ThinLayer;
    /// // Chicken breast slices at 60 degC, Page in minutes: 491.9 min to a moisture ratio of 0.1.
    /// let page = ThinLayer::Page { k: 0.0259, n: 0.724 };
    /// assert!((page.moisture_ratio(491.9) - 0.1).abs() < 1e-4);
    /// ```
    #[must_use]
    pub fn moisture_ratio(&self, t: f64) -> f64 {
        let e = |k: f64| (-k * t).exp();
        match *self {
            Self::Lewis { k } => e(k),
            Self::Page { k, n } => (-k * t.powf(n)).exp(),
            Self::ModifiedPage { k, n } => (-(k * t).powf(n)).exp(),
            Self::HendersonPabis { a, k } => a * e(k),
            Self::Logarithmic { a, k, c } => a * e(k) + c,
            Self::TwoTerm { a, k0, b, k1 } => a * e(k0) + b * e(k1),
            Self::TwoTermExponential { a, k } => a * e(k) + (1.0 - a) * e(k * a),
            Self::DiffusionApproach { a, k, b } => a * e(k) + (1.0 - a) * e(k * b),
            Self::Verma { a, k, g } => a * e(k) + (1.0 - a) * e(g),
            Self::ModifiedHendersonPabis { a, k, b, g, c, h } => a * e(k) + b * e(g) + c * e(h),
            Self::WangSingh { a, b } => 1.0 + t * (a + b * t),
            Self::Midilli { a, k, n, b } => a * (-k * t.powf(n)).exp() + b * t,
            Self::Weibull { alpha, beta } => (-(t / alpha).powf(beta)).exp(),
            Self::WeibullBase10 { delta, n } => 10_f64.powf(-(t / delta).powf(n)),
            Self::FickSlab { rate } => fick_slab_moisture_ratio(rate * t),
        }
    }

    /// The first time at which the moisture ratio has fallen to `ratio`, searched up to `t_max` in 2,000 steps and then
    /// bisected to 1e-12 of it.
    ///
    /// # Errors
    /// [`FoodsError::NoSolution`] where it is not reached (Midilli and Wang-Singh may turn before).
    pub fn time_to(&self, ratio: f64, t_max: f64) -> Result<f64, FoodsError> {
        let steps = 2000_u32;
        let (mut low, mut found) = (0.0, None);
        for i in 1..=steps {
            let t = t_max * f64::from(i) / f64::from(steps);
            if self.moisture_ratio(t) <= ratio {
                found = Some(t);
                break;
            }
            low = t;
        }
        let Some(mut high) = found else {
            return Err(FoodsError::NoSolution {
                what: "elapsed time",
                value: ratio,
                unit: "moisture ratio",
                searched: "0 to the longest time given",
            });
        };
        while high - low > 1e-12 * t_max {
            let middle = 0.5 * (low + high);
            if self.moisture_ratio(middle) <= ratio { high = middle } else { low = middle }
        }
        Ok(0.5 * (low + high))
    }
}

/// Mean moisture ratio of a slab whose two faces are at equilibrium, at a Fourier number `D t/L^2` (L half-thickness).
/// Series of at most 200 terms; below Fo = 1e-4 the short-time form `1 - 2 sqrt(Fo/pi)` is used.
#[must_use]
pub fn fick_slab_moisture_ratio(fourier: f64) -> f64 {
    use std::f64::consts::PI;
    if fourier <= 0.0 {
        return 1.0;
    }
    if fourier < 1e-4 {
        return 1.0 - 2.0 * (fourier / PI).sqrt();
    }
    let mut sum = 0.0;
    for i in 0..200 {
        let odd = f64::from(2 * i + 1);
        let term = (-odd * odd * PI * PI * fourier / 4.0).exp() / (odd * odd);
        sum += term;
        if term < 1e-17 {
            break;
        }
    }
    8.0 / (PI * PI) * sum
}
