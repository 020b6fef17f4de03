//! Reading a product file.

use std::ops::RangeInclusive;

use super::*;
use fallrate_datafile::{Document, Problems, Section};
use fallrate_units::Quantity;

fn span<Q: Quantity>(low: &str, high: &str) -> RangeInclusive<Q> {
    // The texts are this file's own; a misspelt one gives an empty range that refuses every value.
    match (Q::parse(low), Q::parse(high)) {
        (Ok(low), Ok(high)) => low..=high,
        _ => Q::from_base(1.0)..=Q::from_base(0.0),
    }
}

fn word<T: Copy>(section: &Section<'_>, key: &str, words: &[&str], all: &[T]) -> Option<T> {
    section.required_choice(key, words).and_then(|i| all.get(i).copied())
}

fn bilingual(section: &Section<'_>, key: &str) -> Option<BilingualText> {
    let inner = section.required_section(key)?;
    let (en, es) = (inner.required_text("en"), inner.required_text("es"));
    Some(BilingualText { en: en?, es: es? })
}

impl Product {
    /// Reads and checks a product file. `file_name` is for messages; its stem must be the product's key.
    ///
    /// # Errors
    /// Every problem of the file, each with what, value, allowed, file, line and column.
    pub fn parse(file_name: &str, text: &str) -> Result<Self, Problems> {
        let document = Document::parse(file_name, text)?;
        let product = read(&document.root(), file_name);
        if let Some(product) = &product {
            super::check::report(product, &document.root());
        }
        document.finish_with(product)
    }
}

/// Every part is asked for before any is unpacked, so that one run names every problem.
fn read(root: &Section<'_>, file_name: &str) -> Option<Product> {
    let key = root.required_text("key");
    let stem = file_name.rsplit('/').next().and_then(|f| f.strip_suffix(".toml"));
    if let (Some(key), Some(stem)) = (&key, stem)
        && key != stem
    {
        root.report("key", &format!("'{key}'"), &format!("'{stem}', the name of the file"));
    }
    let name = bilingual(root, "name");
    let group = word(root, "group", Group::WORDS, Group::ALL);
    let raw_meat = root.required_flag("raw_meat");
    let pet_food = root.required_flag("pet_food");
    let sticky = root.required_flag("sticky");
    let kill_step = word(root, "kill_step", KillStep::WORDS, KillStep::ALL);
    let proof_species =
        root.choice("proof_species", ProofSpecies::WORDS).and_then(|i| ProofSpecies::ALL.get(i).copied());
    let cautions = root.required_texts("cautions");
    let geometry = root.required_section("geometry").and_then(|s| geometry(&s));
    let moisture = root.required_section("moisture").and_then(|s| moisture(&s));
    let composition = root.required_section("composition").and_then(|s| composition(&s));
    let volume = root.required_section("volume").and_then(|s| volume(&s));
    let sorption = root.required_section("sorption").and_then(|s| sorption(&s));
    let solutes = root.required_section("solutes").and_then(|s| solutes(&s));
    let diffusivity = root.required_section("diffusivity").and_then(|s| diffusivity(&s));
    let tray_load =
        root.required_section("tray").and_then(|s| s.cited("load", span("0.1 kg/m2", "40 kg/m2")));
    let lift_off = root.section("lift_off").map(|s| lift_off(&s));
    let recommended = root.required_section("recommended").and_then(|s| recommended(&s));
    let target = root.required_section("target").and_then(|s| target(&s));
    let growth = root.section("growth").map(|s| growth(&s));
    let (initial_moisture, initial_moisture_spread) = moisture?;
    Some(Product {
        key: key?,
        name: name?,
        group: group?,
        raw_meat: raw_meat?,
        pet_food: pet_food?,
        sticky: sticky?,
        kill_step: kill_step?,
        proof_species,
        geometry: geometry?,
        initial_moisture,
        initial_moisture_spread,
        composition: composition?,
        volume: volume?,
        sorption: sorption?,
        solutes: solutes?,
        diffusivity: diffusivity?,
        tray_load: tray_load?,
        lift_off: match lift_off {
            Some(found) => Some(found?),
            None => None,
        },
        recommended: recommended?,
        target: target?,
        growth: match growth {
            Some(found) => Some(found?),
            None => None,
        },
        cautions: cautions?,
    })
}

fn geometry(s: &Section<'_>) -> Option<Geometry> {
    let shape = word(s, "shape", Shape::WORDS, Shape::ALL);
    let size = s.cited("size", span("0.1 mm", "100 mm"));
    let size_spread = s.cited("size_spread", span("0 %", "60 %"));
    Some(Geometry { shape: shape?, size: size?, size_spread: size_spread? })
}

fn moisture(s: &Section<'_>) -> Option<(Cited<MoistureWetBasis>, Cited<MoistureWetBasis>)> {
    let initial = s.cited("initial", span("5 % wb", "98 % wb"));
    let spread = s.cited("spread", span("0 % wb", "15 % wb"));
    Some((initial?, spread?))
}

fn composition(s: &Section<'_>) -> Option<CompositionData> {
    let part = |key: &str| s.required_number(key, 0.0..=100.0);
    let (water, protein, fat) = (part("water"), part("protein"), part("fat"));
    let (total, fibre, ash) = (part("carbohydrate_total"), part("fibre"), part("ash"));
    let source = s.required_text("source");
    let mark = word(s, "mark", &Mark::WORDS, &[Mark::Read, Mark::Computed, Mark::Memory, Mark::Assumed]);
    let note = s.text("note");
    let (total, fibre) = (total?, fibre?);
    if fibre > total {
        s.report("fibre", &format!("{fibre} %"), &format!("at most the total carbohydrate, {total} %"));
        return None;
    }
    let shares = [water?, protein?, fat?, total - fibre, fibre, ash?];
    let printed_sum_percent: f64 = shares.iter().sum();
    if (printed_sum_percent - 100.0).abs() > 2.0 {
        s.report_here(&format!("components sum to {printed_sum_percent:.2} %"), "98 to 102 %");
        return None;
    }
    let composition = Composition::from_shares(shares).ok()?;
    Some(CompositionData { composition, printed_sum_percent, source: source?, mark: mark?, note })
}

fn volume(s: &Section<'_>) -> Option<VolumeData> {
    let solids_density = s.cited("solids_density", span("50 kg/m3", "1800 kg/m3"));
    let shrinkage_share = s.cited("shrinkage_share", span("0 %", "100 %"));
    let lateral_exponent = s.cited_number("lateral_exponent", 0.0..=0.667);
    Some(VolumeData {
        solids_density: solids_density?,
        shrinkage_share: shrinkage_share?,
        lateral_exponent: lateral_exponent?,
    })
}

fn sorption(s: &Section<'_>) -> Option<SorptionData> {
    let form = s.required_text("form");
    let parameters = s.required_numbers("parameters", f64::MIN..=f64::MAX);
    let temperature = |key: &str| s.quantity::<Temperature>(key, span("-20 degC", "120 degC"));
    let reference = s.required::<Temperature>("reference_temperature", span("0 degC", "100 degC"));
    let range = IsothermRange {
        temperature_min_c: temperature("temperature_min").map(Temperature::celsius),
        temperature_max_c: temperature("temperature_max").map(Temperature::celsius),
        aw_min: s.number("aw_min", 0.0..=1.0),
        aw_max: s.number("aw_max", 0.0..=1.0),
    };
    let tail_from_aw = s.number("tail_from_aw", 0.3..=0.99);
    let moisture_factor = s.cited_number("moisture_factor", 0.3..=3.0);
    let net_heat = s.required_section("net_heat").and_then(|s| net_heat(&s));
    let isotherm = match Isotherm::from_model(&form?, &parameters?) {
        Ok(isotherm) => isotherm,
        Err(error) => {
            s.report("form", &error.to_string(), crate::ISOTHERM_MODELS);
            return None;
        }
    };
    Some(SorptionData {
        isotherm,
        range,
        reference_temperature: reference?,
        moisture_factor: moisture_factor?,
        tail_from_aw: tail_from_aw.or(range.aw_max).unwrap_or(0.85),
        net_heat: net_heat?,
    })
}

fn net_heat(s: &Section<'_>) -> Option<NetHeatData> {
    match s.required_choice("kind", &["none", "exponential", "from isotherm"])? {
        0 => Some(NetHeatData::None),
        1 => {
            let at_zero = s.cited_number("at_zero_j_per_kg", 0.0..=4.0e6);
            let decay = s.required_number("decay_kg_per_kg", 0.005..=1.0);
            Some(NetHeatData::Exponential { at_zero_j_per_kg: at_zero?, decay_kg_per_kg: decay? })
        }
        _ => Some(NetHeatData::FromIsotherm),
    }
}

fn solutes(s: &Section<'_>) -> Option<SolutesData> {
    let salt = s.cited("salt", span("0 %", "30 %"));
    let sugar = s.cited("sugar", span("0 %", "80 %"));
    let water = s.cited("water", span("-50 %", "50 %"));
    Some(SolutesData { salt: salt?, sugar: sugar?, water: water? })
}

fn diffusivity(s: &Section<'_>) -> Option<DiffusivityData> {
    let at_60c = s.cited("at_60c", span("1e-14 m2/s", "1e-7 m2/s"));
    let activation_energy = s.cited("activation_energy", span("5 kJ/mol", "90 kJ/mol"));
    let form = s.required_choice("moisture_form", &["none", "fresh size", "reciprocal", "exponential"])?;
    let x_ref = |s: &Section<'_>| s.required_number("x_ref_kg_per_kg", 0.05..=20.0);
    let (moisture_term, moisture_parameter) = match form {
        0 => (Some(MoistureTerm::None), None),
        1 => (None, s.optional_cited_number("exponent", -4.0..=6.0)),
        2 => {
            let (b, x_ref) = (s.cited_number("b_kg_per_kg", 0.0..=2.0), x_ref(s));
            let b = b?;
            (Some(MoistureTerm::Reciprocal { b_kg_per_kg: b.value, x_ref_kg_per_kg: x_ref? }), Some(b))
        }
        _ => {
            let (a, x_ref) = (s.cited_number("a_per_kg_per_kg", 0.0..=5.0), x_ref(s));
            let x_max = s.required_number("x_max_kg_per_kg", 0.05..=20.0);
            let a = a?;
            let term = MoistureTerm::Exponential {
                a_per_kg_per_kg: a.value,
                x_ref_kg_per_kg: x_ref?,
                x_max_kg_per_kg: x_max?,
            };
            (Some(term), Some(a))
        }
    };
    Some(DiffusivityData {
        at_60c: at_60c?,
        activation_energy: activation_energy?,
        moisture_term,
        moisture_parameter,
    })
}

fn lift_off(s: &Section<'_>) -> Option<LiftOff> {
    let force_coefficient = s.cited_number("force_coefficient", 0.01..=3.0);
    let fresh_mass_per_area = s.cited("fresh_mass_per_area", span("0.01 kg/m2", "20 kg/m2"));
    Some(LiftOff { force_coefficient: force_coefficient?, fresh_mass_per_area: fresh_mass_per_area? })
}

fn recommended(s: &Section<'_>) -> Option<Recommended> {
    let air = s.cited("air_temperature", span("20 degC", "100 degC"));
    let ceiling = s.cited("product_temperature_max", span("20 degC", "100 degC"));
    let wet_bulb = s.optional_cited("first_stage_wet_bulb", span("10 degC", "90 degC"));
    let fan = bilingual(s, "fan");
    Some(Recommended {
        air_temperature: air?,
        product_temperature_max: ceiling?,
        first_stage_wet_bulb: wet_bulb,
        fan: fan?,
    })
}

fn target(s: &Section<'_>) -> Option<Target> {
    let moisture = s.cited("moisture", span("1 % wb", "60 % wb"));
    let aw_max = s.optional_cited("aw_max", span("0.1 aw", "0.99 aw"));
    let pack = word(s, "pack", Pack::WORDS, Pack::ALL);
    Some(Target { moisture: moisture?, aw_max, pack: pack? })
}

fn growth(s: &Section<'_>) -> Option<GrowthRange> {
    let low = s.required::<Temperature>("temperature_low", span("-5 degC", "70 degC"));
    let high = s.required::<Temperature>("temperature_high", span("-5 degC", "70 degC"));
    let aw_limit = s.cited("aw_limit", span("0.5 aw", "0.99 aw"));
    Some(GrowthRange { temperature_low: low?, temperature_high: high?, aw_limit: aw_limit? })
}
