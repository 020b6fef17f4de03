//! Thin-layer equations fitted to drying curves: of a table, or of the trays of trials.

use fallrate_fit::thin_layer::{
    Conditions, RatioCurve, RatioPoint, ThinLayerEquation, ThinLayerFit, ThinLayerStudy, ThinLayerWarning,
    fit_thin_layer,
};
use fallrate_fit::trial::{TrialAir, TrialFit, Unknown};
use fallrate_foods::Product;
use fallrate_units::{AirSpeed, Duration, Length, Moisture, Quantity, RelativeHumidity, Temperature};
use serde_json::{Value, json};

use super::LearningFault;
use super::isotherm::spoken_moisture;
use super::sheet::json;
use super::table::{Table, Wanted};
use super::trial::TrialFile;
use crate::error::AppError;

const TIME: Wanted = Wanted { name: "time", words: &["time", "elapsed", "elapsed time", "tiempo", "t"] };
const RATIO: Wanted = Wanted {
    name: "moisture ratio",
    words: &["moisture ratio", "mr", "razón de humedad", "relación de humedad"],
};
const MOISTURE: Wanted =
    Wanted { name: "moisture", words: &["moisture", "moisture content", "humedad", "contenido de humedad"] };
const CURVE: Wanted =
    Wanted { name: "curve", words: &["curve", "trial", "tray", "curva", "ensayo", "bandeja"] };
const AIR: Wanted =
    Wanted { name: "air temperature", words: &["air", "air temperature", "aire", "temperatura del aire"] };
const HUMIDITY: Wanted =
    Wanted { name: "relative humidity", words: &["rh", "relative humidity", "humedad relativa", "hr"] };

/// What is known of curves where their table does not say it.
#[derive(Clone, Debug, Default)]
pub struct ThinAsked {
    /// Air.
    pub air: Option<Temperature>,
    /// Air.
    pub humidity: Option<RelativeHumidity>,
    /// Air.
    pub speed: Option<AirSpeed>,
    /// Pieces, fresh.
    pub thickness: Option<Length>,
    /// Moisture that the air would leave, where moistures are given.
    pub equilibrium: Option<Moisture>,
    /// Product whose isotherm gives that moisture where none is given.
    pub product: Option<Product>,
}

/// Curves with the study of their equations.
#[derive(Clone, Debug)]
pub struct ThinRun {
    /// Where they come from.
    pub file: String,
    /// Whether they are made up.
    pub invented: bool,
    /// Curves.
    pub curves: Vec<RatioCurve>,
    /// Equations, ranked.
    pub study: ThinLayerStudy,
}

/// Fits thin-layer equations to the curves of a table.
///
/// # Errors
/// [`LearningFault`] for a table that cannot be read, [`AppError::Fit`] for curves that are none.
pub fn thin_layer(file: &str, bytes: &[u8], asked: &ThinAsked) -> Result<ThinRun, AppError> {
    let curves = curves(&Table::read(file, bytes)?, file, asked)?;
    let study = fit_thin_layer(&curves, &ThinLayerEquation::ALL)?;
    Ok(ThinRun { file: file.to_owned(), invented: false, curves, study })
}

/// One row of a table.
struct Row {
    curve: String,
    elapsed_s: f64,
    value: f64,
    air_c: f64,
    humidity: Option<f64>,
}

fn curves(table: &Table, file: &str, asked: &ThinAsked) -> Result<Vec<RatioCurve>, AppError> {
    let ratio = table.column(&RATIO)?;
    let rows = rows(table, file, ratio, asked)?;
    let mut names: Vec<String> = Vec::new();
    for r in &rows {
        if !names.contains(&r.curve) {
            names.push(r.curve.clone());
        }
    }
    let curve = |name: &String| -> Result<RatioCurve, AppError> {
        let own: Vec<&Row> = rows.iter().filter(|r| r.curve == *name).collect();
        let first = own[0];
        let conditions = Conditions {
            temperature_c: first.air_c,
            relative_humidity: first.humidity,
            air_speed_m_per_s: asked.speed.map(AirSpeed::m_per_s),
            size_m: asked.thickness.map(Length::metres),
        };
        let (start, end) = match ratio {
            Some(_) => (1.0, 0.0),
            None => (first.value, equilibrium(name, &conditions, asked)?),
        };
        let point =
            |r: &&Row| RatioPoint { elapsed_s: r.elapsed_s, moisture_ratio: (r.value - end) / (start - end) };
        Ok(RatioCurve::new(name, conditions, own.iter().map(point).collect())?)
    };
    names.iter().map(curve).collect()
}

fn rows(table: &Table, file: &str, ratio: Option<usize>, asked: &ThinAsked) -> Result<Vec<Row>, AppError> {
    let time = table.needed(&TIME, "'time (min)' or 'time (h)'")?;
    let value = match ratio {
        Some(column) => column,
        None => table.needed(&MOISTURE, "'moisture ratio', 'moisture (% wb)' or 'moisture (kg/kg db)'")?,
    };
    let (air, humidity) = (table.column(&AIR)?, table.column(&HUMIDITY)?);
    let names = table.column(&CURVE)?.map(|c| table.texts(c));
    let mut list = Vec::new();
    let cell = |column: Option<usize>, n: usize| column.and_then(|c| table.cells(c).nth(n));
    for (n, (t, v)) in table.cells(time).zip(table.cells(value)).enumerate() {
        let air_c = match (cell(air, n), asked.air) {
            (Some(c), _) => table.quantity("air temperature", &c, Temperature::parse)?.celsius(),
            (None, Some(t)) => t.celsius(),
            (None, None) => return Err(LearningFault::NoTemperature { file: file.to_owned() }.into()),
        };
        let humidity = match cell(humidity, n) {
            Some(c) => Some(table.quantity("relative humidity", &c, RelativeHumidity::parse)?.fraction()),
            None => asked.humidity.map(RelativeHumidity::fraction),
        };
        let value = match ratio {
            Some(_) => table.number("moisture ratio", &v)?,
            None => table.quantity("moisture", &v, spoken_moisture)?.dry_basis().kg_per_kg(),
        };
        list.push(Row {
            curve: names
                .as_ref()
                .and_then(|l| l.get(n))
                .filter(|l| !l.is_empty())
                .cloned()
                .unwrap_or_else(|| file.to_owned()),
            elapsed_s: table.quantity("time", &t, Duration::parse)?.seconds(),
            value,
            air_c,
            humidity,
        });
    }
    Ok(list)
}

/// Moisture that the air would leave, kg/kg dry basis.
fn equilibrium(curve: &str, air: &Conditions, asked: &ThinAsked) -> Result<f64, AppError> {
    if let Some(m) = asked.equilibrium {
        return Ok(m.dry_basis().kg_per_kg());
    }
    let found = asked
        .product
        .as_ref()
        .zip(air.relative_humidity)
        .and_then(|(p, rh)| equilibrium_of(p, air.temperature_c, rh));
    found.ok_or_else(|| {
        let curve = curve.to_owned();
        let found = "no moisture that the air would leave".to_owned();
        let allowed =
            "an equilibrium moisture, or a product with the relative humidity of the air, or moisture ratios";
        LearningFault::NoMoisture { curve, found, allowed }.into()
    })
}

fn equilibrium_of(product: &Product, temperature_c: f64, rh: f64) -> Option<f64> {
    let prepared = product.prepare(&product.usual_preparation()).ok()?;
    let sorption = product.sorption_model(prepared.solutes).ok()?;
    sorption.moisture_at(rh.clamp(0.005, 0.95), temperature_c + 273.15)
}

/// The trays of fitted trials as curves: moistures from the fitted loads, down to what the air would leave.
pub(super) fn thin_of_trials(file: &TrialFile, fit: &TrialFit) -> Result<ThinRun, AppError> {
    let mut curves = Vec::new();
    for (index, case) in file.cases.iter().enumerate() {
        let air = mean_air(&case.trial.air);
        let raw = fit.of(Unknown::InitialMoisture { trial: index }).map(|u| u.value);
        let mut preparation = case.trial.preparation;
        preparation.raw_moisture_wet_basis = raw.unwrap_or(preparation.raw_moisture_wet_basis);
        let product = &file.product.product;
        let Ok(prepared) = product.prepare(&preparation) else { continue };
        let x0 = prepared.x0_kg_per_kg;
        let end = air.1.and_then(|rh| equilibrium_of(product, air.0, rh)).unwrap_or(0.0).min(0.5 * x0);
        let conditions = Conditions {
            temperature_c: air.0,
            relative_humidity: air.1,
            air_speed_m_per_s: None,
            size_m: Some(case.trial.size_m),
        };
        for record in fit.records.iter().filter(|r| r.key.trial == case.trial.name) {
            let Some(load) = record.load_kg else { continue };
            let point = |r: &fallrate_fit::trial::FittedReading| {
                let x = (1.0 + x0) * (r.measured - record.tare_offset_kg) / load - 1.0;
                RatioPoint { elapsed_s: r.elapsed_s, moisture_ratio: (x - end) / (x0 - end) }
            };
            let name = format!("{}, {}", record.key.trial, record.key.tray);
            curves.push(RatioCurve::new(&name, conditions, record.readings.iter().map(point).collect())?);
        }
    }
    let study = fit_thin_layer(&curves, &ThinLayerEquation::ALL)?;
    Ok(ThinRun { file: file.file_name.clone(), invented: file.invented, curves, study })
}

/// Mean air of a trial; a computed one is not known here, and is taken as the product's usual.
fn mean_air(air: &TrialAir) -> (f64, Option<f64>) {
    match air {
        TrialAir::Held { temperature_c, relative_humidity } => (*temperature_c, Some(*relative_humidity)),
        TrialAir::Recorded(list) if !list.is_empty() => {
            #[allow(clippy::cast_precision_loss)]
            let n = list.len() as f64;
            let sum = list.iter().fold((0.0, 0.0), |s, r| (s.0 + r.temperature_c, s.1 + r.relative_humidity));
            (sum.0 / n, Some(sum.1 / n))
        }
        _ => (60.0, None),
    }
}

/// The equation's name for programs.
pub(super) const fn equation_key(e: ThinLayerEquation) -> &'static str {
    match e {
        ThinLayerEquation::Lewis => "lewis",
        ThinLayerEquation::Page => "page",
        ThinLayerEquation::HendersonPabis => "henderson_pabis",
        ThinLayerEquation::Logarithmic => "logarithmic",
        ThinLayerEquation::TwoTerm => "two_term",
        ThinLayerEquation::Midilli => "midilli",
        ThinLayerEquation::Weibull => "weibull",
        ThinLayerEquation::SlabDiffusion => "slab_diffusion",
        ThinLayerEquation::DeficitPage => "deficit_page",
    }
}

fn warning_value(w: &ThinLayerWarning) -> Value {
    match w {
        ThinLayerWarning::AnotherShape { curve } => json!({"kind": "another_shape", "curve": curve}),
        ThinLayerWarning::NotUnique { curves } => json!({"kind": "not_unique", "curves": curves}),
        ThinLayerWarning::Rises { curves, from_s } => {
            json!({"kind": "rises", "curves": curves, "from_s": from_s})
        }
        ThinLayerWarning::BelowZero { curves, from_s } => {
            json!({"kind": "below_zero", "curves": curves, "from_s": from_s})
        }
        ThinLayerWarning::SameCurveAs { equation } => {
            json!({"kind": "same_curve_as", "equation": equation_key(*equation)})
        }
    }
}

/// The study as a JSON value.
pub(super) fn thin_value(run: &ThinRun) -> Value {
    let fit = |f: &ThinLayerFit| {
        let curves: Vec<Value> = f
            .fits
            .iter()
            .map(|c| {
                let parameters: Vec<Value> = c
                    .estimate
                    .parameters
                    .iter()
                    .map(|p| json!({"name": p.name, "unit": p.unit, "value": p.value, "standard_error": p.standard_error}))
                    .collect();
                json!({"curves": c.curves, "parameters": parameters,
                    "effective_diffusivity_m2_per_s": c.effective_diffusivity_m2_per_s()})
            })
            .collect();
        json!({"equation": equation_key(f.equation), "aicc": f.criteria.aicc, "bic": f.criteria.bic,
            "aicc_above_best": f.aicc_above_best, "root_mean_square": f.root_mean_square,
            "fits": curves, "warnings": f.warnings.iter().map(warning_value).collect::<Vec<_>>()})
    };
    json!({
        "file": run.file,
        "ranked": run.study.ranked.iter().map(fit).collect::<Vec<_>>(),
        "unfitted": run.study.unfitted.iter().map(|u| json!({
            "equation": equation_key(u.equation), "reason": u.reason.to_string()})).collect::<Vec<_>>(),
        "warning": "holds for these curves only: no other thickness, air, load or cabinet",
    })
}

/// The study as JSON.
#[must_use]
pub fn thin_json(run: &ThinRun) -> String {
    json(&thin_value(run))
}
