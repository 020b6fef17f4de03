use crate::reference::{Check, Example, Row, maybe, number, rows, slope};
use fallrate_foods::{
    HeatTable, Isotherm, IsothermRange, NetHeat, SATURATED_SALTS, Solutes, Sorption, UpperEnd,
};
use proptest::prelude::*;

/// Every parameter set that draws an isotherm, with its fitted range.
fn sets() -> Vec<(String, Isotherm, IsothermRange)> {
    rows("sorption_isotherms.csv")
        .iter()
        .filter_map(|row| {
            let p: Vec<f64> = (1..=8).map_while(|i| maybe(row, &format!("p{i}"))).collect();
            let range = IsothermRange {
                temperature_min_c: maybe(row, "t_min_C"),
                temperature_max_c: maybe(row, "t_max_C"),
                aw_min: maybe(row, "aw_min"),
                aw_max: maybe(row, "aw_max"),
            };
            Some((row["food"].clone(), Isotherm::from_model(&row["model"], &p).ok()?, range))
        })
        .collect()
}

fn set(food: &str) -> Isotherm {
    sets().into_iter().find(|s| s.0 == food).unwrap_or_else(|| panic!("{food}")).1
}

#[test]
fn table_every_worked_moisture() {
    let mut check = Check::new(
        "foods",
        "equilibrium moisture of every isotherm set at 25 and 50 degC",
        "sorption_worked.csv (sets of sorption_isotherms.csv)",
        ("kg/kg db", 6e-6),
        "COMPUTED from READ and MEMORY parameters",
    );
    let sets = sets();
    for row in rows("sorption_worked.csv") {
        let set = sets.iter().find(|s| s.0 == row["food"]).expect("parameters of the food");
        let found = set.1.moisture(number(&row, "aw"), number(&row, "temperature_C"));
        let x = found.map(|p| p.moisture_dry_basis_kg_per_kg).unwrap_or(f64::NAN);
        check.absolute(x, number(&row, "moisture_db_kg_per_kg"), format!("{row:?}"));
    }
    check.done(240);
}

#[test]
fn table_worked_examples() {
    let mut check = Check::new(
        "foods",
        "isotherm worked examples coffee (Roa), corn (Oswin), potato (GAB)",
        "worked_examples.toml roa-50-10 roa-60-20 roa-70-30 oswin-corn gab-potato",
        ("% db", 6e-4),
        "COMPUTED from READ parameters",
    );
    let mut printed = Check::new(
        "foods",
        "coffee equilibrium moisture as printed",
        "worked_examples.toml roa cases, thesis values of one decimal",
        ("% db", 0.05),
        "READ",
    );
    let coffee = set("coffee, parchment (Arabica, Caturra)");
    for (id, isotherm) in [
        ("roa-50-10", coffee),
        ("roa-60-20", coffee),
        ("roa-70-30", coffee),
        ("oswin-corn", set("shelled corn (maize)")),
        ("gab-potato", set("potato")),
    ] {
        let e = Example::find(id);
        let x = isotherm.moisture(e.input("aw"), e.input("temperature_C")).expect(id);
        let percent = 100.0 * x.moisture_dry_basis_kg_per_kg;
        if id == "gab-potato" {
            check.absolute(percent, 100.0 * e.expected("moisture_kg_per_kg_db"), id);
            continue;
        }
        check.absolute(percent, e.expected("moisture_pct_db"), id);
        if id.starts_with("roa") {
            printed.absolute(percent, e.expected("moisture_pct_db_printed_by_the_thesis"), id);
        }
    }
    check.done(5);
    printed.done(3);
}

#[test]
fn table_isosteric_heat() {
    let mut heat = Check::new(
        "foods",
        "net isosteric heat between 35 and 45 degC",
        "isosteric_heat.csv (Clausius-Clapeyron on sorption_isotherms.csv)",
        ("J/mol", 0.6),
        "COMPUTED",
    );
    let mut aw = Check::new(
        "foods",
        "water activity at a moisture, 35 and 45 degC",
        "isosteric_heat.csv",
        ("aw", 6e-5),
        "COMPUTED",
    );
    let mut local = Check::new(
        "foods",
        "net isosteric heat from the analytic derivative at 40 degC against the two-temperature value",
        "isosteric_heat.csv",
        ("relative", 0.02),
        "COMPUTED",
    );
    let sets = sets();
    for row in rows("isosteric_heat.csv") {
        let Some(set) = sets.iter().find(|s| s.0 == row["food"]) else { continue };
        let x = number(&row, "moisture_db_kg_per_kg");
        let at = format!("{row:?}");
        aw.absolute(set.1.activity(x, 35.0).expect("aw").aw, number(&row, "aw_35C"), &at);
        aw.absolute(set.1.activity(x, 45.0).expect("aw").aw, number(&row, "aw_45C"), &at);
        let q = set.1.net_isosteric_heat_between_j_per_mol(x, 35.0, 45.0).expect("heat");
        // The table was worked with R = 8.314.
        heat.absolute(q * 8.314 / 8.314_462_618, number(&row, "net_isosteric_heat_J_per_mol"), &at);
        if row["model"] != "OSWIN_LIN" {
            let s = set.1.net_isosteric_heat_j_per_kg(x, 40.0).expect("heat");
            local.relative(s, number(&row, "net_isosteric_heat_J_per_kg_water"), &at);
        }
    }
    heat.done(85);
    aw.done(170);
    local.done(60);
}

#[test]
fn table_published_coffee_heat_formula() {
    let mut check = Check::new(
        "foods",
        "exponential net heat with the published coffee constants at 40 degC",
        "isosteric_heat.csv (Trejos et al. 1989 eq. 6, read second hand), latent_heat_water.csv linear form",
        ("relative", 1e-3),
        "READ",
    );
    let latent = rows("latent_heat_water.csv");
    let at_40 = latent.iter().find(|r| r["temperature_C"] == "40").expect("40 degC");
    let heat = NetHeat::Exponential {
        at_zero_j_per_kg: 1.44408 * number(at_40, "linear_J_per_kg"),
        decay_kg_per_kg: 1.0 / 21.6011,
    };
    for row in rows("isosteric_heat.csv").iter().filter(|r| r["model"].starts_with("L/L_water")) {
        let s = heat.heat_j_per_kg(number(row, "moisture_db_kg_per_kg")).0;
        check.relative(s, number(row, "net_isosteric_heat_J_per_kg_water"), format!("{row:?}"));
    }
    check.done(5);
}

#[test]
fn table_saturated_salts() {
    let all = rows("saturated_salts.csv");
    let mut coefficients = Check::new(
        "foods",
        "saturated salt coefficients and temperature ranges",
        "saturated_salts.csv formula rows (CRC Handbook, A. Wexler)",
        ("relative", 1e-12),
        "READ",
    );
    let mut evaluated = Check::new(
        "foods",
        "relative humidity over saturated salts in their range",
        "saturated_salts.csv evaluated rows",
        ("aw", 6e-6),
        "COMPUTED from READ coefficients",
    );
    let mut greenspan = Check::new(
        "foods",
        "relative humidity over saturated salts against Greenspan 1977",
        "saturated_salts.csv Greenspan rows; the CRC formula claims about +-2 % RH",
        ("aw", 0.02),
        "MEMORY",
    );
    for salt in SATURATED_SALTS {
        let of_salt = |r: &&Row| r["salt"] == salt.salt;
        let formula = all.iter().filter(of_salt).find(|r| r["row_kind"] == "formula").expect("formula");
        coefficients.relative(salt.a_percent, number(formula, "A_pct"), salt.salt);
        coefficients.relative(salt.b_k, number(formula, "B_K"), salt.salt);
        coefficients.absolute(salt.temperature_min_c, number(formula, "t_min_C"), salt.salt);
        coefficients.absolute(salt.temperature_max_c, number(formula, "t_max_C"), salt.salt);
        for row in all.iter().filter(of_salt).filter(|r| r["row_kind"] == "value") {
            let Ok(rh) = salt.relative_humidity(number(row, "temperature_C")) else { continue };
            let expected = number(row, "water_activity");
            if row["basis"] == "COMPUTED" {
                evaluated.absolute(rh, expected, format!("{row:?}"));
            } else if row["source"].starts_with("Greenspan") {
                greenspan.absolute(rh, expected, format!("{row:?}"));
            }
        }
        assert!(salt.relative_humidity(salt.temperature_max_c + 1.0).is_err());
    }
    coefficients.done(32);
    evaluated.done(30);
    greenspan.done(10);
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(200))]

    #[test]
    fn identity_isotherms_invert_and_rise(aw in 0.02f64..0.93, dt in 0.0f64..1.0) {
        for (food, isotherm, range) in sets() {
            let (low, high) = (range.temperature_min_c.unwrap_or(20.0), range.temperature_max_c.unwrap_or(60.0));
            let t = low + dt * (high - low);
            let Ok(point) = isotherm.moisture(aw, t) else {
                // Only GAB beyond 1/K and Chung-Pfost below its activity at no moisture may refuse.
                prop_assert!(matches!(isotherm, Isotherm::Gab(_) | Isotherm::ModifiedChungPfost(_)), "{food}");
                continue;
            };
            let x = point.moisture_dry_basis_kg_per_kg;
            prop_assert!(point.d_daw > 0.0, "{food} falls at {aw}");
            // A GAB set with K above 1 has a pole inside the range; beyond 20 kg/kg no food lies, and the inverse refuses.
            if !(1e-9..20.0).contains(&x) { continue; }
            let back = isotherm.activity(x, t).expect("inverse");
            prop_assert!((back.aw - aw).abs() < 1e-9, "{food}: {} for {aw}", back.aw);
            let by_x = slope(|x| isotherm.activity(x, t).expect("aw").aw, x, 1e-5 * x);
            let by_t = slope(|t| isotherm.activity(x, t).expect("aw").aw, t, 1e-3);
            prop_assert!((back.d_dx - by_x).abs() < 2e-4 * by_x.abs() + 1e-6, "{food} {} {by_x}", back.d_dx);
            prop_assert!((back.d_dt_k - by_t).abs() < 2e-4 * by_t.abs() + 1e-8, "{food} {} {by_t}", back.d_dt_k);
            let x_t = slope(|t| isotherm.moisture(aw, t).expect("x").moisture_dry_basis_kg_per_kg, t, 1e-3);
            prop_assert!((point.d_dt_k - x_t).abs() < 1e-6 * (1.0 + x_t.abs()), "{food}");
        }
    }

    #[test]
    fn identity_engine_sorption(
        xm in 0.03f64..0.2, c in 0.5f64..25.0, k in 0.75f64..1.05, s0 in 0.0f64..6.0e5, decay in 0.03f64..0.15,
        salt in 0.0f64..0.2, sugar in 0.0f64..0.3, t_k in 278.0f64..363.0, x in 0.002f64..20.0,
    ) {
        let isotherm = Isotherm::from_model("GAB", &[xm, c, k]).expect("GAB");
        let heat = NetHeat::Exponential { at_zero_j_per_kg: s0, decay_kg_per_kg: decay };
        let solutes = Solutes::from_solids_shares(salt, sugar).expect("solutes");
        let model = Sorption::new(&isotherm, 40.0, heat, solutes, UpperEnd::DiluteTail { from_aw: 0.85 }).expect("model");
        let a = model.activity(x, t_k);
        prop_assert!(a.aw > 0.0 && a.aw < 1.0);
        let h = 1e-6 * x;
        let by_x = slope(|x| model.activity(x, t_k).aw, x, h);
        let by_t = slope(|t| model.activity(x, t).aw, t_k, 1e-3);
        prop_assert!((a.d_dx - by_x).abs() < 1e-4 * by_x.abs() + 1e-4, "{} {by_x}", a.d_dx);
        prop_assert!((a.d_dt_k - by_t).abs() < 1e-4 * by_t.abs() + 1e-9, "{} {by_t}", a.d_dt_k);
        // The heat is the one the activities say (Clausius-Clapeyron), where the cap at 1 does not act.
        if a.aw / model.solutes().factor(x).0 < 0.99 {
            let rv = fallrate_units::WATER_VAPOUR_GAS_CONSTANT_J_PER_KG_K;
            let s = rv * t_k * t_k * a.d_dt_k / a.aw;
            prop_assert!((s - model.net_heat_j_per_kg(x).0).abs() < 1e-6 * s0 + 1e-6);
        }
        // The integral of the heat is an integral.
        let by_integral = slope(|x| model.net_heat_integral_j_per_kg_solids(x), x, h);
        prop_assert!((by_integral - model.net_heat_j_per_kg(x).0).abs() < 1e-3 * s0 + 1.0);
        // And the inverse is one.
        let back = model.moisture_at(a.aw, t_k).expect("inverse");
        prop_assert!((model.activity(back, t_k).aw - a.aw).abs() < 1e-9);
    }
}

fn meat(salt: f64) -> Sorption {
    let isotherm = set("CLASS lean meat, fish, liver without salt or sugar");
    let heat = NetHeat::Exponential { at_zero_j_per_kg: 4.0e5, decay_kg_per_kg: 0.065 };
    let solutes = Solutes::from_solids_shares(salt, 0.0).expect("solutes");
    Sorption::new(&isotherm, 40.0, heat, solutes, UpperEnd::DiluteTail { from_aw: 0.85 }).expect("model")
}

#[test]
fn limit_engine_sorption_rises_everywhere_and_stays_below_one() {
    for salt in [0.0, 0.07, 0.2] {
        for t_k in [278.15, 313.15, 333.15, 363.15] {
            assert_eq!(meat(salt).first_fall_with_moisture(t_k), None, "salt {salt} at {t_k} K");
        }
    }
    let wet = meat(0.0).activity(2.7, 333.15).aw;
    assert!(wet > 0.98 && wet < 1.0, "fresh meat {wet}");
    assert!(meat(0.0).activity(20.0, 333.15).aw > wet);
    assert_eq!(meat(0.0).moisture_at(1.0, 333.15), None);
    assert_eq!(meat(0.0).moisture_at(-0.1, 333.15), None);
    assert_eq!(meat(0.0).moisture_at(f64::NAN, 333.15), None);
    // A trial state below 0 continues the curve.
    let below = meat(0.0).activity(-1e-4, 333.15);
    assert!(below.aw < 0.0 && below.aw > -0.05 && below.d_dx > 0.0);
}

#[test]
fn limit_no_heat_and_reference_temperature_give_the_isotherm() {
    for (food, isotherm, _) in sets() {
        if matches!(isotherm, Isotherm::Roa(_) | Isotherm::ModifiedChungPfost(_)) {
            continue;
        }
        let model = Sorption::new(&isotherm, 30.0, NetHeat::None, Solutes::default(), UpperEnd::CutAtOne)
            .expect("model");
        for aw in [0.1, 0.4, 0.7, 0.8] {
            let Ok(point) = isotherm.moisture(aw, 30.0) else { continue };
            let x = point.moisture_dry_basis_kg_per_kg;
            let a = model.activity(x, 340.0);
            assert!((a.aw - aw).abs() < 1e-9, "{food} {aw}: {}", a.aw);
            assert!((a.d_dx * point.d_daw - 1.0).abs() < 1e-6, "{food}");
        }
    }
}

#[test]
fn identity_heat_table_follows_the_isotherm_it_comes_from() {
    let isotherm = set("potato");
    let table = HeatTable::from_isotherm(&isotherm, (0.03, 0.35), 45.0).expect("table");
    let heat = NetHeat::Table(table);
    for x in [0.0412, 0.07, 0.113, 0.2, 0.31] {
        // Near its upper end the potato set says that activity falls with temperature: taken as no heat.
        let expected = isotherm.net_isosteric_heat_j_per_kg(x, 45.0).expect("heat").max(0.0);
        let found = heat.heat_j_per_kg(x).0;
        assert!((found - expected).abs() < 0.01 * expected + 200.0, "{x}: {found} {expected}");
        let by_x = slope(|x| heat.integral_j_per_kg_solids(x), x, 1e-6);
        assert!((by_x - found).abs() < 1e-3 * found + 1.0, "{x}");
    }
    // The model built on it moves with temperature as the isotherm does.
    let end = UpperEnd::DiluteTail { from_aw: 0.85 };
    let model = Sorption::new(&isotherm, 45.0, heat, Solutes::default(), end).expect("model");
    for x in [0.08, 0.12, 0.16] {
        let expected = isotherm.activity(x, 60.0).expect("aw").aw;
        let found = model.activity(x, 333.15).aw;
        assert!((found - expected).abs() < 0.004, "{x}: {found} {expected}");
    }
    assert_eq!(model.first_fall_with_moisture(333.15), None);
}

#[test]
fn limit_bad_input_is_refused() {
    let meat = set("CLASS lean meat, fish, liver without salt or sugar");
    for aw in [-0.1, 0.0, 1.0, 1.2, f64::NAN, f64::INFINITY] {
        assert!(meat.moisture(aw, 25.0).is_err(), "{aw}");
    }
    assert!(meat.moisture(0.5, f64::NAN).is_err());
    assert!(meat.activity(f64::NAN, 25.0).is_err());
    assert!(meat.activity(-0.1, 25.0).is_err());
    assert!(Isotherm::from_model("GABB", &[1.0]).is_err());
    assert!(Isotherm::from_model("GAB", &[1.0]).is_err());
    let range =
        IsothermRange { temperature_min_c: Some(25.0), aw_max: Some(0.85), ..IsothermRange::default() };
    let flags = range.flags(0.9, 20.0);
    assert!(flags.temperature_outside && flags.aw_outside && flags.bounds_unknown);
    let coffee = set("coffee, parchment (Arabica, Caturra)");
    let end = UpperEnd::CutAtOne;
    assert!(Sorption::new(&coffee, 30.0, NetHeat::None, Solutes::default(), end).is_err());
}
