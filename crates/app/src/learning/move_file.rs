//! The plan file for the new place: the old one's text with what had to change.

use fallrate_plan::request::{LoadAmount, StagesRequest};
use fallrate_schedule::{FanSetting, VentSetting};
use toml_edit::{DocumentMut, Table, value};

use super::move_plan::{Adjusted, MoveAsked};
use super::sheet::digits;
use crate::plan_case::PlanCase;

/// The text; none where the plan's stages are proposed.
pub(super) fn plan_text(
    there: &PlanCase,
    asked: &MoveAsked,
    here: &PlanCase,
    adjusted: &[Adjusted],
) -> Option<String> {
    if matches!(here.request.stages, StagesRequest::Propose { .. }) {
        return None;
    }
    let mut document = there.text.parse::<DocumentMut>().ok()?;
    if let Some(cabinet) = &asked.cabinet {
        document["cabinet"] = value(cabinet.as_str());
    }
    if there.cabinet.key != here.cabinet.key {
        load(document["load"].or_insert(toml_edit::Item::Table(Table::new())).as_table_like_mut()?, there);
    }
    if let Some(Adjusted::Liner { to, .. }) = adjusted.iter().find(|a| matches!(a, Adjusted::Liner { .. })) {
        document["load"]["liner"] = value(to.as_str());
    }
    if let StagesRequest::Given(stages) = &there.request.stages {
        let tables = document["stage"].as_array_of_tables_mut()?;
        for (table, stage) in tables.iter_mut().zip(stages) {
            if there.cabinet.key != here.cabinet.key {
                for key in ["swap", "turn_trays", "turn_pieces", "pull"] {
                    table.remove(key);
                }
                if let FanSetting::Step(name) = &stage.fan {
                    table["fan"] = value(name.as_str());
                }
            }
            if let VentSetting::Mark(name) = &stage.vent {
                table["vent"] = value(name.as_str());
            }
            let moved = |a: &&Adjusted| matches!(a, Adjusted::SetPoint { stage: s, .. } if *s == stage.name);
            if let Some(Adjusted::SetPoint { to_c, .. }) = adjusted.iter().find(moved) {
                table["set_point"] = value(format!("{} degC", digits(*to_c, 4)));
            }
        }
    }
    Some(document.to_string())
}

fn load(section: &mut dyn toml_edit::TableLike, there: &PlanCase) {
    for key in ["total", "per_tray", "per_area", "trays_by_group"] {
        section.remove(key);
    }
    let load = &there.request.load;
    if let LoadAmount::Total(mass) = load.amount {
        section.insert("total", value(format!("{} kg", digits(mass.kilograms(), 4))));
    }
    if let Some(trays) = load.trays {
        section.insert("trays", value(i64::from(trays)));
    }
}
