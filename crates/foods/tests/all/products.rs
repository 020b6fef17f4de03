use crate::reference::{Check, number, rows};
use fallrate_datafile::Mark;
use fallrate_foods::{Cautions, Component, KillStep, Product, Sources};

fn data(path: &str) -> String {
    let full = format!("{}/../../data/{path}", env!("CARGO_MANIFEST_DIR"));
    std::fs::read_to_string(&full).unwrap_or_else(|e| panic!("{full}: {e}"))
}

fn all() -> Vec<(String, String)> {
    let dir = concat!(env!("CARGO_MANIFEST_DIR"), "/../../data/products");
    let mut names: Vec<String> = std::fs::read_dir(dir)
        .expect("data/products")
        .map(|e| e.expect("entry").file_name().into_string().expect("name"))
        .filter(|n| n.ends_with(".toml"))
        .collect();
    names.sort();
    names.into_iter().map(|n| (n.clone(), data(&format!("products/{n}")))).collect()
}

fn products() -> Vec<Product> {
    all().iter().map(|(n, t)| Product::parse(n, t).unwrap_or_else(|p| panic!("{p}"))).collect()
}

#[test]
fn table_every_product_file_is_sound() {
    let sources = Sources::parse("sources.toml", &data("sources.toml")).expect("sources");
    let cautions = Cautions::parse("cautions.toml", &data("cautions.toml")).expect("cautions");
    let mut problems = String::new();
    let mut count = 0;
    for (name, text) in all() {
        count += 1;
        match Product::parse(&name, &text) {
            Err(p) => problems += &format!("{p}\n"),
            Ok(product) => {
                for key in product.unknown_sources(&sources) {
                    problems += &format!("{name}: source {key} is not in data/sources.toml\n");
                }
                for key in product.unknown_cautions(&cautions) {
                    problems += &format!("{name}: caution {key} is not in data/cautions.toml\n");
                }
            }
        }
    }
    assert!(problems.is_empty(), "{problems}");
    assert!(count >= 26, "{count} products");
}

#[test]
fn limit_no_source_or_caution_is_left_over() {
    let sources = Sources::parse("sources.toml", &data("sources.toml")).expect("sources");
    let cautions = Cautions::parse("cautions.toml", &data("cautions.toml")).expect("cautions");
    let products = products();
    for key in sources.keys() {
        assert!(products.iter().any(|p| p.source_keys().contains(&key)), "nobody cites {key}");
    }
    for (key, _) in cautions.iter() {
        assert!(products.iter().any(|p| p.cautions.iter().any(|c| c == key)), "nobody shows {key}");
    }
}

#[test]
fn table_compositions_are_those_of_the_reference() {
    let mut check = Check::new(
        "foods",
        "product compositions against the nutrient database rows of the same number",
        "food_composition.csv (USDA SR26)",
        ("%", 0.011),
        "READ",
    );
    let reference = rows("food_composition.csv");
    for product in products() {
        if product.composition.mark != Mark::Read {
            continue;
        }
        let note = product.composition.note.clone().expect("a number");
        let ndb = note.split(';').next().expect("number");
        let row = reference.iter().find(|r| r["source"].contains(ndb)).expect(ndb);
        let scale = product.composition.printed_sum_percent;
        for (component, key) in [
            (Component::Water, "moisture_pct_wb"),
            (Component::Protein, "protein_pct_wb"),
            (Component::Fat, "fat_pct_wb"),
            (Component::Fibre, "fibre_pct_wb"),
            (Component::Ash, "ash_pct_wb"),
        ] {
            let found = product.composition.composition.share(component) * scale;
            check.absolute(found, number(row, key), format!("{} {key}", product.key));
        }
    }
    check.done(200);
}

#[test]
fn table_read_diffusivities_lie_in_the_row_they_cite() {
    let reference = rows("moisture_diffusivity.csv");
    let sources = Sources::parse("sources.toml", &data("sources.toml")).expect("sources");
    let mut count = 0;
    for product in products() {
        let d = &product.diffusivity.at_60c;
        if d.mark != Mark::Read {
            continue;
        }
        count += 1;
        let source = sources.get(&d.source).expect("source");
        let first = |text: &str| text.split([' ', ',']).next().unwrap_or_default().to_owned();
        let kind = first(&product.name.en.to_lowercase());
        // The row names the author, or its source is the title where no author was shown; and it is of this food.
        let cited = |r: &&std::collections::BTreeMap<String, String>| {
            let author = first(&source.issuer);
            let by_author = author != "authors" && r["source"].contains(&author);
            let by_title = source.title.contains(r["source"].split([':', ',']).next().unwrap_or("-"));
            (by_author || by_title) && r["food"].contains(kind.trim_end_matches('s'))
        };
        let found: Vec<_> = reference.iter().filter(cited).collect();
        assert!(!found.is_empty(), "{}: no row of {} for {kind}", product.key, d.source);
        let v = d.value.m2_per_s();
        let inside = found.iter().any(|r| {
            let bound = |key: &str| r[key].parse::<f64>().unwrap_or(f64::NAN);
            v >= 0.99 * bound("D_low_m2_per_s") && v <= 1.01 * bound("D_high_m2_per_s")
        });
        assert!(inside, "{}: {v:e} m2/s is in no row of {}", product.key, d.source);
    }
    assert!(count >= 6, "{count}");
}

#[test]
fn identity_models_of_every_product() {
    for product in products() {
        let key = &product.key;
        let prepared = product.prepare(&product.usual_preparation()).expect(key);
        assert!(prepared.x0_kg_per_kg > 0.3 && prepared.x0_kg_per_kg < 25.0, "{key}");
        let sorption = product.sorption_model(prepared.solutes).expect(key);
        let fresh = sorption.activity(prepared.x0_kg_per_kg, 298.15);
        assert!(fresh.aw > 0.9 && fresh.aw < 1.0, "{key}: fresh {}", fresh.aw);
        let volume = product.volume_law(&prepared);
        let density = volume.fresh_density_kg_per_m3();
        assert!((450.0..1200.0).contains(&density), "{key}: fresh density {density}");
        let (k, _, _) = product.conductivity_law(&prepared).at(prepared.x0_kg_per_kg, 40.0);
        assert!((0.2..0.65).contains(&k), "{key}: conductivity {k}");
        let d = product.diffusivity_law_of(&prepared).at(prepared.x0_kg_per_kg, 333.15).d_m2_per_s;
        let usual = product.diffusivity.at_60c.value.m2_per_s();
        assert!(d / usual > 0.9 && d / usual < 1.2, "{key}");
        if let Some(lift) = &product.lift_off {
            let x0 = prepared.x0_kg_per_kg;
            let (fresh, dry) = (lift.speed_m_per_s(x0, x0, 1.0, 1.1), lift.speed_m_per_s(0.08, x0, 0.4, 1.1));
            assert!(dry < fresh && dry > 0.3 && fresh < 20.0, "{key}: {fresh} {dry}");
        }
        // A raw product that needs a kill carries the caution that a model is no validation.
        if product.kill_step == KillStep::Required {
            assert!(product.cautions.iter().any(|c| c == "model_not_validation"), "{key}");
        }
    }
}

#[test]
fn limit_mistakes_are_named_with_their_place() {
    let good = data("products/apple.toml");
    let cases = [
        ("key = \"apple\"", "key = \"pear\"", "the name of the file"),
        ("group = \"fruit\"", "group = \"friut\"", "did you mean 'fruit'"),
        ("water = 86.67", "water = 76.67", "components sum to"),
        ("value = \"86.7 % wb\"", "value = \"86.7\"", "has no unit"),
        ("value = \"86.7 % wb\"", "value = \"71.0 % wb\"", "low <= value <= high"),
        ("form = \"GAB\"", "form = \"GABB\"", "is not known"),
        ("parameters = [0.11, 6, 1.0]", "parameters = [0.11, 6]", "parameters given"),
        ("parameters = [0.11, 6, 1.0]", "parameters = [0.11, -6, 1.0]", "sorption"),
        ("mark = \"memory\"", "mark = \"sure\"", "read, computed, memory, assumed"),
        ("raw_meat = false", "raw_meat = true", "required or advised"),
        ("moisture = { value = \"20 % wb\"", "moisture = { value = \"1 % wb\"", "low <= value <= high"),
        ("es = \"Rodajas de manzana\"", "", "missing"),
        ("[tray]", "[tray]\nlode = \"5 kg/m2\"", "unknown key"),
        ("shape = \"slab\"", "shape = \"cube\"", "slab, cylinder, sphere"),
    ];
    for (from, to, expected) in cases {
        assert!(good.contains(from), "{from}");
        let text = good.replacen(from, to, 1);
        let problems = Product::parse("apple.toml", &text).expect_err(to).to_string();
        assert!(problems.contains(expected), "{to}: {problems}");
        assert!(problems.contains("apple.toml:"), "{problems}");
    }
    for text in ["", "\0", "= =", "key = 3"] {
        assert!(Product::parse("apple.toml", text).is_err());
    }
}

#[test]
fn limit_salt_lowers_the_activity_and_raises_the_equilibrium() {
    let text = data("products/beef_eye_of_round.toml");
    let beef = Product::parse("beef_eye_of_round.toml", &text).expect("beef");
    let mut plain = beef.usual_preparation();
    plain.salt_kg_per_kg_raw = 0.0;
    plain.sugar_kg_per_kg_raw = 0.0;
    let salted = beef.prepare(&beef.usual_preparation()).expect("salted");
    let plain = beef.prepare(&plain).expect("plain");
    let (s, p) = (
        beef.sorption_model(salted.solutes).expect("salted"),
        beef.sorption_model(plain.solutes).expect("plain"),
    );
    let x_salted = s.moisture_at(0.85, 298.15).expect("equilibrium");
    let x_plain = p.moisture_at(0.85, 298.15).expect("equilibrium");
    assert!(x_salted > 1.3 * x_plain, "{x_salted} {x_plain}");
    assert!(
        beef.prepare(&fallrate_foods::Preparation {
            raw_moisture_wet_basis: 1.0,
            ..beef.usual_preparation()
        })
        .is_err()
    );
}

#[test]
fn limit_damaged_files_give_problems_and_never_a_panic() {
    let good = data("products/beef_eye_of_round.toml");
    let lines: Vec<&str> = good.lines().collect();
    for skip in 0..lines.len() {
        let text: String =
            lines.iter().enumerate().filter(|(i, _)| *i != skip).map(|(_, l)| format!("{l}\n")).collect();
        let ended: String = lines.iter().take(skip).map(|l| format!("{l}\n")).collect();
        let _ = Product::parse("beef_eye_of_round.toml", &text);
        assert!(Product::parse("beef_eye_of_round.toml", &ended).is_err(), "cut at line {skip}");
    }
    for (from, to) in
        [("2.0 %", "-3 %"), ("4.0e-10 m2/s", "nan m2/s"), ("0.065", "0.0"), ("40 degC", "400 degC")]
    {
        assert!(Product::parse("beef_eye_of_round.toml", &good.replace(from, to)).is_err(), "{to}");
    }
}
