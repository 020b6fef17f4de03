//! What is claimed and stated, as values of a form over the batch file that the record keeps.

use std::collections::BTreeMap;

use fallrate_lethality::Retention;
use fallrate_store::{FileUse, RecordRealm, Records};
use toml_edit::{Array, ArrayOfTables, DocumentMut, Item, Table, Value, value};

use super::change::{change, of_record, record};
use super::statement_fields::{Asks, FIELDS};
use crate::AppError;
use crate::batches::Stamp;
use crate::proof::LocalClock;
use crate::proof::batch_file::Batch;
use crate::proof::record::{Record, next_name, restating_entries};

/// What is claimed and stated so far.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Statement {
    /// The batch file as it stands.
    pub toml: String,
    /// Values of the form by their paths ("claim.document"); limits as "limit.0.name".
    pub values: BTreeMap<String, String>,
    /// How many limits of the plan there are.
    pub limits: usize,
    /// Whether the record says something else than this file: it was corrected entry by entry.
    pub differs: bool,
    /// Number of the last entry, as seen.
    pub last_n: u64,
}

/// Keys of a limit of the plan.
const LIMIT_KEYS: [&str; 9] =
    ["name", "measured", "number", "position", "at_least", "at_most", "for", "class", "from"];

/// What is claimed and stated in a record; `None` where there is none.
///
/// # Errors
/// What the place of the records says.
pub fn statement(records: &mut dyn Records, id: &str) -> Result<Option<Statement>, AppError> {
    Ok(record(records, id)?.map(|r| of(&r)))
}

fn of(record: &Record) -> Statement {
    let view = record.view();
    let files = view.files.iter().rev().filter(|f| f.value.used_as == FileUse::BatchFile);
    let text = files
        .filter_map(|f| record.file(&f.value.name))
        .find_map(|bytes| String::from_utf8(bytes.to_vec()).ok())
        .unwrap_or_else(|| begun(record));
    let differs = Batch::parse("batch.toml", text.as_bytes())
        .ok()
        .filter(|_| view.claim.is_some())
        .and_then(|b| restating_entries(&b, &view).ok())
        .is_some_and(|r| !r.bodies.is_empty());
    let (values, limits) = values_of(&text);
    Statement { toml: text, values, limits, differs, last_n: view.last_n }
}

/// The batch file of a record that has none: what its first entry says.
fn begun(record: &Record) -> String {
    let view = record.view();
    let mut doc = DocumentMut::new();
    let Some(id) = &view.identity else { return String::new() };
    let i = &id.value;
    let day = LocalClock::named(&id.zone).map_or_else(|| id.at.utc_date().to_string(), |c| c.day(id.at));
    set(&mut doc, "establishment", "name", value(&i.establishment));
    set(&mut doc, "establishment", "place", value(&i.place));
    if let Some(n) = &i.establishment_number {
        set(&mut doc, "establishment", "number", value(n));
    }
    if i.realm != RecordRealm::Proof {
        set(&mut doc, "batch", "invented", value(true));
    }
    for (key, text) in
        [("product", &i.product), ("code", &i.product_code), ("lot", &i.lot), ("cabinet", &i.cabinet)]
    {
        if !text.trim().is_empty() {
            set(&mut doc, "batch", key, value(text));
        }
    }
    if !i.raw_lots.is_empty() {
        set(&mut doc, "batch", "raw_lots", list(&i.raw_lots.join(",")));
    }
    set(&mut doc, "batch", "quantity", value(format!("{} kg", i.quantity_kg)));
    set(&mut doc, "batch", "date", value(day));
    set(&mut doc, "batch", "zone", value(&id.zone));
    // The target stands there to be seen and changed; a claim needs one.
    set(&mut doc, "claim", "lethality", value("6.5 log"));
    let records = match i.retention {
        Retention::MeatShelfStable => "shelf-stable meat",
        Retention::MeatRefrigerated => "refrigerated meat",
        Retention::PreventiveControls => "other food",
    };
    set(&mut doc, "batch", "records", value(records));
    for (key, text) in
        [("name", &i.plan_name), ("version", &i.plan_version), ("control_point", &i.control_point)]
    {
        if !text.is_empty() {
            set(&mut doc, "plan", key, value(text));
        }
    }
    doc.to_string()
}

fn section<'a>(doc: &'a mut DocumentMut, name: &str) -> Option<&'a mut Table> {
    if !doc.contains_key(name) {
        doc.insert(name, Item::Table(Table::new()));
    }
    doc.get_mut(name)?.as_table_mut()
}

fn set(doc: &mut DocumentMut, name: &str, key: &str, item: Item) {
    if let Some(table) = section(doc, name) {
        table.insert(key, item);
    }
}

fn list(text: &str) -> Item {
    let parts = text.split([',', '\n']).map(str::trim).filter(|p| !p.is_empty());
    value(parts.collect::<Array>())
}

fn shown(v: &Value) -> String {
    match v {
        Value::String(s) => s.value().clone(),
        Value::Boolean(b) => if *b.value() { "yes" } else { "no" }.to_owned(),
        Value::Array(a) => a.iter().map(shown).collect::<Vec<_>>().join(", "),
        other => other.to_string().trim().to_owned(),
    }
}

fn values_of(text: &str) -> (BTreeMap<String, String>, usize) {
    let mut values = BTreeMap::new();
    let Ok(doc) = text.parse::<DocumentMut>() else { return (values, 0) };
    for field in FIELDS {
        let found = doc.get(field.section).and_then(|s| s.get(field.key)).and_then(Item::as_value);
        if let Some(v) = found {
            values.insert(field.path(), shown(v));
        }
    }
    let limits = doc.get("plan").and_then(|p| p.get("limit")).and_then(Item::as_array_of_tables);
    let count = limits.map_or(0, ArrayOfTables::len);
    for (n, limit) in limits.into_iter().flatten().enumerate() {
        for key in LIMIT_KEYS {
            if let Some(v) = limit.get(key).and_then(Item::as_value) {
                values.insert(format!("limit.{n}.{key}"), shown(v));
            }
        }
    }
    (values, count)
}

/// The batch file with values of the form put in. What the form does not know stays as it is.
///
/// # Errors
/// [`AppError::NotAValue`] where the file it starts from is no TOML.
pub fn with_values(toml: &str, values: &BTreeMap<String, String>) -> Result<String, AppError> {
    let mut doc: DocumentMut = toml.parse().map_err(|e: toml_edit::TomlError| AppError::NotAValue {
        field: "batch file".to_owned(),
        why: e.message().to_owned(),
    })?;
    for field in FIELDS {
        let Some(text) = values.get(&field.path()).map(|t| t.trim()) else { continue };
        let empty = text.is_empty();
        let item = match field.asks {
            Asks::Flag => value(text == "yes"),
            Asks::List | Asks::Options => list(text),
            _ => value(text),
        };
        if empty {
            if let Some(table) = doc.get_mut(field.section).and_then(Item::as_table_mut) {
                table.remove(field.key);
            }
        } else {
            set(&mut doc, field.section, field.key, item);
        }
    }
    limits(&mut doc, values);
    let sections: Vec<&str> = FIELDS.iter().map(|f| f.section).collect();
    for name in sections {
        let hollow = doc.get(name).and_then(Item::as_table).is_some_and(|t| t.is_empty() && name != "claim");
        if hollow {
            doc.remove(name);
        }
    }
    Ok(doc.to_string())
}

/// Limits as the form has them, in place of those the file had; one without a name and a figure is left out.
fn limits(doc: &mut DocumentMut, values: &BTreeMap<String, String>) {
    if !values.keys().any(|k| k.starts_with("limit.")) {
        return;
    }
    let old: Vec<Table> = doc
        .get("plan")
        .and_then(|p| p.get("limit"))
        .and_then(Item::as_array_of_tables)
        .map_or_else(Vec::new, |a| a.iter().cloned().collect());
    let mut all = ArrayOfTables::new();
    for n in 0..100 {
        let get = |key: &str| values.get(&format!("limit.{n}.{key}")).map(|t| t.trim());
        let Some(name) = get("name") else { break };
        let figure = ["at_least", "at_most"].iter().any(|k| get(k).is_some_and(|t| !t.is_empty()));
        if name.is_empty() && !figure {
            continue;
        }
        let mut table = old.get(n).cloned().unwrap_or_default();
        for key in LIMIT_KEYS {
            match get(key) {
                None => {}
                Some("") => {
                    table.remove(key);
                }
                Some(t) => match t.parse::<i64>().ok().filter(|_| key == "number") {
                    Some(number) => {
                        table.insert(key, value(number));
                    }
                    None => {
                        table.insert(key, value(t));
                    }
                },
            }
        }
        all.push(table);
    }
    let Some(plan) = section(doc, "plan") else { return };
    if all.is_empty() {
        plan.remove("limit");
    } else {
        plan.insert("limit", Item::ArrayOfTables(all));
    }
}

/// Keeps a batch file and enters what it changes; hands back how many entries were added. A lot, product or
/// establishment that differs is refused: those are corrected by the first entry.
///
/// # Errors
/// [`AppError::Problems`] with every problem of the file; a rule that is broken.
pub fn save_statement(
    records: &mut dyn Records,
    id: &str,
    stamp: &Stamp,
    reason: &str,
    toml: &str,
) -> Result<Option<usize>, AppError> {
    let batch = Batch::parse("batch.toml", toml.as_bytes())?;
    let own = of_record(stamp, reason);
    let done = change(records, id, stamp, |r| {
        let restated = restating_entries(&batch, &r.view())?;
        if restated.identity_differs {
            return Err(AppError::NotAValue {
                field: "batch".to_owned(),
                why:
                    "establishment, product, lot or invented differ; allowed: as in the record's first entry"
                        .to_owned(),
            });
        }
        if restated.bodies.is_empty() {
            return Ok(0);
        }
        let name = next_name(r, std::path::Path::new("batch.toml"));
        r.keep(&own, &name, toml.as_bytes(), FileUse::BatchFile, None)?;
        let count = restated.bodies.len();
        r.add(&own, restated.bodies)?;
        Ok(count)
    })?;
    Ok(done.map(|(n, _)| n.unwrap_or(0)))
}
