//! Thin-layer equations: against SciPy and lmfit, and published parameters that must come back.

use std::collections::BTreeMap;

use fallrate_fit::FitError;
use fallrate_fit::stats::{Draws, chi_squared_quantile, share_interval};
use fallrate_fit::thin_layer::{
    Conditions, RangeOf, RatioCurve, RatioPoint, ThinLayerEquation as Equation, ThinLayerFault,
    ThinLayerWarning, fit_thin_layer,
};

const PUBLISHED: &str = "coffee: Phitakwinai and others 2019, second hand; chicken: preprint rs-1596759; beetroot: fitted to public readings; sour cherry: PMC10571025";

fn air(temperature_c: f64, relative_humidity: Option<f64>) -> Conditions {
    Conditions { temperature_c, relative_humidity, air_speed_m_per_s: None, size_m: None }
}

fn equation(name: &str) -> Equation {
    match name {
        "Lewis" => Equation::Lewis,
        "Page" => Equation::Page,
        "HendersonPabis" | "Henderson-Pabis" => Equation::HendersonPabis,
        "Logarithmic" => Equation::Logarithmic,
        "TwoTerm" => Equation::TwoTerm,
        "Midilli" => Equation::Midilli,
        "Weibull" => Equation::Weibull,
        "SlabDiffusion" => Equation::SlabDiffusion,
        other => panic!("{other}"),
    }
}

fn curves() -> BTreeMap<String, RatioCurve> {
    let table = include_str!("../../../../reference/fit/thin_layer_curves.csv");
    let mut points: BTreeMap<String, Vec<RatioPoint>> = BTreeMap::new();
    for row in csv::Reader::from_reader(table.as_bytes()).records() {
        let row = row.unwrap();
        let (t, moisture_ratio): (f64, f64) = (row[1].parse().unwrap(), row[2].parse().unwrap());
        points
            .entry(row[0].to_owned())
            .or_default()
            .push(RatioPoint { elapsed_s: 3600.0 * t, moisture_ratio });
    }
    let curve = |(name, points): (String, Vec<RatioPoint>)| {
        (name.clone(), RatioCurve::new(&name, air(60.0, None), points).unwrap())
    };
    points.into_iter().map(curve).collect()
}

struct Reference {
    estimate: Vec<f64>,
    error: Vec<f64>,
    squares: f64,
    degenerate: bool,
}

fn references() -> BTreeMap<(String, String), Reference> {
    let table = include_str!("../../../../reference/fit/thin_layer_fits.csv");
    let mut found: BTreeMap<(String, String), Reference> = BTreeMap::new();
    for row in csv::Reader::from_reader(table.as_bytes()).records() {
        let row = row.unwrap();
        let n = |i: usize| row[i].parse::<f64>().unwrap_or(f64::NAN);
        let entry = found.entry((row[0].to_owned(), row[1].to_owned())).or_insert(Reference {
            estimate: Vec::new(),
            error: Vec::new(),
            squares: n(7),
            degenerate: &row[9] == "yes",
        });
        entry.estimate.push(n(3));
        entry.error.push(n(4));
        // A rate below 0 is no drying; it is not looked for here.
        entry.degenerate |= row[2].starts_with('k') && n(3) < 0.0;
    }
    found
}

/// Estimates to 6 digits and standard errors to 4, with starts of our own. Where the data do not tell the parameters (or
/// only a growing exponential fits better), that must be said instead.
#[test]
fn val_estimates_and_standard_errors() {
    let curves = curves();
    let (mut worst, mut worst_error, mut count, mut untold) = (0.0_f64, 0.0_f64, 0, 0);
    for ((name, key), expected) in references() {
        let study = fit_thin_layer(&[curves[&name].clone()], &[equation(&key)]).unwrap();
        let fit = &study.ranked[0];
        if expected.degenerate {
            let not_unique = |w: &ThinLayerWarning| matches!(w, ThinLayerWarning::NotUnique { .. });
            assert!(fit.warnings.iter().any(not_unique), "{name} {key}: {:?}", fit.fits[0].estimate);
            assert!(fit.sum_of_squares >= expected.squares * (1.0 - 1e-6), "{name} {key}");
            untold += 1;
            continue;
        }
        assert!((fit.sum_of_squares / expected.squares - 1.0).abs() < 1e-9, "{name} {key}");
        for (i, p) in fit.fits[0].estimate.parameters.iter().enumerate() {
            // A parameter that is 0 within its error has no digits: its error is counted in standard errors there.
            let size = expected.estimate[i].abs().max(1e-3 * expected.error[i]);
            let e = (p.value - expected.estimate[i]).abs() / size;
            let s = (p.standard_error.unwrap() / expected.error[i] - 1.0).abs();
            assert!(e < 1e-6, "{name} {key} {}: {} {}", p.name, p.value, expected.estimate[i]);
            assert!(s < 1e-4, "{name} {key} {}: {:?} {}", p.name, p.standard_error, expected.error[i]);
            worst = worst.max(e);
            worst_error = worst_error.max(s);
            count += 1;
        }
    }
    assert_eq!(untold, 3);
    let source =
        "scipy 1.17.1 least_squares, confirmed by lmfit 1.3.4 (reference/scripts/thin_layer_fits.py)";
    println!(
        "VALIDATION|fit|thin-layer equations, ten curves, estimates|{source}|{count}|{worst:.3e}|relative|1e-6|COMPUTED"
    );
    println!(
        "VALIDATION|fit|thin-layer equations, ten curves, standard errors|{source}|{count}|{worst_error:.3e}|relative|1e-4|COMPUTED"
    );
}

/// One published set of parameters, per h.
struct Published {
    name: String,
    equation: Equation,
    values: Vec<f64>,
    air: Conditions,
}

fn published() -> Vec<Published> {
    let table = include_str!("../../../../reference/foods/thin_layer_parameters.csv");
    let mut list = Vec::new();
    for row in csv::Reader::from_reader(table.as_bytes()).records() {
        let row = row.unwrap();
        let n = |i: usize| row[i].parse::<f64>().ok();
        let model = row[6].split(" (").next().unwrap().to_owned();
        let known = ["coffee", "chicken", "beetroot", "sour cherry"].iter().any(|f| row[0].starts_with(f));
        let (true, Some(k)) = (known && !model.contains('+'), n(7)) else { continue };
        let per_hour = if &row[14] == "min" { 60.0_f64 } else { 1.0 };
        let exponent = n(8).unwrap_or(1.0);
        let k = k * per_hour.powf(exponent);
        let a = n(9).unwrap_or(1.0);
        let values = match equation(&model) {
            Equation::Lewis => vec![k],
            Equation::Page => vec![k, exponent],
            Equation::HendersonPabis => vec![a, k],
            Equation::Logarithmic => vec![a, k, n(11).unwrap()],
            _ => vec![a, k, exponent, n(10).unwrap() * per_hour],
        };
        let air = air(n(2).unwrap_or(60.0), n(5).map(|rh| rh / 100.0));
        list.push(Published {
            name: format!("{} {}", &row[0], list.len()),
            equation: equation(&model),
            values,
            air,
        });
    }
    list
}

/// Readings of a set with noise, down to a moisture ratio of about 0.08 or to where the equation stops falling.
fn readings(set: &Published, count: u32, noise: f64, stream: u64) -> RatioCurve {
    let form = set.equation.form(&set.values, 0.0).unwrap();
    let mut last_h = 0.05;
    while form.moisture_ratio(last_h) > 0.08
        && last_h < 300.0
        && form.moisture_ratio(1.02 * last_h) < form.moisture_ratio(last_h)
    {
        last_h *= 1.02;
    }
    let mut draws = Draws::new(20_260_311, stream);
    let point = |i: u32| {
        let t = last_h * f64::from(i) / f64::from(count - 1);
        RatioPoint { elapsed_s: 3600.0 * t, moisture_ratio: form.moisture_ratio(t) + noise * draws.normal() }
    };
    RatioCurve::new(&set.name, set.air, (0..count).map(point).collect()).unwrap()
}

/// Every published set of parameters comes back from 25 readings with noise: the misses, counted in standard errors, are
/// those of chance (chi-squared at 0.1 % either side), and the 95 % intervals hold as often as they should (exact binomial
/// at 0.1 %).
#[test]
fn table_published_parameters_come_back() {
    let sets = published();
    assert!(sets.len() >= 70, "{}", sets.len());
    let (mut squares, mut held, mut count) = (0.0, 0, 0);
    for (i, set) in sets.iter().enumerate() {
        let study = fit_thin_layer(&[readings(set, 25, 0.003, i as u64)], &[set.equation]).unwrap();
        let estimate = &study.ranked[0].fits[0].estimate;
        let t = fallrate_fit::stats::student_quantile(0.975, estimate.degrees_of_freedom as f64);
        // The whole set of parameters at once, so that correlated ones are not counted twice.
        let covariance =
            estimate.covariance().unwrap_or_else(|| panic!("{}: {:?}", set.name, estimate.hints));
        let n = set.values.len();
        let c = matrix::invert(&covariance);
        let miss: Vec<f64> = estimate.values().iter().zip(&set.values).map(|(a, b)| a - b).collect();
        let mut own = 0.0;
        for a in 0..n {
            for b in 0..n {
                own += miss[a] * c[a][b] * miss[b];
            }
            let z = miss[a].abs() / covariance[a][a].sqrt();
            held += usize::from(z < t);
            count += 1;
        }
        squares += own;
    }
    let degrees = count as f64;
    let (low, high) = (chi_squared_quantile(0.001, degrees), chi_squared_quantile(0.999, degrees));
    // Estimated variances widen it a little: mean of F(n, 22) is 22/20.
    let scaled = squares / (22.0 / 20.0);
    assert!(scaled > low && scaled < high, "{scaled} of {degrees}: {low} to {high}");
    let (least, most) = crate::chance::allowed(count, 0.95, 0.999);
    assert!(held >= least && held <= most, "{held} of {count}, allowed {least} to {most}");
    let (missed, allowed) = (count - held, count - least);
    println!(
        "VALIDATION|fit|thin-layer parameters, {} published sets from 25 readings with noise 0.003: parameters outside their 95 % interval (allowed: what chance exceeds once in 2000)|{PUBLISHED}|{count}|{:.3e}|share|{:.3}|READ",
        sets.len(),
        missed as f64 / count as f64,
        allowed as f64 / count as f64
    );
}

/// A small matrix inverse, by Gauss-Jordan.
mod matrix {
    pub fn invert(a: &[Vec<f64>]) -> Vec<Vec<f64>> {
        let n = a.len();
        let unit = |i: usize| (0..n).map(move |j| f64::from(u8::from(i == j)));
        let mut m: Vec<Vec<f64>> =
            a.iter().enumerate().map(|(i, r)| r.iter().copied().chain(unit(i)).collect()).collect();
        for k in 0..n {
            let pivot = (k..n).max_by(|&x, &y| m[x][k].abs().total_cmp(&m[y][k].abs())).unwrap();
            m.swap(k, pivot);
            let p = m[k][k];
            m[k].iter_mut().for_each(|v| *v /= p);
            let row = m[k].clone();
            for (i, other) in m.iter_mut().enumerate().filter(|(i, _)| *i != k) {
                let f = other[k];
                assert_ne!(i, k);
                other.iter_mut().zip(&row).for_each(|(v, r)| *v -= f * r);
            }
        }
        m.into_iter().map(|r| r[n..].to_vec()).collect()
    }
}

/// Curves of Midilli's published sets for coffee, fitted by every equation: the one they came from ranks first or within
/// what chance does, and the exponential, which has another shape, is found out by its residuals.
#[test]
fn table_mismatched_equations_are_found_out() {
    let sets: Vec<Published> = published()
        .into_iter()
        .filter(|s| s.equation == Equation::Midilli && s.name.starts_with("coffee"))
        .collect();
    assert_eq!(sets.len(), 9);
    let own =
        [Equation::Lewis, Equation::Page, Equation::HendersonPabis, Equation::Logarithmic, Equation::Midilli];
    for (i, set) in sets.iter().enumerate() {
        let study = fit_thin_layer(&[readings(set, 40, 0.003, 1000 + i as u64)], &own).unwrap();
        let midilli = study.of(Equation::Midilli).unwrap();
        assert!(midilli.aicc_above_best.unwrap() < 4.0, "{}: {:?}", set.name, midilli.aicc_above_best);
        let lewis = study.of(Equation::Lewis).unwrap();
        assert!(lewis.aicc_above_best.unwrap() > 10.0);
        assert!(matches!(lewis.warnings[0], ThinLayerWarning::AnotherShape { .. }), "{}", set.name);
        assert!(
            !midilli.warnings.iter().any(|w| matches!(w, ThinLayerWarning::AnotherShape { .. })),
            "{}",
            set.name
        );
        // Its linear term bends it up behind the readings, and that is said.
        assert!(
            midilli
                .warnings
                .iter()
                .any(|w| matches!(w, ThinLayerWarning::Rises { .. } | ThinLayerWarning::BelowZero { .. }))
        );
    }
}

/// The published equation on the vapour-pressure deficit comes back from nine curves of the grid of temperatures and
/// humidities, better described by it than by nine equations of their own.
#[test]
fn table_equation_on_the_deficit_comes_back() {
    let truth = [0.0143, 0.878_98, 1.064_39];
    let mut curves = Vec::new();
    for (i, t) in [50.0, 60.0, 70.0].into_iter().enumerate() {
        for (j, rh) in [0.1, 0.2, 0.3].into_iter().enumerate() {
            let conditions = air(t, Some(rh));
            let form = Equation::DeficitPage
                .form(&truth, conditions.vapour_pressure_deficit_kpa().unwrap())
                .unwrap();
            let mut draws = Draws::new(11, (3 * i + j) as u64);
            let last = form.time_to(0.1, 60.0).unwrap();
            let point = |k: u32| {
                let h = last * f64::from(k) / 19.0;
                RatioPoint {
                    elapsed_s: 3600.0 * h,
                    moisture_ratio: form.moisture_ratio(h) + 0.004 * draws.normal(),
                }
            };
            curves.push(
                RatioCurve::new(&format!("{t} {rh}"), conditions, (0..20).map(point).collect()).unwrap(),
            );
        }
    }
    let study = fit_thin_layer(&curves, &Equation::ALL).unwrap();
    assert!(study.unfitted.is_empty());
    assert_eq!(study.ranked[0].equation, Equation::DeficitPage);
    let fit = &study.ranked[0].fits[0];
    let mut worst = 0.0_f64;
    for (p, truth) in fit.estimate.parameters.iter().zip(truth) {
        let z = (p.value - truth).abs() / p.standard_error.unwrap();
        assert!(z < 3.5, "{p:?}");
        worst = worst.max(z);
    }
    println!(
        "VALIDATION|fit|equation on the vapour-pressure deficit, parameters from nine curves with noise 0.004|Parra-Coronado and others 2008, second hand|3|{worst:.3e}|standard errors|3.5|READ"
    );
    // Between the deficits fitted it may be asked, outside it says so; and it needs a humidity.
    let inside = fit.moisture_ratio(7200.0, &air(65.0, Some(0.25))).unwrap();
    assert!(inside.outside.is_empty() && inside.standard_error.unwrap() < 0.01);
    let damp = fit.moisture_ratio(7200.0, &air(50.0, Some(0.7))).unwrap();
    assert!(damp.outside.iter().any(|o| o.of == RangeOf::VapourPressureDeficit));
    let dry = fit.moisture_ratio(7200.0, &air(60.0, None));
    assert!(matches!(dry, Err(FitError::ThinLayer(ThinLayerFault::NoHumidity { .. }))));
    // One deficit cannot tell its exponent.
    let alone = fit_thin_layer(&curves[..1], &[Equation::DeficitPage]).unwrap();
    let reason = &alone.unfitted[0].reason;
    assert!(matches!(reason, FitError::ThinLayer(ThinLayerFault::OneDeficit { .. })), "{reason}");
}

/// Weibull's equation is Page's in other parameters: one curve, one rank.
#[test]
fn identity_weibull_is_page() {
    let curve = curves()["beetroot_page"].clone();
    let study = fit_thin_layer(&[curve], &[Equation::Weibull, Equation::Page]).unwrap();
    let (page, weibull) = (study.of(Equation::Page).unwrap(), study.of(Equation::Weibull).unwrap());
    assert!((page.criteria.bic - weibull.criteria.bic).abs() < 1e-6);
    let said = ThinLayerWarning::SameCurveAs { equation: Equation::Page };
    assert!(weibull.warnings.contains(&said) && !page.warnings.contains(&said));
    let (p, w) = (page.fits[0].estimate.values(), weibull.fits[0].estimate.values());
    assert!((w[0].powf(-w[1]) / p[0] - 1.0).abs() < 1e-6 && (w[1] / p[1] - 1.0).abs() < 1e-7);
}

/// The slab series gives the diffusivity it was made with.
#[test]
fn identity_slab_series_gives_its_diffusivity() {
    let (d, thickness) = (3.2e-10, 0.006);
    let conditions = Conditions { size_m: Some(thickness), ..air(60.0, None) };
    let point = |i: u32| {
        let elapsed_s = 900.0 * f64::from(i);
        let fourier = d * elapsed_s / (0.5 * thickness * 0.5 * thickness);
        RatioPoint { elapsed_s, moisture_ratio: fallrate_foods::fick_slab_moisture_ratio(fourier) }
    };
    let curve = RatioCurve::new("slab", conditions, (0..30).map(point).collect()).unwrap();
    let study = fit_thin_layer(&[curve], &[Equation::SlabDiffusion, Equation::Lewis]).unwrap();
    let slab = &study.of(Equation::SlabDiffusion).unwrap().fits[0];
    assert!((slab.effective_diffusivity_m2_per_s().unwrap() / d - 1.0).abs() < 1e-6);
    assert!(study.of(Equation::Lewis).unwrap().fits[0].effective_diffusivity_m2_per_s().is_none());
}

/// A prediction says where it leaves what was fitted, and a time comes with its error: half of 200 repeats lie within
/// 0.674 standard errors.
#[test]
fn identity_times_carry_their_error_and_their_range() {
    let set = Published {
        name: "page".to_owned(),
        equation: Equation::Page,
        values: vec![0.3, 1.2],
        air: air(60.0, Some(0.2)),
    };
    let truth = set.equation.form(&set.values, 0.0).unwrap().time_to(0.3, 50.0).unwrap() * 3600.0;
    let mut within = 0;
    for stream in 0..200 {
        let study = fit_thin_layer(&[readings(&set, 15, 0.01, 5000 + stream)], &[Equation::Page]).unwrap();
        let time = study.ranked[0].fits[0].elapsed_to(0.3, &set.air).unwrap();
        assert!(time.outside.is_empty());
        within += usize::from((time.elapsed_s - truth).abs() < 0.694 * time.standard_error_s.unwrap());
    }
    // 0.694: the median of |t| with 13 degrees of freedom.
    let share = share_interval(within, 200, 0.999).unwrap();
    assert!(share.low < 0.5 && share.high > 0.5, "{share:?}");
    let study = fit_thin_layer(&[readings(&set, 15, 0.01, 1)], &[Equation::Page]).unwrap();
    let fit = &study.ranked[0].fits[0];
    let of =
        |c: &Conditions| fit.elapsed_to(0.01, c).unwrap().outside.iter().map(|o| o.of).collect::<Vec<_>>();
    assert_eq!(of(&set.air), [RangeOf::Elapsed, RangeOf::MoistureRatio]);
    assert_eq!(of(&air(70.0, Some(0.5)))[..2], [RangeOf::Temperature, RangeOf::RelativeHumidity]);
    assert!(matches!(
        fit.elapsed_to(-0.5, &set.air),
        Err(FitError::ThinLayer(ThinLayerFault::NotReached { .. }))
    ));
}

#[test]
fn refuse_what_is_no_curve_of_ratios() {
    let make = |air: Conditions, ratios: &[f64]| {
        let point =
            |(i, &moisture_ratio): (usize, &f64)| RatioPoint { elapsed_s: 600.0 * i as f64, moisture_ratio };
        RatioCurve::new("c", air, ratios.iter().enumerate().map(point).collect())
    };
    let dry = air(60.0, Some(0.2));
    let fault = |r: Result<RatioCurve, FitError>| match r {
        Err(FitError::ThinLayer(f)) => f,
        other => panic!("{other:?}"),
    };
    // Per cent, weights in g, moisture on the dry basis.
    for wrong in [[100.0, 60.0, 30.0], [850.0, 600.0, 400.0], [6.5, 3.0, 1.1]] {
        assert!(matches!(fault(make(dry, &wrong)), ThinLayerFault::NotARatio { .. }));
    }
    assert!(matches!(fault(make(dry, &[0.2, 0.6, 0.9])), ThinLayerFault::DoesNotFall { .. }));
    assert!(matches!(make(dry, &[1.0, 0.5]), Err(FitError::TooFewReadings { .. })));
    assert!(matches!(make(dry, &[]), Err(FitError::TooFewReadings { .. })));
    // Fahrenheit, per cent of humidity, a size in mm.
    assert!(matches!(make(air(160.0, None), &[1.0, 0.5, 0.2]), Err(FitError::OutOfRange { .. })));
    assert!(matches!(make(air(60.0, Some(20.0)), &[1.0, 0.5, 0.2]), Err(FitError::OutOfRange { .. })));
    let mm = Conditions { size_m: Some(6.0), ..dry };
    assert!(matches!(make(mm, &[1.0, 0.5, 0.2]), Err(FitError::OutOfRange { .. })));
    let twice = [
        RatioPoint { elapsed_s: 0.0, moisture_ratio: 1.0 },
        RatioPoint { elapsed_s: 60.0, moisture_ratio: 0.5 },
        RatioPoint { elapsed_s: 60.0, moisture_ratio: 0.4 },
    ];
    assert!(matches!(RatioCurve::new("c", dry, twice.to_vec()), Err(FitError::TimesDoNotRise { .. })));
    // More parameters than three readings can tell.
    let short = make(dry, &[1.0, 0.5, 0.2]).unwrap();
    let study = fit_thin_layer(&[short], &[Equation::Lewis, Equation::TwoTerm]).unwrap();
    assert_eq!(study.ranked.len(), 1);
    assert!(matches!(study.unfitted[0].reason, FitError::TooFewReadings { .. }));
    assert!(matches!(
        fit_thin_layer(&[], &[Equation::Lewis]),
        Err(FitError::ThinLayer(ThinLayerFault::NoCurve))
    ));
}
