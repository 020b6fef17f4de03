//! A moved recipe as JSON.

use fallrate_plan::compare::mechanism;
use serde_json::json;

use super::move_plan::{Adjusted, MoveRun};
use super::sheet::json as text;

/// The moved recipe as JSON: a forecast, no evidence.
#[must_use]
pub fn move_json(run: &MoveRun) -> String {
    let adjusted: Vec<_> = run
        .adjusted
        .iter()
        .map(|a| match a {
            Adjusted::Trays { from, to } => json!({"kind": "trays", "from": from, "to": to}),
            Adjusted::Fan { stage, to, from_m_per_s } => json!({
                "kind": "fan", "stage": stage, "to": to.0, "to_m_per_s": to.1, "from_m_per_s": from_m_per_s}),
            Adjusted::Vent { stage, from, to, off_k } => json!({
                "kind": "vent", "stage": stage, "from": from, "to": to,
                "wet_bulb_off_k_before": off_k.0, "wet_bulb_off_k": off_k.1}),
            Adjusted::SetPoint { stage, from_c, to_c } => {
                json!({"kind": "set_point", "stage": stage, "from_c": from_c, "to_c": to_c})
            }
            Adjusted::Liner { from, to } => json!({"kind": "liner", "from": from, "to": to}),
            Adjusted::Groups => json!({"kind": "groups_left_out"}),
        })
        .collect();
    let stages: Vec<_> = run
        .stages
        .iter()
        .map(|s| {
            json!({"name": s.name, "lasts_s": s.lasts_s, "wet_bulb_c": s.wet_bulb_c,
                "relative_humidity": s.relative_humidity, "core_coldest_at_end_c": s.core_c,
                "heater_at_limit": s.heater_full, "condition_reached": s.reached})
        })
        .collect();
    let ends: Vec<f64> = run.compared.ways.iter().map(|w| mechanism(&w.planned.plan).end_s).collect();
    text(&json!({"forecast": true, "end_s_here_and_there": ends, "adjusted": adjusted,
        "stages_here_and_there": stages, "plan_there": run.text}))
}
