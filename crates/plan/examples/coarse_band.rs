//! What the coarse grid of the draws changes against the plan's own, as Markdown.
//! `cargo run -p fallrate-plan --example coarse_band`
#![allow(clippy::unwrap_used)]
use fallrate_plan::request::PlanRequest;
use fallrate_plan::sweep::{COARSE, FINE, SWEEP_SPAN, sweep};
use fallrate_plan::{Effort, plan};

fn main() {
    println!("Nominal runs on both grids: draws {COARSE:?}, plan {FINE:?}.\n");
    println!(
        "| product | powered time, fine, h | coarse, shift | mean moisture at that time, shift, kg/kg db | wettest, shift |\n| --- | --- | --- | --- | --- |"
    );
    let root = concat!(env!("CARGO_MANIFEST_DIR"), "/../..");
    let read = |path: String| std::fs::read_to_string(format!("{root}/{path}")).unwrap();
    let cabinet =
        fallrate_equipment::Cabinet::parse("north.toml", &read("data/cabinets/north.toml".to_owned()))
            .unwrap();
    for key in ["apple", "beef_eye_of_round", "mango_puree", "carrot", "mint", "grape"] {
        let product = fallrate_foods::Product::parse(
            &format!("{key}.toml"),
            &read(format!("data/products/{key}.toml")),
        )
        .unwrap();
        let text = format!(
            "product = \"{key}\"\ncabinet = \"north\"\n[load]\nper_area = \"{:.2} kg/m2\"\n[room]\ntemperature = \"20 degC\"\nrelative_humidity = \"45 %\"\n[target]\nmoisture = \"{:.1} % wb\"\n[timer]\nunload = \"at end\"\n",
            product.tray_load.value.kg_per_m2(),
            product.target.moisture.value.percent()
        );
        let request = PlanRequest::parse("coarse.toml", &text).unwrap();
        let Ok(p) = plan(&request, &product, &cabinet, Effort { draws: 0 }, &|_| true) else { continue };
        let setup = &p.assembled.setup;
        let until = SWEEP_SPAN * p.timer.nominal_s;
        let fine = sweep(setup, &setup.batch, until, &FINE, &mut |_| true).unwrap();
        let coarse = sweep(setup, &setup.batch, until, &COARSE, &mut |_| true).unwrap();
        let end = |s: &fallrate_plan::sweep::Sweep| {
            s.at_unloading(setup.target.piece)
                .first_at_or_below(setup.target.moisture_dry_basis)
                .unwrap_or(f64::NAN)
        };
        let (a, b) = (end(&fine), end(&coarse));
        println!(
            "| {key} | {:.2} | {:+.2} % | {:+.4} | {:+.4} |",
            a / 3600.0,
            100.0 * (b / a - 1.0),
            coarse.mean_at_power_off.at(a) - fine.mean_at_power_off.at(a),
            coarse.slowest_at_power_off.at(a) - fine.slowest_at_power_off.at(a)
        );
    }
}
