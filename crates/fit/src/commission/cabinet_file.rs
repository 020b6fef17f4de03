//! The draft's file with what was told written into it.

use fallrate_equipment::ControllerKind;
use toml_edit::{DocumentMut, InlineTable, Item, Value};

use super::commission::Commissioned;
use super::outcome::{Quantity, Told};

/// Standard errors on either side of a value: low and high are the 5th and 95th percentile.
const HALF_RANGE: f64 = 1.645;

/// The text of a cabinet file: the draft's, with every figure that the tests told, its range, and where it comes from. `None`
/// where the draft's text is no cabinet file.
#[must_use]
pub fn measured_cabinet(draft_text: &str, key: &str, source: &str, found: &Commissioned) -> Option<String> {
    let mut doc = draft_text.parse::<DocumentMut>().ok()?;
    doc["key"] = toml_edit::value(key);
    let mut pen = Pen { doc: &mut doc, source };
    let told = |q: Quantity| match found.outcome(q)?.told {
        Told::Yes { value, standard_error } => Some((value, standard_error)),
        _ => None,
    };
    let f = &found.figures;
    if let Some((v, e)) = told(Quantity::HeaterPower) {
        pen.figure(&["heater", "measured"], v / 1e3, e / 1e3, "kW", 3);
    }
    if let Some((v, e)) = told(Quantity::HeatCapacity) {
        let share = e / v;
        pen.figure(
            &["shell", "heat_capacity"],
            f.shell_j_per_k / 1e3,
            share.max(0.04) * f.shell_j_per_k / 1e3,
            "kJ/K",
            2,
        );
        pen.figure(
            &["racks", "heat_capacity"],
            f.racks_j_per_k / 1e3,
            share.max(0.08) * f.racks_j_per_k / 1e3,
            "kJ/K",
            2,
        );
    }
    if let Some((v, e)) = told(Quantity::ShellLoss) {
        pen.figure(&["shell", "loss"], f.loss_w_per_k, e / v * f.loss_w_per_k, "W/K", 2);
    }
    if let Some((v, e)) = told(Quantity::Leakage) {
        pen.figure(&["leakage", "dry_air"], v, e, "kg/s", 6);
    }
    pen.vents(found, &told);
    if let Some((v, e)) = told(Quantity::DisplayOffset) {
        pen.figure(&["controller", "displayed_offset"], v, e, "K", 2);
    }
    if let (Some((v, e)), ControllerKind::OnOff { .. }) = (told(Quantity::Band), &found.draft.controller.kind)
    {
        pen.figure(&["controller", "hysteresis"], v, e, "K", 2);
    }
    if let Some((v, e)) = told(Quantity::SensorLag) {
        pen.figure(&["controller", "sensor_lag"], v, e, "s", 0);
    }
    if let Some((v, e)) = told(Quantity::Exchange) {
        pen.figure(&["heat_transfer", "coefficient"], v, e, "W/m2K", 1);
    }
    pen.groups(found, &told);
    Some(doc.to_string())
}

struct Pen<'a> {
    doc: &'a mut DocumentMut,
    source: &'a str,
}

impl Pen<'_> {
    fn cited(&self, value: f64, error: f64, unit: &str, digits: usize) -> Item {
        let low = if unit == "K" && value < 0.0 {
            value - HALF_RANGE * error
        } else {
            (value - HALF_RANGE * error).min(value)
        };
        let low = if value > 0.0 && unit != "K" { low.max(0.05 * value) } else { low };
        let text = |v: f64| {
            let number = format!("{v:.digits$}");
            if unit.is_empty() { number } else { format!("{number} {unit}") }
        };
        let mut table = InlineTable::new();
        for (key, v) in [("value", value), ("low", low), ("high", value + HALF_RANGE * error)] {
            let item = if unit.is_empty() {
                Value::from((v * 10f64.powi(4)).round() / 10f64.powi(4))
            } else {
                Value::from(text(v))
            };
            table.insert(key, item);
        }
        table.insert("source", self.source.into());
        table.insert("mark", "computed".into());
        Item::Value(Value::InlineTable(table))
    }

    fn figure(&mut self, path: &[&str; 2], value: f64, error: f64, unit: &str, digits: usize) {
        let item = self.cited(value, error, unit, digits);
        if let Some(table) = self.doc.get_mut(path[0]).and_then(Item::as_table_like_mut) {
            table.insert(path[1], item);
        }
    }

    fn vents(&mut self, found: &Commissioned, told: &impl Fn(Quantity) -> Option<(f64, f64)>) {
        for i in 0..found.draft.vent.marks.len() {
            // Where leakage and vent cannot be told apart their sum is, less what the draft has for the leakage.
            let whole = told(Quantity::FreshAir(i)).map(|(v, e)| {
                (v - found.figures.leakage_kg_per_s, e.hypot(0.3 * found.figures.leakage_kg_per_s))
            });
            let Some((v, e)) = told(Quantity::Vent(i)).or(whole.filter(|w| w.0 > 0.0 && i > 0)) else {
                continue;
            };
            let item = self.cited(v, e, "kg/s", 6);
            let marks = self
                .doc
                .get_mut("vent")
                .and_then(|v| v.get_mut("mark"))
                .and_then(Item::as_array_of_tables_mut);
            if let Some(mark) = marks.and_then(|m| m.get_mut(i)) {
                mark.insert("dry_air", item);
            }
        }
    }

    /// The mean of a group's trays; scaled so that all trays average 1.
    fn groups(&mut self, found: &Commissioned, told: &impl Fn(Quantity) -> Option<(f64, f64)>) {
        let count = found.draft.trays.count as usize;
        let Some(shares) = (0..count).map(|t| told(Quantity::AirShare(t))).collect::<Option<Vec<_>>>() else {
            return;
        };
        let mut at = 0;
        for (i, g) in found.draft.groups.iter().enumerate() {
            let own = &shares[at.min(count)..(at + g.trays as usize).min(count)];
            at += g.trays as usize;
            #[allow(clippy::cast_precision_loss)]
            let n = own.len().max(1) as f64;
            let mean = own.iter().map(|s| s.0).sum::<f64>() / n;
            let error = (own.iter().map(|s| s.1 * s.1).sum::<f64>()).sqrt() / n;
            let item = self.cited(mean, error, "", 4);
            let groups = self.doc.get_mut("tray_group").and_then(Item::as_array_of_tables_mut);
            if let Some(group) = groups.and_then(|a| a.get_mut(i)) {
                group.insert("air_share", item);
            }
        }
    }
}
