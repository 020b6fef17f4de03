//! Files of tests of an empty cabinet.

use fallrate_equipment::Cabinet;
use fallrate_plan::assemble;
use fallrate_plan::request::PlanRequest;
use fallrate_rehearse::{CabinetTest, Scenario, TestRun, cabinet_test};
use fallrate_schedule::VentSetting;
use fallrate_series::{Channel, Instant, Rehearsal, Role};

use super::files::{is_logged, logger_files};
use super::{PracticeFile, SIMULATED_MARK};
use crate::AppError;
use crate::library::Library;
use crate::proof::LocalClock;

/// Which cabinet is tested, when and where.
#[derive(Clone, Debug, PartialEq)]
pub struct TestAsked {
    /// Seed of the cabinet and of the instruments' errors.
    pub seed: u64,
    /// Start of the first test; each of the others begins a day later.
    pub start: Instant,
    /// Time zone.
    pub zone: String,
    /// Room, degC.
    pub room_c: f64,
    /// Room, fraction.
    pub room_rh: f64,
    /// m
    pub altitude_m: f64,
}

/// The usual tests of a cabinet, cheapest first: name of the files, test.
#[must_use]
pub fn usual_tests(cabinet: &Cabinet) -> Vec<(String, CabinetTest)> {
    let greatest = cabinet.controller.set_point_greatest.value.celsius();
    let hot = greatest.min(60.0);
    let warm = greatest.min(50.0);
    let heat =
        CabinetTest::HeatUpAndCoolDown { set_point_c: hot, heat_s: 3.0 * 3600.0, cool_s: 2.5 * 3600.0 };
    let mut list = vec![("heat_up".to_owned(), heat)];
    for mark in &cabinet.vent.marks {
        let vent = VentSetting::Mark(mark.name.clone());
        let water_kg = (0.25 * cabinet.air.plenum_volume.value.cubic_metres()).max(0.05);
        let test =
            CabinetTest::HumidityDecay { set_point_c: warm, warm_s: 3600.0, water_kg, vent, decay_s: 2700.0 };
        let word: String =
            mark.name.chars().map(|c| if c.is_ascii_alphanumeric() { c } else { '_' }).collect();
        list.push((format!("humidity_{word}"), test));
    }
    let widest =
        cabinet.vent.marks.last().map_or(VentSetting::Opening(1.0), |m| VentSetting::Mark(m.name.clone()));
    list.push((
        "wet_cloths".to_owned(),
        CabinetTest::WetCloths { set_point_c: warm, vent: widest, dry_s: 1800.0 },
    ));
    list
}

/// The hidden figures that a test without food can find.
const OF_CABINET: [&str; 9] = [
    "heat_transfer_w_per_m2_k",
    "heater_w",
    "shell_loss_w_per_k",
    "shell_heat_capacity_j_per_k",
    "racks_heat_capacity_j_per_k",
    "leakage_kg_per_s",
    "vent_full_kg_per_s",
    "room_temperature_c",
    "room_relative_humidity",
];

/// Runs tests and hands back their files: for each a logger file with its mapping and a hand-entry form with weights and
/// what was done; and the hidden figures, to be opened afterwards.
///
/// # Errors
/// [`AppError::Rehearse`]; [`AppError::Cancelled`] where `progress`, told how many are done, says no.
pub fn test_files(
    library: &Library,
    cabinet: &Cabinet,
    asked: &TestAsked,
    tests: &[(String, CabinetTest)],
    progress: &mut dyn FnMut(usize) -> bool,
) -> Result<Vec<PracticeFile>, AppError> {
    let product = library.products().first().ok_or(AppError::RecordIncomplete { what: "library" })?;
    let text = format!(
        "product = \"{}\"\ncabinet = \"{}\"\n[load]\nper_area = \"1 kg/m2\"\n[room]\ntemperature = \"{} degC\"\n\
         relative_humidity = \"{} %\"\naltitude = \"{} m\"\n[target]\nmoisture = \"20 % wb\"\n",
        product.key,
        cabinet.key,
        asked.room_c,
        asked.room_rh * 100.0,
        asked.altitude_m
    );
    let request = PlanRequest::parse("test of a cabinet", &text)?;
    let assembled = assemble(&request, product, cabinet).map_err(fallrate_rehearse::RehearseError::from)?;
    let mut files = Vec::new();
    let mut hidden = String::new();
    for (n, (name, test)) in (0_u32..).zip(tests) {
        if !progress(n as usize) {
            return Err(AppError::Cancelled);
        }
        let start = asked.start.plus_seconds(86_400.0 * f64::from(n));
        let mut scenario = Scenario::new(asked.seed.wrapping_add(u64::from(n)), start, &asked.zone);
        scenario.cabinet_seed = Some(asked.seed);
        let run = cabinet_test(&assembled, cabinet, &scenario, test, &mut |_| true)?;
        let logged: Vec<&Channel<Rehearsal>> = run.log.channels.iter().filter(|c| is_logged(c)).collect();
        files.extend(logger_files(&format!("{name}.csv"), &logged)?);
        files.push(PracticeFile::text(&format!("{name}_by_hand.txt"), by_hand(&run, start, &asked.zone)));
        if hidden.is_empty() {
            hidden = super::asked::hidden_text(&run.truth, asked.seed, &OF_CABINET);
        }
    }
    files.push(PracticeFile::text("hidden.toml", hidden));
    Ok(files)
}

fn by_hand(run: &TestRun, start: Instant, zone: &str) -> String {
    let mut lines: Vec<(f64, String)> =
        run.done.iter().map(|(t, what)| (*t, format!("note {what}"))).collect();
    lines.extend(run.meter_kwh.iter().map(|(t, kwh)| (*t, format!("note energy meter {kwh:.2} kWh"))));
    // A thermometer and a hygrometer hang in the room; these two have no error.
    let room = &run.truth.room();
    lines.push((0.0, format!("room {:.1} degC", room.0)));
    lines.push((0.0, format!("room-rh {:.0} %", room.1 * 100.0)));
    for c in &run.log.channels {
        if let Role::TrayWeight { tray } = c.role {
            let weight = |r: &fallrate_series::Reading| {
                (r.at.seconds_since(start), format!("tray {tray} {:.3} kg with SCALE", r.value))
            };
            lines.extend(c.readings().iter().map(weight));
        }
    }
    lines.sort_by(|a, b| a.0.total_cmp(&b.0));
    let mut text = format!("hand entry 1\n# {SIMULATED_MARK}\n# empty tray {:.3} kg\n", run.tare_kg);
    let Some(clock) = LocalClock::named(zone) else { return text };
    text.push_str(&format!("date {}\nzone {zone}\nby trainee\nclock within 5 s\n", clock.day(start)));
    text.push_str("instrument SCALE tolerance 0.005 kg\n");
    for (t, line) in lines {
        let full = clock.full(start.plus_seconds(t));
        let mut parts = full.split(' ').skip(1);
        let (time, offset) = (parts.next().unwrap_or(""), parts.next().unwrap_or(""));
        text.push_str(&format!("{time}{offset} {line}\n"));
    }
    text
}
