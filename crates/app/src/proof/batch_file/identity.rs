//! Who made what, and which lot it is.

use fallrate_datafile::Section;
use fallrate_lethality::Retention;
use fallrate_units::Mass;

/// Who made what, and which lot it is.
#[derive(Clone, Debug, PartialEq)]
pub struct BatchIdentity {
    /// The establishment.
    pub establishment: String,
    /// Where it is.
    pub place: String,
    /// Its official number, where it has one.
    pub number: String,
    /// The product.
    pub product: String,
    /// The plant's code for it.
    pub code: String,
    /// The lot.
    pub lot: String,
    /// Lots of raw material.
    pub raw_lots: Vec<String>,
    /// Raw mass loaded.
    pub quantity: Option<Mass>,
    /// The cabinet.
    pub cabinet: String,
    /// Plan by its name.
    pub plan: String,
    /// Its version.
    pub plan_version: String,
    /// Critical control point and limit as the plan writes them.
    pub control_point: String,
    /// Invented for a demonstration: marked so on every page, and never a verdict.
    pub invented: bool,
    /// How long its records are kept.
    pub retention: Retention,
}

pub(super) fn read(root: &Section<'_>, batch: &Section<'_>) -> Option<BatchIdentity> {
    let text = |s: &Option<Section<'_>>, key: &str| s.as_ref().and_then(|s| s.text(key)).unwrap_or_default();
    let establishment = root.required_section("establishment");
    let plan = root.section("plan");
    let name = establishment.as_ref().and_then(|s| s.required_text("name"));
    let (product, lot) = (batch.required_text("product"), batch.required_text("lot"));
    let kept = ["shelf-stable meat", "refrigerated meat", "other food"];
    let retention = match batch.choice("records", &kept) {
        Some(1) => Retention::MeatRefrigerated,
        Some(2) => Retention::PreventiveControls,
        _ => Retention::MeatShelfStable,
    };
    Some(BatchIdentity {
        place: text(&establishment, "place"),
        number: text(&establishment, "number"),
        establishment: name?,
        product: product?,
        lot: lot?,
        code: batch.text("code").unwrap_or_default(),
        raw_lots: if batch.has("raw_lots") {
            batch.texts("raw_lots").unwrap_or_default()
        } else {
            Vec::new()
        },
        quantity: batch.quantity("quantity", Mass::from_kilograms(0.001)..=Mass::from_kilograms(1e5)),
        cabinet: batch.text("cabinet").unwrap_or_default(),
        plan: text(&plan, "name"),
        plan_version: text(&plan, "version"),
        control_point: text(&plan, "control_point"),
        invented: batch.flag("invented").unwrap_or(false),
        retention,
    })
}
