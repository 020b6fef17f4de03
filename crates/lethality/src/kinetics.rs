//! Log-linear kinetics: the exact integral of a piecewise-linear record, and lethal rates.

use fallrate_units::{Duration, LogReduction, Temperature, TemperatureDifference};
use serde::{Deserialize, Serialize};

use crate::LethalityError;

/// D at a reference temperature, z, and the range of temperature that is credited.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct LogLinear {
    /// Decimal reduction time at the reference temperature.
    pub d_ref: Duration,
    /// Reference temperature.
    pub t_ref: Temperature,
    /// Rise of temperature that cuts D to a tenth; a difference.
    pub z: TemperatureDifference,
    /// Below this nothing is credited.
    pub lowest_counted: Temperature,
    /// Above this the rate stays as it is here.
    pub highest_credited: Temperature,
}

impl LogLinear {
    /// Checks the ranges: D above 0, z 1 to 60 K, lowest not above highest.
    ///
    /// # Errors
    /// [`LethalityError::OutOfRange`].
    pub fn checked(self) -> Result<Self, LethalityError> {
        LethalityError::within(
            "D at the reference temperature",
            self.d_ref.seconds(),
            "s",
            1e-6..=1e9,
            "above 0 s",
        )?;
        LethalityError::within("z", self.z.kelvin(), "K", 1.0..=60.0, "1 to 60 K")?;
        LethalityError::within(
            "reference temperature",
            self.t_ref.celsius(),
            "degC",
            0.0..=200.0,
            "0 to 200 degC",
        )?;
        let (low, high) = (self.lowest_counted.celsius(), self.highest_credited.celsius());
        LethalityError::within(
            "lowest temperature counted",
            low,
            "degC",
            0.0..=high,
            "0 degC to the highest credited",
        )?;
        LethalityError::within("highest temperature credited", high, "degC", low..=200.0, "up to 200 degC")?;
        Ok(self)
    }

    /// Returns the rate of decimal reductions, log10 per second: 10^((T - T_ref) / z) / D_ref.
    ///
    /// T in degC; 0 below the lowest temperature counted, and held at the rate of the highest credited above it.
    #[must_use]
    pub fn rate_per_s(&self, t_c: f64) -> f64 {
        if t_c < self.lowest_counted.celsius() - crate::ROW_COMPARISON_GUARD_F {
            return 0.0;
        }
        let t = t_c.min(self.highest_credited.celsius());
        lethal_rate(t, self.t_ref.celsius(), self.z.kelvin()) / self.d_ref.seconds()
    }
}

/// Returns the lethal rate, without unit: 10^((T - T_ref) / z).
///
/// T and T_ref in degC, z in K. Source: FDA fish guidance, 4th ed., App. 4, Tables A-3 and A-4 (READ; printed values
/// agree within 1.5 %).
///
/// ```
/// let l = fallrate_lethality::lethal_rate(63.0, 70.0, 7.5);
/// assert!((l - 0.1166).abs() < 1e-4);
/// ```
#[must_use]
pub fn lethal_rate(t_c: f64, t_ref_c: f64, z_k: f64) -> f64 {
    10f64.powf((t_c - t_ref_c) / z_k)
}

/// Returns the decimal reductions of a piecewise-linear record, log10, by exact integration of
/// L = (1 / D_ref) * int 10^((T - T_ref) / z) dt.
///
/// `points` are (elapsed s, degC) with rising time. On a straight line from rate R0 to R1 in time dt the integral is
/// dt (R1 - R0) / ln(R1 / R0); the line is cut where it crosses the lowest counted or the highest credited temperature.
/// Information only: verdicts credit each interval at its colder end.
///
/// # Errors
/// [`LethalityError::OutOfRange`] for kinetics out of range, times that do not rise or values that are not finite.
///
/// ```
/// use fallrate_lethality::{LogLinear, log_reduction_exact};
/// use fallrate_units::{Duration, Temperature, TemperatureDifference};
/// let k = LogLinear {
///     d_ref: Duration::from_minutes(1.75),
///     t_ref: Temperature::from_fahrenheit(140.0),
///     z: TemperatureDifference::from_fahrenheit_degrees(10.0),
///     lowest_counted: Temperature::from_fahrenheit(50.0),
///     highest_credited: Temperature::from_fahrenheit(200.0),
/// };
/// let hold = [(0.0, 60.0), (720.0, 60.0)];
/// assert!((log_reduction_exact(&hold, &k)?.log10() - 12.0 / 1.75).abs() < 1e-9);
/// # Ok::<(), fallrate_lethality::LethalityError>(())
/// ```
pub fn log_reduction_exact(points: &[(f64, f64)], k: &LogLinear) -> Result<LogReduction, LethalityError> {
    let k = k.checked()?;
    let mut sum = 0.0;
    for (a, b) in points.iter().zip(points.iter().skip(1)) {
        LethalityError::within("temperature", a.1 + b.1, "degC", -1e4..=1e4, "finite")?;
        let dt = LethalityError::within("step between readings", b.0 - a.0, "s", 0.0..=1e9, "0 or more")?;
        sum += exact_line_log10(a.1, b.1, dt, &k);
    }
    Ok(LogReduction::from_log10(sum))
}

/// The integral over one straight line, log10.
pub(crate) fn exact_line_log10(from_c: f64, to_c: f64, dt_s: f64, k: &LogLinear) -> f64 {
    let (cold, hot) = (from_c.min(to_c), from_c.max(to_c));
    let (low, high) = (k.lowest_counted.celsius(), k.highest_credited.celsius());
    if hot < low || dt_s <= 0.0 {
        return 0.0;
    }
    let span = hot - cold;
    if span < 1e-9 {
        return k.rate_per_s(cold) * dt_s;
    }
    // The part of the line at or above the highest credited temperature runs at that rate.
    let capped = ((hot - high) / span).clamp(0.0, 1.0);
    let (a, b) = (cold.max(low), hot.min(high));
    let sloped = if b > a { (b - a) / span } else { 0.0 };
    let (ra, rb) = (k.rate_per_s(a), k.rate_per_s(b));
    let mean = if (rb - ra).abs() <= 1e-9 * rb { 0.5 * (ra + rb) } else { (rb - ra) / (rb / ra).ln() };
    dt_s * (mean * sloped + k.rate_per_s(high) * capped)
}
