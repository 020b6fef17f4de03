//! Variable-order numerical differentiation formulas (orders 1 to 5) with quasi-constant step, after Shampine and
//! Reichelt, "The MATLAB ODE Suite", SIAM J. Sci. Comput. 18 (1997) 1-22 (formulas from memory).
//!
//! A non-finite right-hand side counts as a failed step. The step's own polynomial is the dense output.

const MAX_ORDER: usize = 5;
const MAX_NEWTON: usize = 4;
/// Share of the error tolerance left to the Newton iteration.
const NEWTON_SHARE: f64 = 0.08;
const LEAST_FACTOR: f64 = 0.2;
const GREATEST_FACTOR: f64 = 10.0;
/// Coefficients that trade accuracy against stability (table 1 of the paper); the last order is the plain BDF.
const KAPPA: [f64; MAX_ORDER + 1] = [0.0, -0.1850, -1.0 / 9.0, -0.0823, -0.0415, 0.0];
/// Harmonic sums.
const GAMMA: [f64; MAX_ORDER + 1] = [0.0, 1.0, 1.5, 11.0 / 6.0, 25.0 / 12.0, 137.0 / 60.0];

fn alpha(order: usize) -> f64 {
    (1.0 - KAPPA[order]) * GAMMA[order]
}

#[allow(clippy::cast_precision_loss)]
fn error_constant(order: usize) -> f64 {
    KAPPA[order] * GAMMA[order] + 1.0 / (order + 1) as f64
}

/// A system to integrate, with its own linear algebra.
pub(crate) trait Problem {
    fn rates(&mut self, y: &[f64], dy: &mut [f64]);
    /// Slopes at `y`, kept inside.
    fn slopes(&mut self, y: &[f64]);
    /// Factors I - c J; false where it is singular.
    fn factor(&mut self, c: f64) -> bool;
    fn solve(&self, r: &mut [f64]);
    /// Weighted norm of a change at a state.
    fn norm(&self, change: &[f64], weights: &[f64]) -> f64;
    /// Reciprocal tolerances at a state.
    fn weights(&self, y: &[f64], weights: &mut [f64]);
}

/// Work done.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Counts {
    /// Steps accepted.
    pub steps: usize,
    /// Steps rejected by the error test.
    pub rejected: usize,
    /// Steps whose Newton iteration did not converge.
    pub not_converged: usize,
    /// Right-hand sides.
    pub rates: usize,
    /// Jacobians.
    pub slopes: usize,
    /// Factorisations.
    pub factors: usize,
    /// Linear solves.
    pub solves: usize,
}

impl Counts {
    pub(crate) fn add(&mut self, o: &Self) {
        self.steps += o.steps;
        self.rejected += o.rejected;
        self.not_converged += o.not_converged;
        self.rates += o.rates;
        self.slopes += o.slopes;
        self.factors += o.factors;
        self.solves += o.solves;
    }
}

/// The integrator's state between steps.
pub(crate) struct Ndf {
    n: usize,
    pub t: f64,
    pub y: Vec<f64>,
    h: f64,
    order: usize,
    equal_steps: usize,
    /// Backward differences, MAX_ORDER + 3 rows.
    d: Vec<Vec<f64>>,
    rescaled: Vec<Vec<f64>>,
    newton_tolerance: f64,
    rate: f64,
    factored_c: f64,
    slopes_current: bool,
    pub counts: Counts,
    weights: Vec<f64>,
    psi: Vec<f64>,
    predicted: Vec<f64>,
    change: Vec<f64>,
    residual: Vec<f64>,
    trial: Vec<f64>,
}

/// The step became too small.
#[derive(Debug)]
pub(crate) struct TooSmall {
    pub step_s: f64,
}

impl Ndf {
    pub fn new<P: Problem>(problem: &mut P, t: f64, y: &[f64], rtol: f64) -> Self {
        let n = y.len();
        let mut s = Self {
            n,
            t,
            y: y.to_vec(),
            h: 0.0,
            order: 1,
            equal_steps: 0,
            d: vec![vec![0.0; n]; MAX_ORDER + 3],
            rescaled: vec![vec![0.0; n]; MAX_ORDER + 1],
            newton_tolerance: (10.0 * f64::EPSILON / rtol).max(NEWTON_SHARE),
            rate: f64::NAN,
            factored_c: f64::NAN,
            slopes_current: false,
            counts: Counts::default(),
            weights: vec![0.0; n],
            psi: vec![0.0; n],
            predicted: vec![0.0; n],
            change: vec![0.0; n],
            residual: vec![0.0; n],
            trial: vec![0.0; n],
        };
        s.restart(problem);
        s
    }

    /// Forgets the past: after a switch, or after the state was changed from outside.
    pub fn restart<P: Problem>(&mut self, problem: &mut P) {
        problem.weights(&self.y, &mut self.weights);
        problem.rates(&self.y, &mut self.residual);
        self.counts.rates += 1;
        self.h = self.first_step(problem);
        self.order = 1;
        self.equal_steps = 0;
        for row in &mut self.d {
            row.fill(0.0);
        }
        self.d[0].copy_from_slice(&self.y);
        for (d, f) in self.d[1].iter_mut().zip(&self.residual) {
            *d = f * self.h;
        }
        problem.slopes(&self.y);
        self.counts.slopes += 1;
        self.slopes_current = true;
        self.factored_c = f64::NAN;
    }

    /// A first step from the sizes of the state, its slope and the change of the slope (Hairer, Norsett and Wanner I, II.4).
    fn first_step<P: Problem>(&mut self, problem: &mut P) -> f64 {
        let d0 = problem.norm(&self.y, &self.weights);
        let d1 = problem.norm(&self.residual, &self.weights);
        let h0 = if d0 < 1e-5 || d1 < 1e-5 { 1e-6 } else { 0.01 * d0 / d1 };
        // One probing step of h0 by the explicit Euler rule.
        for i in 0..self.n {
            self.trial[i] = self.y[i] + h0 * self.residual[i];
        }
        problem.rates(&self.trial, &mut self.change);
        self.counts.rates += 1;
        for i in 0..self.n {
            self.change[i] -= self.residual[i];
        }
        let d2 = problem.norm(&self.change, &self.weights) / h0;
        let h1 = if d1.max(d2) <= 1e-15 { (h0 * 1e-3).max(1e-6) } else { (0.01 / d1.max(d2)).sqrt() };
        let h = (100.0 * h0).min(h1);
        if h.is_finite() && h > 0.0 { h.max(1e-6) } else { 1e-6 }
    }

    /// Advances one accepted step, at most to `bound`.
    pub fn step<P: Problem>(&mut self, problem: &mut P, bound: f64) -> Result<(), TooSmall> {
        let least = 1e-14 * self.t.abs().max(1e-3);
        if bound - self.t <= 1e-11 * self.t.abs().max(1e-3) {
            // Nothing can change in so short a time: a switch beside another.
            self.t = bound;
            return Ok(());
        }
        loop {
            if self.t + self.h > bound {
                let factor = (bound - self.t) / self.h;
                self.rescale(factor);
            }
            if self.h < least {
                return Err(TooSmall { step_s: self.h });
            }
            let order = self.order;
            self.predict(order);
            problem.weights(&self.predicted, &mut self.weights);
            let c = self.h / alpha(order);
            let Some(iterations) = self.newton(problem, c) else {
                self.counts.not_converged += 1;
                self.rescale(0.5);
                continue;
            };
            #[allow(clippy::cast_precision_loss)]
            let safety = 0.9 * (2 * MAX_NEWTON + 1) as f64 / (2 * MAX_NEWTON + iterations) as f64;
            let error = error_constant(order) * problem.norm(&self.change, &self.weights);
            if error > 1.0 {
                self.counts.rejected += 1;
                #[allow(clippy::cast_precision_loss)]
                let factor = (safety * error.powf(-1.0 / (order + 1) as f64)).max(LEAST_FACTOR);
                self.rescale(factor);
                continue;
            }
            self.accept(bound, order);
            if self.equal_steps > order {
                self.choose_order(problem, order, error, safety);
            }
            return Ok(());
        }
    }

    fn predict(&mut self, order: usize) {
        self.predicted.copy_from_slice(&self.d[0]);
        self.psi.fill(0.0);
        let scale = 1.0 / alpha(order);
        for k in 1..=order {
            let g = GAMMA[k] * scale;
            for ((p, psi), d) in self.predicted.iter_mut().zip(&mut self.psi).zip(&self.d[k]) {
                *p += d;
                *psi += g * d;
            }
        }
    }

    /// Solves for the new state; the number of iterations, or none where it does not converge.
    fn newton<P: Problem>(&mut self, problem: &mut P, c: f64) -> Option<usize> {
        loop {
            if (c - self.factored_c).abs() > 1e-14 * c || self.factored_c.is_nan() {
                self.counts.factors += 1;
                self.rate = f64::NAN;
                if !problem.factor(c) {
                    return None;
                }
                self.factored_c = c;
            }
            if let Some(k) = self.iterate(problem, c) {
                return Some(k);
            }
            if self.slopes_current {
                return None;
            }
            problem.slopes(&self.predicted);
            self.counts.slopes += 1;
            self.slopes_current = true;
            self.factored_c = f64::NAN;
        }
    }

    fn iterate<P: Problem>(&mut self, problem: &mut P, c: f64) -> Option<usize> {
        self.change.fill(0.0);
        self.trial.copy_from_slice(&self.predicted);
        let mut before = f64::NAN;
        for k in 0..MAX_NEWTON {
            problem.rates(&self.trial, &mut self.residual);
            self.counts.rates += 1;
            for i in 0..self.n {
                self.residual[i] = c * self.residual[i] - self.psi[i] - self.change[i];
            }
            problem.solve(&mut self.residual);
            self.counts.solves += 1;
            let size = problem.norm(&self.residual, &self.weights);
            if !size.is_finite() {
                return None;
            }
            if before.is_finite() {
                self.rate = size / before;
                #[allow(clippy::cast_possible_truncation, clippy::cast_possible_wrap)]
                if self.rate >= 1.0
                    || self.rate.powi((MAX_NEWTON - k) as i32) / (1.0 - self.rate) * size
                        > self.newton_tolerance
                {
                    return None;
                }
            }
            for i in 0..self.n {
                self.trial[i] += self.residual[i];
                self.change[i] += self.residual[i];
            }
            let rate = if before.is_finite() {
                self.rate
            } else {
                if self.rate.is_finite() { self.rate.max(0.02) } else { 0.1 }
            };
            if size == 0.0
                || (rate.is_finite() && rate < 1.0 && rate / (1.0 - rate) * size < self.newton_tolerance)
            {
                return Some(k + 1);
            }
            before = size;
        }
        None
    }

    fn accept(&mut self, bound: f64, order: usize) {
        self.counts.steps += 1;
        self.equal_steps += 1;
        let next = self.t + self.h;
        self.t = if (bound - next).abs() < 1e-9 * self.h { bound } else { next };
        self.y.copy_from_slice(&self.trial);
        let (low, high) = self.d.split_at_mut(order + 2);
        for i in 0..self.n {
            high[0][i] = self.change[i] - low[order + 1][i];
        }
        low[order + 1].copy_from_slice(&self.change);
        for k in (0..=order).rev() {
            let (a, b) = self.d.split_at_mut(k + 1);
            for (x, y) in a[k].iter_mut().zip(&b[0]) {
                *x += y;
            }
        }
        self.slopes_current = false;
    }

    #[allow(clippy::cast_precision_loss)]
    fn choose_order<P: Problem>(&mut self, problem: &mut P, order: usize, error: f64, safety: f64) {
        let factor = |e: f64, p: usize| if e > 0.0 { e.powf(-1.0 / p as f64) } else { f64::INFINITY };
        let same = factor(error, order + 1);
        let lower = if order > 1 {
            factor(error_constant(order - 1) * problem.norm(&self.d[order], &self.weights), order)
        } else {
            0.0
        };
        let higher = if order < MAX_ORDER {
            factor(error_constant(order + 1) * problem.norm(&self.d[order + 2], &self.weights), order + 2)
        } else {
            0.0
        };
        let (new_order, best) = if lower > same && lower >= higher {
            (order - 1, lower)
        } else if higher > same {
            (order + 1, higher)
        } else {
            (order, same)
        };
        let grow = (safety * best).min(GREATEST_FACTOR);
        self.order = new_order;
        if new_order == order && (1.0..1.2).contains(&grow) {
            // A small gain is not worth a new factorisation.
            return;
        }
        self.rescale(grow);
        problem.slopes(&self.y);
        self.counts.slopes += 1;
        self.slopes_current = true;
    }

    /// Changes the step and the differences with it.
    fn rescale(&mut self, factor: f64) {
        self.h *= factor;
        let order = self.order;
        let (r, u) = (transfer(order, factor), transfer(order, 1.0));
        let mut ru = [[0.0; MAX_ORDER + 1]; MAX_ORDER + 1];
        for i in 0..=order {
            for j in 0..=order {
                ru[i][j] = (0..=order).map(|k| r[i][k] * u[k][j]).sum();
            }
        }
        // Row by row, so that the inner loops run along the state.
        for j in 0..=order {
            let (first, rest) =
                self.d[..=order].split_first().map_or((&[][..], &[][..]), |(a, b)| (a.as_slice(), b));
            let out = &mut self.rescaled[j];
            for (o, v) in out.iter_mut().zip(first) {
                *o = ru[0][j] * v;
            }
            for (row, weights) in rest.iter().zip(&ru[1..]) {
                let weight = weights[j];
                if weight != 0.0 {
                    for (o, v) in out.iter_mut().zip(row) {
                        *o += weight * v;
                    }
                }
            }
        }
        for j in 0..=order {
            std::mem::swap(&mut self.d[j], &mut self.rescaled[j]);
        }
        self.equal_steps = 0;
        self.factored_c = f64::NAN;
    }

    /// State at a time within the last step.
    pub fn at(&self, t: f64, out: &mut [f64]) {
        self.at_range(t, 0, out);
    }

    /// Part of the state from an index on, at a time within the last step.
    pub fn at_range(&self, t: f64, from: usize, out: &mut [f64]) {
        out.copy_from_slice(&self.y[from..from + out.len()]);
        if self.t == t {
            return;
        }
        let h = self.h;
        let mut product = 1.0;
        for k in 0..self.order {
            #[allow(clippy::cast_precision_loss)]
            let kf = k as f64;
            product *= (t - (self.t - h * kf)) / (h * (1.0 + kf));
            for (o, d) in out.iter_mut().zip(&self.d[k + 1][from..]) {
                *o += product * d;
            }
        }
    }
}

/// Matrix that carries differences from one step size to another.
#[allow(clippy::cast_precision_loss)]
fn transfer(order: usize, factor: f64) -> [[f64; MAX_ORDER + 1]; MAX_ORDER + 1] {
    let mut m = [[0.0; MAX_ORDER + 1]; MAX_ORDER + 1];
    m[0] = [1.0; MAX_ORDER + 1];
    for i in 1..=order {
        for j in 1..=order {
            m[i][j] = m[i - 1][j] * (i as f64 - 1.0 - factor * j as f64) / i as f64;
        }
    }
    m
}
