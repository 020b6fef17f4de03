use crate::reference::{Check, number, rows, slope};
use fallrate_foods::{
    SALT_MOLAR_MASS_KG_PER_MOL, SALT_SATURATION_MOL_PER_KG, Solutes, salt_water_activity,
    sucrose_water_activity,
};

#[test]
fn table_saturated_salt_solution() {
    let mut check = Check::new(
        "foods",
        "water activity of saturated NaCl by Pitzer at 6.146 mol/kg",
        "saturated_salts.csv NaCl rows at 20 to 30 degC (CRC formula; Greenspan)",
        ("aw", 0.003),
        "READ formula, MEMORY Pitzer parameters",
    );
    let found = salt_water_activity(SALT_SATURATION_MOL_PER_KG).expect("saturated");
    for row in rows("saturated_salts.csv").iter().filter(|r| r["salt"] == "NaCl" && r["row_kind"] == "value")
    {
        let t = number(row, "temperature_C");
        if (20.0..=30.0).contains(&t) && !row["source"].starts_with("Wexler & Hasegawa") {
            check.absolute(found, number(row, "water_activity"), format!("{row:?}"));
        }
    }
    check.done(5);
}

#[test]
fn table_salt_solutions() {
    let mut check = Check::new(
        "foods",
        "water activity of NaCl solutions 0.1 to 6 mol/kg at 25 degC",
        "osmotic coefficients of Robinson & Stokes, Electrolyte Solutions, appendix",
        ("aw", 0.0005),
        "MEMORY",
    );
    let osmotic = [
        (0.1, 0.9324),
        (0.5, 0.9209),
        (1.0, 0.9355),
        (2.0, 0.9833),
        (3.0, 1.0453),
        (4.0, 1.1158),
        (5.0, 1.1916),
        (6.0, 1.2706),
    ];
    for (m, phi) in osmotic {
        let expected = (-2.0 * m * 0.018_015_268_f64 * phi).exp();
        check.absolute(salt_water_activity(m).expect("aw"), expected, m);
    }
    check.done(8);
}

#[test]
fn table_saturated_sucrose() {
    let mut check = Check::new(
        "foods",
        "water activity of saturated sucrose (67.3 % by mass) by Norrish",
        "saturated sucrose at 25 degC, 0.844 to 0.850 in the literature",
        ("aw", 0.006),
        "MEMORY",
    );
    check.absolute(sucrose_water_activity(6.01).expect("aw"), 0.844, "saturated");
    check.absolute(sucrose_water_activity(6.01).expect("aw"), 0.850, "saturated");
    check.done(2);
}

#[test]
fn table_two_per_cent_salt_in_meat() {
    let mut check = Check::new(
        "foods",
        "2 % salt in raw meat of 72 % moisture at 0.45 kg/kg: factor on the water activity",
        "the published rule of about 0.90, worked with Pitzer",
        ("aw", 0.01),
        "COMPUTED",
    );
    // 2 kg salt in 100 kg meat with 28 kg solids: 30 kg solids; X = 0.45 on the meat's own solids.
    let solutes = Solutes::from_solids_shares(2.0 / 30.0, 0.0).expect("salt");
    check.absolute(solutes.factor(0.45 * 28.0 / 30.0).0, 0.90, "meat");
    check.done(1);
}

#[test]
fn limit_factor_is_one_without_solutes_and_saturates() {
    assert_eq!(Solutes::default().factor(0.3), (1.0, 0.0));
    let salted = Solutes::from_solids_shares(0.1, 0.0).expect("salt");
    let saturated = salt_water_activity(SALT_SATURATION_MOL_PER_KG).expect("aw");
    assert!((salted.factor(0.0).0 - saturated).abs() < 1e-12);
    assert!((salted.factor(-0.001).0 - saturated).abs() < 1e-12);
    assert!(salted.factor(1e6).0 > 0.9999);
    // Unsaturated, the molality is share / (M X).
    let x = 1.0;
    let exact = salt_water_activity(0.1 / (SALT_MOLAR_MASS_KG_PER_MOL * x)).expect("aw");
    assert!((salted.factor(x).0 - exact).abs() < 1e-5);
}

#[test]
fn identity_factor_slope_and_rise() {
    for (salt, sugar) in [(0.07, 0.0), (0.0, 0.2), (0.05, 0.1), (0.3, 0.4)] {
        let s = Solutes::from_solids_shares(salt, sugar).expect("solutes");
        let mut previous = 0.0;
        for i in 1..400 {
            let x = f64::from(i) * 0.01;
            let (f, d) = s.factor(x);
            assert!(f >= previous && f < 1.0);
            let by_x = slope(|x| s.factor(x).0, x, 1e-6);
            assert!((d - by_x).abs() < 1e-5 * (1.0 + by_x.abs()), "{salt} {sugar} {x}: {d} {by_x}");
            previous = f;
        }
    }
    assert!(Solutes::from_solids_shares(-0.1, 0.0).is_err());
    assert!(Solutes::from_solids_shares(0.5, 0.5).is_err());
    assert!(salt_water_activity(7.0).is_err());
}
