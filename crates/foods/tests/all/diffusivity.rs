use crate::reference::{Check, number, rows, slope};
use fallrate_foods::{Diffusivity, MoistureTerm};

#[test]
fn table_chemkhi_potato() {
    let mut check = Check::new(
        "foods",
        "potato diffusivity formula at its two published corners",
        "moisture_diffusivity.csv potato (Chemkhi et al. 2004, read second hand)",
        ("relative", 1e-3),
        "COMPUTED from READ formula",
    );
    let all = rows("moisture_diffusivity.csv");
    let row = all.iter().find(|r| r["food"] == "potato (Chemkhi)").expect("row");
    let d = Diffusivity::chemkhi_potato();
    check.relative(d.at(0.2, 313.15).d_m2_per_s, number(row, "D_low_m2_per_s"), "X 0.2, 40 degC");
    check.relative(d.at(4.0, 333.15).d_m2_per_s, number(row, "D_high_m2_per_s"), "X 4, 60 degC");
    check.done(2);
}

#[test]
fn table_activation_energies_of_the_formulas() {
    let mut check = Check::new(
        "foods",
        "activation energy of the published diffusivity formulas",
        "moisture_diffusivity.csv potato (Chemkhi), pasta (Litchfield & Okos)",
        ("kJ/mol", 0.01),
        "READ",
    );
    let all = rows("moisture_diffusivity.csv");
    for (food, d) in [
        ("potato (Chemkhi)", Diffusivity::chemkhi_potato()),
        ("pasta (Litchfield & Okos)", Diffusivity::LitchfieldOkos),
    ] {
        let row = all.iter().find(|r| r["food"] == food).expect("row");
        let (t, p) = (333.15, d.at(0.3, 333.15));
        let energy = p.d_dt_k / p.d_m2_per_s * 8.314_462_618 * t * t / 1000.0;
        check.absolute(energy, number(row, "Ea_low_kJ_per_mol"), food);
    }
    check.done(2);
}

#[test]
fn identity_slopes_of_every_form() {
    let arrhenius = |moisture_term| Diffusivity::Arrhenius {
        at_60c_m2_per_s: 4e-10,
        activation_energy_j_per_mol: 30_000.0,
        moisture_term,
    };
    let forms = [
        arrhenius(MoistureTerm::None),
        arrhenius(MoistureTerm::Reciprocal { b_kg_per_kg: 0.07, x_ref_kg_per_kg: 1.0 }),
        arrhenius(MoistureTerm::FreshSize { dry_volume_ratio: 0.1, x0_kg_per_kg: 8.5, exponent: 1.4 }),
        arrhenius(MoistureTerm::Exponential {
            a_per_kg_per_kg: 0.8,
            x_ref_kg_per_kg: 1.0,
            x_max_kg_per_kg: 3.0,
        }),
        Diffusivity::TwoMember {
            dry_m2_per_s: 1e-11,
            dry_energy_j_per_mol: 50_000.0,
            wet_m2_per_s: 1e-9,
            wet_energy_j_per_mol: 20_000.0,
        },
        Diffusivity::Binding {
            d0_m2_per_s: 6.391e-8,
            activation_energy_j_per_mol: 21_760.0,
            k: 1032.558,
            binding_at_zero_j_per_mol: 20_000.0,
            binding_decay_kg_per_kg: 0.1,
        },
        Diffusivity::LitchfieldOkos,
    ];
    for d in forms {
        for x in [0.05, 0.2, 1.0, 2.95, 3.2, 8.0] {
            let p = d.at(x, 325.0);
            let by_x = slope(|x| d.at(x, 325.0).d_m2_per_s, x, 1e-6);
            let by_t = slope(|t| d.at(x, t).d_m2_per_s, 325.0, 1e-3);
            assert!(p.d_m2_per_s > 0.0 && p.d_dx >= 0.0 && p.d_dt_k > 0.0, "{d:?} {x}");
            assert!((p.d_dx - by_x).abs() < 1e-5 * by_x.abs() + 1e-6 * p.d_m2_per_s, "{d:?} {x}");
            assert!((p.d_dt_k - by_t).abs() < 1e-6 * by_t.abs(), "{d:?} {x}");
        }
        assert!(d.at(-0.001, 325.0).d_m2_per_s.is_finite());
    }
}

#[test]
fn limit_terms_are_one_at_their_reference() {
    for term in [
        MoistureTerm::Reciprocal { b_kg_per_kg: 0.07, x_ref_kg_per_kg: 1.0 },
        MoistureTerm::FreshSize { dry_volume_ratio: 0.1, x0_kg_per_kg: 1.0, exponent: 1.4 },
        MoistureTerm::Exponential { a_per_kg_per_kg: 0.8, x_ref_kg_per_kg: 1.0, x_max_kg_per_kg: 4.0 },
    ] {
        let d = Diffusivity::Arrhenius {
            at_60c_m2_per_s: 4e-10,
            activation_energy_j_per_mol: 30_000.0,
            moisture_term: term,
        };
        assert!((d.at(1.0, 333.15).d_m2_per_s / 4e-10 - 1.0).abs() < 1e-6);
    }
}

#[test]
fn identity_fresh_size_term_keeps_the_time_constant() {
    // D/L^2 of the shrinking slab is the D_fresh/L_0^2 of the article at every moisture.
    let volume = fallrate_foods::VolumeLaw {
        solids_density_kg_per_m3: 1300.0,
        water_density_kg_per_m3: 992.2,
        shrinkage_share: 0.95,
        x0_kg_per_kg: 2.6,
        lateral_exponent: 0.35,
    };
    let fresh = volume.specific_volume(2.6).0;
    let d = Diffusivity::Arrhenius {
        at_60c_m2_per_s: 4e-10,
        activation_energy_j_per_mol: 30_000.0,
        moisture_term: MoistureTerm::FreshSize {
            dry_volume_ratio: volume.specific_volume(0.0).0 / fresh,
            x0_kg_per_kg: 2.6,
            exponent: 2.0 * (1.0 - 0.35),
        },
    };
    for x in [0.0, 0.3, 1.0, 2.6] {
        let thickness = volume.specific_volume(x).0 / volume.area_ratio(x).0 / fresh;
        assert!((d.at(x, 333.15).d_m2_per_s / (thickness * thickness) / 4e-10 - 1.0).abs() < 1e-12, "{x}");
    }
}
