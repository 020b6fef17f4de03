//! The option judge against a brute-force account.

use fallrate_lethality::Answer;
use fallrate_lethality::*;
use fallrate_series::Role;
use fallrate_units::TemperatureDifference;

use crate::support::*;

fn minutes(text: &str, f: impl Fn(f64) -> f64) -> Vec<(f64, f64)> {
    text.split(' ')
        .enumerate()
        .filter(|(_, v)| *v != ".")
        .map(|(m, v)| (m as f64 * 60.0, f(v.parse().unwrap())))
        .collect()
}

/// Independent account: reference/scripts/option_cases.py looks for the end instant second by second (140 random runs
/// with gaps, 7 options each, INVENTED, COMPUTED).
#[test]
fn val_980_option_answers_against_a_search_second_by_second() {
    let text = include_str!("../../../../reference/safety/option_cases.csv");
    let mut reader = csv::Reader::from_reader(text.as_bytes());
    let headers = reader.headers().unwrap().clone();
    let (mut compared, mut wrong) = (0, Vec::new());
    for row in reader.records() {
        let row = row.unwrap();
        let get = |name: &str| row.get(headers.iter().position(|h| h == name).unwrap()).unwrap().to_owned();
        let tolerance =
            TemperatureDifference::from_fahrenheit_degrees(get("tolerance_F").parse().unwrap()).kelvin();
        for id in ["1", "3", "4", "J-A", "J-C", "J-D", "J-E"] {
            let all: Vec<_> = (0..=150).map(|m| (f64::from(m) * 60.0, 65.0)).collect();
            let mut lab = Lab::new(&[OptionId::parse(id).unwrap()])
                .with(core("coldest"), tolerance, &minutes(&get("core_F"), c))
                .with(Role::RelativeHumidity, 0.0, &minutes(&get("rh_pct"), |v| v / 100.0))
                .with(Role::SteamOn, 0.0, &minutes(&get("steam"), |v| v))
                .with(Role::AirDryBulb, 0.0, &all);
            let f = &mut lab.case.facts;
            f.record_ends = Some(at_min(150.0));
            f.earlier_minutes_in_band = get("earlier_min").parse().unwrap();
            f.drying_began = get("drying_min").parse().ok().map(at_min);
            let dry: f64 = get("dry_step_min").parse().unwrap();
            if dry > 0.0 {
                f.dry_surface_steps = vec![span_min(0.0, dry)];
            }
            let found = lab.answer();
            let wanted = match get(id).as_str() {
                "met" => Answer::Met,
                "not_met" => Answer::NotMet,
                _ => Answer::CannotBeJudged,
            };
            compared += 1;
            if found != wanted {
                wrong.push((get("case"), id, found, wanted));
            }
        }
    }
    assert_eq!(compared, 980);
    assert!(wrong.is_empty(), "{} differ: {wrong:?}", wrong.len());
}
