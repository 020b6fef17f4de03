//! What must hold between the parts of a product file.

use super::{Cautions, GrowthRange, KillStep, NetHeatData, Product, Sources};
use crate::error::FoodsError;
use crate::sorption::Sorption;
use fallrate_datafile::Section;

/// Largest difference between the usual raw moisture and the composition's, points of wet basis.
const MOISTURE_AGREEMENT: f64 = 0.05;
/// Most that a diffusivity may range, high over low.
const DIFFUSIVITY_SPREAD_MAX: f64 = 1000.0;
/// Water-vapour pressure of room air at 20 degC and 50 %, Pa (Magnus form, as below).
const ROOM_VAPOUR_PRESSURE_PA: f64 = 1169.0;

/// Saturation pressure in Pa, Magnus form with the coefficients of Alduchov & Eskridge (1996), from memory; within 0.5 %
/// at 0 to 80 degC. Used for plausibility only.
fn saturation_pressure_pa(t_c: f64) -> f64 {
    610.94 * (17.625 * t_c / (t_c + 243.04)).exp()
}

/// Reports what does not fit together.
pub(super) fn report(product: &Product, root: &Section<'_>) {
    moisture(product, root);
    temperatures(product, root);
    safety(product, root);
    let d = &product.diffusivity.at_60c;
    if d.high.m2_per_s() / d.low.m2_per_s() > DIFFUSIVITY_SPREAD_MAX {
        let found = format!("{:e} to {:e} m2/s", d.low.m2_per_s(), d.high.m2_per_s());
        root.report("diffusivity", &found, "a range of at most a factor 1000");
    }
    let f = &product.sorption.moisture_factor;
    if f.value != 1.0 {
        root.report(
            "sorption",
            &format!("moisture_factor {}", f.value),
            "1, with its low and high beside it",
        );
    }
    if let Err(error) = sorption(product, root) {
        root.report("sorption", &error.to_string(), "an isotherm the drying model can use");
    }
}

fn moisture(product: &Product, root: &Section<'_>) {
    let stated = product.initial_moisture.value.kg_per_kg();
    let composed = product.composition.composition.share(crate::Component::Water);
    if (stated - composed).abs() > MOISTURE_AGREEMENT {
        let found = format!("initial {:.1} % wb, composition {:.1} % wb", 100.0 * stated, 100.0 * composed);
        root.report("moisture", &found, "the two within 5 points of each other");
    }
    let target = product.target.moisture.high.kg_per_kg();
    if target >= product.initial_moisture.low.kg_per_kg() {
        let found = format!("target up to {:.1} % wb", 100.0 * target);
        root.report("target", &found, "below the lowest initial moisture");
    }
}

fn temperatures(product: &Product, root: &Section<'_>) {
    let r = &product.recommended;
    if let Some(wet_bulb) = &r.first_stage_wet_bulb
        && wet_bulb.value >= r.air_temperature.value
    {
        let found = format!("first-stage wet bulb {:.1} degC", wet_bulb.value.celsius());
        root.report("recommended", &found, "below the usual air temperature");
    }
    let ceiling = r.product_temperature_max.value;
    if ceiling.celsius() + 15.0 < r.air_temperature.value.celsius() {
        let found = format!("product at most {:.0} degC", ceiling.celsius());
        root.report("recommended", &found, "at most 15 K below the usual air temperature");
    }
    if let (Some(low), Some(high)) =
        (product.sorption.range.temperature_min_c, product.sorption.range.temperature_max_c)
        && low > high
    {
        root.report("sorption", &format!("{low} to {high} degC"), "temperature_min below temperature_max");
    }
}

fn safety(product: &Product, root: &Section<'_>) {
    if product.raw_meat && product.kill_step == KillStep::None {
        root.report("kill_step", "none with raw meat", "required or advised");
    }
    if product.kill_step == KillStep::Required && product.proof_species.is_none() {
        root.report("proof_species", "missing", "a species, because a kill step is required");
    }
    if product.raw_meat && product.growth.is_none() {
        root.report("growth", "missing", "a growth range, because the product is raw meat");
    }
    if let Some(GrowthRange { temperature_low, temperature_high, .. }) = &product.growth
        && temperature_low >= temperature_high
    {
        root.report("growth", "temperature_low not below temperature_high", "low below high");
    }
}

/// The sorption model exists, rises, has an equilibrium, and the target lies above it in usual air.
fn sorption(product: &Product, root: &Section<'_>) -> Result<(), FoodsError> {
    let prepared = product.prepare(&product.usual_preparation())?;
    let model = product.sorption_model(prepared.solutes)?;
    for t_k in [278.15, 313.15, 353.15, 368.15] {
        if let Some(x) = model.first_fall_with_moisture(t_k) {
            let found = format!("water activity falls at {x:.3} kg/kg db and {:.0} degC", t_k - 273.15);
            root.report("sorption", &found, "rising with moisture from 5 to 95 degC");
        }
    }
    if let NetHeatData::Exponential { at_zero_j_per_kg, .. } = &product.sorption.net_heat
        && at_zero_j_per_kg.value > 2.5e6
    {
        root.report(
            "sorption",
            &format!("net heat {} J/kg", at_zero_j_per_kg.value),
            "below the latent heat",
        );
    }
    target_above_equilibrium(product, root, &model);
    Ok(())
}

fn target_above_equilibrium(product: &Product, root: &Section<'_>, model: &Sorption) {
    let air = product.recommended.air_temperature.value;
    let rh = ROOM_VAPOUR_PRESSURE_PA / saturation_pressure_pa(air.celsius());
    let target = product.target.moisture.value.kg_per_kg();
    let Some(x) = model.moisture_at(rh, air.kelvin()) else {
        root.report(
            "sorption",
            &format!("no equilibrium at {:.1} % RH", 100.0 * rh),
            "an equilibrium moisture",
        );
        return;
    };
    if x / (1.0 + x) >= target {
        let found = format!(
            "target {:.1} % wb, equilibrium {:.1} % wb at {:.0} degC and {:.1} % RH",
            100.0 * target,
            100.0 * x / (1.0 + x),
            air.celsius(),
            100.0 * rh
        );
        root.report("target", &found, "above the equilibrium in usual air (20 degC and 50 % heated)");
    }
    if let Some(limit) = &product.target.aw_max {
        let aw = model.activity(target / (1.0 - target), 298.15).aw;
        if aw > limit.value.fraction() {
            let found = format!("target {:.1} % wb has aw {aw:.3} at 25 degC", 100.0 * target);
            root.report("target", &found, &format!("at most aw {:.3}", limit.value.fraction()));
        }
    }
}

impl Product {
    /// Every source key of the file, in order of the fields, repeated where cited twice.
    #[must_use]
    pub fn source_keys(&self) -> Vec<&str> {
        let mut keys = vec![self.composition.source.as_str()];
        self.visit(&mut |c| keys.push(c.1));
        keys
    }

    /// Calls `f` with the name, source key and mark of every cited value.
    fn visit<'a>(&'a self, f: &mut impl FnMut((&'static str, &'a str, fallrate_datafile::Mark))) {
        fn one<'a, T>(
            f: &mut impl FnMut((&'static str, &'a str, fallrate_datafile::Mark)),
            name: &'static str,
            c: &'a fallrate_datafile::Cited<T>,
        ) {
            f((name, c.source.as_str(), c.mark));
        }
        one(f, "size", &self.geometry.size);
        one(f, "size spread", &self.geometry.size_spread);
        one(f, "initial moisture", &self.initial_moisture);
        one(f, "spread of the initial moisture", &self.initial_moisture_spread);
        one(f, "solids density", &self.volume.solids_density);
        one(f, "shrinkage share", &self.volume.shrinkage_share);
        one(f, "lateral exponent", &self.volume.lateral_exponent);
        one(f, "isotherm", &self.sorption.moisture_factor);
        if let NetHeatData::Exponential { at_zero_j_per_kg, .. } = &self.sorption.net_heat {
            one(f, "net isosteric heat", at_zero_j_per_kg);
        }
        one(f, "salt", &self.solutes.salt);
        one(f, "sugar", &self.solutes.sugar);
        one(f, "water taken up", &self.solutes.water);
        one(f, "diffusivity", &self.diffusivity.at_60c);
        one(f, "activation energy", &self.diffusivity.activation_energy);
        if let Some(c) = &self.diffusivity.moisture_parameter {
            one(f, "moisture term of the diffusivity", c);
        }
        one(f, "tray load", &self.tray_load);
        if let Some(l) = &self.lift_off {
            one(f, "force coefficient", &l.force_coefficient);
            one(f, "fresh mass per area", &l.fresh_mass_per_area);
        }
        one(f, "air temperature", &self.recommended.air_temperature);
        one(f, "product temperature ceiling", &self.recommended.product_temperature_max);
        if let Some(c) = &self.recommended.first_stage_wet_bulb {
            one(f, "first-stage wet bulb", c);
        }
        one(f, "target moisture", &self.target.moisture);
        if let Some(c) = &self.target.aw_max {
            one(f, "water-activity limit", c);
        }
        if let Some(g) = &self.growth {
            one(f, "growth limit", &g.aw_limit);
        }
    }

    /// Every cited parameter with its source key and mark, in order of the fields.
    #[must_use]
    pub fn citations(&self) -> Vec<(&'static str, &str, fallrate_datafile::Mark)> {
        let mut list = vec![("composition", self.composition.source.as_str(), self.composition.mark)];
        self.visit(&mut |c| list.push(c));
        list
    }

    /// Source keys that the list does not hold, each once.
    #[must_use]
    pub fn unknown_sources(&self, sources: &Sources) -> Vec<&str> {
        let mut missing: Vec<&str> =
            self.source_keys().into_iter().filter(|k| sources.get(k).is_none()).collect();
        missing.sort_unstable();
        missing.dedup();
        missing
    }

    /// Caution keys that the list does not hold.
    #[must_use]
    pub fn unknown_cautions(&self, cautions: &Cautions) -> Vec<&str> {
        self.cautions.iter().map(String::as_str).filter(|k| cautions.get(k).is_none()).collect()
    }
}
