//! A product file with the figures that trials gave.

use fallrate_fit::trial::{FittedUnknown, Unknown};
use fallrate_foods::{Isotherm, MoistureTerm};

use super::fit::{CONFIDENCE, TrialRun, mention};
use crate::error::AppError;
use crate::learning::product_file::{Change, Figure, new_key};
use crate::learning::sheet::{Day, digits};
use crate::library::Library;

/// A product's file with the fitted figures, their ranges and where they come from, under the key that the new file's name
/// gives. The exchange belongs to the cabinet and is left out.
///
/// # Errors
/// [`crate::learning::LearningFault`] for the name, and problems of the file.
pub fn trial_product(run: &TrialRun, library: &Library, path: &str, day: &Day) -> Result<String, AppError> {
    let key = new_key(library, path)?;
    let own = if run.file.invented { "invented trials" } else { "own trials" };
    let source = format!("{own}: {}, fitted {}", run.file.title, day.0);
    let mut change = Change::of(&run.file.product, &key, source)?;
    for u in &run.fit.unknowns {
        let Some(figure) = figure(run, u) else { continue };
        match u.unknown {
            Unknown::WaterHeld => held(&mut change, run, u, figure),
            _ => change.figure(&figure),
        }
    }
    let invented =
        if run.file.invented { "# INVENTED: the trials were made up for a demonstration.\n" } else { "" };
    let head = format!(
        "{invented}# Figures marked 'computed' with the source '{own}' were fitted to trials ({}).",
        run.file.file_name
    );
    change.finish(&head, &key)
}

/// The water held goes into the isotherm itself: in a product file the factor is 1 and carries the range.
fn held(change: &mut Change, run: &TrialRun, u: &FittedUnknown, figure: Figure) {
    let isotherm = scaled(&run.file.product.product.sorption.isotherm, u.value);
    let Some((form, parameters)) = crate::learning::isotherm::model(&isotherm) else { return };
    let list: toml_edit::Array = parameters.iter().map(|p| digits(*p, 6).parse().unwrap_or(*p)).collect();
    change.set("sorption", "form", form);
    change.set("sorption", "parameters", list);
    let share = |text: &str| text.parse::<f64>().map_or(1.0, |v| v / u.value);
    let (low, high) = (share(&figure.low).clamp(0.3, 1.0), share(&figure.high).clamp(1.0, 3.0));
    let note =
        format!("{}; the isotherm before, with {} times the moisture", figure.note, digits(u.value, 4));
    change.figure(&Figure {
        value: "1.0".to_owned(),
        low: digits(low, 3),
        high: digits(high, 3),
        note,
        ..figure
    });
}

/// An isotherm with a factor on its moisture.
fn scaled(isotherm: &Isotherm, f: f64) -> Isotherm {
    match *isotherm {
        Isotherm::Gab(g) => {
            Isotherm::Gab(fallrate_foods::Gab { monolayer_kg_per_kg: f * g.monolayer_kg_per_kg, ..g })
        }
        Isotherm::GabT([m, e, c, ec, k, ek]) => Isotherm::GabT([f * m, e, c, ec, k, ek]),
        Isotherm::OswinLinear([a, b, n, dn]) => Isotherm::OswinLinear([f * a, f * b, n, dn]),
        Isotherm::ModifiedOswin([a, b, n]) => Isotherm::ModifiedOswin([f * a, f * b, n]),
        Isotherm::ModifiedHalsey([a, b, p]) => Isotherm::ModifiedHalsey([a + p * f.ln(), b, p]),
        Isotherm::ModifiedHenderson([a, p, c]) => Isotherm::ModifiedHenderson([a * f.powf(-p), p, c]),
        Isotherm::ModifiedChungPfost([a, b, c]) => Isotherm::ModifiedChungPfost([a, b / f, c]),
        Isotherm::Henderson4([a, b, c, p]) => Isotherm::Henderson4([a * f.powf(-p), b, c, p]),
        Isotherm::Roa([a, b, c, d, e, g, h, i]) => Isotherm::Roa([f * a, f * b, f * c, d, e, g, h, i]),
    }
}

/// Whether a fitted unknown goes into the product file.
pub(super) fn is_kept(u: Unknown) -> bool {
    u.trial().is_none() && u != Unknown::Exchange
}

fn figure(run: &TrialRun, u: &FittedUnknown) -> Option<Figure> {
    if !is_kept(u.unknown) {
        return None;
    }
    let (low, high) = run.fit.interval(u.unknown, CONFIDENCE)?;
    let (at, unit, scale, range) = place(run, u.unknown)?;
    let text = |v: f64| {
        let v = (scale * v).clamp(range.0, range.1);
        format!("{} {unit}", digits(v, 4)).trim_end().to_owned()
    };
    let counts = if run.file.count_beliefs { "with what the product file said before" } else { "alone" };
    let trials: Vec<String> =
        run.file.cases.iter().map(|c| mention(&c.trial.name, &c.date.to_string())).collect();
    Some(Figure {
        at,
        value: text(u.value),
        low: text(low.min(u.value)),
        high: text(high.max(u.value)),
        plain: unit.is_empty(),
        note: format!("the full model fitted to {} {counts}; the range holds 9 of 10", trials.join(", ")),
    })
}

type Place = ((&'static str, &'static str), &'static str, f64, (f64, f64));

/// Where an unknown stands in the file: section and key, unit, factor to it, and what the file takes.
fn place(run: &TrialRun, u: Unknown) -> Option<Place> {
    Some(match u {
        Unknown::Diffusivity => (("diffusivity", "at_60c"), "m2/s", 1.0, (1e-14, 1e-7)),
        Unknown::ActivationEnergy => (("diffusivity", "activation_energy"), "kJ/mol", 1e-3, (5.0, 90.0)),
        Unknown::DiffusivityMoisture => match run.file.product.product.diffusivity.moisture_term {
            None => (("diffusivity", "exponent"), "", 1.0, (-4.0, 6.0)),
            Some(MoistureTerm::Reciprocal { .. }) => (("diffusivity", "b_kg_per_kg"), "", 1.0, (0.0, 2.0)),
            Some(MoistureTerm::Exponential { .. }) => {
                (("diffusivity", "a_per_kg_per_kg"), "", 1.0, (0.0, 5.0))
            }
            Some(_) => return None,
        },
        Unknown::WaterHeld => (("sorption", "moisture_factor"), "", 1.0, (0.3, 3.0)),
        Unknown::SidewaysShrinkage => (("volume", "lateral_exponent"), "", 1.0, (0.0, 0.667)),
        _ => return None,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn identity_a_scaled_isotherm_holds_so_many_times_the_moisture() {
        let forms = [
            ("GAB", vec![0.11, 6.0, 0.95]),
            ("OSWIN_LIN", vec![0.12, -5e-4, 0.5, 1e-3]),
            ("MOD_OSWIN", vec![15.303, -0.10184, 3.0358]),
            ("MOD_HALSEY", vec![4.5, -0.01, 1.9]),
            ("MOD_HENDERSON", vec![8.6e-5, 1.86, 49.8]),
            ("MOD_CHUNG_PFOST", vec![374.34, 0.18662, 31.696]),
        ];
        for (name, p) in forms {
            let before = Isotherm::from_model(name, &p).unwrap();
            let x = |i: &Isotherm| i.moisture(0.6, 30.0).unwrap().moisture_dry_basis_kg_per_kg;
            let ratio = x(&scaled(&before, 1.07)) / x(&before);
            assert!((ratio - 1.07).abs() < 1e-6, "{name}: {ratio}");
        }
    }
}
