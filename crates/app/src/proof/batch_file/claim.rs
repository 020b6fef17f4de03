//! What is claimed, the plan's own limits, and common practices to look at.

use fallrate_datafile::Section;
use fallrate_ingest::{ROLE_WORDS, role_from_word};
use fallrate_lethality::{
    Claim, ClaimedDocument, CommonPractice, Endpoint, GrowthRule, LimitClass, LimitSide, LogTarget, OptionId,
    PlanGrowthLimit, PlanLimit, exposure_limits,
};
use fallrate_series::{BaseUnit, Role};
use fallrate_units::{Duration, Mass, Power, Pressure, Quantity, RelativeHumidity, Temperature};

use super::when::When;

const DOCUMENTS: [&str; 2] = ["cooking guideline 2021", "jerky guideline 2014"];
const TARGETS: [&str; 3] = ["5 log", "6.5 log", "7 log"];
const ENDPOINTS: [&str; 2] = ["tables", "poultry endpoint"];

pub(super) fn claim(root: &Section<'_>, when: &When<'_>) -> Option<Claim> {
    let s = root.required_section("claim")?;
    let document = s.choice("document", &DOCUMENTS).map(|i| match i {
        0 => ClaimedDocument::CookingGuideline2021,
        _ => ClaimedDocument::JerkyGuideline2014,
    });
    let target = s.required_choice("lethality", &TARGETS).map(|i| match i {
        0 => LogTarget::Five,
        1 => LogTarget::SixPointFive,
        _ => LogTarget::Seven,
    });
    let endpoint = match s.choice("endpoint", &ENDPOINTS) {
        Some(1) => Endpoint::PoultryEndpoint,
        _ => Endpoint::Tables,
    };
    let mut options = Vec::new();
    let texts = if s.has("options") { s.texts("options").unwrap_or_default() } else { Vec::new() };
    for text in texts {
        match OptionId::parse(&text) {
            Ok(id) => options.push(id),
            Err(_) => s.report("options", &format!("'{text}'"), &option_ids()),
        }
    }
    Some(Claim { document, options, target: target?, endpoint, claimed_at: when.instant(&s, "at") })
}

/// Every option's id, for messages.
pub(crate) fn option_ids() -> String {
    OptionId::ALL.map(OptionId::id).join(", ")
}

pub(super) fn limits(root: &Section<'_>, when: &When<'_>) -> Vec<PlanLimit> {
    let Some(plan) = root.section("plan") else { return Vec::new() };
    plan.sections("limit").iter().filter_map(|s| limit(s, when)).collect()
}

fn limit(s: &Section<'_>, when: &When<'_>) -> Option<PlanLimit> {
    let name = s.required_text("name");
    let role = role(s);
    let class = class(s);
    let minutes = s
        .quantity("for", Duration::from_seconds(0.0)..=Duration::from_hours(1000.0))
        .map(|d| d.seconds() / 60.0);
    let span = (s.has("from") || s.has("to")).then(|| when.span(s)).flatten();
    let role = role?;
    let side = match (s.has("at_least"), s.has("at_most")) {
        (true, false) => LimitSide::AtLeast,
        (false, true) => LimitSide::AtMost,
        (both, _) => {
            let found = if both { "at_least and at_most" } else { "neither at_least nor at_most" };
            s.report_here(found, "one of the two; write two limits for two sides");
            return None;
        }
    };
    let key = if side == LimitSide::AtLeast { "at_least" } else { "at_most" };
    let value = value(s, key, &role)?;
    Some(PlanLimit { name: name?, class, role, side, value, minutes, span })
}

fn class(s: &Section<'_>) -> LimitClass {
    match s.choice("class", &["critical", "label", "quality", "advice"]) {
        Some(1) => LimitClass::Label,
        Some(2) => LimitClass::Quality,
        Some(3) => LimitClass::Advice,
        _ => LimitClass::Critical,
    }
}

pub(super) fn growth_limits(root: &Section<'_>) -> Vec<PlanGrowthLimit> {
    let Some(plan) = root.section("plan") else { return Vec::new() };
    plan.sections("growth_limit").iter().filter_map(growth_limit).collect()
}

/// A printed exposure limit of one organism, or degree-hours.
fn growth_limit(s: &Section<'_>) -> Option<PlanGrowthLimit> {
    let (name, class) = (s.required_text("name"), class(s));
    let organisms = organisms();
    let names: Vec<&str> = organisms.iter().map(String::as_str).collect();
    let rule = match (s.has("organism"), s.flag("degree_hours").unwrap_or(false)) {
        (true, false) => {
            let organism = s.required_choice("organism", &names).and_then(|i| organisms.get(i))?;
            GrowthRule::Exposure { organism: organism.clone() }
        }
        (false, true) => GrowthRule::DegreeHours,
        (both, _) => {
            let found = if both { "organism and degree_hours" } else { "neither organism nor degree_hours" };
            s.report_here(found, "one of the two: an organism of the exposure table, or degree_hours = true");
            return None;
        }
    };
    Some(PlanGrowthLimit { name: name?, class, rule })
}

/// The organisms of the exposure table, each once.
fn organisms() -> Vec<String> {
    let mut out: Vec<String> = Vec::new();
    for l in exposure_limits().unwrap_or_default() {
        if !out.contains(&l.organism) {
            out.push(l.organism.clone());
        }
    }
    out
}

fn role(s: &Section<'_>) -> Option<Role> {
    let words: Vec<&str> = ROLE_WORDS.iter().copied().filter(|w| !matches!(*w, "other" | "ignore")).collect();
    let index = s.required_choice("measured", &words)?;
    let number = s.integer("number", 1..=999).and_then(|n| u16::try_from(n).ok()).unwrap_or(1);
    let position = s.text("position").unwrap_or_default();
    role_from_word(words.get(index)?, number, &position, "").flatten()
}

/// A value in the base unit of what is measured.
fn value(s: &Section<'_>, key: &str, role: &Role) -> Option<f64> {
    fn base<Q: Quantity>(s: &Section<'_>, key: &str, low: Q, high: Q) -> Option<f64> {
        s.quantity(key, low..=high).map(Quantity::base)
    }
    match role.base_unit() {
        BaseUnit::Celsius => base(s, key, Temperature::from_celsius(-40.0), Temperature::from_celsius(300.0)),
        BaseUnit::Fraction => {
            base(s, key, RelativeHumidity::from_fraction(0.0), RelativeHumidity::from_fraction(1.0))
        }
        BaseUnit::Kilograms => base(s, key, Mass::from_kilograms(0.0), Mass::from_kilograms(1e5)),
        BaseUnit::Watts => base(s, key, Power::from_watts(0.0), Power::from_watts(1e6)),
        BaseUnit::Pascals => base(s, key, Pressure::from_pascals(2e4), Pressure::from_pascals(1.2e5)),
        BaseUnit::State | BaseUnit::AsWritten => s.number(key, 0.0..=1.0),
    }
}

pub(super) fn practices(root: &Section<'_>) -> Vec<CommonPractice> {
    root.sections("practice").iter().filter_map(practice).collect()
}

fn practice(s: &Section<'_>) -> Option<CommonPractice> {
    let kind = s.required_choice("kind", &["humidity floor", "air temperature"]);
    let minutes = s
        .required("for", Duration::from_seconds(1.0)..=Duration::from_hours(1000.0))
        .map(|d| d.seconds() / 60.0);
    Some(match kind? {
        0 => {
            let least = s.required(
                "at_least",
                RelativeHumidity::from_fraction(0.01)..=RelativeHumidity::from_fraction(1.0),
            );
            CommonPractice::HumidityFloor { least: least?.fraction(), minutes: minutes? }
        }
        _ => {
            let least =
                s.required("at_least", Temperature::from_celsius(0.0)..=Temperature::from_celsius(300.0));
            CommonPractice::AirTemperature { least_c: least?.celsius(), minutes: minutes? }
        }
    })
}
