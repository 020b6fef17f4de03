//! Thermometers, scales and other instruments with their calibrations: what is due, what is overdue.

use fallrate_series::{CalendarDate, Instant};
use fallrate_store::{
    Calibrated, Chain, Draft, InstrumentBody, InstrumentDescribed, InstrumentRetired, InstrumentUnit,
    Records, StoreError, StreamName, append_to, chain_of, day_in_zone,
};

use crate::batches::{Stamp, slug};

pub use fallrate_store::{
    Calibrated as Calibration, CalibrationPoint, InstrumentDescribed as Described, InstrumentUnit as Unit,
};

/// A line of an instrument's log.
#[derive(Clone, Debug, PartialEq)]
pub struct LogLine {
    /// Number of the entry.
    pub n: u64,
    /// When it was entered.
    pub at: Instant,
    /// The day it tells of.
    pub on: CalendarDate,
    /// By whom.
    pub by: String,
    /// What it says.
    pub body: InstrumentBody,
}

/// An instrument as it stands, with its log.
#[derive(Clone, Debug, PartialEq)]
pub struct Kept {
    /// Name in addresses: the plant's name of it.
    pub id: String,
    /// What it is.
    pub description: String,
    /// Unit of its figures.
    pub unit: InstrumentUnit,
    /// Tolerance in that unit.
    pub tolerance: Option<f64>,
    /// Lowest and highest value it reads.
    pub range: Option<(f64, f64)>,
    /// Day of the last calibration that was passed.
    pub calibrated_on: Option<CalendarDate>,
    /// Last day on which it holds.
    pub due: Option<CalendarDate>,
    /// Certificate or check record.
    pub certificate: String,
    /// Days between calibrations.
    pub every_days: Option<u32>,
    /// Why that interval.
    pub interval_reason: String,
    /// Whether the last check was passed and it is in use.
    pub usable: bool,
    /// Whether it is out of use.
    pub retired: bool,
    /// Its log, the latest first.
    pub log: Vec<LogLine>,
}

/// How urgent a calibration is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, serde::Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Urgency {
    /// Never passed, or the last check failed: its readings prove nothing.
    NotUsable,
    /// The last day is over.
    Overdue,
    /// Due within the days asked for.
    Soon,
}

/// An instrument whose calibration needs somebody.
#[derive(Clone, Debug, PartialEq)]
pub struct Due {
    /// Instrument.
    pub id: String,
    /// What it is.
    pub description: String,
    /// Last day of the calibration.
    pub due: Option<CalendarDate>,
    /// Days left; negative where it is over.
    pub days_left: Option<i64>,
    /// How urgent.
    pub urgency: Urgency,
}

fn kept(id: &str, chain: &Chain<InstrumentBody>) -> Option<Kept> {
    let view = chain.view(id)?;
    let described = chain.entries().iter().rev().find_map(|e| match &e.body {
        InstrumentBody::Described(d) => Some(d.clone()),
        _ => None,
    })?;
    let line = |e: &fallrate_store::Entry<InstrumentBody>| LogLine {
        n: e.n,
        at: e.at,
        on: match &e.body {
            InstrumentBody::Calibrated(c) => day_in_zone(c.happened.unwrap_or(e.at), &e.zone),
            _ => day_in_zone(e.at, &e.zone),
        },
        by: e.by.clone(),
        body: e.body.clone(),
    };
    Some(Kept {
        id: id.to_owned(),
        description: view.instrument.description,
        unit: view.unit,
        tolerance: view.instrument.tolerance,
        range: view.instrument.range,
        calibrated_on: view.instrument.calibrated_on,
        due: view.instrument.calibration_due,
        certificate: view.instrument.calibration_record,
        every_days: described.calibrate_every_days,
        interval_reason: described.interval_reason,
        usable: view.usable,
        retired: view.retired,
        log: chain.entries().iter().rev().map(line).collect(),
    })
}

/// All instruments, by their names.
///
/// # Errors
/// What the place of the records says.
pub fn instruments(records: &mut dyn Records) -> Result<Vec<Kept>, StoreError> {
    let mut out = Vec::new();
    for head in records.heads("instrument")? {
        let id = head.stream.as_str().strip_prefix("instrument/").unwrap_or_default().to_owned();
        let chain = chain_of::<InstrumentBody>(records, &head.stream)?;
        out.extend(chain.as_ref().and_then(|c| kept(&id, c)));
    }
    Ok(out)
}

/// One instrument; `None` where there is none of that name.
///
/// # Errors
/// What the place of the records says.
pub fn instrument(records: &mut dyn Records, id: &str) -> Result<Option<Kept>, StoreError> {
    let Ok(stream) = StreamName::instrument(id) else { return Ok(None) };
    Ok(chain_of::<InstrumentBody>(records, &stream)?.as_ref().and_then(|c| kept(id, c)))
}

/// Instruments in use whose calibration is over, was not passed, or is due within so many days; the most urgent first.
///
/// # Errors
/// What the place of the records says.
pub fn calibrations_due(records: &mut dyn Records, now: Instant, days: u32) -> Result<Vec<Due>, StoreError> {
    let zone = crate::batches::plant(records)?.map_or_else(|| "UTC".to_owned(), |p| p.zone);
    let today = day_in_zone(now, &zone).days_since_epoch();
    let mut out: Vec<Due> = instruments(records)?
        .into_iter()
        .filter(|i| !i.retired)
        .filter_map(|i| {
            let left = i.due.map(|d| d.days_since_epoch() - today);
            let urgency = match left {
                _ if !i.usable => Urgency::NotUsable,
                Some(left) if left < 0 => Urgency::Overdue,
                Some(left) if left <= i64::from(days) => Urgency::Soon,
                _ => return None,
            };
            Some(Due { id: i.id, description: i.description, due: i.due, days_left: left, urgency })
        })
        .collect();
    out.sort_by(|a, b| (a.urgency, a.days_left, &a.id).cmp(&(b.urgency, b.days_left, &b.id)));
    Ok(out)
}

fn enter(records: &mut dyn Records, id: &str, stamp: &Stamp, body: InstrumentBody) -> Result<(), StoreError> {
    let draft =
        Draft { at: stamp.at, zone: stamp.zone.clone(), by: stamp.by.clone(), reason: String::new(), body };
    append_to(records, &StreamName::instrument(id)?, stamp.client_id.as_deref(), None, draft)?;
    Ok(())
}

/// Describes an instrument, a new one or one that is there; hands back its name in addresses.
///
/// # Errors
/// A rule that is broken; what the place of the records says.
pub fn describe(
    records: &mut dyn Records,
    id: &str,
    stamp: &Stamp,
    what: InstrumentDescribed,
) -> Result<String, StoreError> {
    let id = address(id);
    enter(records, &id, stamp, InstrumentBody::Described(what))?;
    Ok(id)
}

/// The name of an instrument in addresses: as it is where it can stand there ("TC-1"), else its letters and digits.
#[must_use]
pub fn address(id: &str) -> String {
    let id = id.trim();
    if StreamName::instrument(id).is_ok() { id.to_owned() } else { slug(id) }
}

/// Enters a calibration or check.
///
/// # Errors
/// A rule that is broken; what the place of the records says.
pub fn calibrate(
    records: &mut dyn Records,
    id: &str,
    stamp: &Stamp,
    what: Calibrated,
) -> Result<(), StoreError> {
    enter(records, id, stamp, InstrumentBody::Calibrated(what))
}

/// Takes an instrument out of use; describing it again brings it back.
///
/// # Errors
/// What the place of the records says.
pub fn retire(records: &mut dyn Records, id: &str, stamp: &Stamp, note: &str) -> Result<(), StoreError> {
    enter(records, id, stamp, InstrumentBody::Retired(InstrumentRetired { note: note.trim().to_owned() }))
}

/// Puts what the log says of an instrument into a column that names it, where nothing else is typed.
pub fn fill(column: &mut crate::proof::desk::ColumnEdit, known: &[Kept]) {
    let Some(i) = known.iter().find(|i| !i.retired && i.id.eq_ignore_ascii_case(column.instrument.trim()))
    else {
        return;
    };
    let (unit, factor) = match i.unit {
        InstrumentUnit::Fraction => ("%", 100.0),
        unit => (unit_word(unit), 1.0),
    };
    let shown = |v: f64| format!("{} {unit}", (v * factor * 1e9).round() / 1e9);
    let put = |field: &mut String, value: Option<String>| {
        if let (true, Some(value)) = (field.trim().is_empty(), value) {
            *field = value;
        }
    };
    put(&mut column.tolerance, i.tolerance.map(shown));
    put(&mut column.low, i.range.map(|(low, _)| shown(low)));
    put(&mut column.high, i.range.map(|(_, high)| shown(high)));
    put(&mut column.calibrated_on, i.calibrated_on.map(|d| d.to_string()));
    put(&mut column.due, i.due.map(|d| d.to_string()));
    put(&mut column.certificate, Some(i.certificate.clone()));
}

pub use fallrate_store::InstrumentBody as LogEntry;

/// A figure of an instrument in the unit it is typed and shown in: the file's own word ("degC", "%", "kg").
#[must_use]
pub const fn unit_word(unit: InstrumentUnit) -> &'static str {
    match unit {
        InstrumentUnit::Celsius => "degC",
        InstrumentUnit::Fraction => "%",
        InstrumentUnit::Kilograms => "kg",
        InstrumentUnit::Ph => "pH",
        InstrumentUnit::Pascals => "Pa",
        InstrumentUnit::Watts => "W",
        InstrumentUnit::Seconds => "s",
    }
}

fn wrong(field: &str, found: &str, allowed: &str) -> crate::AppError {
    crate::AppError::NotAValue { field: field.to_owned(), why: format!("'{found}'; allowed: {allowed}") }
}

/// A figure as typed with its unit, in the base unit. `difference`: a tolerance, not a temperature.
fn figure(
    field: &str,
    text: &str,
    unit: InstrumentUnit,
    difference: bool,
) -> Result<Option<f64>, crate::AppError> {
    use fallrate_units::{Mass, Pressure, Quantity, RelativeHumidity, Temperature, TemperatureDifference};
    let text = text.trim().replace(',', ".");
    if text.is_empty() {
        return Ok(None);
    }
    let found = match unit {
        InstrumentUnit::Celsius if difference => TemperatureDifference::parse(&text).ok().map(Quantity::base),
        InstrumentUnit::Celsius => Temperature::parse(&text).ok().map(Quantity::base),
        InstrumentUnit::Fraction => RelativeHumidity::parse(&text).ok().map(Quantity::base),
        InstrumentUnit::Kilograms => Mass::parse(&text).ok().map(Quantity::base),
        InstrumentUnit::Pascals => Pressure::parse(&text).ok().map(Quantity::base),
        InstrumentUnit::Ph | InstrumentUnit::Watts | InstrumentUnit::Seconds => {
            text.trim_end_matches(unit_word(unit)).trim().parse::<f64>().ok().filter(|v| v.is_finite())
        }
    };
    let allowed = match unit {
        InstrumentUnit::Celsius => "with its unit, as '0.5 degC' or '0.9 degF'",
        InstrumentUnit::Fraction => "with its unit, as '3 %'",
        InstrumentUnit::Kilograms => "with its unit, as '0.005 kg' or '0.01 lb'",
        InstrumentUnit::Pascals => "with its unit, as '100 Pa'",
        _ => "a number",
    };
    found.map(Some).ok_or_else(|| wrong(field, &text, allowed))
}

/// A description out of the fields of a form, by their names.
///
/// # Errors
/// [`crate::AppError::NotAValue`] for a field that cannot be read.
pub fn typed_description(
    get: &dyn Fn(&str) -> String,
    _units: crate::Units,
) -> Result<InstrumentDescribed, crate::AppError> {
    let word = get("unit");
    let unit: InstrumentUnit = serde_json::from_value(serde_json::Value::String(word.clone()))
        .map_err(|_| wrong("unit", &word, "celsius, fraction, kilograms, ph, pascals, watts, seconds"))?;
    let (low, high) = (figure("low", &get("low"), unit, false)?, figure("high", &get("high"), unit, false)?);
    let days = get("every_days");
    let every = match days.trim() {
        "" => None,
        d => Some(d.parse::<u32>().map_err(|_| wrong("days", d, "a whole number of days"))?),
    };
    Ok(InstrumentDescribed {
        description: get("description").trim().to_owned(),
        unit,
        tolerance: figure("tolerance", &get("tolerance"), unit, true)?,
        range: low.zip(high),
        calibrate_every_days: every,
        interval_reason: get("interval_reason").trim().to_owned(),
    })
}

/// A calibration out of the fields of a form: points as "reference.1", "shown.1", "after.1" up to 3.
///
/// # Errors
/// As [`typed_description`].
pub fn typed_calibration(
    get: &dyn Fn(&str) -> String,
    unit: InstrumentUnit,
    stamp: &Stamp,
) -> Result<Calibrated, crate::AppError> {
    let mut points = Vec::new();
    for n in 1..=3 {
        let one = |key: &str| figure(key, &get(&format!("{key}.{n}")), unit, false);
        match (one("reference")?, one("shown")?) {
            (Some(reference), Some(shown)) => {
                points.push(fallrate_store::CalibrationPoint { reference, shown, after: one("after")? });
            }
            (None, None) => {}
            _ => {
                return Err(wrong(
                    "point",
                    &n.to_string(),
                    "both what the reference and what the instrument showed",
                ));
            }
        }
    }
    let passed = match get("passed").as_str() {
        "yes" => true,
        "no" => false,
        other => return Err(wrong("passed", other, "yes or no")),
    };
    let day = |field: &str| match get(field).trim() {
        "" => Ok(None),
        d => CalendarDate::parse(d).map(Some).map_err(|_| wrong(field, d, "a day as '2026-03-13'")),
    };
    let happened = day("on")?.and_then(|d| {
        let noon = format!("{d} 12:00");
        crate::proof::LocalClock::named(&stamp.zone).and_then(|c| c.read(&noon, stamp.at).ok())
    });
    Ok(Calibrated {
        against: get("against").trim().to_owned(),
        points,
        passed,
        tolerance: figure("tolerance", &get("tolerance"), unit, true)?,
        due: day("due")?,
        record: get("record").trim().to_owned(),
        happened: crate::batches::by_now(happened, stamp.at),
    })
}
