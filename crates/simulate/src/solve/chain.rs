//! Solves (I - c J) x = r in the structure of the problem.
//!
//! Every piece is a chain of 2 x 2 blocks; the air runs one way along a group, so pieces are eliminated one after
//! another; the chamber closes the loop through two sums, which leaves a small dense system.
//! Cost is linear in pieces and nodes.

use crate::physics::chamber::STATES;
use crate::physics::system::{Place, SystemJacobian};

type Block = [f64; 4];

#[inline]
fn mul(a: &Block, b: &Block) -> Block {
    [
        a[0] * b[0] + a[1] * b[2],
        a[0] * b[1] + a[1] * b[3],
        a[2] * b[0] + a[3] * b[2],
        a[2] * b[1] + a[3] * b[3],
    ]
}

#[inline]
fn apply(a: &Block, x: f64, t: f64) -> (f64, f64) {
    (a[0] * x + a[1] * t, a[2] * x + a[3] * t)
}

#[inline]
fn invert(a: &Block) -> Block {
    let d = 1.0 / (a[0] * a[3] - a[1] * a[2]);
    [a[3] * d, -a[1] * d, -a[2] * d, a[0] * d]
}

/// One piece, factored.
#[derive(Clone, Debug)]
struct Factored {
    /// Inverse pivots.
    inverse: Vec<Block>,
    /// -(lower x inverse pivot before): what forward elimination adds.
    lower: Vec<Block>,
    /// c x upper; the last block stays zero.
    upper: Vec<Block>,
    /// Response of the piece to its air's (T, w): two columns, interleaved (X, T) by node.
    response: Vec<[f64; 2]>,
}

/// The factored matrix with its work space.
#[derive(Clone, Debug)]
pub(crate) struct ChainSolver {
    nodes: usize,
    pieces: Vec<Factored>,
    /// Air entering a piece by the air entering the group, 2 x 2.
    air: Vec<Block>,
    /// Sums (vapour, enthalpy) by the air entering the groups.
    sums: [[f64; 2]; 2],
    dense: [[f64; STATES]; STATES],
    pivots: [usize; STATES],
    c: f64,
}

impl ChainSolver {
    pub fn new(nodes: usize, pieces: usize) -> Self {
        let one = Factored {
            inverse: vec![[0.0; 4]; nodes],
            lower: vec![[0.0; 4]; nodes - 1],
            upper: vec![[0.0; 4]; nodes],
            response: vec![[0.0; 2]; 2 * nodes],
        };
        Self {
            nodes,
            pieces: vec![one; pieces],
            air: vec![[1.0, 0.0, 0.0, 1.0]; pieces],
            sums: [[0.0; 2]; 2],
            dense: [[0.0; STATES]; STATES],
            pivots: [0; STATES],
            c: 0.0,
        }
    }

    /// Factors I - c J. False where a pivot vanishes or is not finite.
    pub fn factor(&mut self, j: &SystemJacobian, places: &[Place], c: f64) -> bool {
        self.c = c;
        let n = self.nodes;
        let mut sums = [[0.0; 2]; 2];
        let mut air: Block = [1.0, 0.0, 0.0, 1.0];
        for (i, place) in places.iter().enumerate() {
            if i == 0 || place.group != places[i - 1].group {
                air = [1.0, 0.0, 0.0, 1.0];
            }
            self.air[i] = air;
            let (f, pj, step) = (&mut self.pieces[i], &j.pieces[i], &j.steps[i]);
            factor_blocks(f, &pj.diag, &pj.upper, &pj.lower, c);
            f.response.fill([0.0; 2]);
            for (face, node) in [(0, 0), (1, n - 1)] {
                for k in 0..2 {
                    f.response[2 * node][k] += c * pj.by_air[face][k];
                    f.response[2 * node + 1][k] += c * pj.by_air[face][2 + k];
                }
            }
            solve_pair(f);
            if place.area == 0.0 {
                continue;
            }
            let last = 2 * (n - 1);
            let rows = [f.response[0], f.response[1], f.response[last], f.response[last + 1]];
            let mut through = step.by_air;
            let mut total = step.total_by_air;
            for k in 0..2 {
                for s in 0..4 {
                    through[k] += step.by_face[s] * rows[s][k];
                    through[2 + k] += step.by_face[4 + s] * rows[s][k];
                    total[k] += step.total_by_face[s] * rows[s][k];
                    total[2 + k] += step.total_by_face[4 + s] * rows[s][k];
                }
            }
            let total = mul(&total, &air);
            for k in 0..2 {
                sums[0][k] += total[k];
                sums[1][k] += total[2 + k];
            }
            air = mul(&through, &air);
        }
        for row in 0..STATES {
            for col in 0..STATES {
                self.dense[row][col] = f64::from(u8::from(row == col)) - c * j.chamber[row][col];
            }
            for col in 0..2 {
                let by = &j.chamber_by_totals[row];
                self.dense[row][col] -= c * (by[0] * sums[0][col] + by[1] * sums[1][col]);
            }
        }
        self.sums = sums;
        lu(&mut self.dense, &mut self.pivots)
    }

    /// Solves in place.
    pub fn solve(&self, j: &SystemJacobian, places: &[Place], r: &mut [f64]) {
        let (n, len) = (self.nodes, 2 * self.nodes);
        let at = places.len() * len;
        let (pieces, tail) = r.split_at_mut(at);
        // Forward: every piece on its own, and the air it passes on with the group's entering air held.
        let mut sums = [0.0; 2];
        let mut air = (0.0, 0.0);
        for (i, place) in places.iter().enumerate() {
            if i == 0 || place.group != places[i - 1].group {
                air = (0.0, 0.0);
            }
            let x = &mut pieces[i * len..(i + 1) * len];
            let f = &self.pieces[i];
            solve_one(f, x);
            if air != (0.0, 0.0) {
                for (v, z) in x.iter_mut().zip(&f.response) {
                    *v += z[0] * air.0 + z[1] * air.1;
                }
            }
            if place.area == 0.0 {
                continue;
            }
            let step = &j.steps[i];
            let s = [x[0], x[1], x[2 * (n - 1)], x[2 * (n - 1) + 1]];
            let dot = |m: &[f64]| m[0] * s[0] + m[1] * s[1] + m[2] * s[2] + m[3] * s[3];
            for (k, sum) in sums.iter_mut().enumerate() {
                *sum += dot(&step.total_by_face[4 * k..])
                    + step.total_by_air[2 * k] * air.0
                    + step.total_by_air[2 * k + 1] * air.1;
            }
            let (t, w) = apply(&step.by_air, air.0, air.1);
            air = (t + dot(&step.by_face[..4]), w + dot(&step.by_face[4..]));
        }
        let mut b = [0.0; STATES];
        for row in 0..STATES {
            let by = &j.chamber_by_totals[row];
            b[row] = tail[row] + self.c * (by[0] * sums[0] + by[1] * sums[1]);
        }
        lu_solve(&self.dense, &self.pivots, &mut b);
        tail[..STATES].copy_from_slice(&b);
        // Counters follow the states, so that what is summed stays what has moved.
        let total = [0, 1].map(|k: usize| sums[k] + self.sums[k][0] * b[0] + self.sums[k][1] * b[1]);
        for (row, value) in tail.iter_mut().enumerate().skip(STATES) {
            let own: f64 = j.chamber[row].iter().zip(&b).map(|(s, x)| s * x).sum();
            let by = &j.chamber_by_totals[row];
            *value += self.c * (own + by[0] * total[0] + by[1] * total[1]);
        }
        // Back: the chamber's change reaches every piece through the air.
        for i in 0..places.len() {
            let (t, w) = apply(&self.air[i], b[0], b[1]);
            let x = &mut pieces[i * len..(i + 1) * len];
            for (v, z) in x.iter_mut().zip(&self.pieces[i].response) {
                *v += z[0] * t + z[1] * w;
            }
        }
    }
}

fn factor_blocks(f: &mut Factored, diag: &[Block], upper: &[Block], lower: &[Block], c: f64) {
    for k in 0..diag.len() {
        let d = &diag[k];
        let mut pivot = [1.0 - c * d[0], -c * d[1], -c * d[2], 1.0 - c * d[3]];
        if k > 0 {
            let l = &lower[k - 1];
            let scaled = mul(&[c * l[0], c * l[1], c * l[2], c * l[3]], &f.inverse[k - 1]);
            let fill = mul(&scaled, &f.upper[k - 1]);
            for e in 0..4 {
                pivot[e] -= fill[e];
            }
            f.lower[k - 1] = scaled;
        }
        f.inverse[k] = invert(&pivot);
        if k < upper.len() {
            let u = &upper[k];
            f.upper[k] = [c * u[0], c * u[1], c * u[2], c * u[3]];
        }
    }
}

// With M = I - cJ the off-diagonal blocks are -c J; signs are folded in: forward adds, backward adds.
fn solve_one(f: &Factored, x: &mut [f64]) {
    let (x, _) = x.as_chunks_mut::<2>();
    let mut before = [0.0; 2];
    for (k, v) in x.iter_mut().enumerate() {
        if k > 0 {
            let (dx, dt) = apply(&f.lower[k - 1], before[0], before[1]);
            v[0] += dx;
            v[1] += dt;
        }
        before = *v;
    }
    let mut after = [0.0; 2];
    for ((v, inverse), upper) in x.iter_mut().zip(&f.inverse).zip(&f.upper).rev() {
        let (dx, dt) = apply(upper, after[0], after[1]);
        (after[0], after[1]) = apply(inverse, v[0] + dx, v[1] + dt);
        *v = after;
    }
}

fn solve_pair(f: &mut Factored) {
    let n = f.inverse.len();
    for col in 0..2 {
        for k in 1..n {
            let (dx, dt) = apply(&f.lower[k - 1], f.response[2 * k - 2][col], f.response[2 * k - 1][col]);
            f.response[2 * k][col] += dx;
            f.response[2 * k + 1][col] += dt;
        }
        for k in (0..n).rev() {
            let (mut a, mut b) = (f.response[2 * k][col], f.response[2 * k + 1][col]);
            if k + 1 < n {
                let (dx, dt) = apply(&f.upper[k], f.response[2 * k + 2][col], f.response[2 * k + 3][col]);
                a += dx;
                b += dt;
            }
            (f.response[2 * k][col], f.response[2 * k + 1][col]) = apply(&f.inverse[k], a, b);
        }
    }
}

fn lu(a: &mut [[f64; STATES]; STATES], pivots: &mut [usize; STATES]) -> bool {
    for k in 0..STATES {
        let mut best = k;
        for row in k + 1..STATES {
            if a[row][k].abs() > a[best][k].abs() {
                best = row;
            }
        }
        a.swap(k, best);
        pivots[k] = best;
        let pivot = a[k][k];
        if pivot == 0.0 || !pivot.is_finite() {
            return false;
        }
        for row in k + 1..STATES {
            let factor = a[row][k] / pivot;
            a[row][k] = factor;
            for col in k + 1..STATES {
                a[row][col] -= factor * a[k][col];
            }
        }
    }
    true
}

fn lu_solve(a: &[[f64; STATES]; STATES], pivots: &[usize; STATES], b: &mut [f64; STATES]) {
    for k in 0..STATES {
        b.swap(k, pivots[k]);
    }
    for k in 0..STATES {
        for row in k + 1..STATES {
            b[row] -= a[row][k] * b[k];
        }
    }
    for k in (0..STATES).rev() {
        for col in k + 1..STATES {
            b[k] -= a[k][col] * b[col];
        }
        b[k] /= a[k][k];
    }
}
