//! Product and cabinet files with what was approved.

use super::{DRYING_RATE, EXCHANGE, Learned};
use crate::error::AppError;
use crate::learning::LearningFault;
use crate::learning::product_file::{Change, Figure, ProductText, new_key};
use crate::learning::sheet::{Day, digits};
use crate::library::Library;
use crate::ports::MemoryFiles;

/// Half of the middle 90 % of a normal distribution, in standard deviations.
const RANGE: f64 = 1.645;

/// Value with low and high of what the next batch may be: the mean's error and the spread between batches.
fn range(v: &fallrate_fit::learn::LibraryValue) -> (f64, f64, f64) {
    let half = RANGE * v.next_batch_deviation();
    let centre = v.coordinate(v.value);
    (v.value, v.value_of(centre - half), v.value_of(centre + half))
}

/// A product's file with its approved drying rate, under the key that the new file's name gives.
///
/// # Errors
/// [`LearningFault::NotWritten`] where nothing was approved for it, [`LearningFault::FileName`], problems of the file.
pub fn learned_product(
    learned: &Learned,
    library: &Library,
    (product, path): (&str, &str),
    day: &Day,
) -> Result<String, AppError> {
    let key = new_key(library, path)?;
    let own = |l: &&super::Lesson| l.key.product.as_deref() == Some(product) && l.key.quantity == DRYING_RATE;
    let value = learned.lessons.iter().find(own).map(|l| &l.now).filter(|v| v.batches > 0);
    let value = value.ok_or_else(|| LearningFault::NotWritten {
        what: format!("nothing was approved for product '{product}'"),
        allowed: "a product with an approved change",
    })?;
    let base = ProductText::read(library, &MemoryFiles::default(), product)?;
    let mut change = Change::of(&base, &key, format!("own batches, approved by {}", day.0))?;
    let (v, low, high) = range(value);
    let text = |v: f64| format!("{} m2/s", digits(v, 4));
    change.figure(&Figure {
        at: ("diffusivity", "at_60c"),
        value: text(v),
        low: text(low),
        high: text(high),
        plain: false,
        note: format!("learned from {} closed batches with what the file said before", value.batches),
    });
    change.finish("# The diffusivity was learned from ordinary batches and approved.", &key)
}

/// A cabinet's file with its approved exchange, under the key that the new file's name gives.
///
/// # Errors
/// As [`learned_product`].
pub fn learned_cabinet(
    learned: &Learned,
    library: &Library,
    (cabinet, path): (&str, &str),
    day: &Day,
) -> Result<String, AppError> {
    let not = |what: String| LearningFault::NotWritten { what, allowed: "a cabinet with an approved change" };
    let name = path.rsplit(['/', '\\']).next().unwrap_or(path);
    let fault = || AppError::from(LearningFault::FileName { name: path.to_owned() });
    let key = name.strip_suffix(".toml").filter(|k| !k.is_empty()).ok_or_else(fault)?;
    if library.cabinets().iter().any(|c| c.key == key) {
        return Err(fault());
    }
    let own = |l: &&super::Lesson| l.key.cabinet.as_deref() == Some(cabinet) && l.key.quantity == EXCHANGE;
    let value = learned.lessons.iter().find(own).map(|l| &l.now).filter(|v| v.batches > 0);
    let value = value.ok_or_else(|| not(format!("nothing was approved for cabinet '{cabinet}'")))?;
    let known = library.cabinets().iter().find(|c| c.key == cabinet);
    let before = known.ok_or_else(|| not(format!("no cabinet '{cabinet}'")))?.heat_transfer.coefficient.value;
    let text = Library::carried_cabinet(cabinet).unwrap_or_default();
    let mut document = text.parse::<toml_edit::DocumentMut>().map_err(|e| not(e.to_string()))?;
    document["key"] = toml_edit::value(key);
    let (v, low, high) = range(value);
    let shown =
        |factor: f64| toml_edit::Value::from(format!("{} W/m2K", digits(factor * before.w_per_m2_k(), 4)));
    let mut table = toml_edit::InlineTable::new();
    for (k, v) in [("value", shown(v)), ("low", shown(low)), ("high", shown(high))] {
        table.insert(k, v);
    }
    table.insert("source", format!("own batches, approved by {}", day.0).into());
    table.insert("mark", "computed".into());
    document["heat_transfer"]["coefficient"] = toml_edit::Item::Value(table.into());
    let text = format!("# The exchange was learned from ordinary batches and approved.\n{document}");
    fallrate_equipment::Cabinet::parse(&format!("{key}.toml"), &text)?;
    Ok(text)
}
