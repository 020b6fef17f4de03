//! A process authority's own criterion, and a study adopted as a schedule.

use fallrate_datafile::Section;
use fallrate_lethality::{
    AdoptedSchedule, Approval, AuthorityCriterion, DrynessProxy, HumidityCondition, LogLinear, StageLimits,
    StudyGap, studies,
};
use fallrate_units::{Duration, LogReduction, RelativeHumidity, Temperature, TemperatureDifference};

use super::when::When;

pub(super) fn authority(root: &Section<'_>, when: &When<'_>) -> Option<AuthorityCriterion> {
    let s = root.section("authority")?;
    let (author, document) = (s.required_text("author"), s.required_text("document"));
    let product_range = s.required_text("product_range");
    let target = s.required_number("log_reduction", 0.1..=20.0);
    let celsius = Temperature::from_celsius(0.0)..=Temperature::from_celsius(150.0);
    let d_ref = s.required("d_value", Duration::from_seconds(0.01)..=Duration::from_hours(100.0));
    let t_ref = s.required("reference", celsius.clone());
    let z = s.required(
        "z_difference",
        TemperatureDifference::from_kelvin(1.0)..=TemperatureDifference::from_kelvin(50.0),
    );
    let lowest = s.required("lowest_counted", celsius.clone());
    let highest = s.required("highest_credited", celsius);
    let humidity = s.section("humidity").and_then(|h| {
        let least = h.required(
            "at_least",
            RelativeHumidity::from_fraction(0.0)..=RelativeHumidity::from_fraction(1.0),
        );
        let length = h.required("for", Duration::from_seconds(0.0)..=Duration::from_hours(100.0));
        Some(HumidityCondition { least: least?, minutes: length?.seconds() / 60.0 })
    });
    let dryness = dryness(&s, when);
    let approved = approval(&s, when, "approved_by", "approved_at");
    Some(AuthorityCriterion {
        author: author?,
        document: document?,
        product_range: product_range?,
        target: LogReduction::from_log10(target?),
        kinetics: LogLinear {
            d_ref: d_ref?,
            t_ref: t_ref?,
            z: z?,
            lowest_counted: lowest?,
            highest_credited: highest?,
        },
        humidity,
        dryness,
        approved,
    })
}

fn dryness(s: &Section<'_>, when: &When<'_>) -> Option<DrynessProxy> {
    let above = s.quantity(
        "surface_above_wet_bulb",
        TemperatureDifference::from_kelvin(0.1)..=TemperatureDifference::from_kelvin(50.0),
    );
    let stated = when.instant(s, "surface_dry_at");
    if above.is_some() && stated.is_some() {
        s.report("surface_dry_at", "surface_above_wet_bulb and surface_dry_at", "one of the two");
    }
    above.map(DrynessProxy::SurfaceAboveWetBulb).or(stated.map(DrynessProxy::StatedInstant))
}

fn approval(s: &Section<'_>, when: &When<'_>, by: &str, at: &str) -> Option<Approval> {
    let name = s.text(by)?;
    let at = when.required_instant(s, at)?;
    Some(Approval { name, at })
}

const GAPS: [(&str, StudyGap); 10] = [
    ("species", StudyGap::Species),
    ("form", StudyGap::Form),
    ("marinade", StudyGap::Marinade),
    ("thickness", StudyGap::ThicknessNotComparable),
    ("wet bulb not stated", StudyGap::WetBulbNotStated),
    ("wet bulb lower", StudyGap::WetBulbLower),
    ("wet bulb shorter", StudyGap::WetBulbShorter),
    ("5 log not reached", StudyGap::FiveLogNotReached),
    ("formulation and equipment", StudyGap::FormulationAndEquipment),
    ("other", StudyGap::FormulationAndEquipment),
];

pub(super) fn schedule(root: &Section<'_>, when: &When<'_>) -> Option<AdoptedSchedule> {
    let s = root.section("schedule")?;
    let trial = s.required_text("trial");
    let known: Vec<&str> =
        studies().map(|l| l.iter().map(|t| t.trial_id.as_str()).collect()).unwrap_or_default();
    if let Some(trial) = trial.as_ref().filter(|t| !known.contains(&t.as_str())) {
        s.report("trial", &format!("'{trial}'"), &known.join(", "));
    }
    let product_and_equipment = s.required_text("product_and_equipment");
    let names = GAPS.each_ref().map(|(n, _)| *n);
    let mismatches = s
        .sections("mismatch")
        .iter()
        .filter_map(|m| {
            let what = m.required_choice("what", &names).and_then(|i| GAPS.get(i)).map(|(_, g)| *g);
            let why = m.required_text("why");
            Some((what?, why?))
        })
        .collect();
    Some(AdoptedSchedule {
        stages: s.sections("stage").iter().filter_map(|m| stage(m, when)).collect(),
        mismatches,
        adopted: approval(&s, when, "adopted_by", "adopted_at"),
        trial_id: trial?,
        product_and_equipment: product_and_equipment?,
    })
}

fn stage(s: &Section<'_>, when: &When<'_>) -> Option<StageLimits> {
    let celsius = Temperature::from_celsius(-10.0)..=Temperature::from_celsius(150.0);
    let name = s.required_text("name");
    let span = when.span(s);
    let minutes = s.required("for", Duration::from_seconds(0.0)..=Duration::from_hours(100.0));
    Some(StageLimits {
        dry_bulb_at_least: s.quantity("dry_bulb_at_least", celsius.clone()),
        dry_bulb_at_most: s.quantity("dry_bulb_at_most", celsius.clone()),
        wet_bulb_at_least: s.quantity("wet_bulb_at_least", celsius),
        rh_at_least: s.quantity(
            "rh_at_least",
            RelativeHumidity::from_fraction(0.0)..=RelativeHumidity::from_fraction(1.0),
        ),
        name: name?,
        span: span?,
        minutes: minutes?.seconds() / 60.0,
    })
}
