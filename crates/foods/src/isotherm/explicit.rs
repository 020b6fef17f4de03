//! Isotherms other than GAB: Oswin, Halsey, Henderson, Chung-Pfost and Roa forms.

use super::{Activity, Isotherm, MoisturePoint};
use crate::error::FoodsError;
use fallrate_units::ZERO_CELSIUS_K;

/// Moisture with derivatives, each form solved for X. `scale` turns the form's moisture unit into kg/kg.
pub(super) fn moisture(form: &Isotherm, a: f64, t: f64) -> MoisturePoint {
    let odds = a / (1.0 - a);
    match *form {
        Isotherm::OswinLinear([p1, p2, p3, p4]) => {
            let (s, n) = (p1 + p2 * t, p3 + p4 * t);
            let x = s * odds.powf(n);
            point(x, x * n / (a * (1.0 - a)), x * (p2 / s + p4 * odds.ln()), 1.0)
        }
        Isotherm::ModifiedOswin([p1, p2, p3]) => {
            let s = p1 + p2 * t;
            let m = s * odds.powf(1.0 / p3);
            point(m, m / (p3 * a * (1.0 - a)), m * p2 / s, 0.01)
        }
        Isotherm::ModifiedHalsey([p1, p2, p3]) => {
            let l = -a.ln();
            let m = ((p1 + p2 * t).exp() / l).powf(1.0 / p3);
            point(m, m / (p3 * l * a), m * p2 / p3, 0.01)
        }
        Isotherm::ModifiedHenderson([p1, p2, p3]) => {
            let l = -(1.0 - a).ln();
            let m = (l / (p1 * (t + p3))).powf(1.0 / p2);
            point(m, m / (p2 * l * (1.0 - a)), -m / (p2 * (t + p3)), 0.01)
        }
        Isotherm::ModifiedChungPfost([p1, p2, p3]) => {
            let l = -a.ln();
            let m = -((t + p3) / p1 * l).ln() / p2;
            point(m, 1.0 / (p2 * l * a), -1.0 / (p2 * (t + p3)), 0.01)
        }
        Isotherm::Henderson4([p1, p2, p3, p4]) => {
            let (l, dt) = (-(1.0 - a).ln(), t + ZERO_CELSIUS_K - p2);
            let m = (l / (p1 * dt.powf(p3))).powf(1.0 / p4);
            point(m, m / (p4 * l * (1.0 - a)), -m * p3 / (p4 * dt), 0.01)
        }
        Isotherm::Roa(p) => roa(&p, a, t),
        Isotherm::Gab(_) | Isotherm::GabT(_) => point(f64::NAN, f64::NAN, f64::NAN, 1.0),
    }
}

fn point(m: f64, d_daw: f64, d_dt_k: f64, scale: f64) -> MoisturePoint {
    MoisturePoint { moisture_dry_basis_kg_per_kg: m * scale, d_daw: d_daw * scale, d_dt_k: d_dt_k * scale }
}

fn roa(p: &[f64; 8], a: f64, t: f64) -> MoisturePoint {
    let poly = a * (p[0] + a * (p[1] + a * p[2]));
    let poly_a = p[0] + a * (2.0 * p[1] + a * 3.0 * p[2]);
    let rate = p[3] + a * (p[4] + a * (p[5] + a * p[6]));
    let rate_a = p[4] + a * (2.0 * p[5] + a * 3.0 * p[6]);
    let e = (rate * (t + p[7])).exp();
    point(poly * e, (poly_a + poly * rate_a * (t + p[7])) * e, poly * rate * e, 0.01)
}

/// Water activity: closed forms where there are, then derivatives from the moisture form by the implicit rule.
pub(super) fn activity(form: &Isotherm, x: f64, t: f64) -> Result<Activity, FoodsError> {
    let m = 100.0 * x;
    let from_odds = |odds: f64| odds / (1.0 + odds);
    let aw = match *form {
        Isotherm::OswinLinear([p1, p2, p3, p4]) => from_odds((x / (p1 + p2 * t)).powf(1.0 / (p3 + p4 * t))),
        Isotherm::ModifiedOswin([p1, p2, p3]) => from_odds((m / (p1 + p2 * t)).powf(p3)),
        Isotherm::ModifiedHalsey([p1, p2, p3]) => (-(p1 + p2 * t).exp() * m.powf(-p3)).exp(),
        Isotherm::ModifiedHenderson([p1, p2, p3]) => -(-p1 * (t + p3) * m.powf(p2)).exp_m1(),
        Isotherm::ModifiedChungPfost([p1, p2, p3]) => (-p1 / (t + p3) * (-p2 * m).exp()).exp(),
        Isotherm::Henderson4([p1, p2, p3, p4]) => {
            -(-p1 * (t + ZERO_CELSIUS_K - p2).powf(p3) * m.powf(p4)).exp_m1()
        }
        _ => solve(form, x, t)?,
    };
    if !(aw > 0.0 && aw < 1.0) {
        return Err(FoodsError::OutOfRange {
            what: "moisture",
            value: x,
            unit: "kg/kg db",
            allowed: "where the isotherm's water activity is between 0 and 1 in double precision",
        });
    }
    let p = moisture(form, aw, t);
    Ok(Activity { aw, d_dx: 1.0 / p.d_daw, d_dt_k: -p.d_dt_k / p.d_daw })
}

/// Bisection with 60 halvings: every form rises with activity.
fn solve(form: &Isotherm, x: f64, t: f64) -> Result<f64, FoodsError> {
    let excess = |a: f64| moisture(form, a, t).moisture_dry_basis_kg_per_kg - x;
    let (mut low, mut high) = (1e-12, 1.0 - 1e-12);
    if !(excess(low) <= 0.0 && excess(high) >= 0.0) {
        return Err(FoodsError::NoSolution {
            what: "water activity",
            value: x,
            unit: "kg/kg db",
            searched: "0 to 1",
        });
    }
    for _ in 0..60 {
        let middle = 0.5 * (low + high);
        if excess(middle) > 0.0 { high = middle } else { low = middle }
    }
    Ok(0.5 * (low + high))
}
