//! Parchment coffee dried at three temperatures and three humidities: curves from the published equations, the full model
//! fitted on some cells, and the others predicted. Shared by the tests and the report.

use std::sync::Arc;

use fallrate_fit::{
    DryingCurve, Estimate, FitError, FitOptions, Parameter, Reading, Tunnel, TunnelAir, fit, spread_starts,
};
use fallrate_foods::{Isotherm, NetHeat, Solutes, Sorption, ThinLayer, UpperEnd, vapour_deficit_rate};
use fallrate_simulate::{Diffusivity, Geometry, Material, MoistureTerm};

/// M0 of the published fits, kg/kg dry basis.
const X0: f64 = 1.22;
/// Not stated in what could be read: sea level is assumed.
const PRESSURE_PA: f64 = 101_325.0;
/// Sphere of about a bean's volume, assumed: only D over its square is seen where the inside sets the pace.
const DIAMETER_M: f64 = 0.008;
/// Moisture ratios at which times are compared.
pub const LEVELS: [f64; 2] = [0.5, 0.2];
/// The curve that is fitted ends at this moisture ratio: the linear term of the published equation bends it up below.
const LAST_RATIO: f64 = 0.12;
const READINGS: u32 = 24;

/// One cell of the grid of temperatures and humidities.
#[derive(Clone, Debug)]
pub struct Cell {
    pub temperature_c: f64,
    pub rh: f64,
    pub equilibrium: f64,
    pub published: ThinLayer,
    pub curve: DryingCurve,
}

impl Cell {
    pub fn name(&self) -> String {
        format!("{} degC, {:.0} %", self.temperature_c, 100.0 * self.rh)
    }
    pub fn level(&self, ratio: f64) -> f64 {
        self.equilibrium + ratio * (X0 - self.equilibrium)
    }
    /// Time of the published Midilli fit, s.
    pub fn published_s(&self, ratio: f64) -> f64 {
        3600.0 * self.published.time_to(ratio, 60.0).unwrap()
    }
    /// Time by the other published equation, on the vapour-pressure deficit (Parra-Coronado and others 2008), s.
    pub fn by_deficit_s(&self, ratio: f64) -> f64 {
        let saturation = fallrate_air::saturation_pressure_pa(self.temperature_c);
        let k = vapour_deficit_rate(0.0143, 0.878_98, saturation * (1.0 - self.rh) / 1000.0);
        3600.0 * ThinLayer::Page { k, n: 1.064_39 }.time_to(ratio, 60.0).unwrap()
    }
}

/// Isotherm of parchment coffee (Trejos and others 1989), valid 5 to 55 degC and, as in the study, used beyond.
pub fn published_isotherm() -> Isotherm {
    let text = include_str!("../../../../reference/foods/sorption_isotherms.csv");
    for row in csv::Reader::from_reader(text.as_bytes()).records() {
        let row = row.unwrap();
        if &row[1] == "ROA" && row[0].starts_with("coffee") {
            let p: Vec<f64> = (2..10).map(|i| row[i].parse().unwrap()).collect();
            return Isotherm::from_model("ROA", &p).unwrap();
        }
    }
    panic!("no isotherm of coffee in the reference");
}

pub fn cells(isotherm: &Isotherm) -> Vec<Cell> {
    let text = include_str!("../../../../reference/foods/thin_layer_parameters.csv");
    let mut cells = Vec::new();
    for row in csv::Reader::from_reader(text.as_bytes()).records() {
        let row = row.unwrap();
        if !(row[0].starts_with("coffee") && row[6].starts_with("Midilli")) {
            continue;
        }
        let number = |i: usize| row[i].parse::<f64>().unwrap();
        let (temperature_c, rh) = (number(2), number(5) / 100.0);
        let published = ThinLayer::Midilli { a: 1.0, k: number(7), n: number(8), b: number(10) };
        let equilibrium = isotherm.moisture(rh, temperature_c).unwrap().moisture_dry_basis_kg_per_kg;
        let last = published.time_to(LAST_RATIO, 60.0).unwrap();
        let readings = (0..=READINGS)
            .map(|i| {
                let t = last * f64::from(i) / f64::from(READINGS);
                let ratio = published.moisture_ratio(t);
                Reading {
                    elapsed_s: 3600.0 * t,
                    moisture_dry_basis: equilibrium + ratio * (X0 - equilibrium),
                }
            })
            .collect();
        let curve = DryingCurve::new(&format!("{temperature_c} degC, {rh}"), readings).unwrap();
        cells.push(Cell { temperature_c, rh, equilibrium, published, curve });
    }
    cells
}

/// The drying model's isotherm, fitted to the published one between 50 and 70 degC: GAB at 60 degC, moved with temperature
/// by a net heat that falls exponentially. Returns the model and its largest error in water activity.
pub fn engine_isotherm(published: &Isotherm) -> (Sorption, f64) {
    let mut points = Vec::new();
    for t in [50.0, 60.0, 70.0] {
        for aw in [0.05, 0.1, 0.2, 0.3, 0.4, 0.5, 0.6] {
            points.push((published.moisture(aw, t).unwrap().moisture_dry_basis_kg_per_kg, t, aw));
        }
    }
    let build = |p: &[f64]| {
        let gab = Isotherm::from_model("GAB", &p[..3]).unwrap();
        let heat = NetHeat::Exponential { at_zero_j_per_kg: p[3], decay_kg_per_kg: p[4] };
        Sorption::new(&gab, 60.0, heat, Solutes::default(), UpperEnd::DiluteTail { from_aw: 0.85 }).unwrap()
    };
    let errors = |p: &[f64]| {
        let model = build(p);
        points.iter().map(|&(x, t, aw)| model.activity(x, t + 273.15).aw - aw).collect::<Vec<f64>>()
    };
    let parameters = [
        Parameter::positive("Xm", "kg/kg", 0.06, (0.01, 0.3)),
        Parameter::positive("C", "-", 10.0, (1.5, 200.0)),
        Parameter::positive("K", "-", 0.9, (0.5, 1.05)),
        Parameter::positive("net heat", "J/kg", 2e5, (1e3, 3e6)),
        Parameter::positive("decay", "kg/kg", 0.1, (0.01, 1.0)),
    ];
    let options = FitOptions { starts: spread_starts(&parameters, 6), ..FitOptions::default() };
    let found = fit(&parameters, &|p| Ok(errors(p)), &options).unwrap();
    let worst = found.residuals.iter().fold(0.0_f64, |m, e| m.max(e.abs()));
    (build(&found.values()), worst)
}

/// The unknowns: an effective diffusivity, its temperature dependence, and an effective exchange of the layer.
pub fn parameters() -> Vec<Parameter> {
    vec![
        Parameter::positive("D60", "m2/s", 2e-10, (1e-12, 1e-7)),
        Parameter::positive("Ea", "kJ/mol", 25.0, (1.0, 150.0)),
        Parameter::positive("h", "W/(m2 K)", 10.0, (0.1, 300.0)),
    ]
}

/// The model's curve of a cell, down to below the lowest level.
pub fn computed(cell: &Cell, sorption: &Sorption, p: &[f64]) -> Result<DryingCurve, FitError> {
    let tunnel = Tunnel {
        air: TunnelAir {
            temperature_c: cell.temperature_c,
            relative_humidity: cell.rh,
            pressure_pa: PRESSURE_PA,
            heat_transfer_w_per_m2_k: p[2],
            lewis_factor: 0.9113,
        },
        material: material(sorption, p),
        nodes: 15,
        relative_tolerance: 1e-5,
        both_faces: true,
    };
    tunnel.dry(&cell.name(), 3.0 * cell.curve.duration_s(), cell.level(0.05))
}

/// A bean: densities, heats and shrinkage are assumed; they scale D and h and hardly change the shape of a curve.
fn material(sorption: &Sorption, p: &[f64]) -> Material {
    Material {
        geometry: Geometry::Sphere,
        size_m: DIAMETER_M,
        moisture_initial_dry_basis: X0,
        temperature_initial_c: 25.0,
        solids_density_kg_per_m3: 1000.0,
        water_density_kg_per_m3: 990.0,
        shrinkage_share: 0.3,
        lateral_shrinkage_exponent: 0.0,
        specific_heat_solids_j_per_kg_k: 1600.0,
        specific_heat_water_j_per_kg_k: 4186.0,
        conductivity_solids_w_per_m_k: 0.15,
        conductivity_water_w_per_m_k: 0.64,
        diffusivity: Diffusivity::Arrhenius {
            at_60c_m2_per_s: p[0],
            activation_energy_j_per_mol: 1000.0 * p[1],
            moisture_term: MoistureTerm::None,
        },
        sorption: Arc::new(sorption.clone()),
        sorption_heat_inside: true,
        core_is_middle_node: false,
    }
}

/// Fits the cells by their moisture ratios.
pub fn joint_fit(cells: &[&Cell], sorption: &Sorption, starts: usize) -> Result<Estimate, FitError> {
    let parameters = parameters();
    let model = |p: &[f64]| {
        let mut all = Vec::new();
        for cell in cells {
            let curve = computed(cell, sorption, p)?;
            let span = X0 - cell.equilibrium;
            for r in cell.curve.readings().iter().skip(1) {
                all.push((curve.moisture_at(r.elapsed_s) - r.moisture_dry_basis) / span);
            }
        }
        Ok(all)
    };
    let options =
        FitOptions { starts: spread_starts(&parameters, starts), tolerance: 1e-6, ..FitOptions::default() };
    fit(&parameters, &model, &options)
}

/// Model's time over the published one, less 1.
pub fn time_error(cell: &Cell, sorption: &Sorption, p: &[f64], ratio: f64) -> Result<f64, FitError> {
    Ok(computed(cell, sorption, p)?.elapsed_at(cell.level(ratio))? / cell.published_s(ratio) - 1.0)
}
