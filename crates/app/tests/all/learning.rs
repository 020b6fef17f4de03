//! Isotherms, drying curves, product trials and moved recipes, from the files of `examples/trials` to the words of a page.

use std::path::{Path, PathBuf};

use fallrate_app::learning::{
    Adjusted, Day, IsothermAsked, MoveAsked, PlanAsked, ProductText, ThinAsked, TrialFile, fit_trial_file,
    isotherm, isotherm_document, isotherm_json, isotherm_product, move_document, move_plan, plan_trial,
    thin_document, thin_layer, trial_document, trial_json, trial_plan_document, trial_product,
};
use fallrate_app::ports::{FileFault, Files, MemoryFiles};
use fallrate_app::quantities::Temperature;
use fallrate_app::{Document, Language, Library, Reader, Units, document_page, document_text};

struct Disk;

impl Files for Disk {
    fn read(&self, path: &Path, _: usize) -> Result<Vec<u8>, FileFault> {
        std::fs::read(path).map_err(|e| FileFault {
            path: path.display().to_string(),
            what: "cannot be read",
            reason: e.to_string(),
        })
    }
}

fn example(name: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../../examples").join(name)
}

fn day() -> Day {
    Day("2026-04-01".to_owned())
}

/// The document in both languages and unit systems has every message, and no number that is none.
fn complete(make: impl Fn(&Reader) -> Document) {
    for (language, units) in [(Language::English, Units::Us), (Language::Spanish, Units::Si)] {
        let r = Reader::new(language, units);
        let d = make(&r);
        let text = document_text(&d, 100, false);
        let missing = text.split('[').skip(1).filter_map(|s| s.split(']').next());
        let missing: Vec<&str> =
            missing.filter(|k| k.contains('-') && !k.contains(' ') && k.len() > 4).collect();
        assert!(missing.is_empty(), "{missing:?}");
        assert!(!text.contains("{ $") && !text.contains("NaN") && !text.contains("inf "), "{text}");
        assert!(document_page(&d).contains("<svg") || !text.contains("Pictures"));
    }
}

#[test]
fn val_pairs_give_back_the_isotherm_they_were_made_from() {
    let library = Library::embedded().unwrap();
    let bytes = std::fs::read(example("trials/apple_pairs.csv")).unwrap();
    let product = ProductText::read(&library, &MemoryFiles::default(), "apple").unwrap();
    // The pairs were made from the library's isotherm, 7 % drier.
    let truth = |aw: f64| {
        0.93 * product.product.sorption.isotherm.moisture(aw, 25.0).unwrap().moisture_dry_basis_kg_per_kg
    };
    for aw in [0.45, 0.6, 0.7] {
        let asked =
            IsothermAsked { target: Some(aw), product: Some(product.clone()), ..IsothermAsked::default() };
        let run = isotherm("apple_pairs.csv", &bytes, asked).unwrap();
        let target = run.target.as_ref().unwrap();
        let (low, high) = target.interval.unwrap();
        assert!((target.point.value / truth(aw) - 1.0).abs() < 0.05, "{aw}: {}", target.point.value);
        assert!(low < target.point.value && target.point.value < high);
        assert!(high - low < 0.2 * target.point.value, "{low} {high}");
    }
}

#[test]
fn identity_an_isotherm_goes_into_a_new_product_file_only() {
    let library = Library::embedded().unwrap();
    let bytes = std::fs::read(example("trials/apple_pairs.csv")).unwrap();
    let product = ProductText::read(&library, &MemoryFiles::default(), "apple").unwrap();
    let asked = IsothermAsked { product: Some(product), ..IsothermAsked::default() };
    let run = isotherm("apple_pairs.csv", &bytes, asked).unwrap();
    let text = isotherm_product(&run, &library, "apple_own.toml", &day()).unwrap();
    let files = MemoryFiles(vec![("./apple_own.toml".to_owned(), text.into_bytes())]);
    let own = library.product(&files, "./apple_own.toml").unwrap();
    let target = run.target.as_ref().unwrap();
    let sorption = own.sorption_model(own.prepare(&own.usual_preparation()).unwrap().solutes).unwrap();
    let best = run.study.ranked.iter().find(|f| f.isotherm().is_some()).unwrap();
    let t = best.reference_temperature_c;
    let read_off = best.moisture_at(target.water_activity, t).unwrap().value;
    let kept = sorption.moisture_at(target.water_activity, t + 273.15).unwrap();
    assert!((kept / read_off - 1.0).abs() < 0.01, "{kept} {read_off}");
    assert!(isotherm_product(&run, &library, "apple.toml", &day()).is_err(), "a product of the library");
    assert!(isotherm_json(&run).contains("\"interval_90\""));
    complete(|r| isotherm_document(&run, r, &day()));
}

#[test]
fn limit_bad_tables_of_pairs_are_refused_with_the_reason() {
    let ask = |text: &str| {
        let asked =
            IsothermAsked { temperature: Some(Temperature::from_celsius(25.0)), ..IsothermAsked::default() };
        isotherm("pairs.csv", text.as_bytes(), asked).map(|_| ()).unwrap_err().to_string()
    };
    let no_unit = ask("aw,moisture\n0.3,12\n0.5,15\n0.7,30\n");
    assert!(no_unit.contains("moisture: '12' has no unit") || no_unit.contains("basis"), "{no_unit}");
    let swapped = ask("aw,moisture (kg/kg db)\n0.05,0.3\n0.09,0.5\n0.14,0.7\n");
    assert!(swapped.contains("columns swapped"), "{swapped}");
    let percent = ask("aw,moisture (% db)\n30,12\n50,15\n70,30\n");
    assert!(percent.contains("per cent"), "{percent}");
    let few = ask("aw,moisture (% db)\n0.3,12\n0.5,15\n");
    assert!(few.contains("at least 3"), "{few}");
    let column = ask("water,moisture (% db)\n0.3,12\n");
    assert!(column.contains("column 'water activity': missing"), "{column}");
}

#[test]
fn identity_curves_of_a_table_are_ranked_with_the_warning() {
    let library = Library::embedded().unwrap();
    let bytes = std::fs::read(example("trials/apple_curves.csv")).unwrap();
    let product = Some(library.product(&MemoryFiles::default(), "apple").unwrap());
    let run = thin_layer("apple_curves.csv", &bytes, &ThinAsked { product, ..ThinAsked::default() }).unwrap();
    assert_eq!(run.curves.len(), 2);
    assert!(run.study.ranked.len() >= 8, "{:?}", run.study.unfitted);
    let text =
        document_text(&thin_document(&run, &Reader::new(Language::English, Units::Si), &day()), 400, false);
    assert!(text.contains("no thickness, no air, no load"), "{text}");
    complete(|r| thin_document(&run, r, &day()));
}

#[test]
fn identity_a_trial_is_planned_before_it_is_weighed() {
    let library = Library::embedded().unwrap();
    let path = example("trials/apple.toml");
    let mut file = TrialFile::read_before(&library, &Disk, &path.to_string_lossy()).unwrap();
    file.cases.truncate(1);
    let plan = plan_trial(file, &PlanAsked { count: Some(6), ..PlanAsked::default() }).unwrap();
    let own = &plan.plans[0];
    assert_eq!(own.weighings.len(), 6);
    assert!(own.weighings.windows(2).all(|w| w[0].elapsed_s <= w[1].elapsed_s));
    // Chosen weighings tell at least as much as evenly spread ones, taken together.
    let volume = |list: &[fallrate_fit::trial::ExpectedError]| list.iter().map(|e| e.after.ln()).sum::<f64>();
    assert!(volume(&own.errors) < volume(&own.evenly) + 0.05);
    complete(|r| trial_plan_document(&plan, r, &day()));
}

/// One trial of the example: what a first trial of a newcomer looks like.
fn first_trial() -> TrialFile {
    let library = Library::embedded().unwrap();
    let path = example("trials/apple.toml");
    let mut file = TrialFile::read(&library, &Disk, &path.to_string_lossy()).unwrap();
    file.cases.truncate(1);
    // All but the activation energy, which one temperature does not tell.
    file.unknowns.retain(|u| *u != fallrate_fit::trial::Unknown::ActivationEnergy);
    // Coarser along the air than a person's fit, for the time that a test may take.
    if let fallrate_fit::trial::Apparatus::Cabinet { batch, .. } = &mut file.cases[0].trial.apparatus {
        batch.load.positions = 2;
    }
    file
}

#[test]
fn val_a_trial_improves_the_product_file_towards_the_truth() {
    let library = Library::embedded().unwrap();
    let run = fit_trial_file(first_trial(), &|_| true).unwrap();
    let u = run.fit.of(fallrate_fit::trial::Unknown::Diffusivity).unwrap();
    // The readings were made with 6.2e-10 m2/s; the file begins at 4.97e-10 and may be off by a factor of 1.8 either way.
    let error = u.coordinate_error.unwrap();
    assert!((u.value / 6.2e-10).ln().abs() < 3.0 * error, "{} give or take {error}", u.value);
    assert!(error < 0.6 * u.belief.deviation, "{error}");
    let text = trial_product(&run, &library, "apple_trial.toml", &day()).unwrap();
    assert!(text.contains("INVENTED") && text.contains("trial '57 degC, 6 mm' of 2026-03-10"), "{text}");
    let files = MemoryFiles(vec![("./apple_trial.toml".to_owned(), text.clone().into_bytes())]);
    let own = library.product(&files, "./apple_trial.toml").unwrap();
    let kept = &own.diffusivity.at_60c;
    assert!((kept.value.m2_per_s() / u.value - 1.0).abs() < 1e-3);
    assert!(kept.low.m2_per_s() < kept.value.m2_per_s() && kept.value.m2_per_s() < kept.high.m2_per_s());
    // The same trial cannot be counted again on top of the file it made.
    let mut again = first_trial();
    again.product = ProductText { product: own, text };
    let refused = fit_trial_file(again, &|_| true).unwrap_err().to_string();
    assert!(refused.contains("counted already"), "{refused}");
    assert!(trial_json(&run).contains("\"untold\""));
    complete(|r| trial_document(&run, r, &day()));
}

#[test]
fn limit_bad_readings_of_a_trial_are_named_or_refused() {
    let fit = |change: &dyn Fn(&mut fallrate_fit::trial::Trial)| {
        let mut file = first_trial();
        file.unknowns.truncate(1);
        assert_eq!(file.unknowns, [fallrate_fit::trial::Unknown::Diffusivity]);
        change(&mut file.cases[0].trial);
        fit_trial_file(file, &|_| true)
    };
    let words = |run: &fallrate_app::learning::TrialRun| {
        let r = Reader::new(Language::English, Units::Si);
        document_text(&trial_document(run, &r, &day()), 400, false)
    };
    let rises = fit(&|t| {
        t.trays[0].weighings.iter_mut().rev().enumerate().for_each(|(i, w)| w.gross_kg = 4.0 - 0.1 * i as f64)
    });
    assert!(rises.unwrap_err().to_string().contains("weights that rise"));
    let few = fit(&|t| {
        t.trays.truncate(1);
        t.trays[0].weighings.truncate(2);
    });
    assert!(few.unwrap_err().to_string().contains("weighings: 2"));
    let unit = fit(&|t| t.size_m = 6.0);
    assert!(unit.unwrap_err().to_string().contains("looks like mm"));
    let stopped = fit(&|t| t.trays.iter_mut().for_each(|t| t.weighings.truncate(4))).unwrap();
    assert!(words(&stopped).contains("was stopped while"), "{}", words(&stopped));
    let spike = fit(&|t| t.trays[0].weighings[4].gross_kg += 0.3).unwrap();
    assert!(words(&spike).contains("It was left out"), "{}", words(&spike));
    let cancelled = fit_trial_file(first_trial(), &|_| false);
    assert!(matches!(cancelled, Err(fallrate_app::AppError::Cancelled)));
}

#[test]
fn identity_a_recipe_moves_to_a_cabinet_with_other_marks() {
    let library = Library::embedded().unwrap();
    let path = example("beef_strips.toml");
    let asked = MoveAsked { cabinet: Some("bench_unit".to_owned()), changes: Vec::new(), draws: 0 };
    let run = move_plan(&library, &Disk, &path.to_string_lossy(), &asked, &|_| true).unwrap();
    assert!(run.adjusted.iter().any(|a| matches!(a, Adjusted::Trays { .. })), "{:?}", run.adjusted);
    // The written plan is the plan that was computed.
    let text = run.text.clone().unwrap();
    let again = fallrate_app::PlanCase::of_library(&library, "there.toml", &text)
        .unwrap()
        .plan(0, &|_| true)
        .unwrap();
    let there = &run.compared.ways[1].planned.plan;
    let (a, b) = (again.plan.timer.emptied_at_once_s, there.timer.emptied_at_once_s);
    assert!((a / b - 1.0).abs() < 0.01, "{a} {b}");
    complete(|r| move_document(&run, &library, r, &day()));
}

#[test]
fn identity_a_recipe_that_stays_moves_nothing() {
    let library = Library::embedded().unwrap();
    let path = example("beef_strips.toml");
    let asked = MoveAsked { cabinet: Some("north".to_owned()), changes: Vec::new(), draws: 0 };
    let run = move_plan(&library, &Disk, &path.to_string_lossy(), &asked, &|_| true).unwrap();
    assert_eq!(run.adjusted, Vec::new());
    for s in &run.stages {
        assert!((s.wet_bulb_c.0 - s.wet_bulb_c.1).abs() < 0.01, "{s:?}");
    }
}
