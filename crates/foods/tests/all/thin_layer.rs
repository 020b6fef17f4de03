use crate::reference::{Check, Example, Row, maybe, number, rows};
use fallrate_foods::{ThinLayer, fick_slab_moisture_ratio, vapour_deficit_rate};

#[test]
fn table_worked_examples() {
    let mut check = Check::new(
        "foods",
        "thin-layer drying times: coffee (Midilli, vapour-pressure deficit), chicken (Page)",
        "worked_examples.toml midilli-coffee vpd-coffee page-chicken",
        ("relative", 2e-4),
        "COMPUTED from READ parameters",
    );
    let mut printed = Check::new(
        "foods",
        "coffee drying times to moisture ratio 0.2 as printed",
        "worked_examples.toml, thesis values of one decimal read off to the next reading",
        ("h", 0.1),
        "READ",
    );
    for id in ["midilli-coffee-60-20", "midilli-coffee-50-10"] {
        let e = Example::find(id);
        let m = ThinLayer::Midilli { a: 1.0, k: e.input("k"), n: e.input("n"), b: e.input("b") };
        let t = m.time_to(0.2, 30.0).expect(id);
        check.relative(t, e.expected("time_h"), id);
        printed.absolute(t, e.expected("thesis_value_h"), id);
    }
    for id in ["vpd-coffee-50-10", "vpd-coffee-70-30"] {
        let e = Example::find(id);
        let k = vapour_deficit_rate(e.input("m"), e.input("n"), e.expected("vpd_kPa"));
        check.relative(k, e.expected("k_per_h_q"), id);
        let t = ThinLayer::Page { k, n: e.input("q") }.time_to(0.2, 40.0).expect(id);
        check.relative(t, e.expected("time_h"), id);
        printed.absolute(t, e.expected("thesis_value_h"), id);
    }
    let e = Example::find("page-chicken");
    let page = ThinLayer::Page { k: e.input("k_per_min_n"), n: e.input("n") };
    check.relative(page.time_to(0.1, 2000.0).expect("time"), e.expected("time_min"), "page-chicken");
    check.done(7);
    printed.done(4);
}

fn equation(row: &Row) -> Option<ThinLayer> {
    let get = |key: &str| maybe(row, key);
    Some(match row["model"].as_str() {
        "Lewis" => ThinLayer::Lewis { k: get("k")? },
        "Page" => ThinLayer::Page { k: get("k")?, n: get("n")? },
        "Henderson-Pabis" => ThinLayer::HendersonPabis { a: get("a")?, k: get("k")? },
        "Logarithmic" => ThinLayer::Logarithmic { a: get("a")?, k: get("k")?, c: get("c")? },
        "Midilli (a = 1)" => ThinLayer::Midilli { a: 1.0, k: get("k")?, n: get("n")?, b: get("b")? },
        _ => return None,
    })
}

#[test]
fn table_coffee_fits_agree_with_each_other() {
    // Nine cells, five equations fitted to the same data: at a moisture ratio of 0.4 they must give nearly one time.
    // The printed fits themselves differ by up to 15 % there (Page, 70 degC, 30 %).
    // One printed set (Logarithmic, 60 degC, 10 %) begins at MR = 1.23 and is a misprint; it is left out by name.
    let mut check = Check::new(
        "foods",
        "time to moisture ratio 0.4 by Lewis, Page, Henderson-Pabis, Logarithmic against Midilli, same data",
        "thin_layer_parameters.csv parchment coffee (Phitakwinai et al. 2019 Table 2)",
        ("relative", 0.2),
        "READ",
    );
    let coffee: Vec<Row> =
        rows("thin_layer_parameters.csv").into_iter().filter(|r| r["food"] == "coffee, parchment").collect();
    for row in &coffee {
        let Some(fit) = equation(row) else { continue };
        if fit.moisture_ratio(0.0) > 1.15 {
            continue;
        }
        let same = |r: &&Row| {
            r["model"].starts_with("Midilli")
                && r["air_temperature_C"] == row["air_temperature_C"]
                && r["rh_pct"] == row["rh_pct"]
        };
        let best = coffee.iter().find(same).and_then(equation).expect("Midilli of the cell");
        let (t, expected) = (fit.time_to(0.4, 60.0).expect("time"), best.time_to(0.4, 60.0).expect("time"));
        check.relative(
            t,
            expected,
            format!("{} {} {}", row["model"], row["air_temperature_C"], row["rh_pct"]),
        );
    }
    check.done(44);
}

#[test]
fn table_chicken_fits_agree_with_the_published_times() {
    // The article dries to a constant mass in 12, 10 and 8 h at 50, 60, 70 degC; its Page fit is then at MR < 0.2.
    for (t_c, hours) in [("50", 12.0), ("60", 10.0), ("70", 8.0)] {
        let all = rows("thin_layer_parameters.csv");
        let row = all
            .iter()
            .find(|r| {
                r["food"].starts_with("chicken") && r["model"] == "Page" && r["air_temperature_C"] == t_c
            })
            .expect("row");
        let page = ThinLayer::Page { k: number(row, "k"), n: number(row, "n") };
        assert!(page.moisture_ratio(hours * 60.0) < 0.2, "{t_c}");
    }
}

#[test]
fn table_fick_slab() {
    let mut check = Check::new(
        "foods",
        "slab dried from both faces at equilibrium, moisture ratio at Fo 0.32 and 0.4",
        "worked_examples.toml fick cases",
        ("absolute", 1e-7),
        "COMPUTED",
    );
    for (fourier, expected) in [(0.4, 0.302_118_09), (0.32, 0.368_105_42)] {
        check.absolute(fick_slab_moisture_ratio(fourier), expected, fourier);
    }
    check.done(2);
}

#[test]
fn limit_every_equation_begins_at_its_start() {
    let all = [
        ThinLayer::Lewis { k: 0.1 },
        ThinLayer::Page { k: 0.1, n: 1.1 },
        ThinLayer::ModifiedPage { k: 0.1, n: 1.1 },
        ThinLayer::HendersonPabis { a: 1.0, k: 0.1 },
        ThinLayer::Logarithmic { a: 0.9, k: 0.1, c: 0.1 },
        ThinLayer::TwoTerm { a: 0.6, k0: 0.1, b: 0.4, k1: 0.3 },
        ThinLayer::TwoTermExponential { a: 0.6, k: 0.1 },
        ThinLayer::DiffusionApproach { a: 0.6, k: 0.1, b: 0.5 },
        ThinLayer::Verma { a: 0.6, k: 0.1, g: 0.2 },
        ThinLayer::ModifiedHendersonPabis { a: 0.5, k: 0.1, b: 0.3, g: 0.2, c: 0.2, h: 0.3 },
        ThinLayer::WangSingh { a: -0.1, b: 0.002 },
        ThinLayer::Midilli { a: 1.0, k: 0.1, n: 1.1, b: 0.0001 },
        ThinLayer::Weibull { alpha: 8.0, beta: 0.9 },
        ThinLayer::WeibullBase10 { delta: 8.0, n: 0.9 },
        ThinLayer::FickSlab { rate: 0.1 },
    ];
    for m in all {
        assert!((m.moisture_ratio(0.0) - 1.0).abs() < 1e-12, "{m:?}");
        let t = m.time_to(0.5, 50.0).expect("half");
        assert!((m.moisture_ratio(t) - 0.5).abs() < 1e-9, "{m:?}");
        assert!(m.time_to(-0.5, 5.0).is_err(), "{m:?}");
    }
    // The two forms of the slab series meet.
    assert!((fick_slab_moisture_ratio(9.9999e-5) - fick_slab_moisture_ratio(1.00001e-4)).abs() < 1e-6);
}
