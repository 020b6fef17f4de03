//! A rehearsal's readings as the files that a logger and a hand would leave: a CSV with its mapping, a hand-entry form, a
//! batch file that says `invented = true`.

use fallrate_ingest::{ClockMapping, ColumnMapping, InstrumentMapping, Mapping};
use fallrate_series::{BaseUnit, CalendarDate, Channel, Event, EventKind, Instant, Log, Rehearsal, Role};

use super::SIMULATED_MARK;
use crate::AppError;
use crate::proof::LocalClock;

/// A file to be written.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct PracticeFile {
    /// Its name.
    pub name: String,
    /// Its bytes.
    pub bytes: Vec<u8>,
}

/// What the batch file states beside the readings.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct RunFacts {
    /// Establishment, marked as invented.
    pub establishment: String,
    /// Product.
    pub product: String,
    /// Lot.
    pub lot: String,
    /// Cabinet.
    pub cabinet: String,
    /// Raw mass, kg.
    pub quantity_kg: f64,
    /// Species as a batch file writes it; none where nothing is claimed.
    pub species: Option<String>,
    /// m
    pub altitude_m: f64,
    /// Start of the run: the product meets heat.
    pub start: Instant,
    /// When the vent was opened for drying, where it was.
    pub drying_began: Option<Instant>,
    /// Who practises.
    pub by: String,
    /// Vent marks that are shut.
    pub shut_marks: Vec<String>,
}

/// A reading of a logger, as a row of its file.
const LOGGER: &str = "logger.csv";

impl PracticeFile {
    pub(super) fn text(name: &str, text: String) -> Self {
        Self { name: name.to_owned(), bytes: text.into_bytes() }
    }
}

/// What writes by itself, as against what is read by hand.
pub(super) fn is_logged(c: &Channel<Rehearsal>) -> bool {
    !matches!(c.role, Role::TrayWeight { .. }) && !c.name.starts_with("by hand") && !c.readings().is_empty()
}

/// The files of a run.
///
/// # Errors
/// [`AppError::Ingest`] where a mapping cannot be written; not with readings of a virtual cabinet.
pub fn run_files(log: &Log<Rehearsal>, facts: &RunFacts) -> Result<Vec<PracticeFile>, AppError> {
    let channels: Vec<&Channel<Rehearsal>> = log.channels.iter().filter(|c| is_logged(c)).collect();
    let mut list = logger_files(LOGGER, &channels)?;
    if let Some(form) = hand_form(log, facts) {
        list.push(PracticeFile::text("by_hand.txt", form));
    }
    list.push(PracticeFile::text("batch.toml", batch_toml(log, facts)));
    Ok(list)
}

/// Unit words of a logger file, with the digits it writes.
fn unit(role: &Role) -> (&'static str, f64, usize) {
    match role.base_unit() {
        BaseUnit::Celsius => ("degC", 1.0, 1),
        BaseUnit::Fraction => ("%", 100.0, 1),
        BaseUnit::Kilograms => ("kg", 1.0, 3),
        BaseUnit::Watts => ("W", 1.0, 0),
        BaseUnit::Pascals => ("Pa", 1.0, 0),
        BaseUnit::State | BaseUnit::AsWritten => ("", 1.0, 1),
    }
}

/// A CSV of channels, one row an instant at which any of them reads, and its mapping.
pub(super) fn logger_files(
    name: &str,
    channels: &[&Channel<Rehearsal>],
) -> Result<Vec<PracticeFile>, AppError> {
    let mut times: Vec<Instant> = channels.iter().flat_map(|c| c.readings().iter().map(|r| r.at)).collect();
    times.sort_by_key(|t| t.unix_nanoseconds());
    times.dedup();
    let heading = |c: &Channel<Rehearsal>| {
        let (unit, ..) = unit(&c.role);
        if unit.is_empty() { c.name.clone() } else { format!("{} ({unit})", c.name) }
    };
    let mut text = format!("{SIMULATED_MARK}\nTime");
    channels.iter().for_each(|c| text.push_str(&format!(",{}", heading(c))));
    text.push('\n');
    let mut next = vec![0_usize; channels.len()];
    for at in times {
        text.push_str(&at.iso_utc());
        for (c, k) in channels.iter().zip(&mut next) {
            text.push(',');
            if let Some(r) = c.readings().get(*k).filter(|r| r.at == at) {
                let (_, factor, digits) = unit(&c.role);
                text.push_str(&format!("{:.digits$}", r.value * factor));
                *k += 1;
            }
        }
        text.push('\n');
    }
    let mapping = Mapping {
        version: 1,
        name: format!("{name}, simulated"),
        clock: ClockMapping {
            columns: vec!["Time".to_owned()],
            uncertainty_seconds: Some(1.0),
            declared_by: "the virtual cabinet".to_owned(),
            compared_with: "its own clock".to_owned(),
            ..ClockMapping::default()
        },
        columns: channels.iter().map(|c| column(&heading(c), c)).collect(),
        ..Mapping::new()
    };
    let stem = name.trim_end_matches(".csv");
    Ok(vec![
        PracticeFile::text(name, text),
        PracticeFile::text(&format!("{stem}.mapping.toml"), mapping.to_toml()?),
    ])
}

/// A virtual instrument was calibrated so many days before its first reading, and is due as many after it.
const CALIBRATED_DAYS: i64 = 60;

/// The same for instruments that are read by hand.
fn calibration(at: Instant) -> String {
    let day = at.utc_date().days_since_epoch();
    let off = |days: i64| CalendarDate::from_days_since_epoch(day + days);
    format!("calibrated {} due {}", off(-CALIBRATED_DAYS), off(CALIBRATED_DAYS))
}

fn days_off(c: &Channel<Rehearsal>, days: i64) -> Option<CalendarDate> {
    let first = c.readings().first()?.at.utc_date();
    Some(CalendarDate::from_days_since_epoch(first.days_since_epoch() + days))
}

fn column(heading: &str, c: &Channel<Rehearsal>) -> ColumnMapping {
    let known = !matches!(c.role, Role::Other(_));
    let mut m = ColumnMapping::with_role(heading, 0, known.then_some(&c.role));
    m.column_number = None;
    let (unit, factor, _) = unit(&c.role);
    m.unit = (known && !unit.is_empty()).then(|| unit.to_owned());
    m.instrument = known.then(|| InstrumentMapping {
        id: format!("{} (simulated)", c.name),
        tolerance: c
            .tolerance()
            .map(|t| format!("{:.3} {}", t * factor, if unit == "degC" { "K" } else { unit })),
        low: (unit == "degC").then(|| "-40 degC".to_owned()),
        high: (unit == "degC").then(|| "200 degC".to_owned()),
        calibrated_on: days_off(c, -CALIBRATED_DAYS),
        calibration_due: days_off(c, CALIBRATED_DAYS),
        calibration_record: "virtual".to_owned(),
        ..InstrumentMapping::default()
    });
    m
}

/// Weights, cores by hand and events, one line each, by time; none where there is nothing.
fn hand_form(log: &Log<Rehearsal>, facts: &RunFacts) -> Option<String> {
    let mut lines: Vec<(Instant, String)> = vec![(facts.start, "event product-met-heat".to_owned())];
    lines.extend(facts.drying_began.map(|at| (at, "event drying-began".to_owned())));
    for c in log.channels.iter().filter(|c| !is_logged(c)) {
        let what = match &c.role {
            Role::TrayWeight { tray } => format!("tray {tray}"),
            Role::CoreProbe { position, .. } => format!("core {}", position.replace(' ', "-")),
            _ => continue,
        };
        let instrument = if matches!(c.role, Role::TrayWeight { .. }) { "SCALE" } else { "HAND-PROBE" };
        let (unit, factor, digits) = unit(&c.role);
        lines.extend(
            c.readings()
                .iter()
                .map(|r| (r.at, format!("{what} {:.digits$} {unit} with {instrument}", r.value * factor))),
        );
    }
    lines.extend(log.events.iter().filter_map(|e| Some((e.at, event_line(e, &facts.shut_marks)?))));
    lines.sort_by_key(|(at, _)| at.unix_nanoseconds());
    let clock = LocalClock::named(&log.zone)?;
    let mut text = format!("hand entry 1\n# {SIMULATED_MARK}\n");
    let mut day = String::new();
    for (at, line) in lines {
        // "2026-03-13 08:05:30 -07:00"
        let full = clock.full(at);
        let mut parts = full.split(' ');
        let (date, time, offset) = (parts.next()?, parts.next()?, parts.next().unwrap_or(""));
        if day != date {
            text.push_str(&format!("date {date}\n"));
            if day.is_empty() {
                let by = if facts.by.is_empty() { "trainee" } else { &facts.by };
                text.push_str(&format!("zone {}\nby {by}\nclock within 1 s of {LOGGER}\n", log.zone));
                let of = calibration(at);
                text.push_str(&format!("instrument SCALE tolerance 0.005 kg range 0 kg to 60 kg {of}\n"));
                text.push_str(&format!(
                    "instrument HAND-PROBE tolerance 0.5 K range -40 degC to 200 degC {of}\n"
                ));
            }
            date.clone_into(&mut day);
        }
        text.push_str(&format!("{time}{offset} {line}\n"));
    }
    Some(text)
}

fn event_line(e: &Event, shut_marks: &[String]) -> Option<String> {
    let vent = |what: &str| {
        let mark = what.strip_prefix("vent to ")?;
        let shut = shut_marks.iter().any(|m| m == mark);
        Some(format!("event {} {mark}", if shut { "vent-shut" } else { "vent-opened" }))
    };
    Some(match &e.kind {
        EventKind::VentShut => "event vent-shut".to_owned(),
        EventKind::VentOpened => "event vent-opened".to_owned(),
        EventKind::SockWetted => "event sock-wetted".to_owned(),
        EventKind::Other(what) => vent(what).unwrap_or_else(|| format!("note {what}")),
        // Doors of a few seconds for a weighing are in the readings; as events they would be nothing but noise.
        _ => return None,
    })
}

fn batch_toml(log: &Log<Rehearsal>, f: &RunFacts) -> String {
    let date = LocalClock::named(&log.zone).map_or_else(String::new, |c| c.day(f.start));
    let quoted = |text: &str| toml_edit::Value::from(text).to_string().trim().to_owned();
    let positions: Vec<String> = log.core_positions().iter().map(|p| quoted(p)).collect();
    let mut text = format!(
        "# {SIMULATED_MARK}.\n# `fallrate judge` on these files gives practice only, and says so on every page.\n\n\
         [establishment]\nname = {}\nplace = \"nowhere\"\n\n[batch]\ninvented = true\nproduct = {}\nlot = {}\n\
         quantity = \"{:.1} kg\"\ncabinet = {}\ndate = \"{date}\"\nzone = {}\n",
        quoted(&f.establishment),
        quoted(&f.product),
        quoted(&f.lot),
        f.quantity_kg,
        quoted(&f.cabinet),
        quoted(&log.zone),
    );
    match &f.species {
        Some(species) => text.push_str(&format!(
            "records = \"shelf-stable meat\"\n\n[claim]\ndocument = \"cooking guideline 2021\"\noptions = [\"2\"]\n\
             lethality = \"6.5 log\"\n\n[product]\nspecies = {}\n\n[process]\norder = \"kill before drying\"\n\
             plan_limit_after_kill = \"under 4 h from 130 to 50 °F, or dry\"\nafter_kill_at_most = \"4 h\"\n\n[positions]\nrequired = [{}]\n\
             cold_spot_evidence = \"the virtual cabinet's own map\"\n\n\
             [sealed]\ntemperature = \"logger.csv\"\nvent_shut = \"by_hand.txt\"\nhumidity_held = \"logger.csv\"\n\
             seal_upkeep = \"virtual\"\n",
            quoted(species),
            positions.join(", ")
        )),
        None => text.push_str(
            "records = \"other food\"\n\n[claim]\nlethality = \"5 log\"\nnone_because = \"no kill step\"\n",
        ),
    }
    text.push_str(&format!(
        "\n[cabinet]\nkind = \"commercial\"\naltitude = \"{:.0} m\"\nopening_that_cannot_shut = false\n\
         door_kept_shut_by = \"nobody opens it but to weigh\"\n\n[monitoring]\ninterval = \"60 s\"\n",
        f.altitude_m
    ));
    text
}
