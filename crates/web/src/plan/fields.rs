//! The entries of a plan: keys of the plan file, what each asks for, where it stands in the form.

use fallrate_app::Asked;

/// A part of the form; all but the first are folds.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Part {
    First,
    Pieces,
    Room,
    Hours,
    Money,
}

/// One entry.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Field {
    /// Path of the key in the plan file.
    pub key: &'static str,
    /// Its name on the page.
    pub label: &'static str,
    pub asked: Asked,
    pub part: Part,
}

const fn field(key: &'static str, label: &'static str, asked: Asked, part: Part) -> Field {
    Field { key, label, asked, part }
}

/// Every typed entry but those of the stages, in the order of the form.
pub(crate) const FIELDS: [Field; 27] = [
    field("load.amount", "web-field-load", Asked::Mass, Part::First),
    field("load.trays", "web-field-trays", Asked::Count, Part::First),
    field("target.moisture", "web-field-moisture", Asked::Moisture, Part::First),
    field("target.water_activity", "web-field-activity", Asked::Activity, Part::First),
    field("start.at", "web-field-start", Asked::Clock, Part::First),
    field("piece.thickness", "web-field-thickness", Asked::Thickness, Part::Pieces),
    field("piece.thickness_sd", "web-field-thickness-sd", Asked::Thickness, Part::Pieces),
    field("raw.solids", "web-field-solids", Asked::Share, Part::Pieces),
    field("raw.salt", "web-field-salt", Asked::Share, Part::Pieces),
    field("raw.sugar", "web-field-sugar", Asked::Share, Part::Pieces),
    field("load.temperature", "web-field-load-temperature", Asked::RoomTemperature, Part::Pieces),
    field("room.temperature", "web-field-room-temperature", Asked::RoomTemperature, Part::Room),
    field("room.relative_humidity", "web-field-room-humidity", Asked::Humidity, Part::Room),
    field("room.altitude", "web-field-altitude", Asked::Altitude, Part::Room),
    field("room.night_temperature", "web-field-night-temperature", Asked::RoomTemperature, Part::Room),
    field("room.night_relative_humidity", "web-field-night-humidity", Asked::Humidity, Part::Room),
    field("room.night_hours", "web-field-night-hours", Asked::Hours, Part::Room),
    field("staff.hours", "web-field-staff", Asked::Hours, Part::Hours),
    field("timer.unload_at", "web-field-unload-at", Asked::Clock, Part::Hours),
    field("money.currency", "web-field-currency", Asked::Words, Part::Money),
    field("money.energy_price_per_kwh", "web-field-energy", Asked::Number, Part::Money),
    field("money.labour", "web-field-labour", Asked::Duration, Part::Money),
    field("money.labour_price_per_hour", "web-field-wage", Asked::Number, Part::Money),
    field("money.raw_price_per_kg", "web-field-raw-price", Asked::Number, Part::Money),
    field("money.product_price_per_kg", "web-field-product-price", Asked::Number, Part::Money),
    field("money.wet_batch_cost", "web-field-wet-cost", Asked::Number, Part::Money),
    field("title", "web-field-title", Asked::Words, Part::First),
];

/// Prices that stand per kilogram in the plan file and per pound on a page in US units.
pub(crate) const PER_MASS: [&str; 2] = ["money.raw_price_per_kg", "money.product_price_per_kg"];

/// Entries chosen from a list, and hidden ones.
pub(crate) const CHOSEN: [&str; 9] = [
    "product",
    "cabinet",
    "load.kind",
    "load.liner",
    "target.kind",
    "target.piece",
    "timer.dialled",
    "timer.unload",
    "stages",
];

/// Most stages a form holds.
pub(crate) const MOST_STAGES: usize = 9;

/// Entries of a stage, after "stage.N.".
pub(crate) const STAGE_FIELDS: [(&str, &str, Asked); 6] = [
    ("name", "web-stage-name", Asked::Words),
    ("set_point", "web-stage-set-point", Asked::Temperature),
    ("vent", "web-stage-vent", Asked::Words),
    ("until_value", "web-stage-until-value", Asked::Words),
    ("hold", "web-stage-hold", Asked::Duration),
    ("at_most", "web-stage-at-most", Asked::Duration),
];

/// What a stage may end by: the key of the plan file, its name, what its value asks for.
pub(crate) const STAGE_ENDS: [(&str, &str, Asked); 6] = [
    ("target", "web-until-target", Asked::Words),
    ("core", "web-until-core", Asked::Temperature),
    ("moisture", "web-until-moisture", Asked::Moisture),
    ("water_activity", "web-until-activity", Asked::Activity),
    ("humidity_below", "web-until-humidity", Asked::Humidity),
    ("elapsed", "web-until-elapsed", Asked::Duration),
];
