//! Stage ends as signed functions: positive while the condition is not reached.

use fallrate_schedule::{EndCondition, Piece};

use crate::physics::chamber::relative_humidity;
use crate::physics::system::System;
use crate::view::{LABORATORY_K, LoadState, load_state, load_weight};

/// The signed distance to a condition at a state, in its own unit; none for elapsed time, which is a bound.
pub(crate) fn distance(condition: &EndCondition, system: &System, y: &[f64]) -> Option<f64> {
    let chosen = |piece: Piece, s: &LoadState| match piece {
        Piece::Mean => s.mean,
        Piece::Slowest => s.slowest,
        Piece::Fastest => s.fastest,
    };
    let chamber = &y[system.chamber_at()..];
    Some(match *condition {
        EndCondition::Elapsed { .. } => return None,
        EndCondition::CoreRise { kelvin } => {
            system.food.material.temperature_initial_c + kelvin - load_state(system, y).coldest
        }
        EndCondition::CoreReaches { celsius, .. } => celsius - load_state(system, y).coldest,
        EndCondition::Moisture { piece, dry_basis } => chosen(piece, &load_state(system, y)) - dry_basis,
        EndCondition::WaterActivity { piece, aw } => {
            let x = chosen(piece, &load_state(system, y));
            system.food.material.sorption.activity(x, LABORATORY_K).aw - aw
        }
        EndCondition::LoadWeight { kilograms } => load_weight(system, load_state(system, y).mean) - kilograms,
        EndCondition::ChamberRhBelow { fraction } => relative_humidity(&system.batch, chamber) - fraction,
        EndCondition::ChamberRhAbove { fraction } => fraction - relative_humidity(&system.batch, chamber),
    })
}

/// How long a condition must hold, s.
pub(crate) fn hold_s(condition: &EndCondition) -> f64 {
    match condition {
        EndCondition::CoreReaches { hold_s, .. } => *hold_s,
        _ => 0.0,
    }
}

/// Finds where `f` falls through zero between `low` (positive) and `high` (not positive), to `tolerance`.
pub(crate) fn root(mut low: f64, mut high: f64, tolerance: f64, mut f: impl FnMut(f64) -> f64) -> f64 {
    let (mut f_low, mut f_high) = (f(low), f(high));
    let mut side = 0;
    for _ in 0..80 {
        if high - low <= tolerance || f_high == 0.0 {
            break;
        }
        // Illinois variant of the false position; a bisection where it would not help.
        let mut mid = (low * f_high - high * f_low) / (f_high - f_low);
        if !(mid > low && mid < high) {
            mid = 0.5 * (low + high);
        }
        let value = f(mid);
        if value > 0.0 {
            low = mid;
            f_low = value;
            if side == 1 {
                f_high *= 0.5;
            }
            side = 1;
        } else {
            high = mid;
            f_high = value;
            if side == -1 {
                f_low *= 0.5;
            }
            side = -1;
        }
    }
    high
}
