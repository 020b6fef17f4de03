//! The draft's file with what was told written into it.

use fallrate_equipment::ControllerKind;
use toml_edit::{DocumentMut, InlineTable, Item, TableLike, Value};

use super::commission::Commissioned;
use super::outcome::{Quantity, Told};

/// Standard errors on either side of a value: low and high are the 5th and 95th percentile.
const HALF_RANGE: f64 = 1.645;

/// What the measured cabinet is called.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Identity {
    /// Short key.
    pub key: String,
    /// Name; the draft's where none is given.
    pub name: Option<String>,
    /// Made up for a demonstration.
    pub invented: bool,
}

/// The text of a cabinet file: the draft's, with every figure that the tests told, its range, and where it comes from. `None`
/// where the draft's text is no cabinet file.
#[must_use]
pub fn measured_cabinet(
    draft_text: &str,
    identity: &Identity,
    source: &str,
    found: &Commissioned,
) -> Option<String> {
    let mut doc = draft_text.parse::<DocumentMut>().ok()?;
    put(doc.as_table_mut(), "key", toml_edit::value(&identity.key));
    put(doc.as_table_mut(), "invented", toml_edit::value(identity.invented));
    if let Some(name) = &identity.name {
        let mut both = InlineTable::new();
        both.insert("en", name.as_str().into());
        both.insert("es", name.as_str().into());
        put(doc.as_table_mut(), "name", Item::Value(Value::InlineTable(both)));
    }
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

/// Puts a figure in the place of the one that is there, whose comments stay.
fn put(table: &mut dyn TableLike, key: &str, item: Item) {
    match table.get_mut(key) {
        Some(there) => *there = item,
        None => {
            table.insert(key, item);
        }
    }
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
            put(table, path[1], item);
        }
    }

    fn vents(&mut self, found: &Commissioned, told: &impl Fn(Quantity) -> Option<(f64, f64)>) {
        for i in 0..found.draft.vent.marks.len() {
            // Where leakage and vent cannot be told apart their sum is, less the leakage that stays in the file.
            let leak = &found.draft.leakage.dry_air;
            let (stays, range) =
                (leak.value.kg_per_s(), (leak.high.kg_per_s() - leak.low.kg_per_s()) / (2.0 * HALF_RANGE));
            let whole = told(Quantity::FreshAir(i)).map(|(v, e)| (v - stays, e.hypot(range)));
            let shut = found.draft.vent.closes && i == 0;
            let Some((v, e)) = told(Quantity::Vent(i)).or(whole.filter(|w| w.0 > 0.0 && !shut)) else {
                continue;
            };
            let item = self.cited(v, e, "kg/s", 6);
            let marks = self
                .doc
                .get_mut("vent")
                .and_then(|v| v.get_mut("mark"))
                .and_then(Item::as_array_of_tables_mut);
            if let Some(mark) = marks.and_then(|m| m.get_mut(i)) {
                put(mark, "dry_air", item);
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
                put(group, "air_share", item);
            }
        }
    }
}
