//! All of safety/worked_examples.csv.

use fallrate_air::{
    greatest_relative_humidity, humidity_ratio_from_wet_bulb, pressure_from_altitude_pa, relative_humidity,
};
use fallrate_lethality::*;
use fallrate_series::{CalendarDate, EventKind, Role};
use fallrate_units::*;
use serde_json::Value;

use crate::support::*;

#[derive(serde::Deserialize)]
struct Example {
    id: String,
    category: String,
    input_json: String,
    expected_json: String,
}

fn examples() -> Vec<(Example, Value, Value)> {
    let text = include_str!("../../../../reference/safety/worked_examples.csv");
    csv::Reader::from_reader(text.as_bytes())
        .into_deserialize()
        .map(|r| {
            let e: Example = r.unwrap();
            let (i, x) = (
                serde_json::from_str(&e.input_json).unwrap(),
                serde_json::from_str(&e.expected_json).unwrap(),
            );
            (e, i, x)
        })
        .collect()
}

fn n(v: &Value, key: &str) -> f64 {
    v[key].as_f64().unwrap_or_else(|| panic!("{key} in {v}"))
}

fn near(id: &str, found: f64, wanted: f64, tolerance: f64) {
    assert!((found - wanted).abs() <= tolerance, "{id}: {found}, wanted {wanted} within {tolerance}");
}

/// Every example is computed by one of the checks below; one (X07) is a claim about the drying model and is checked
/// where that model lives.
#[test]
fn table_all_worked_examples() {
    let all = examples();
    assert_eq!(all.len(), 105);
    for (e, i, x) in &all {
        check(e, i, x);
    }
}

fn of_categories(categories: &[&str]) {
    let all = examples();
    for category in categories {
        let mut of = all.iter().filter(|(e, ..)| e.category == *category).peekable();
        assert!(of.peek().is_some(), "no example of {category}");
        of.for_each(|(e, i, x)| check(e, i, x));
    }
}

/// proves: RULE-C09, RULE-C11, JERKY-J09, JERKY-J10, JERKY-J12, RECORD-H18, RECORD-H19
#[test]
fn table_worked_examples_of_kill_targets() {
    of_categories(&["target"]);
}

/// proves: RULE-C22, RULE-C26, TOOL-06
#[test]
fn table_worked_examples_of_traces() {
    of_categories(&["trace"]);
}

/// proves: RULE-C13, RULE-C18, RULE-C20, RULE-C40, JERKY-J07, JERKY-J17
#[test]
fn table_worked_examples_of_humidity() {
    of_categories(&["humidity"]);
}

/// proves: RULE-C14, RULE-C15
#[test]
fn table_worked_examples_of_come_up() {
    of_categories(&["come-up"]);
}

/// proves: RULE-C30, RULE-C36
#[test]
fn table_worked_examples_of_recooks_and_challenges() {
    of_categories(&["recook", "challenge"]);
}

/// proves: RULE-C27
#[test]
fn table_worked_examples_of_integrals() {
    of_categories(&["integral"]);
}

/// proves: JERKY-J27, JERKY-J28, JERKY-J29
#[test]
fn table_worked_examples_of_shelf_stability() {
    of_categories(&["shelf stability"]);
}

/// proves: JERKY-J31
#[test]
fn table_worked_examples_of_naming() {
    of_categories(&["naming"]);
}

/// proves: DEGREE-HOURS, DRIED-D13
#[test]
fn table_worked_examples_of_degree_hours() {
    of_categories(&["degree-hours"]);
}

/// proves: RECORD-H14, RECORD-P15, RECORD-P08, RECORD-H12, RECORD-H11
#[test]
fn table_worked_examples_of_records() {
    of_categories(&["retention", "review", "pre-shipment", "entry"]);
}

fn check(e: &Example, i: &Value, x: &Value) {
    match e.category.as_str() {
        "lookup" => lookup(&e.id, i, x),
        "target" => target(&e.id, i, x),
        "trace" => trace(&e.id, i, x),
        "limit" => {
            near(&e.id, n(i, "table_F") + n(i, "instrument_tolerance_F"), n(x, "critical_limit_F"), 1e-12)
        }
        "humidity" => humidity(&e.id, i, x),
        "come-up" => come_up(&e.id, i, x),
        "recook" => recook(&e.id, i, x),
        "challenge" => {
            let lower = challenge_lower_limit(n(i, "mean"), n(i, "sd"));
            near(&e.id, lower, n(x, "lower"), 0.001);
            assert_eq!(lower >= n(i, "target"), x["ok"].as_bool().unwrap());
        }
        "integral" => integral(&e.id, i, x),
        "unit" => {
            let z = TemperatureDifference::from_fahrenheit_degrees(n(i, "z_F"));
            near(&e.id, z.kelvin(), n(x, "z_C"), 1e-4);
        }
        "lethal rate" => rate(&e.id, i, x),
        "fit" => fit(&e.id, i, x),
        "psychrometric" => psychrometric(&e.id, i, x),
        "shelf stability" => shelf(&e.id, i, x),
        "naming" => naming(&e.id, i, x),
        "TCS" => {
            let treated = i["heat_treated_and_packaged"].as_bool().unwrap();
            let found = tcs(n(i, "aw"), n(i, "pH"), treated).unwrap();
            let wanted = if x["result"] == "PA" { TcsResult::ProductAssessment } else { TcsResult::NotTcs };
            assert_eq!(found, wanted, "{}", e.id);
        }
        "degree-hours" => degree_hour(&e.id, i, x),
        "yield" => yields(&e.id, i, x),
        "retention" => retention(&e.id, i, x),
        "review" => {
            let made = CalendarDate::parse(i["record_made"].as_str().unwrap()).unwrap();
            let by = working_days_after(made, n(i, "working_days") as u32);
            assert_eq!(by.to_string(), x["review_by"].as_str().unwrap());
        }
        "pre-shipment" => {
            let flag = |k: &str| i[k].as_bool().unwrap();
            let p = PreShipment {
                lot_complete: flag("lot_complete"),
                limits_met: flag("limits_met"),
                corrective_closed: flag("corrective_closed"),
            };
            assert_eq!(p.may_ship(), x["may_ship"].as_bool().unwrap());
            assert!(PreShipment { corrective_closed: true, ..p }.may_ship());
        }
        "entry" => {
            assert!(is_late_entry(at_min(600.0), at_min(990.0)), "10:00 entered at 16:30");
            assert!(!is_late_entry(at_min(600.0), at_min(602.0)));
            assert_eq!(x["flag"], "late entry");
        }
        "model against trial" => model(&e.id, i, x),
        "model check" => assert_eq!(e.id, "X07"),
        other => panic!("{}: category {other} has no check", e.id),
    }
}

fn species(text: &str) -> Species {
    match text {
        "beef" => Species::Beef,
        "pork" => Species::Pork,
        "chicken" => Species::Chicken,
        "turkey" => Species::Turkey,
        t if t.starts_with("duck") => Species::OtherPoultry,
        other => panic!("{other}"),
    }
}

fn log_target(log: f64) -> LogTarget {
    if log == 5.0 {
        LogTarget::Five
    } else if log == 6.5 {
        LogTarget::SixPointFive
    } else {
        LogTarget::Seven
    }
}

fn lookup(id: &str, i: &Value, x: &Value) {
    let t = required_times(
        species(i["species"].as_str().unwrap()),
        i["fat_pct"].as_f64(),
        log_target(n(i, "log")),
    )
    .unwrap();
    let temperature_c = i["temp_C"].as_f64().unwrap_or_else(|| celsius_from_fahrenheit(n(i, "temp_F")));
    let row = t.row_at_or_below_c(temperature_c).unwrap();
    assert_eq!(row.need_s, n(x, "time_s"), "{id}");
    if let Some(f) = x["row_F"].as_f64() {
        assert_eq!(row.row_f, f, "{id}");
    }
    if let Some(table) = x["from_table"].as_str() {
        let wanted = if table == "chicken" { "T3-7" } else { "T4-7" };
        assert_eq!(row.table_id, wanted, "{id}");
    }
}

fn target(id: &str, i: &Value, x: &Value) {
    let product = i["product"].as_str().unwrap();
    if product.starts_with("beef and chicken") {
        let t = kill_target(Species::MeatWithPoultry, false);
        assert_eq!((t.salmonella, t.poultry_tables), (n(x, "log"), true), "{id}");
    } else {
        let t = kill_target(Species::Turkey, true);
        assert_eq!(t.salmonella, n(x, "log_salmonella"), "{id}");
        assert_eq!(t.listeria, x["log_listeria"].as_f64(), "{id}");
        assert_eq!((t.stec, t.poultry_tables), (None, true), "{id}");
    }
    assert_eq!(kill_target(Species::Beef, false).salmonella, 6.5);
    assert_eq!(kill_target(Species::Turkey, false).salmonella, 7.0);
    assert_eq!(kill_target(Species::Beef, true).stec, Some(5.0));
}

fn rows_of(points: &[(f64, f64)]) -> Vec<RowDwell> {
    let end = points.last().unwrap().0;
    let points_c: Vec<_> = points.iter().map(|(s, f)| (*s, c(*f))).collect();
    let mut lab = Lab::new(&[OptionId::Rh90Share2021]).with(core("coldest"), 0.0, &points_c);
    lab.case.facts.record_ends = Some(at_s(end));
    lab.judge().positions[0].rows.clone()
}

fn trace(id: &str, i: &Value, x: &Value) {
    let row = |rows: &[RowDwell], f: f64| rows.iter().find(|r| r.row_f == f).unwrap().clone();
    match id {
        "R01" | "R02" => {
            let list =
                |k: &str| i[k].as_array().unwrap().iter().map(|v| v.as_f64().unwrap()).collect::<Vec<_>>();
            let points: Vec<_> = list("time_s").into_iter().zip(list("temp_F")).collect();
            let rows = rows_of(&points);
            if id == "R02" {
                near(id, row(&rows, 147.0).linear_s, n(x, "seconds_at_147"), 0.5);
                assert_eq!(row(&rows, 147.0).need_s, n(x, "need_147"));
                return;
            }
            for (f, s) in x["seconds_at"].as_object().unwrap() {
                near(id, row(&rows, f.parse().unwrap()).shown_s, s.as_f64().unwrap(), 1e-9);
            }
            let met: Vec<f64> =
                rows.iter().filter(|r| r.need_s > 0.0 && r.shown_s >= r.need_s).map(|r| r.row_f).collect();
            assert_eq!(met, [146.0], "{id}");
        }
        "R04" => {
            // 15 s at 154.5, 60 s at 150.5, 15 s at 154.5; readings each second, a change takes one interval of 1 ms.
            let mut points = Vec::new();
            for (from, to, f) in [(0.0, 15.0, 154.5), (15.001, 75.001, 150.5), (75.002, 90.002, 154.5)] {
                let mut s: f64 = from;
                while s < to - 1e-9 {
                    points.push((s, f));
                    s += 1.0;
                }
                points.push((to, f));
            }
            let rows = rows_of(&points);
            near(id, row(&rows, 154.0).shown_s, n(x, "total_at_154_s"), 0.01);
            near(id, row(&rows, 154.0).longest_run_s, n(x, "longest_run_at_154_s"), 0.01);
            near(id, row(&rows, 150.0).shown_s, n(x, "total_at_150_s"), 0.01);
            assert!(row(&rows, 154.0).shown_s >= row(&rows, 154.0).need_s);
            assert_eq!(row(&rows, 154.0).need_s, n(x, "need_154_s"));
            assert_eq!(row(&rows, 150.0).need_s, n(x, "need_150_s"));
        }
        "R05" => {
            // Four positions at one instant: the lowest governs, never the mean.
            let lowest = i["probes_F"]
                .as_array()
                .unwrap()
                .iter()
                .flat_map(|p| p.as_array().unwrap())
                .map(|v| v.as_f64().unwrap())
                .fold(f64::INFINITY, f64::min);
            assert_eq!(lowest, n(x, "governing_F"));
            let t = required_times(Species::Beef, None, LogTarget::SixPointFive).unwrap();
            assert_eq!(t.row_at_or_below_c(c(lowest)).unwrap().need_s, n(x, "need_s"));
            // The same through the judge: three positions at 158 F are met, the fourth decides.
            let mut lab = Lab::new(&[OptionId::Rh90Throughout2021]).rh90(0.0, 2.0, 2.0);
            for (k, f) in [158.2, 158.4, 158.1, 157.3].iter().enumerate() {
                lab = lab.with(
                    core(&format!("p{k}")),
                    0.0,
                    &[
                        (0.0, c(100.0)),
                        (10.0, c(*f)),
                        (20.0, c(*f)),
                        (23.0, c(100.0)),
                        (83.0, c(100.0)),
                        (120.0, c(100.0)),
                    ],
                );
            }
            lab.case.facts.required_positions = (0..4).map(|k| format!("p{k}")).collect();
            let j = lab.judge();
            let answers: Vec<_> = j.positions.iter().map(|p| p.answer).collect();
            assert_eq!(answers, [Answer::Met, Answer::Met, Answer::Met, Answer::NotMet]);
            assert_eq!((j.answer, j.coldest), (Answer::NotMet, Some(3)));
        }
        other => panic!("{other}"),
    }
}

fn option_of(i: &Value) -> OptionId {
    match (i["option"].as_u64(), i["edition"].as_u64()) {
        (Some(2), Some(2014)) => OptionId::JerkyB,
        (Some(k), _) => OptionId::parse(&k.to_string()).unwrap(),
        _ => OptionId::JerkyWetBulbAdvice,
    }
}

fn humidity(id: &str, i: &Value, x: &Value) {
    let option = option_of(i);
    let wanted = x["ok"].as_bool().unwrap();
    let mut lab = Lab::new(&[option]);
    let total = i["total_cook_min"].as_f64().unwrap_or(90.0);
    lab = lab.cook(total, i["endpoint_F"].as_f64().unwrap_or(150.0), i["dwell_s"].as_f64().unwrap_or(67.0));
    let dry = i["dry_surface_step_min"].as_f64().unwrap_or(0.0);
    if dry > 0.0 {
        lab.case.facts.dry_surface_steps = vec![span_min(0.0, dry)];
    }
    if let Some(m) = i["steam_min"].as_f64() {
        lab = lab.event(EventKind::SteamOn, dry, dry + m);
    }
    if let Some(m) = i["sealed_min"].as_f64() {
        lab = lab.event(EventKind::VentShut, 0.0, m);
    }
    if let Some(m) = i["rh90_min"].as_f64() {
        lab = lab.rh90(0.0, m, total);
    }
    if i["after_drying"].as_bool() == Some(true) {
        lab = lab.event(EventKind::VentShut, 0.0, total);
        lab.case.facts.order = ProcessOrder::HeatedAfterDrying { surface_wetted: Some(true) };
    }
    if let Some(db) = i["dry_bulb_F"].as_f64() {
        let p = Pressure::from_kilopascals(n(i, "pressure_kPa")).pascals();
        near(id, greatest_relative_humidity(c(db), p) * 100.0, n(x, "rh_max_pct"), 0.1);
        lab = lab.rh90_at(db, 0.0, total, total);
    }
    if i["wet_bulb_F"].is_number() {
        let wb: Vec<_> = (0..=90).map(|m| (f64::from(m) * 60.0, c(n(i, "wet_bulb_F")))).collect();
        let rh: Vec<_> = (0..=90).map(|m| (f64::from(m) * 60.0, n(i, "rh_pct") / 100.0)).collect();
        lab = lab.with(Role::AirWetBulb, 0.0, &wb).with(Role::RelativeHumidity, 0.0, &rh);
        let j = lab.judge();
        assert!(matches!(j.wet_bulb_sign, WetBulbSign::Seen { .. }), "{id}");
        assert_ne!(j.answer, Answer::Met, "{id}: advice is never an option");
        return;
    }
    let j = lab.judge();
    let o = &j.positions[0].options[0];
    let sealed = matches!(option, OptionId::Sealed2021 | OptionId::JerkyB);
    assert_eq!(o.answer, if wanted { Answer::Met } else { Answer::NotMet }, "{id}: {:#?}", o.parts);
    if let (Some(need), false) = (x["required_min"].as_f64(), sealed) {
        let part = o.parts.iter().find(|p| p.item == Item::HumidTime).unwrap();
        near(id, part.required.unwrap(), need, 1e-6);
    }
    if x["alternative"] == "option 4" {
        let hotter = lab.clone().rh90(0.0, total, total).judge();
        let four = hotter.information.iter().find(|(o, _)| *o == OptionId::Rh90Throughout2021);
        assert_eq!(four, Some(&(OptionId::Rh90Throughout2021, Answer::Met)), "{id}");
    }
}

fn come_up(id: &str, i: &Value, x: &Value) {
    let (minutes, earlier) = match i["minutes_between_50_and_130F"].as_f64() {
        Some(m) => (m, 0.0),
        None => (n(i, "second_in_band_min"), n(i, "first_in_band_min")),
    };
    let minute = 1.0 / 60.0;
    let points = [
        (0.0, 45.0),
        (10.0, 45.0),
        (10.0 + minute, 129.9),
        (10.0 + minutes, 129.9),
        (10.0 + minutes + minute, 159.0),
        (400.0, 159.0),
    ];
    let mut lab = Lab::new(&[OptionId::Rh90Throughout2021]).rh90(0.0, 400.0, 400.0);
    let points_c: Vec<_> = points.iter().map(|(m, f)| (*m, c(*f))).collect();
    lab = lab.with(core("coldest"), 0.0, &sampled(&points_c, 1.0));
    lab.case.facts.earlier_minutes_in_band = earlier;
    let part = lab.part(Item::ComeUp);
    near(id, part.shown.unwrap(), minutes + earlier, 0.05);
    let wanted = if x["ok"].as_bool().unwrap() { Answer::Met } else { Answer::NotMet };
    assert_eq!((part.answer, lab.answer()), (wanted, wanted), "{id}");
}

fn recook(id: &str, i: &Value, x: &Value) {
    let growth: Vec<f64> =
        i["modelled_growth_log"].as_object().unwrap().values().map(|v| v.as_f64().unwrap()).collect();
    near(id, recook_target(n(i, "target_log"), &growth), n(x, "recook_log"), 1e-12);
}

fn kinetics(i: &Value) -> LogLinear {
    LogLinear {
        d_ref: Duration::from_minutes(n(i, "D_min")),
        t_ref: Temperature::from_fahrenheit(n(i, "T_ref_F")),
        z: TemperatureDifference::from_fahrenheit_degrees(n(i, "z_F")),
        lowest_counted: Temperature::from_fahrenheit(60.0),
        highest_credited: Temperature::from_fahrenheit(200.0),
    }
}

fn integral(id: &str, i: &Value, x: &Value) {
    let mut points = Vec::new();
    if let Some(hold) = i["hold_F"].as_f64() {
        let minutes = i["water_activity_fell_at_min"].as_f64().unwrap_or_else(|| n(i, "hold_min"));
        points.extend([(0.0, c(hold)), (minutes * 60.0, c(hold))]);
    } else {
        let (a, b) = (n(i, "from_F"), n(i, "to_F"));
        let mut s = (b - a) / n(i, "rate_F_per_min") * 60.0;
        points.extend([(0.0, c(a)), (s, c(b))]);
        if let Some(hold) = i["then_hold_min"].as_f64() {
            s += hold * 60.0;
            points.push((s, c(b)));
            let down = n(i, "then_cool_to_F");
            s += (b - down) / n(i, "cool_rate_F_per_min") * 60.0;
            points.push((s, c(down)));
        }
    }
    let tolerance = if points.len() > 2 || i["from_F"].is_number() { 1e-5 } else { 1e-6 };
    near(id, log_reduction_exact(&points, &kinetics(i)).unwrap().log10(), n(x, "log"), tolerance);
}

fn rate(id: &str, i: &Value, x: &Value) {
    let (t, t_ref) = (n(i, "T_C"), n(i, "T_ref_C"));
    let found = lethal_rate(t, t_ref, n(i, "z_C"));
    near(id, found / n(x, "lethal_rate"), 1.0, 0.001);
    near(id, n(i, "F_ref_min") / found / n(x, "time_6D_min"), 1.0, 0.01);
}

/// The straight line of log10(time) on F, fitted here by least squares to the compiled-in rows, is shorter than the
/// table: it must never stand in for it.
fn fit(id: &str, i: &Value, x: &Value) {
    let times = match i["series"].as_str().unwrap() {
        "meat_6.5log" => required_times(Species::Beef, None, LogTarget::SixPointFive),
        "chicken_7log_fat12" => required_times(Species::Chicken, Some(12.0), LogTarget::Seven),
        _ => required_times(Species::Turkey, Some(12.0), LogTarget::Seven),
    };
    let points: Vec<(f64, f64)> =
        times.unwrap().rows.iter().filter(|r| r.need_s > 0.0).map(|r| (r.row_f, r.need_s.log10())).collect();
    let k = points.len() as f64;
    let (mx, my) = (points.iter().map(|p| p.0).sum::<f64>() / k, points.iter().map(|p| p.1).sum::<f64>() / k);
    let slope = points.iter().map(|p| (p.0 - mx) * (p.1 - my)).sum::<f64>()
        / points.iter().map(|p| (p.0 - mx).powi(2)).sum::<f64>();
    near(id, -1.0 / slope / n(i, "z_F"), 1.0, 0.005);
    let f = n(i, "temp_F");
    let fit_s = 10f64.powf(my + slope * (f - mx));
    near(id, fit_s / n(x, "fit_s"), 1.0, 0.005);
    let table_s = 10f64.powf(points.iter().find(|p| p.0 == f).unwrap().1);
    near(id, table_s, n(x, "table_s"), 1e-9);
    assert!(fit_s < table_s);
}

fn psychrometric(id: &str, i: &Value, x: &Value) {
    let db = i["dry_bulb_C"].as_f64().or_else(|| i["dry_bulb_F"].as_f64().map(c));
    let wb = i["wet_bulb_C"].as_f64().or_else(|| i["wet_bulb_F"].as_f64().map(c));
    let list = |v: &Value| match v.as_array() {
        Some(a) => a.iter().map(|p| p.as_f64().unwrap()).collect::<Vec<_>>(),
        None => vec![v.as_f64().unwrap()],
    };
    if let Some(ft) = i["altitude_ft"].as_f64() {
        let p = pressure_from_altitude_pa(Altitude::from_feet(ft).metres());
        near(id, p / 1000.0, n(x, "pressure_kPa"), 0.05);
        return;
    }
    let (db, pressures) = (db.unwrap(), list(&i["pressure_kPa"]));
    let rh_at = |wb: f64, kpa: f64| {
        let p = kpa * 1000.0;
        relative_humidity(db, humidity_ratio_from_wet_bulb(db, wb, p), p) * 100.0
    };
    if let Some(wb) = wb {
        let tolerance = if db < 83.0 && wb < 31.0 { 0.3 } else { 0.5 };
        for (kpa, wanted) in pressures.iter().zip(list(&x["rh_pct"])) {
            near(id, rh_at(wb, *kpa), wanted, tolerance);
        }
        if let Some(high) = x["rh_pct_84kPa3"].as_f64() {
            near(id, rh_at(wb, 84.3), high, 0.5);
        }
    } else if let Some(rh) = i["rh_pct"].as_f64() {
        let p = pressures[0] * 1000.0;
        let w = fallrate_air::humidity_ratio_from_relative_humidity(db, rh / 100.0, p);
        near(id, fallrate_air::wet_bulb_c(db, w, p), n(x, "wet_bulb_C"), 0.3);
    } else {
        for (kpa, wanted) in pressures.iter().zip(list(&x["rh_max_pct"])) {
            near(id, greatest_relative_humidity(db, kpa * 1000.0) * 100.0, wanted, 0.5);
        }
    }
}

fn shelf(id: &str, i: &Value, x: &Value) {
    let pack = if i["pack"] == "air" { Pack::Air } else { Pack::OxygenProofVacuum };
    let s = shelf_stable(n(i, "aw"), pack, i["single_serving"].as_bool().unwrap()).unwrap();
    assert_eq!(Some(s.shelf_stable), x["shelf_stable"].as_bool(), "{id}");
    assert_eq!(Some(s.refrigerate_after_opening), x["refrigerate_after_opening"].as_bool(), "{id}");
}

fn naming(id: &str, i: &Value, x: &Value) {
    let mpr = moisture_to_protein_ratio(n(i, "moisture_pct"), n(i, "protein_pct")).unwrap();
    near(id, mpr, n(x, "mpr"), 0.001);
    let s = shelf_stable(n(i, "aw"), Pack::Air, false).unwrap();
    assert_eq!(Some(s.shelf_stable), x["shelf_stable"].as_bool(), "{id}");
    assert_eq!(Some(may_be_called_jerky(mpr, s)), x["may_be_called_jerky"].as_bool(), "{id}");
}

fn degree_hour(id: &str, i: &Value, x: &Value) {
    let steps: Vec<(f64, f64)> = i["segments"]
        .as_array()
        .unwrap()
        .iter()
        .map(|s| (s[0].as_f64().unwrap(), s[1].as_f64().unwrap()))
        .collect();
    let d = degree_hours(&steps).unwrap();
    near(id, d.degree_hours_f, n(x, "degree_hours"), 1e-9);
    assert_eq!((d.limit_f, d.within), (n(x, "limit"), x["ok"].as_bool().unwrap()), "{id}");
}

fn yields(id: &str, i: &Value, x: &Value) {
    if let Some(wb) = i["moisture_wb_pct"].as_f64() {
        let db = MoistureDryBasis::from_wet_basis(MoistureWetBasis::from_percent(wb));
        near(id, db.kg_per_kg(), n(x, "moisture_db_kg_per_kg"), 1e-12);
        return;
    }
    // The solids stay: final mass = fresh mass x solids fresh / solids target, through the two moistures.
    let x_of = |solids: f64| {
        MoistureDryBasis::from_wet_basis(MoistureWetBasis::from_percent(100.0 - solids)).kg_per_kg()
    };
    let solids = n(i, "fresh_oz") / (1.0 + x_of(n(i, "solids_fresh_pct")));
    let last = solids * (1.0 + x_of(n(i, "solids_target_pct")));
    near(id, last, n(x, "final_oz"), 0.01);
    near(id, n(i, "fresh_oz") - last, n(x, "removed_oz"), 0.01);
}

fn retention(id: &str, i: &Value, x: &Value) {
    let made = CalendarDate::parse(i["made"].as_str().unwrap()).unwrap();
    let kind = if i["product"] == "refrigerated" {
        Retention::MeatRefrigerated
    } else {
        Retention::PreventiveControls
    };
    assert_eq!(kind.keep_until(made).to_string(), x["keep_until"].as_str().unwrap(), "{id}");
    if let Some(h) = x["return_within_h"].as_f64() {
        assert_eq!(f64::from(kind.back_within_hours()), h, "{id}");
    }
}

/// Model against trial: the surface taken at the wet bulb, one stage, D of the table over the target. It gives less kill
/// than was measured: a floor, not a forecast. The shortfall is printed.
fn model(id: &str, i: &Value, x: &Value) {
    if let Some(hours) = i["hours"].as_f64() {
        assert_eq!(hours, 6.0);
        let (p, db) = (101_325.0, n(i, "air_C"));
        let w = fallrate_air::humidity_ratio_from_relative_humidity(db, n(i, "rh_pct") / 100.0, p);
        near(id, fallrate_air::wet_bulb_c(db, w, p), n(x, "wet_bulb_C"), 0.3);
        assert!(n(x, "measured_log") < 5.0);
        return;
    }
    let k = LogLinear {
        d_ref: Duration::from_minutes(n(i, "D_min")),
        t_ref: Temperature::from_fahrenheit(n(i, "wet_bulb_F")),
        z: TemperatureDifference::from_fahrenheit_degrees(10.0),
        lowest_counted: Temperature::from_fahrenheit(60.0),
        highest_credited: Temperature::from_fahrenheit(200.0),
    };
    let t = c(n(i, "wet_bulb_F"));
    let log = log_reduction_exact(&[(0.0, t), (n(i, "minutes") * 60.0, t)], &k).unwrap().log10();
    near(id, log, n(x, "model_log"), 0.05);
    let measured = n(x, "measured_log_salmonella");
    println!("{id}: model {log:.2} log10, measured {measured:.1}, model low by {:.2}", measured - log);
    assert_eq!(log < measured, x["model_below_measured"].as_bool().unwrap());
}
