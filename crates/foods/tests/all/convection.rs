use crate::reference::{Check, maybe, number, rows};
use fallrate_foods::convection::*;

#[test]
fn table_heat_and_mass_coefficients() {
    let source = "heat_mass_worked.csv (air properties from CoolProp, correlations from memory)";
    let check = |name, allowed, basis| Check::new("foods", name, source, ("relative", allowed), basis);
    let mut re = check("Reynolds number of air, Sutherland viscosity", 0.01, "COMPUTED");
    let mut pr = check("Prandtl number of air", 0.01, "COMPUTED");
    let mut sc = check("Schmidt number of water vapour in air", 0.01, "COMPUTED");
    let mut le = check("Lewis number of water vapour in air", 0.015, "COMPUTED");
    let mut laminar = check("heat transfer of a laminar plate", 0.01, "COMPUTED");
    let mut mass = check("mass transfer of a laminar plate", 0.01, "COMPUTED");
    let mut turbulent = check("heat transfer of a turbulent plate", 0.01, "COMPUTED");
    let mut parallel = check("heat transfer of trays, air along them", 0.005, "COMPUTED");
    let mut across = check("heat transfer of trays, air at right angles", 0.005, "COMPUTED");
    for row in rows("heat_mass_worked.csv") {
        let air = AirTransport::dry_air(number(&row, "air_temperature_C") + 273.15, 101_325.0).expect("air");
        let (u, l) = (number(&row, "velocity_m_per_s"), number(&row, "length_m"));
        let at = format!("{row:?}");
        let (r, p) = (air.reynolds(u, l), air.prandtl());
        re.relative(r, number(&row, "Re"), &at);
        pr.relative(p, number(&row, "Pr"), &at);
        sc.relative(air.schmidt(), number(&row, "Sc"), &at);
        le.relative(air.lewis(), number(&row, "Le"), &at);
        let k = air.conductivity_w_per_m_k / l;
        laminar.relative(plate_laminar_mean(r, p) * k, number(&row, "h_laminar_W_per_m2_K"), &at);
        mass.relative(
            plate_laminar_mean(r, air.schmidt()) * air.vapour_diffusivity_m2_per_s / l,
            number(&row, "km_laminar_m_per_s"),
            &at,
        );
        turbulent.relative(plate_turbulent_mean(r, p) * k, number(&row, "h_turbulent_plate_W_per_m2_K"), &at);
        let g = air.density_kg_per_m3 * u * 3600.0;
        if let Some(expected) = maybe(&row, "h_tray_parallel_W_per_m2_K") {
            parallel.relative(tray_parallel_w_per_m2_k(g).expect("range"), expected, &at);
        }
        if let Some(expected) = maybe(&row, "h_tray_perpendicular_W_per_m2_K") {
            // The table carries the form a little below its range at 1 m/s in hot air.
            if let Ok(h) = tray_perpendicular_w_per_m2_k(g) {
                across.relative(h, expected, &at);
            }
        }
    }
    for c in [re, pr, sc, le, laminar, mass, turbulent] {
        c.done(45);
    }
    parallel.done(20);
    across.done(15);
}

#[test]
fn limit_correlations() {
    // The mean over a laminar plate is twice the local value at its end.
    assert!((plate_laminar_mean(1e4, 0.7) / plate_laminar_local(1e4, 0.7) - 2.0).abs() < 1e-12);
    // Mixed plate: near the laminar value at the transition.
    let ratio = plate_mixed_mean(5.0e5, 0.7) / plate_laminar_mean(5.0e5, 0.7);
    assert!((ratio - 1.0).abs() < 0.02, "{ratio}");
    // A sphere in still air has Nu = 2.
    assert!((sphere(0.0, 0.7) - 2.0).abs() < 1e-12);
    // Churchill & Bernstein at Re 100, air: Nu about 5.2 (textbook tables, from memory).
    assert!((cylinder_cross_flow(100.0, 0.7) - 5.2).abs() < 0.2);
    assert!(packed_bed_j_factor(100.0).is_ok() && packed_bed_j_factor(5.0).is_err());
    assert!(tray_parallel_w_per_m2_k(100.0).is_err());
    assert!(AirTransport::dry_air(f64::NAN, 101_325.0).is_err());
    let air = AirTransport::dry_air(333.15, 101_325.0).expect("air");
    // Lewis relation: Le^(2/3) is 0.90 to 0.92 for water vapour in air.
    assert!((air.lewis().powf(2.0 / 3.0) - 0.91).abs() < 0.015);
    let ratio = heat_over_mass_j_per_m3_k(&air);
    assert!((900.0..1050.0).contains(&ratio), "{ratio}");
}
