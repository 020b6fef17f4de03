//! Every printed row.

use fallrate_lethality::*;

#[derive(serde::Deserialize)]
struct Row {
    table_id: String,
    species: String,
    fat_pct: Option<f64>,
    log10_reduction_salmonella: f64,
    #[serde(rename = "temp_F")]
    row_f: f64,
    time_s: f64,
    instant: String,
}

/// Source: USDA FSIS, FSIS-GD-2021-0014, Tables 2, 3, 4 and 6, READ (reference/safety/fsis2021_time_temperature.csv).
fn reference() -> Vec<Row> {
    let text = include_str!("../../../../reference/safety/fsis2021_time_temperature.csv");
    csv::Reader::from_reader(text.as_bytes()).into_deserialize().map(|r| r.unwrap()).collect()
}

/// proves: TABLE-2, TABLE-3, TABLE-4, TABLE-6, RULE-C01, RULE-C02, RULE-C03, RULE-C04, RULE-C05
#[test]
fn table_every_row_of_the_four_tables_is_looked_up_at_its_temperature() {
    let rows = reference();
    assert_eq!(rows.len(), 813);
    for r in rows {
        let species = match r.species.as_str() {
            "chicken" => Species::Chicken,
            "turkey" => Species::Turkey,
            _ => Species::Pork,
        };
        let target = match r.log10_reduction_salmonella {
            5.0 => LogTarget::Five,
            6.5 => LogTarget::SixPointFive,
            _ => LogTarget::Seven,
        };
        let t = required_times(species, r.fat_pct, target).unwrap();
        for temperature_c in [celsius_from_fahrenheit(r.row_f), celsius_from_fahrenheit(r.row_f + 0.99)] {
            let found = t.row_at_or_below_c(temperature_c).unwrap();
            assert_eq!((found.row_f, found.need_s), (r.row_f, r.time_s), "{} {}", r.table_id, r.row_f);
            assert_eq!(found.table_id, r.table_id);
        }
        let just_below = t.row_at_or_below_c(celsius_from_fahrenheit(r.row_f - 1e-6));
        assert!(just_below.is_none_or(|f| f.row_f < r.row_f), "{} {}", r.table_id, r.row_f);
        assert_eq!(r.instant == "yes", r.time_s == 0.0);
    }
}

/// Facts in the table's own words: instant from 158 F (meat), 162 / 163 F (chicken), 165 F (turkey).
#[test]
fn table_the_first_row_of_zero_seconds_is_where_the_notes_say() {
    let first = |s, fat, t| {
        let rows = required_times(s, fat, t).unwrap().rows;
        rows.iter().find(|r| r.need_s == 0.0).unwrap().row_f
    };
    assert_eq!(first(Species::Beef, None, LogTarget::SixPointFive), 158.0);
    assert_eq!(first(Species::Beef, None, LogTarget::Seven), 158.0);
    for fat in 1..=12 {
        let chicken = if fat <= 6 { 162.0 } else { 163.0 };
        assert_eq!(first(Species::Chicken, Some(f64::from(fat)), LogTarget::Seven), chicken, "{fat}");
        assert_eq!(first(Species::Turkey, Some(f64::from(fat)), LogTarget::Seven), 165.0, "{fat}");
    }
}

/// proves: RULE-C06, RULE-C07, RULE-C08
#[test]
fn table_other_birds_and_mixtures_take_the_longer_time_of_both_tables_row_by_row() {
    for fat in [None, Some(1.0), Some(6.5), Some(12.0), Some(40.0)] {
        let of = |s| required_times(s, fat, LogTarget::Seven).unwrap().rows;
        let (chicken, turkey) = (of(Species::Chicken), of(Species::Turkey));
        for mixed in [of(Species::OtherPoultry), of(Species::MeatWithPoultry)] {
            assert_eq!(mixed.len(), chicken.len());
            for ((m, c), t) in mixed.iter().zip(&chicken).zip(&turkey) {
                assert_eq!((c.row_f, t.row_f), (m.row_f, m.row_f));
                assert_eq!(m.need_s, c.need_s.max(t.need_s));
            }
        }
    }
}

#[test]
fn table_fat_between_columns_takes_the_longer_neighbour_and_unknown_fat_the_strictest_column() {
    let of = |fat| required_times(Species::Chicken, fat, LogTarget::Seven).unwrap();
    let need = |t: &RequiredTimes, f: f64| t.rows.iter().find(|r| r.row_f == f).unwrap().need_s;
    // Chicken at 151 F is printed 2.1 min with 1 % fat and 2.0 min with 2 %: between them the longer one.
    let between = of(Some(1.5));
    assert_eq!(between.fat, FatChoice::LongerOf(1, 2));
    assert_eq!((need(&of(Some(1.0)), 151.0), need(&of(Some(2.0)), 151.0)), (126.0, 120.0));
    assert_eq!(need(&between, 151.0), 126.0);
    assert_eq!(need(&between, 140.0), need(&of(Some(2.0)), 140.0));
    assert_eq!(of(None).rows, of(Some(12.0)).rows);
    assert_eq!(of(None).fat, FatChoice::UnknownStrictest);
    assert_eq!(of(Some(12.5)).rows, of(Some(12.0)).rows);
    // "Strictest" is true of the figures, not only of the name.
    for column in 1..=12 {
        for (r, strict) in of(Some(f64::from(column))).rows.iter().zip(&of(None).rows) {
            assert!(r.need_s <= strict.need_s, "{column} {}", r.row_f);
        }
    }
    assert!(required_times(Species::Turkey, Some(-1.0), LogTarget::Seven).is_err());
    assert!(required_times(Species::Turkey, Some(f64::NAN), LogTarget::Seven).is_err());
}

/// proves: JERKY-J11
#[test]
fn table_poultry_of_any_target_uses_the_poultry_rows_unscaled() {
    for target in [LogTarget::Five, LogTarget::SixPointFive, LogTarget::Seven] {
        let t = required_times(Species::Turkey, Some(5.0), target).unwrap();
        assert!(t.rows.iter().all(|r| r.table_id == "T4-7"));
        assert_eq!(t.row_at_or_below_c(celsius_from_fahrenheit(150.0)).unwrap().need_s, 222.0);
    }
}
