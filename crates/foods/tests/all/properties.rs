use crate::reference::{Check, Example, Row, number, rows};
use fallrate_foods::{COMPONENTS, Component, Composition, ConductivityLaw, VolumeLaw};

fn component(name: &str) -> Option<Component> {
    Some(match name {
        "water" => Component::Water,
        "protein" => Component::Protein,
        "fat" => Component::Fat,
        "carbohydrate" => Component::Carbohydrate,
        "fibre" => Component::Fibre,
        "ash" => Component::Ash,
        _ => return None,
    })
}

fn composition(row: &Row) -> Composition {
    let get = |key: &str| number(row, key);
    let fibre = get("fibre_pct_wb");
    let carbohydrate = get("carbohydrate_total_pct_wb") - fibre;
    Composition::from_shares([
        get("moisture_pct_wb"),
        get("protein_pct_wb"),
        get("fat_pct_wb"),
        carbohydrate,
        fibre,
        get("ash_pct_wb"),
    ])
    .expect("a composition")
}

#[test]
fn table_choi_okos_components() {
    let check = |name, unit, allowed| {
        let source = "choi_okos_worked_components.csv (Choi & Okos 1986 coefficients)";
        Check::new("foods", name, source, (unit, allowed), "COMPUTED from READ coefficients")
    };
    // Half of the last digit printed.
    let mut density = check("Choi-Okos component density, 0 to 80 degC", "kg/m3", 5.1e-5);
    let mut conductivity = check("Choi-Okos component conductivity, 0 to 80 degC", "W/(m K)", 5.1e-7);
    let mut heat = check("Choi-Okos component specific heat, 0 to 80 degC", "J/(kg K)", 5.1e-5);
    for row in rows("choi_okos_worked_components.csv") {
        let t = number(&row, "temperature_C");
        let c = component(&row["component"]).expect("known component");
        let at = format!("{row:?}");
        density.absolute(c.density_kg_per_m3(t), number(&row, "density_kg_per_m3"), &at);
        conductivity.absolute(c.conductivity_w_per_m_k(t), number(&row, "conductivity_W_per_m_K"), &at);
        heat.absolute(c.specific_heat_j_per_kg_k(t), number(&row, "specific_heat_J_per_kg_K"), &at);
    }
    for check in [density, conductivity, heat] {
        check.done(30);
    }
}

#[test]
fn table_choi_okos_coefficients() {
    let mut check = Check::new(
        "foods",
        "Choi-Okos coefficients used against the table",
        "choi_okos_coefficients.csv (Choi & Okos 1986 as tabulated by ASHRAE, read second hand)",
        ("relative", 1e-12),
        "READ",
    );
    for row in rows("choi_okos_coefficients.csv") {
        let Some(c) = component(&row["component"]) else { continue };
        let f = |t: f64| match row["property"].as_str() {
            "density" => c.density_kg_per_m3(t),
            "conductivity" => c.conductivity_w_per_m_k(t),
            _ => c.specific_heat_j_per_kg_k(t),
        };
        for t in [0.0, 40.0, 100.0] {
            let expected =
                number(&row, "c0") + t * (number(&row, "c1_per_C") + t * number(&row, "c2_per_C2"));
            check.relative(f(t), expected, format!("{row:?}"));
        }
    }
    check.done(54);
}

#[test]
fn table_food_properties() {
    let foods = rows("food_composition.csv");
    let source = "food_properties_computed.csv (USDA SR26 compositions, Choi & Okos 1986)";
    let area = "foods";
    let mut density = Check::new(
        area,
        "density of 65 foods, fresh and dried",
        source,
        ("relative", 5e-5),
        "COMPUTED from READ values",
    );
    let mut heat = Check::new(
        area,
        "specific heat of 65 foods, fresh and dried",
        source,
        ("relative", 5e-5),
        "COMPUTED from READ values",
    );
    let mut parallel = Check::new(
        area,
        "parallel conductivity of 65 foods",
        source,
        ("relative", 5e-4),
        "COMPUTED from READ values",
    );
    let mut series = Check::new(
        area,
        "series conductivity of 65 foods",
        source,
        ("relative", 5e-4),
        "COMPUTED from READ values",
    );
    let mut alpha = Check::new(
        area,
        "thermal diffusivity of 65 foods",
        source,
        ("relative", 5e-4),
        "COMPUTED from READ values",
    );
    for row in rows("food_properties_computed.csv") {
        let food = foods.iter().find(|f| f["food"] == row["food"]).expect("composition of the food");
        let fresh = composition(food);
        let x = number(&row, "moisture_db_kg_per_kg");
        let is_fresh = (x - fresh.moisture_dry_basis_kg_per_kg()).abs() < 2e-4 * x;
        let c = if is_fresh { fresh } else { fresh.at_moisture(x) };
        let t = number(&row, "temperature_C");
        let at = format!("{} X {x} t {t}", row["food"]);
        density.relative(c.density_kg_per_m3(t), number(&row, "density_no_air_kg_per_m3"), &at);
        heat.relative(c.specific_heat_j_per_kg_k(t), number(&row, "specific_heat_J_per_kg_K"), &at);
        parallel.relative(
            c.conductivity_parallel_w_per_m_k(t),
            number(&row, "conductivity_parallel_W_per_m_K"),
            &at,
        );
        series.relative(
            c.conductivity_series_w_per_m_k(t),
            number(&row, "conductivity_series_W_per_m_K"),
            &at,
        );
        alpha.relative(
            c.thermal_diffusivity_m2_per_s(t),
            number(&row, "thermal_diffusivity_parallel_m2_per_s"),
            &at,
        );
    }
    for check in [density, heat, parallel, series, alpha] {
        check.done(380);
    }
}

#[test]
fn table_worked_examples() {
    let mut check = Check::new(
        "foods",
        "worked examples beef round and apple at 20 degC",
        "worked_examples.toml choi-beef and choi-apple",
        ("relative", 2e-4),
        "COMPUTED from READ values",
    );
    let beef = Composition::from_shares([0.724452, 0.230647, 0.034097, 0.0, 0.0, 0.010804]).expect("beef");
    let apple = Composition::from_shares([0.8667, 0.0027, 0.0013, 0.1146, 0.013, 0.0017]).expect("apple");
    for (id, c) in [("choi-beef", beef), ("choi-apple", apple)] {
        let e = Example::find(id);
        check.relative(c.density_kg_per_m3(20.0), e.expected("density_kg_per_m3"), id);
        check.relative(c.specific_heat_j_per_kg_k(20.0), e.expected("specific_heat_J_per_kg_K"), id);
        check.relative(
            c.conductivity_parallel_w_per_m_k(20.0),
            e.expected("conductivity_parallel_W_per_m_K"),
            id,
        );
        check.relative(
            c.conductivity_series_w_per_m_k(20.0),
            e.expected("conductivity_series_W_per_m_K"),
            id,
        );
    }
    check.done(8);
}

#[test]
fn table_additive_volume() {
    let mut check = Check::new(
        "foods",
        "volume ratio on drying to 0.50 and 0.15 kg/kg, 14 foods",
        "shrinkage_density.csv additive-volume rows (Choi-Okos densities at 40 degC)",
        ("absolute", 1e-4),
        "COMPUTED from READ values",
    );
    let foods = rows("food_composition.csv");
    for row in rows("shrinkage_density.csv") {
        let Some(food) = foods.iter().find(|f| f["food"] == row["item"]) else { continue };
        let c = composition(food);
        let number_after = |key: &str| -> f64 {
            let tail = row["relation"].split(key).nth(1).expect("the key");
            tail.split_whitespace().next().expect("a number").parse().expect("a number")
        };
        let law = VolumeLaw {
            solids_density_kg_per_m3: c.solids_density_kg_per_m3(40.0),
            // Water at 40 degC as in steam tables (from memory), which the table was worked with; Choi-Okos has 991.3.
            water_density_kg_per_m3: 992.2,
            shrinkage_share: 1.0,
            x0_kg_per_kg: c.moisture_dry_basis_kg_per_kg(),
            lateral_exponent: 2.0 / 3.0,
        };
        // The table prints X0 rounded to 0.001 kg/kg.
        assert!((number_after("X0 = ") - law.x0_kg_per_kg).abs() < 6e-4);
        let ratio = law.specific_volume(number_after("to X = ")).0 / law.specific_volume(law.x0_kg_per_kg).0;
        let expected = row.iter().find(|(k, _)| *k == "value").expect("value").1.parse().expect("number");
        check.absolute(ratio, expected, &row["item"]);
    }
    check.done(28);
}

#[test]
fn identity_conductivity_law_agrees_with_composition_and_its_slopes() {
    let c = Composition::from_shares([73.09, 23.27, 3.44, 0.0, 0.0, 1.09]).expect("beef");
    let law = VolumeLaw {
        solids_density_kg_per_m3: c.solids_density_kg_per_m3(50.0),
        water_density_kg_per_m3: Component::Water.density_kg_per_m3(50.0),
        shrinkage_share: 0.9,
        x0_kg_per_kg: c.moisture_dry_basis_kg_per_kg(),
        lateral_exponent: 0.3,
    };
    let k = ConductivityLaw::new(&c, law);
    let fresh = k.at(law.x0_kg_per_kg, 50.0).0;
    assert!((fresh / c.conductivity_parallel_w_per_m_k(50.0) - 1.0).abs() < 0.01, "{fresh}");
    assert!(k.at(0.2, 50.0).0 < c.at_moisture(0.2).conductivity_parallel_w_per_m_k(50.0));
    for x in [0.1, 0.5, 1.5, 2.5] {
        let (_, kx, kt) = k.at(x, 45.0);
        let by_x = crate::reference::slope(|x| k.at(x, 45.0).0, x, 1e-5);
        let by_t = crate::reference::slope(|t| k.at(x, t).0, 45.0, 1e-3);
        assert!((kx - by_x).abs() < 1e-6 && (kt - by_t).abs() < 1e-8, "{x}");
        let area = law.area_ratio(x);
        let by_area = crate::reference::slope(|x| law.area_ratio(x).0, x, 1e-5);
        assert!((area.1 - by_area).abs() < 1e-8 && area.0 < 1.0);
        assert!(law.porosity(x) > 0.0 && law.porosity(x) < 0.3, "{} {}", x, law.porosity(x));
    }
}

#[test]
fn identity_added_salt_and_drying_conserve_solids() {
    let c = Composition::from_shares([72.0, 23.0, 3.4, 0.0, 0.0, 1.1]).expect("meat");
    let salted = c.with_added(0.02, 0.03, 0.0).expect("salted");
    assert!((salted.share(Component::Ash) - (c.share(Component::Ash) + 0.02) / 1.05).abs() < 1e-12);
    let dried = c.at_moisture(0.3);
    let sum: f64 = COMPONENTS.iter().map(|&x| dried.share(x)).sum();
    assert!((sum - 1.0).abs() < 1e-12);
    assert!((dried.moisture_dry_basis_kg_per_kg() - 0.3).abs() < 1e-12);
    assert!(Composition::from_shares([0.0; 6]).is_err());
    assert!(Composition::from_shares([f64::NAN, 1.0, 0.0, 0.0, 0.0, 0.0]).is_err());
}
