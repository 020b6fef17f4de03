//! What is done to the load between two stages.

use crate::physics::system::System;
use crate::{AlongPosition, Batch, EndPieces, SimulateError};

/// Done by hand at the start of a stage.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Action {
    /// Trays of two groups change places. The groups must hold the same number of loaded trays.
    SwapGroups {
        /// Index of a group.
        a: usize,
        /// Index of the other.
        b: usize,
    },
    /// Every tray is turned end for end, so that the air-leaving end becomes the air-entering one.
    TurnTrays,
    /// Every piece is turned over on its tray.
    TurnPieces,
    /// Trays of a group are taken out.
    PullTrays {
        /// Index of a group.
        group: usize,
        /// How many.
        trays: f64,
    },
}

/// Carries out the actions on the batch's load and the state. Water and heat that leave with pulled trays are returned
/// as (kg water, J).
pub(crate) fn apply(
    actions: &[Action],
    stage: &str,
    batch: &mut Batch,
    system: &System,
    y: &mut [f64],
) -> Result<(f64, f64), SimulateError> {
    let mut left = (0.0, 0.0);
    let len = system.piece_len();
    let groups = batch.load.groups.len();
    let per_group = system.places.len() / groups;
    let block = per_group * len;
    let impossible = |what: String, allowed: String| SimulateError::ImpossibleAction {
        stage: stage.to_owned(),
        what,
        allowed,
    };
    for action in actions {
        match *action {
            Action::SwapGroups { a, b } => {
                if a >= groups || b >= groups || a == b {
                    return Err(impossible(
                        format!("swap of tray groups {} and {}", a + 1, b + 1),
                        format!("two different groups of 1 to {groups}"),
                    ));
                }
                let (la, lb) = (batch.load.groups[a].loaded_trays, batch.load.groups[b].loaded_trays);
                if (la - lb).abs() > 1e-9 {
                    return Err(impossible(
                        format!("swap of groups with {la} and {lb} loaded trays"),
                        "groups with as many loaded trays".to_owned(),
                    ));
                }
                for i in 0..block {
                    y.swap(a * block + i, b * block + i);
                }
            }
            Action::TurnTrays => {
                // End pieces of different sizes stay where they are: they stand for the worst places, not for trays.
                let alike = batch.load.ends == EndPieces::ALIKE;
                let first = usize::from(!alike && batch.exchange.along_position == AlongPosition::Mean);
                for g in 0..groups {
                    for p in first..per_group / 2 {
                        for i in 0..len {
                            y.swap(g * block + p * len + i, g * block + (per_group - 1 - p) * len + i);
                        }
                    }
                }
            }
            Action::TurnPieces => {
                if system.food.grid.dimensions > 1.0 {
                    continue;
                }
                let nodes = system.food.grid.nodes;
                for piece in y[..system.chamber_at()].chunks_exact_mut(len) {
                    for j in 0..nodes / 2 {
                        piece.swap(2 * j, 2 * (nodes - 1 - j));
                        piece.swap(2 * j + 1, 2 * (nodes - 1 - j) + 1);
                    }
                }
            }
            Action::PullTrays { group, trays } => {
                let loaded = batch.load.groups.get(group).map_or(0.0, |g| g.loaded_trays);
                if !(trays > 0.0 && trays < loaded) {
                    return Err(impossible(
                        format!("pull of {trays} trays from group {}", group + 1),
                        format!("more than 0 and fewer than the {loaded} loaded there"),
                    ));
                }
                // The places still stand for what was loaded before this stage's actions.
                let share = trays / system.batch.load.groups[group].loaded_trays;
                for (i, place) in system.places.iter().enumerate().filter(|(_, p)| p.group == group) {
                    let piece = system.piece(y, i);
                    left.0 += share * place.area * system.food.grid.solids * system.food.mean_moisture(piece);
                    left.1 += share * place.area * system.food.enthalpy(piece);
                }
                batch.load.groups[group].loaded_trays = loaded - trays;
            }
        }
    }
    Ok(left)
}
