//! From pairs of moisture and water activity to an isotherm, and to what a target water activity means.

use fallrate_fit::isotherm::{
    IsothermFit, IsothermForm, IsothermPoint, IsothermStudy, IsothermWarning, SorptionPair, fit_isotherms,
};
use fallrate_foods::{Isotherm, Product};
use fallrate_units::{Moisture, Quantity, Temperature};
use serde_json::json;

use super::LearningFault;
use super::product_file::{Change, Figure, ProductText, new_key};
use super::sheet::{Day, digits, json};
use super::table::{Table, Wanted};
use crate::error::AppError;
use crate::library::Library;

/// Temperature of a target where none is asked for, degC.
const USUAL_C: f64 = 25.0;
/// Confidence of intervals: the ranges of data files run from the 5th to the 95th percentile.
pub(super) const CONFIDENCE: f64 = 0.9;
/// Forms whose AICc lies within this of the best are not worse by chance's measure (Burnham and Anderson, from memory).
pub(super) const AS_GOOD: f64 = 4.0;
/// Draws of the bootstrap.
const DRAWS: usize = 400;

const ACTIVITY: Wanted = Wanted {
    name: "water activity",
    words: &["aw", "a_w", "water activity", "actividad de agua", "actividad del agua", "erh", "hre"],
};
const MOISTURE: Wanted =
    Wanted { name: "moisture", words: &["moisture", "moisture content", "humedad", "contenido de humedad"] };
const TEMPERATURE: Wanted =
    Wanted { name: "temperature", words: &["temperature", "temp", "temperatura", "t"] };

/// What is asked of pairs.
#[derive(Clone, Debug, Default)]
pub struct IsothermAsked {
    /// Temperature of all pairs where the file has no column for it.
    pub temperature: Option<Temperature>,
    /// Target water activity; the product's where none is given.
    pub target: Option<f64>,
    /// Temperature of the target, 25 degC where none is given.
    pub at: Option<Temperature>,
    /// The product whose file the isotherm may go into.
    pub product: Option<ProductText>,
}

/// A target water activity, translated.
#[derive(Clone, Debug, PartialEq)]
pub struct TargetMoisture {
    /// Water activity.
    pub water_activity: f64,
    /// degC
    pub temperature_c: f64,
    /// Moisture, kg/kg dry basis, with its error.
    pub point: IsothermPoint,
    /// 90 % interval: the wider of Student's t, of refits of resampled residuals, and of what forms as good say; none
    /// without a standard error.
    pub interval: Option<(f64, f64)>,
    /// Least and greatest of the forms that are as good.
    pub forms: (f64, f64),
    /// Water activity at that moisture 10 K warmer: how far it moves.
    pub ten_warmer: Option<f64>,
}

/// An isotherm study with what it was asked.
#[derive(Clone, Debug)]
pub struct IsothermRun {
    /// Name of the file.
    pub file: String,
    /// Pairs.
    pub pairs: Vec<SorptionPair>,
    /// The forms, ranked.
    pub study: IsothermStudy,
    /// The target, where there is one and the best form has a moisture there.
    pub target: Option<TargetMoisture>,
    /// Product.
    pub product: Option<ProductText>,
}

/// Fits isotherms to the pairs of a table.
///
/// # Errors
/// [`LearningFault`] for a table that cannot be read, [`AppError::Fit`] for pairs that are no use.
pub fn isotherm(file: &str, bytes: &[u8], asked: IsothermAsked) -> Result<IsothermRun, AppError> {
    let pairs = pairs(file, bytes, asked.temperature)?;
    let study = fit_isotherms(&pairs, &IsothermForm::ALL, None)?;
    let aw = asked.target.or_else(|| {
        let target = asked.product.as_ref()?.product.target.aw_max.as_ref()?;
        Some(target.value.fraction())
    });
    let at_c = asked.at.map_or(USUAL_C, Temperature::celsius);
    let target = aw.and_then(|aw| target(&study, &pairs, aw, at_c));
    Ok(IsothermRun { file: file.to_owned(), pairs, study, target, product: asked.product })
}

fn pairs(file: &str, bytes: &[u8], one: Option<Temperature>) -> Result<Vec<SorptionPair>, AppError> {
    let table = Table::read(file, bytes)?;
    let aw = table.needed(&ACTIVITY, "'water activity' or 'aw', as fractions")?;
    let moisture =
        table.needed(&MOISTURE, "'moisture (% wb)', 'moisture (% db)' or 'moisture (kg/kg db)'")?;
    let temperatures: Vec<f64> = match (table.column(&TEMPERATURE)?, one) {
        (Some(column), _) => table
            .cells(column)
            .map(|c| Ok(table.quantity("temperature", &c, Temperature::parse)?.celsius()))
            .collect::<Result<_, LearningFault>>()?,
        (None, Some(t)) => table.cells(aw).map(|_| t.celsius()).collect(),
        (None, None) => return Err(LearningFault::NoTemperature { file: file.to_owned() }.into()),
    };
    let mut list = Vec::new();
    for ((aw, moisture), temperature_c) in table.cells(aw).zip(table.cells(moisture)).zip(temperatures) {
        let water_activity = table.number("water activity", &aw)?;
        // A heading that says per cent is taken at its word.
        let share = if aw.unit.starts_with('%') { 0.01 } else { 1.0 };
        list.push(SorptionPair {
            water_activity: share * water_activity,
            moisture_dry_basis: table
                .quantity("moisture", &moisture, spoken_moisture)?
                .dry_basis()
                .kg_per_kg(),
            temperature_c,
        });
    }
    Ok(list)
}

/// A moisture with its basis in English or Spanish ("% bh" of the wet weight, "% bs" per dry solids).
pub(super) fn spoken_moisture(text: &str) -> Result<Moisture, fallrate_units::UnitError> {
    let text = text.trim();
    let english = match (text.strip_suffix(" bh"), text.strip_suffix(" bs")) {
        (Some(head), _) => format!("{head} wb"),
        (_, Some(head)) => format!("{head} db"),
        _ => text.to_owned(),
    };
    Moisture::parse(&english)
}

/// Forms that are as good as the best, best first.
pub(super) fn as_good(study: &IsothermStudy) -> impl Iterator<Item = &IsothermFit> {
    let near = |(i, f): &(usize, &IsothermFit)| *i == 0 || f.aicc_above_best.is_some_and(|d| d <= AS_GOOD);
    study.ranked.iter().enumerate().filter(near).map(|(_, f)| f)
}

fn target(study: &IsothermStudy, pairs: &[SorptionPair], aw: f64, at_c: f64) -> Option<TargetMoisture> {
    let best = study.ranked.first()?;
    let point = best.moisture_at(aw, at_c)?;
    let all: Vec<f64> = as_good(study).filter_map(|f| f.moisture_at(aw, at_c)).map(|p| p.value).collect();
    let forms = all.iter().fold((point.value, point.value), |(l, h), v| (l.min(*v), h.max(*v)));
    let drawn = best.bootstrap_moisture(pairs, aw, at_c, DRAWS).ok();
    let interval = point.interval(CONFIDENCE).map(|(low, high)| {
        let (a, b) = drawn.as_ref().map_or((low, high), |d| (d.quantile(0.05), d.quantile(0.95)));
        (low.min(a).min(forms.0).max(0.0), high.max(b).max(forms.1))
    });
    let ten_warmer = best
        .form
        .depends_on_temperature()
        .then(|| best.water_activity_at(point.value, at_c + 10.0))
        .flatten()
        .map(|p| p.value);
    Some(TargetMoisture { water_activity: aw, temperature_c: at_c, point, interval, forms, ten_warmer })
}

/// Name and parameters of a published form, as product files write them.
pub(super) fn model(isotherm: &Isotherm) -> Option<(&'static str, Vec<f64>)> {
    Some(match isotherm {
        Isotherm::Gab(g) => ("GAB", vec![g.monolayer_kg_per_kg, g.c, g.k]),
        Isotherm::GabT(p) => ("GAB_T", p.to_vec()),
        Isotherm::OswinLinear(p) => ("OSWIN_LIN", p.to_vec()),
        Isotherm::ModifiedOswin(p) => ("MOD_OSWIN", p.to_vec()),
        Isotherm::ModifiedHalsey(p) => ("MOD_HALSEY", p.to_vec()),
        Isotherm::ModifiedHenderson(p) => ("MOD_HENDERSON", p.to_vec()),
        Isotherm::ModifiedChungPfost(p) => ("MOD_CHUNG_PFOST", p.to_vec()),
        Isotherm::Henderson4(p) => ("HENDERSON_4", p.to_vec()),
        Isotherm::Roa(p) => ("ROA", p.to_vec()),
    })
}

/// The best form that a product file can hold.
#[must_use]
pub(super) fn kept(study: &IsothermStudy) -> Option<&IsothermFit> {
    study.ranked.iter().find(|f| f.isotherm().is_some())
}

/// A product's file with the fitted isotherm in place of its own, under the key that the new file's name gives.
///
/// # Errors
/// [`LearningFault::FileName`], [`LearningFault::NotWritten`] without a product or a form for it, and problems of the file.
pub fn isotherm_product(
    run: &IsothermRun,
    library: &Library,
    path: &str,
    day: &Day,
) -> Result<String, AppError> {
    let key = new_key(library, path)?;
    let not = |what: &str, allowed| LearningFault::NotWritten { what: what.to_owned(), allowed };
    let base =
        run.product.as_ref().ok_or_else(|| not("no product is named", "one, whose isotherm is replaced"))?;
    let fit =
        kept(&run.study).ok_or_else(|| not("no form was fitted", "a form that a product file can hold"))?;
    let found = fit.isotherm().as_ref().and_then(model);
    let (form, parameters) =
        found.ok_or_else(|| not("no form was fitted", "a form that a product file can hold"))?;
    let source = format!("own measurement: {}, {}", run.file, day.0);
    let mut change = Change::of(base, &key, source)?;
    change.set("sorption", "form", form);
    let list: toml_edit::Array = parameters.iter().map(|p| digits(*p, 6).parse().unwrap_or(*p)).collect();
    change.set("sorption", "parameters", list);
    let c = |t: f64| format!("{} degC", digits(t, 4));
    change.set("sorption", "reference_temperature", c(fit.reference_temperature_c.clamp(0.0, 100.0)));
    let range = &fit.range;
    let ends = [("temperature_min", range.temperature_min_c), ("temperature_max", range.temperature_max_c)];
    for (key, value) in ends {
        match value {
            Some(t) => change.set("sorption", key, c(t)),
            None => change.remove("sorption", key),
        }
    }
    let rounded = |v: f64| (1e3 * v).round() / 1e3;
    for (key, value) in [("aw_min", range.aw_min), ("aw_max", range.aw_max)] {
        match value {
            Some(v) => change.set("sorption", key, rounded(v)),
            None => change.remove("sorption", key),
        }
    }
    change.remove("sorption", "tail_from_aw");
    let (low, high) = factor_range(run, fit);
    change.figure(&Figure {
        at: ("sorption", "moisture_factor"),
        value: "1.0".to_owned(),
        low: digits(low, 3),
        high: digits(high, 3),
        plain: true,
        note: format!(
            "{} pairs of moisture and water activity fitted by {form}; the range is the 90 % interval at a water activity of {}",
            run.pairs.len(),
            digits(range_activity(run), 2)
        ),
    });
    change.finish(&format!("# Isotherm fitted to own measurements ({}).", run.file), &key)
}

fn range_activity(run: &IsothermRun) -> f64 {
    run.target.as_ref().map_or(0.6, |t| t.water_activity)
}

/// Low and high of the factor on the moisture, from the interval of the target (or at 0.60), within what files take.
fn factor_range(run: &IsothermRun, fit: &IsothermFit) -> (f64, f64) {
    let at_c = run.target.as_ref().map_or(fit.reference_temperature_c, |t| t.temperature_c);
    let interval = match &run.target {
        Some(t) => t.interval.map(|(l, h)| (l / t.point.value, h / t.point.value)),
        None => fit.moisture_at(range_activity(run), at_c).and_then(|p| {
            let (l, h) = p.interval(CONFIDENCE)?;
            Some((l / p.value, h / p.value))
        }),
    };
    // Without a standard error the file must not look sure: the width of a class isotherm.
    let (low, high) = interval.unwrap_or((0.75, 1.4));
    (low.clamp(0.3, 0.999), high.clamp(1.001, 3.0))
}

/// The study as JSON.
#[must_use]
pub fn isotherm_json(run: &IsothermRun) -> String {
    let form = |f: &IsothermFit| {
        let parameters: Vec<_> = f
            .estimate
            .parameters
            .iter()
            .map(|p| json!({"name": p.name, "unit": p.unit, "value": p.value, "standard_error": p.standard_error}))
            .collect();
        let warnings: Vec<_> = f
            .warnings
            .iter()
            .map(|w| match w {
                IsothermWarning::NotUnique => json!({"kind": "not_unique"}),
                IsothermWarning::Outlier { pair, deviations } => {
                    json!({"kind": "outlier", "pair": pair, "deviations": deviations})
                }
            })
            .collect();
        json!({
            "form": super::isotherm_page::form_key(f.form),
            "reference_temperature_c": f.reference_temperature_c,
            "parameters": parameters,
            "residual_standard_deviation_kg_per_kg": f.estimate.residual_standard_deviation(),
            "aicc": f.criteria.aicc, "bic": f.criteria.bic, "aicc_above_best": f.aicc_above_best,
            "warnings": warnings,
        })
    };
    let target = run.target.as_ref().map(|t| {
        json!({
            "water_activity": t.water_activity, "temperature_c": t.temperature_c,
            "moisture_kg_per_kg_dry_basis": t.point.value, "standard_error": t.point.standard_error,
            "interval_90": t.interval, "forms_as_good": t.forms,
            "extrapolated": outside(&t.point), "water_activity_10_k_warmer": t.ten_warmer,
        })
    });
    json(&json!({
        "file": run.file,
        "pairs": run.pairs.iter().map(|p| json!([p.water_activity, p.moisture_dry_basis, p.temperature_c])).collect::<Vec<_>>(),
        "forms": run.study.ranked.iter().map(form).collect::<Vec<_>>(),
        "unfitted": run.study.unfitted.iter().map(|u| json!({
            "form": super::isotherm_page::form_key(u.form), "reason": u.reason.to_string()
        })).collect::<Vec<_>>(),
        "target": target,
    }))
}

/// Whether a reading-off lies outside the pairs.
pub(super) fn outside(point: &IsothermPoint) -> bool {
    let f = &point.outside;
    f.temperature_outside || f.aw_outside
}

/// What the product's own isotherm says of a target.
pub(super) fn library_moisture(product: &Product, aw: f64, temperature_c: f64) -> Option<f64> {
    let data = &product.sorption;
    let x = data.isotherm.moisture(aw, temperature_c).ok()?.moisture_dry_basis_kg_per_kg;
    Some(x * data.moisture_factor.value)
}
