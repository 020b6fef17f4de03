//! What the batch is dried to.

use fallrate_datafile::Section;
use fallrate_schedule::{EndCondition, Piece};
use fallrate_units::{Mass, Moisture};

/// The figure aimed at.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Target {
    /// A moisture.
    Moisture(Moisture),
    /// A water activity, fraction.
    WaterActivity(f64),
    /// A weight of the whole load without trays.
    LoadWeight(Mass),
    /// A weight of the product on one tray, without the tray.
    TrayWeight(Mass),
}

/// What the batch is dried to, and which piece must meet it at unloading.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct TargetRequest {
    /// The figure.
    pub target: Target,
    /// The piece.
    pub piece: Piece,
    /// The piece was chosen by rule, not by the file.
    pub piece_by_rule: bool,
}

impl TargetRequest {
    /// The target as the end of a stage. `None` for a tray weight without the number of trays.
    #[must_use]
    pub fn end(&self, loaded_trays: Option<u32>) -> Option<EndCondition> {
        Some(match self.target {
            Target::Moisture(m) => {
                EndCondition::Moisture { piece: self.piece, dry_basis: m.dry_basis().kg_per_kg() }
            }
            Target::WaterActivity(aw) => EndCondition::WaterActivity { piece: self.piece, aw },
            Target::LoadWeight(m) => EndCondition::LoadWeight { kilograms: m.kilograms() },
            Target::TrayWeight(m) => {
                EndCondition::LoadWeight { kilograms: m.kilograms() * f64::from(loaded_trays?) }
            }
        })
    }
}

const KEYS: [&str; 4] = ["moisture", "water_activity", "load_weight", "tray_weight"];
/// Words for the pieces, in the order of [`piece_of`].
pub(super) const PIECES: [&str; 3] = ["mean", "wettest", "driest"];

pub(super) const fn piece_of(choice: usize) -> Piece {
    match choice {
        0 => Piece::Mean,
        1 => Piece::Slowest,
        _ => Piece::Fastest,
    }
}

pub(super) fn target(s: &Section<'_>) -> Option<TargetRequest> {
    let kg = Mass::from_kilograms;
    let given: Vec<&str> = KEYS.into_iter().filter(|k| s.has(k)).collect();
    match given[..] {
        [] => s.report(
            "moisture",
            "missing",
            "one of moisture ('25 % wb'), water_activity (0.80), load_weight, tray_weight",
        ),
        [first, second, ..] => s.report(second, &format!("given beside {first}"), "one target"),
        [_] => {}
    }
    let moisture = s.moisture("moisture");
    if let Some(m) = moisture.filter(|m| !(1e-3..=20.0).contains(&m.dry_basis().kg_per_kg())) {
        let shown = format!("{} kg/kg dry basis", m.dry_basis().kg_per_kg());
        s.report("moisture", &shown, "0.001 to 20 kg/kg dry basis");
    }
    let aw = s.number("water_activity", 0.05..=0.99);
    let load_weight = s.quantity("load_weight", kg(0.001)..=kg(5000.0));
    let tray_weight = s.quantity("tray_weight", kg(0.001)..=kg(50.0));
    let piece = s.choice("piece", &["mean", "wettest"]).map(piece_of);
    let target = moisture
        .map(Target::Moisture)
        .or(aw.map(Target::WaterActivity))
        .or(load_weight.map(Target::LoadWeight))
        .or(tray_weight.map(Target::TrayWeight))?;
    let by_rule = if matches!(target, Target::WaterActivity(_)) { Piece::Slowest } else { Piece::Mean };
    if matches!(target, Target::LoadWeight(_) | Target::TrayWeight(_)) && piece == Some(Piece::Slowest) {
        s.report(
            "piece",
            "'wettest' beside a weight, which says nothing of a single piece",
            "'mean', or a moisture or water activity",
        );
    }
    Some(TargetRequest { target, piece: piece.unwrap_or(by_rule), piece_by_rule: piece.is_none() })
}
