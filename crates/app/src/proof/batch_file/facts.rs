//! What is stated about product, process, cabinet and evidence.

use fallrate_air::pressure_from_altitude;
use fallrate_datafile::Section;
use fallrate_lethality::{
    BatchFacts, CabinetKind, NoHumidityEvidence, OptionId, ProcessOrder, SealedPapers, Species, StatedClock,
    SteamSource, StudyQuery,
};
use fallrate_units::{Altitude, Duration, Length, Mass, Pressure, RelativeHumidity};

use super::when::When;

/// Animals by their words.
pub(crate) const SPECIES: [(&str, Species); 8] = [
    ("beef", Species::Beef),
    ("pork", Species::Pork),
    ("lamb", Species::Lamb),
    ("other red meat", Species::OtherRedMeat),
    ("chicken", Species::Chicken),
    ("turkey", Species::Turkey),
    ("other poultry", Species::OtherPoultry),
    ("meat with poultry", Species::MeatWithPoultry),
];

pub(super) fn read(root: &Section<'_>, when: &When<'_>, interval: Duration) -> BatchFacts {
    let mut f = BatchFacts::new(interval);
    if let Some(s) = root.section("product") {
        product(&s, &mut f);
    }
    if let Some(s) = root.section("process") {
        process(&s, when, &mut f);
    }
    if let Some(s) = root.section("cabinet") {
        cabinet(&s, &mut f);
    }
    if let Some(s) = root.section("positions") {
        f.required_positions = s.required_texts("required").unwrap_or_default();
        f.cold_spot_evidence = s.text("cold_spot_evidence");
    }
    if let Some(s) = root.section("sealed") {
        f.sealed_papers = SealedPapers {
            temperature: s.text("temperature"),
            damper_shut: s.text("vent_shut"),
            humidity_held: s.text("humidity_held"),
            seal_upkeep: s.text("seal_upkeep"),
        };
    }
    f.no_humidity = root.sections("no_humidity").iter().filter_map(no_humidity).collect();
    f
}

fn product(s: &Section<'_>, f: &mut BatchFacts) {
    let names = SPECIES.map(|(n, _)| n);
    f.species = s.choice("species", &names).and_then(|i| SPECIES.get(i)).map(|(_, species)| *species);
    // A share in per cent; the type for percentages stands in for it.
    let percent = RelativeHumidity::from_percent(0.0)..=RelativeHumidity::from_percent(100.0);
    f.fat_percent = s.quantity("fat", percent).map(|q| (q.percent() * 1e9).round() / 1e9);
    f.cured = s.flag("cured");
    f.smoked = s.flag("smoked");
}

fn process(s: &Section<'_>, when: &When<'_>, f: &mut BatchFacts) {
    f.stated_clock = stated_clock(s);
    f.product_met_heat = when.instant(s, "met_heat");
    f.drying_began = when.instant(s, "drying_began");
    f.product_dry = when.instant(s, "product_dry");
    f.record_ends = when.instant(s, "record_ends");
    let day = Duration::from_seconds(0.0)..=Duration::from_hours(1000.0);
    f.earlier_minutes_in_band = s.quantity("earlier_growth_time", day).map_or(0.0, |d| d.seconds() / 60.0);
    let wetted = s.flag("surface_wetted");
    let orders = ["kill before drying", "heated after drying", "drying alone", "cooked several times"];
    f.order = match s.choice("order", &orders) {
        Some(1) => ProcessOrder::HeatedAfterDrying { surface_wetted: wetted },
        Some(2) => ProcessOrder::DryingAlone,
        Some(3) => ProcessOrder::CookedSeveralTimes,
        _ => ProcessOrder::KillBeforeDrying,
    };
    f.dry_surface_steps = s.sections("dry_step").iter().filter_map(|s| when.span(s)).collect();
    f.dry_step_support = s.text("dry_step_support");
    f.plan_limit_after_kill = s.text("plan_limit_after_kill");
    f.after_kill_at_most_min = s
        .quantity("after_kill_at_most", Duration::from_seconds(0.0)..=Duration::from_hours(1000.0))
        .map(|d| d.seconds() / 60.0);
    if f.after_kill_at_most_min.is_some() && f.plan_limit_after_kill.is_none() {
        s.report_here("after_kill_at_most", "with plan_limit_after_kill, the limit's name in the plan");
    }
}

/// By which clock the times of this section were read.
fn stated_clock(s: &Section<'_>) -> Option<StatedClock> {
    let within = s.quantity("clock_within", Duration::from_seconds(0.0)..=Duration::from_hours(24.0));
    let of_file = s.text("clock_of");
    if of_file.is_some() && within.is_some() {
        s.report("clock_of", "clock_of and clock_within", "one of the two");
    }
    of_file
        .map(|file_name| StatedClock::OfFile { file_name })
        .or(within.map(|w| StatedClock::Own { uncertainty_s: w.seconds() }))
}

fn cabinet(s: &Section<'_>, f: &mut BatchFacts) {
    f.cabinet = s.choice("kind", &["commercial", "home-style"]).map(|i| match i {
        0 => CabinetKind::Commercial,
        _ => CabinetKind::HomeStyle,
    });
    f.steam_source =
        s.choice("steam", &["injection", "water on hot elements", "pan of water"]).map(|i| match i {
            0 => SteamSource::Injection,
            1 => SteamSource::WaterOnHotElements,
            _ => SteamSource::PanOfWater,
        });
    f.opening_that_cannot_shut = s.flag("opening_that_cannot_shut");
    f.door_kept_shut = s.text("door_kept_shut_by");
    let pressure = s.quantity("air_pressure", Pressure::from_pascals(4e4)..=Pressure::from_pascals(1.2e5));
    let altitude = s.quantity("altitude", Altitude::from_metres(-500.0)..=Altitude::from_metres(6000.0));
    f.air_pressure = match (pressure, altitude) {
        (Some(_), Some(_)) => {
            s.report("altitude", "altitude and air_pressure", "one of the two");
            None
        }
        (p, a) => p.or_else(|| a.and_then(|a| pressure_from_altitude(a).ok())),
    };
}

fn no_humidity(s: &Section<'_>) -> Option<NoHumidityEvidence> {
    const IDS: [&str; 5] = ["N1", "N2", "N3", "N4", "N5"];
    let option =
        s.required_choice("option", &IDS).and_then(|i| IDS.get(i)).and_then(|id| OptionId::parse(id).ok());
    let record = s.required_text("record");
    Some(NoHumidityEvidence {
        throughout: s.flag("throughout"),
        moving_hot_air: s.flag("moving_hot_air"),
        water_added: s.flag("water_added"),
        smallest_piece_kg: s
            .quantity("smallest_piece", Mass::from_kilograms(0.001)..=Mass::from_kilograms(1000.0))
            .map(Mass::kilograms),
        option: option?,
        record: record?,
    })
}

/// What published trials are looked up by.
pub(super) fn trials_like(root: &Section<'_>) -> StudyQuery {
    let Some(s) = root.section("product") else { return StudyQuery::default() };
    let thin = Length::from_millimetres(0.1)..=Length::from_millimetres(200.0);
    StudyQuery {
        species: s.text("species").unwrap_or_default(),
        form: s.text("form").unwrap_or_default(),
        marinated: s.flag("marinated"),
        thickness_mm: s.quantity("thickness", thin).map(|l| l.millimetres()),
        ..StudyQuery::default()
    }
}
