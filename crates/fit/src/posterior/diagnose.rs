//! Whether chains have come to the same place and how many independent draws they are worth.
//!
//! Vehtari, Gelman, Simpson, Carpenter, Buerkner: Rank-normalization, folding, and localization: an improved R-hat for assessing
//! convergence of MCMC, Bayesian Analysis 16 (2021) 667-718 (formulas from memory, checked against an independent program).

use crate::stats::normal_quantile;

/// Chains of one parameter, all of one length of at least 8; shorter or uneven ones give NaN.
fn sound(chains: &[Vec<f64>]) -> bool {
    let n = chains.first().map_or(0, Vec::len);
    n >= 8 && chains.iter().all(|c| c.len() == n && c.iter().all(|v| v.is_finite()))
}

/// Every chain cut into its two halves.
fn halves(chains: &[Vec<f64>]) -> Vec<Vec<f64>> {
    let half = |c: &Vec<f64>| {
        let h = c.len() / 2;
        [c[..h].to_vec(), c[c.len() - h..].to_vec()]
    };
    let (mut first, mut second) = (Vec::new(), Vec::new());
    for [a, b] in chains.iter().map(half) {
        first.push(a);
        second.push(b);
    }
    first.extend(second);
    first
}

/// Values replaced by normal scores of their ranks over all chains; equal ones share their mean rank.
fn rank_scores(chains: &[Vec<f64>]) -> Vec<Vec<f64>> {
    let mut order: Vec<(f64, usize, usize)> = Vec::new();
    for (k, c) in chains.iter().enumerate() {
        order.extend(c.iter().enumerate().map(|(i, v)| (*v, k, i)));
    }
    order.sort_by(|a, b| a.0.total_cmp(&b.0));
    let mut scores: Vec<Vec<f64>> = chains.iter().map(|c| vec![0.0; c.len()]).collect();
    #[allow(clippy::cast_precision_loss)]
    let count = order.len() as f64;
    let mut from = 0;
    while from < order.len() {
        let mut to = from + 1;
        while to < order.len() && order[to].0 == order[from].0 {
            to += 1;
        }
        #[allow(clippy::cast_precision_loss)]
        let rank = 0.5 * ((from + 1) as f64 + to as f64);
        let score = normal_quantile((rank - 0.375) / (count + 0.25));
        for &(_, k, i) in &order[from..to] {
            scores[k][i] = score;
        }
        from = to;
    }
    scores
}

fn mean(values: &[f64]) -> f64 {
    #[allow(clippy::cast_precision_loss)]
    let n = values.len() as f64;
    values.iter().sum::<f64>() / n
}

fn variance(values: &[f64]) -> f64 {
    let m = mean(values);
    #[allow(clippy::cast_precision_loss)]
    let n = values.len() as f64;
    values.iter().map(|v| (v - m).powi(2)).sum::<f64>() / (n - 1.0)
}

/// Scale reduction of chains: 1 where they vary as much among each other as within.
fn r_hat(chains: &[Vec<f64>]) -> f64 {
    #[allow(clippy::cast_precision_loss)]
    let n = chains.first().map_or(0, Vec::len) as f64;
    let means: Vec<f64> = chains.iter().map(|c| mean(c)).collect();
    let within = mean(&chains.iter().map(|c| variance(c)).collect::<Vec<f64>>());
    let between = n * variance(&means);
    ((between / within + n - 1.0) / n).sqrt()
}

/// Rank-normalised R-hat of a parameter's chains: the larger of that of the split chains and that of their distances from the
/// median. 1 for chains at the same place; below 1.01 they can be used. NaN for fewer than 8 draws.
#[must_use]
pub fn rank_r_hat(chains: &[Vec<f64>]) -> f64 {
    if !sound(chains) {
        return f64::NAN;
    }
    let split = halves(chains);
    let mut all: Vec<f64> = split.iter().flatten().copied().collect();
    all.sort_by(f64::total_cmp);
    let middle = all.len() / 2;
    let median =
        if all.len().is_multiple_of(2) { 0.5 * (all[middle - 1] + all[middle]) } else { all[middle] };
    let folded: Vec<Vec<f64>> =
        split.iter().map(|c| c.iter().map(|v| (v - median).abs()).collect()).collect();
    r_hat(&rank_scores(&split)).max(r_hat(&rank_scores(&folded)))
}

/// Effective number of independent draws for the middle of a parameter's distribution (bulk), on rank-normalised split chains.
/// NaN for fewer than 8 draws.
#[must_use]
pub fn effective_sample_size(chains: &[Vec<f64>]) -> f64 {
    if sound(chains) { sample_size(&rank_scores(&halves(chains))) } else { f64::NAN }
}

/// Effective number of independent draws for the 5 % and the 95 % quantile, the smaller of the two. NaN for fewer than 8
/// draws.
#[must_use]
pub fn tail_sample_size(chains: &[Vec<f64>]) -> f64 {
    if !sound(chains) {
        return f64::NAN;
    }
    let mut all: Vec<f64> = chains.iter().flatten().copied().collect();
    all.sort_by(f64::total_cmp);
    let below = |share: f64| {
        let limit = quantile_of_sorted(&all, share);
        let split = halves(chains);
        let inside = |v: &f64| f64::from(u8::from(*v <= limit));
        sample_size(&split.iter().map(|c| c.iter().map(inside).collect()).collect::<Vec<Vec<f64>>>())
    };
    below(0.05).min(below(0.95))
}

/// Quantile of sorted values, straight between them.
pub(crate) fn quantile_of_sorted(sorted: &[f64], share: f64) -> f64 {
    let last = sorted.len().saturating_sub(1);
    #[allow(clippy::cast_precision_loss)]
    let at = share * last as f64;
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
    let (low, part) = (at.floor() as usize, at.fract());
    sorted[low] * (1.0 - part) + sorted[(low + 1).min(last)] * part
}

/// Sum of products of a chain's deviations a lag apart, over its length.
fn autocovariance(chain: &[f64], mean: f64, lag: usize) -> f64 {
    #[allow(clippy::cast_precision_loss)]
    let n = chain.len() as f64;
    chain.iter().zip(&chain[lag..]).map(|(a, b)| (a - mean) * (b - mean)).sum::<f64>() / n
}

/// Draws over the autocorrelation time by Geyer's initial monotone sequence.
fn sample_size(chains: &[Vec<f64>]) -> f64 {
    let draws = chains.first().map_or(0, Vec::len);
    #[allow(clippy::cast_precision_loss)]
    let (n, total) = (draws as f64, (draws * chains.len()) as f64);
    let means: Vec<f64> = chains.iter().map(|c| mean(c)).collect();
    let covariance = |lag: usize| {
        let each: Vec<f64> = chains.iter().zip(&means).map(|(c, m)| autocovariance(c, *m, lag)).collect();
        mean(&each)
    };
    let within = covariance(0) * n / (n - 1.0);
    let mut whole = within * (n - 1.0) / n;
    if chains.len() > 1 {
        whole += variance(&means);
    }
    if !(whole > 0.0) {
        return total;
    }
    let correlation = |lag: usize| 1.0 - (within - covariance(lag)) / whole;
    // Sums of pairs of neighbouring correlations, as long as they are positive, never rising. The last one, at which they end
    // or the chain does, counts by its first member alone, once.
    let mut pairs = vec![1.0 + correlation(1)];
    let mut tail = 0.0;
    let mut lag = 2;
    while lag + 2 < draws {
        let (even, odd) = (correlation(lag), correlation(lag + 1));
        tail = even.max(0.0);
        if even + odd < 0.0 || lag + 4 >= draws {
            break;
        }
        let last = pairs.last().copied().unwrap_or(f64::INFINITY);
        pairs.push((even + odd).min(last));
        lag += 2;
    }
    let time = (2.0 * pairs.iter().sum::<f64>() - 1.0 + tail).max(1.0 / total.log10());
    total / time
}
