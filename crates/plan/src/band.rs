//! Many draws of the uncertain inputs: bands, and the share of the variance that each input causes.

use std::sync::atomic::{AtomicUsize, Ordering};

use fallrate_simulate::Piece;
use rand::seq::SliceRandom;
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;
use rayon::prelude::*;

use crate::curve::quantile;
use crate::error::PlanError;
use crate::setup::Setup;
use crate::spread::Input;
use crate::sweep::{COARSE, SWEEP_SPAN, Sweep, sweep};

/// The seed of every plan: the same input gives the same band.
const SEED: u64 = 20_240_917;

/// One draw followed to its end.
#[derive(Clone, Debug)]
pub struct Draw {
    /// Standard normal draws, one per spread.
    pub z: Vec<f64>,
    /// Its sweep.
    pub sweep: Sweep,
    /// Powered time at which the target is met at unloading, s; none where it is not met within the sweep.
    pub timer_s: Option<f64>,
    /// Powered time at which the target is met with the power on, s.
    pub direct_s: Option<f64>,
    /// Dry solids of the draw, kg.
    pub solids_kg: f64,
}

/// The share of the variance of the end that an input causes.
#[derive(Clone, Debug, PartialEq)]
pub struct VarianceShare {
    /// Input.
    pub input: Input,
    /// Share of the explained variance, 0 to 1.
    pub share: f64,
    /// Change of the end by one standard deviation of the input, s.
    pub per_sd_s: f64,
}

/// Shares with the quality of the fit they come from.
#[derive(Clone, Debug, PartialEq)]
pub struct VarianceShares {
    /// Largest first.
    pub shares: Vec<VarianceShare>,
    /// R2 of the linear regression of the logarithm of the end on the draws.
    pub r_squared: f64,
}

/// Draws of the band.
#[derive(Clone, Debug)]
pub struct Band {
    /// In a fixed order.
    pub draws: Vec<Draw>,
    /// Draws whose run failed or never reached the target within the sweep.
    pub unreached: usize,
}

/// Follows `count` draws in parallel; the same result for any number of threads.
///
/// # Errors
/// [`PlanError::Cancelled`] where `progress` (told the share done) returns false.
pub fn band(
    setup: &Setup,
    count: usize,
    expected_s: f64,
    progress: &(dyn Fn(f64) -> bool + Sync),
) -> Result<Band, PlanError> {
    let z = latin_hypercube(count, setup.spreads.len());
    let done = AtomicUsize::new(0);
    let stopped = AtomicUsize::new(0);
    let draws: Vec<Option<Draw>> = z
        .into_par_iter()
        .map(|z| {
            let draw = if stopped.load(Ordering::Relaxed) == 0 {
                follow(setup, z, expected_s, &stopped)
            } else {
                None
            };
            let n = done.fetch_add(1, Ordering::Relaxed) + 1;
            #[allow(clippy::cast_precision_loss)]
            if !progress(n as f64 / count as f64) {
                stopped.store(1, Ordering::Relaxed);
            }
            draw
        })
        .collect();
    if stopped.load(Ordering::Relaxed) != 0 {
        return Err(PlanError::Cancelled);
    }
    let failed = draws.iter().filter(|d| d.is_none()).count();
    let draws: Vec<Draw> = draws.into_iter().flatten().collect();
    let unreached = failed + draws.iter().filter(|d| d.timer_s.is_none()).count();
    Ok(Band { draws, unreached })
}

fn follow(setup: &Setup, z: Vec<f64>, expected_s: f64, stopped: &AtomicUsize) -> Option<Draw> {
    let mut batch = setup.batch.clone();
    for (spread, z) in setup.spreads.iter().zip(&z) {
        spread.apply(&mut batch, *z);
    }
    let mut go_on = |_: f64| stopped.load(Ordering::Relaxed) == 0;
    let target = setup.target.moisture_dry_basis;
    let mut until = SWEEP_SPAN * expected_s;
    for _ in 0..3 {
        let s = sweep(setup, &batch, until, &COARSE, &mut go_on).ok()?;
        let timer_s = s.at_unloading(setup.target.piece).first_at_or_below(target);
        let direct_s = s.at_power_off(setup.target.piece).first_at_or_below(target);
        if timer_s.is_some() || direct_s.is_some() || until > 4.0 * expected_s {
            return Some(Draw { z, sweep: s, timer_s, direct_s, solids_kg: batch.solids_kg() });
        }
        until *= 1.8;
    }
    None
}

/// Rows of standard normal draws, one stratum per row and column, cut off at 2.5 standard deviations; always the same.
#[must_use]
pub fn latin_hypercube(count: usize, columns: usize) -> Vec<Vec<f64>> {
    let mut rows = vec![vec![0.0; columns]; count];
    for column in 0..columns {
        let mut random = ChaCha8Rng::seed_from_u64(SEED);
        #[allow(clippy::cast_possible_truncation)]
        random.set_stream(column as u64 + 1);
        let mut strata: Vec<usize> = (0..count).collect();
        strata.shuffle(&mut random);
        for (row, stratum) in rows.iter_mut().zip(strata) {
            let within: f64 = random.random::<f64>();
            #[allow(clippy::cast_precision_loss)]
            let p = (stratum as f64 + within) / count as f64;
            row[column] = normal_quantile(p.clamp(1e-9, 1.0 - 1e-9)).clamp(-2.5, 2.5);
        }
    }
    rows
}

/// Inverse of the standard normal distribution (Acklam's rational approximation, relative error 1.15e-9, from memory).
fn normal_quantile(p: f64) -> f64 {
    const A: [f64; 6] = [
        -39.696_830_286_653_76,
        220.946_098_424_520_5,
        -275.928_510_446_968_7,
        138.357_751_867_269,
        -30.664_798_066_147_16,
        2.506_628_277_459_239,
    ];
    const B: [f64; 5] = [
        -54.476_098_798_224_06,
        161.585_836_858_040_9,
        -155.698_979_859_886_6,
        66.801_311_887_719_72,
        -13.280_681_552_885_72,
    ];
    const C: [f64; 6] = [
        -0.007_784_894_002_430_293,
        -0.322_396_458_041_136_5,
        -2.400_758_277_161_838,
        -2.549_732_539_343_734,
        4.374_664_141_464_968,
        2.938_163_982_698_783,
    ];
    const D: [f64; 4] =
        [0.007_784_695_709_041_462, 0.322_467_129_070_039_8, 2.445_134_137_142_996, 3.754_408_661_907_416];
    let poly = |c: &[f64], x: f64| c.iter().fold(0.0, |s, k| s * x + k);
    if p < 0.02425 {
        let q = (-2.0 * p.ln()).sqrt();
        return poly(&C, q) / (poly(&D, q) * q + 1.0);
    }
    if p > 1.0 - 0.02425 {
        return -normal_quantile(1.0 - p);
    }
    let q = p - 0.5;
    let r = q * q;
    poly(&A, r) * q / (poly(&B, r) * r + 1.0)
}

impl Band {
    /// Quantile of the powered time that meets the target at unloading, s; draws that never meet it count as later.
    #[must_use]
    pub fn timer_quantile_s(&self, share: f64) -> f64 {
        let v: Vec<f64> = self.draws.iter().map(|d| d.timer_s.unwrap_or(f64::INFINITY)).collect();
        quantile(&v, share)
    }

    /// Quantile over the draws of a moisture at unloading for a powered time, kg/kg dry basis.
    #[must_use]
    pub fn moisture_at_unloading(&self, piece: Piece, powered_s: f64, share: f64) -> f64 {
        let v: Vec<f64> = self.draws.iter().map(|d| d.sweep.at_unloading(piece).at(powered_s)).collect();
        quantile(&v, share)
    }

    /// Share of the draws that are wetter than the target at unloading after a powered time.
    #[must_use]
    pub fn share_too_wet(&self, setup: &Setup, powered_s: f64) -> f64 {
        let wet = self.draws.iter().filter(|d| {
            d.sweep.at_unloading(setup.target.piece).at(powered_s)
                > setup.target.moisture_dry_basis * (1.0 + 1e-9)
        });
        #[allow(clippy::cast_precision_loss)]
        let share = wet.count() as f64 / self.draws.len().max(1) as f64;
        share
    }

    /// Linear regression of the logarithm of the end on the draws.
    #[must_use]
    pub fn variance_shares(&self, setup: &Setup) -> VarianceShares {
        let rows: Vec<(&[f64], f64)> = self
            .draws
            .iter()
            .filter_map(|d| Some((d.z.as_slice(), d.direct_s.or(d.timer_s)?.ln())))
            .collect();
        let k = setup.spreads.len();
        if rows.len() < k + 5 {
            return VarianceShares { shares: Vec::new(), r_squared: f64::NAN };
        }
        let (coefficients, r_squared) = regress(&rows, k);
        let mean_end = (rows.iter().map(|r| r.1).sum::<f64>() / rows.len() as f64).exp();
        let explained: f64 = coefficients.iter().skip(1).map(|c| c * c).sum();
        let mut shares: Vec<VarianceShare> = setup
            .spreads
            .iter()
            .zip(coefficients.iter().skip(1))
            .map(|(s, c)| VarianceShare {
                input: s.input,
                share: c * c / explained,
                per_sd_s: mean_end * c.exp_m1(),
            })
            .collect();
        shares.sort_by(|a, b| b.share.total_cmp(&a.share));
        VarianceShares { shares, r_squared }
    }
}

/// Least squares by the normal equations with Cholesky; the inputs are standard normal and nearly independent.
#[allow(clippy::cast_precision_loss)]
fn regress(rows: &[(&[f64], f64)], k: usize) -> (Vec<f64>, f64) {
    let n = k + 1;
    let design = |z: &[f64], i: usize| if i == 0 { 1.0 } else { z[i - 1] };
    let mut a = vec![vec![0.0; n]; n];
    let mut b = vec![0.0; n];
    for (z, y) in rows {
        for i in 0..n {
            b[i] += design(z, i) * y;
            for j in 0..n {
                a[i][j] += design(z, i) * design(z, j);
            }
        }
    }
    for i in 0..n {
        for j in 0..i {
            let f = a[i][j] / a[j][j];
            for c in j..n {
                a[i][c] -= f * a[j][c];
            }
            b[i] -= f * b[j];
        }
    }
    for i in (0..n).rev() {
        for j in i + 1..n {
            b[i] -= a[i][j] * b[j];
        }
        b[i] /= a[i][i];
    }
    let mean = rows.iter().map(|r| r.1).sum::<f64>() / rows.len() as f64;
    let (mut left, mut total) = (0.0, 0.0);
    for (z, y) in rows {
        let fit: f64 = (0..n).map(|i| b[i] * design(z, i)).sum();
        left += (y - fit).powi(2);
        total += (y - mean).powi(2);
    }
    (b, if total > 0.0 { 1.0 - left / total } else { 1.0 })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn table_normal_quantiles() {
        // Standard normal table: z(0.975) = 1.959964, z(0.9) = 1.281552, z(0.01) = -2.326348 (any statistics text).
        for (p, z) in [(0.975, 1.959_964), (0.9, 1.281_552), (0.01, -2.326_348), (0.5, 0.0)] {
            assert!((normal_quantile(p) - z).abs() < 1e-6, "{p}");
        }
    }

    #[test]
    fn identity_each_column_of_the_hypercube_has_mean_zero_and_unit_spread() {
        let rows = latin_hypercube(400, 5);
        for c in 0..5 {
            let mean: f64 = rows.iter().map(|r| r[c]).sum::<f64>() / 400.0;
            let var: f64 = rows.iter().map(|r| r[c] * r[c]).sum::<f64>() / 400.0;
            assert!(mean.abs() < 0.01 && (var - 0.96).abs() < 0.04, "{mean} {var}");
        }
    }

    #[test]
    fn identity_regression_recovers_known_coefficients() {
        let rows = latin_hypercube(60, 3);
        let data: Vec<(&[f64], f64)> =
            rows.iter().map(|z| (z.as_slice(), 1.0 + 0.3 * z[0] - 0.1 * z[2])).collect();
        let (b, r2) = regress(&data, 3);
        assert!(
            (b[0] - 1.0).abs() < 1e-10
                && (b[1] - 0.3).abs() < 1e-10
                && b[2].abs() < 1e-10
                && (b[3] + 0.1).abs() < 1e-10
        );
        assert!(r2 > 1.0 - 1e-12);
    }
}
