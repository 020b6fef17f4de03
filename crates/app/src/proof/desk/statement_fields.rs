//! The facts a verdict needs, as fields of a form: each with its place in the batch file and what it asks for.

/// What a field asks for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Asks {
    /// A few words.
    Words,
    /// A list of words, with commas between.
    List,
    /// A quantity with its unit, as the example says.
    Quantity(&'static str),
    /// A clock time of the batch's day, or a date with a clock time.
    Clock,
    /// A day.
    Day,
    /// Yes, no, or not stated.
    Flag,
    /// One of these: word of the file, and key of its words for people.
    Choice(&'static [(&'static str, &'static str)]),
    /// Any of the humidity options.
    Options,
}

/// A field of the form.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct StatedField {
    /// Section of the batch file.
    pub section: &'static str,
    /// Key in it.
    pub key: &'static str,
    /// Key of its label.
    pub label: &'static str,
    /// What it asks for.
    pub asks: Asks,
}

impl StatedField {
    /// "claim.document".
    #[must_use]
    pub fn path(&self) -> String {
        format!("{}.{}", self.section, self.key)
    }
}

const fn f(section: &'static str, key: &'static str, label: &'static str, asks: Asks) -> StatedField {
    StatedField { section, key, label, asks }
}

const DOCUMENT: &[(&str, &str)] =
    &[("cooking guideline 2021", "document-cooking-2021"), ("jerky guideline 2014", "document-jerky-2014")];
const LETHALITY: &[(&str, &str)] =
    &[("6.5 log", "desk-log-six-half"), ("5 log", "desk-log-five"), ("7 log", "desk-log-seven")];
const ENDPOINT: &[(&str, &str)] =
    &[("tables", "desk-endpoint-tables"), ("poultry endpoint", "desk-endpoint-poultry")];
const SPECIES: &[(&str, &str)] = &[
    ("beef", "species-beef"),
    ("pork", "species-pork"),
    ("lamb", "species-lamb"),
    ("other red meat", "species-other-red-meat"),
    ("chicken", "species-chicken"),
    ("turkey", "species-turkey"),
    ("other poultry", "species-other-poultry"),
    ("meat with poultry", "species-meat-with-poultry"),
];
const ORDER: &[(&str, &str)] = &[
    ("kill before drying", "desk-order-before"),
    ("heated after drying", "desk-order-after"),
    ("drying alone", "desk-order-alone"),
    ("cooked several times", "desk-order-several"),
];
const DRYER: &[(&str, &str)] = &[("commercial", "desk-dryer-commercial"), ("home-style", "desk-dryer-home")];
const STEAM: &[(&str, &str)] = &[
    ("injection", "desk-steam-injection"),
    ("water on hot elements", "desk-steam-elements"),
    ("pan of water", "desk-steam-pan"),
];
const PACK: &[(&str, &str)] = &[("air", "desk-pack-air"), ("oxygen-proof vacuum", "desk-pack-vacuum")];
const RECORDS: &[(&str, &str)] = &[
    ("shelf-stable meat", "desk-keep-stable"),
    ("refrigerated meat", "desk-keep-cold"),
    ("other food", "desk-keep-other"),
];

/// Every field, in the order of the form.
pub const FIELDS: [StatedField; 42] = [
    f("claim", "document", "desk-f-document", Asks::Choice(DOCUMENT)),
    f("claim", "options", "desk-f-options", Asks::Options),
    f("claim", "lethality", "desk-f-lethality", Asks::Choice(LETHALITY)),
    f("claim", "endpoint", "desk-f-endpoint", Asks::Choice(ENDPOINT)),
    f("claim", "none_because", "desk-f-none-because", Asks::Words),
    f("product", "species", "desk-f-species", Asks::Choice(SPECIES)),
    f("product", "fat", "desk-f-fat", Asks::Quantity("5 %")),
    f("product", "cured", "desk-f-cured", Asks::Flag),
    f("product", "smoked", "desk-f-smoked", Asks::Flag),
    f("process", "met_heat", "desk-f-met-heat", Asks::Clock),
    f("process", "clock_within", "desk-f-clock-within", Asks::Quantity("30 s")),
    f("process", "drying_began", "desk-f-drying-began", Asks::Clock),
    f("process", "order", "desk-f-order", Asks::Choice(ORDER)),
    f("process", "surface_wetted", "desk-f-surface-wetted", Asks::Flag),
    f("process", "product_dry", "desk-f-product-dry", Asks::Clock),
    f("process", "record_ends", "desk-f-record-ends", Asks::Clock),
    f("process", "earlier_growth_time", "desk-f-earlier-growth", Asks::Quantity("20 min")),
    f("process", "dry_step_support", "desk-f-dry-step-support", Asks::Words),
    f("process", "plan_limit_after_kill", "desk-f-after-kill", Asks::Words),
    f("process", "after_kill_at_most", "desk-f-after-kill-most", Asks::Quantity("90 min")),
    f("positions", "required", "desk-f-positions", Asks::List),
    f("positions", "cold_spot_evidence", "desk-f-cold-spot", Asks::Words),
    f("cabinet", "kind", "desk-f-dryer", Asks::Choice(DRYER)),
    f("cabinet", "altitude", "desk-f-altitude", Asks::Quantity("640 m")),
    f("cabinet", "opening_that_cannot_shut", "desk-f-opening", Asks::Flag),
    f("cabinet", "door_kept_shut_by", "desk-f-door", Asks::Words),
    f("cabinet", "steam", "desk-f-steam", Asks::Choice(STEAM)),
    f("monitoring", "interval", "desk-f-interval", Asks::Quantity("60 s")),
    f("sealed", "temperature", "desk-f-sealed-temperature", Asks::Words),
    f("sealed", "vent_shut", "desk-f-sealed-vent", Asks::Words),
    f("sealed", "humidity_held", "desk-f-sealed-humidity", Asks::Words),
    f("sealed", "seal_upkeep", "desk-f-sealed-upkeep", Asks::Words),
    f("lot", "pack", "desk-f-pack", Asks::Choice(PACK)),
    f("lot", "shelf_stable", "desk-f-shelf-stable", Asks::Flag),
    f("lot", "single_serving", "desk-f-single-serving", Asks::Flag),
    f("lot", "called_jerky", "desk-f-called-jerky", Asks::Flag),
    f("plan", "name", "desk-f-plan", Asks::Words),
    f("plan", "version", "desk-f-plan-version", Asks::Words),
    f("plan", "control_point", "desk-f-control-point", Asks::Words),
    f("batch", "date", "desk-f-date", Asks::Day),
    f("batch", "raw_lots", "desk-f-raw-lots", Asks::List),
    f("batch", "records", "desk-f-records", Asks::Choice(RECORDS)),
];

/// What a limit of the plan may be about: word of the file.
pub const WORDS_OF_MEASURED: [&str; 6] = ["core", "air", "wet-bulb", "rh", "surface", "room"];
