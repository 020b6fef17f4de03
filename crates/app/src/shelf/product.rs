//! Products.

use fallrate_datafile::Mark;
use fallrate_foods::{KillStep, Pack, Product, Shape};
use fallrate_report::{Column, PlanPage, Table};

use super::facts::{Fact, number, quantity};
use crate::library::Library;
use crate::words::{Reader, fixed, say};

/// The products at hand.
#[must_use]
pub fn products_page(library: &Library, r: &Reader) -> PlanPage {
    let rows = library.products().iter().map(|p| {
        vec![
            p.key.clone(),
            r.words.pick(&p.name.en, &p.name.es).to_owned(),
            size(r, p),
            fixed(p.initial_moisture.value.percent(), 0),
            fixed(p.target.moisture.value.percent(), 0),
            r.temperature_cell(p.recommended.air_temperature.value.celsius()),
            r.text(short_kill_key(p.kill_step)),
            crate::page::mark_word(r, p.diffusivity.at_60c.mark.word()),
        ]
    });
    let table = Table {
        title: r.text("table-products"),
        header: vec![
            Column::left(&r.text("column-key")),
            Column::left(&r.text("column-name")),
            Column::left(&r.text("column-piece")),
            Column::right(&r.text("column-raw-moisture")),
            Column::right(&r.text("column-target-moisture")),
            Column::right(&say!(r, "column-air-usual", unit = r.temperature_unit())),
            Column::left(&r.text("column-kill-step")),
            Column::left(&r.text("column-diffusivity-mark")),
        ],
        rows: rows.collect(),
        note: Some(r.text("table-products-note")),
    };
    let mut page = super::page(
        r,
        String::new(),
        say!(r, "products-headline", count = library.products().len()),
        r.text("products-subline"),
    );
    page.tables.push(table);
    page
}

fn size(r: &Reader, p: &Product) -> String {
    let size = r.thickness(p.geometry.size.value.metres());
    match p.geometry.shape {
        Shape::Slab => size,
        Shape::Cylinder => say!(r, "size-cylinder", size = size),
        Shape::Sphere => say!(r, "size-sphere", size = size),
    }
}

fn short_kill_key(k: KillStep) -> &'static str {
    match k {
        KillStep::Required => "short-required",
        KillStep::Advised => "short-advised",
        KillStep::None => "short-none",
    }
}

fn kill_key(k: KillStep) -> &'static str {
    match k {
        KillStep::Required => "kill-required",
        KillStep::Advised => "kill-advised",
        KillStep::None => "kill-none",
    }
}

/// One product with every figure.
#[must_use]
pub fn product_page(product: &Product, library: &Library, r: &Reader) -> PlanPage {
    let name = r.words.pick(&product.name.en, &product.name.es).to_owned();
    let facts = product_facts(product, r);
    let mut page = super::page(
        r,
        say!(r, "product-subject", key = product.key.as_str()),
        name,
        format!("{} {}", flags(product, r), super::marks_summary(r, &facts)),
    );
    page.figures.push(super::group(
        r.text("title-fan"),
        r.words.pick(&product.recommended.fan.en, &product.recommended.fan.es).to_owned(),
    ));
    page.tables.push(super::facts_table(r, &facts));
    page.sources = super::sources(r, library, &facts);
    for (key, caution) in library.cautions().iter() {
        let always = product.kill_step != KillStep::None && caution.always_for_kill_step;
        if always || product.cautions.iter().any(|k| k == key) {
            page.cautions.push(super::note(r.words.pick(&caution.text.en, &caution.text.es).to_owned()));
        }
    }
    page
}

/// What kind of food it is, in a sentence.
fn flags(p: &Product, r: &Reader) -> String {
    let mut words = vec![size(r, p), r.text(kill_key(p.kill_step))];
    if p.raw_meat {
        words.push(r.text("flag-raw-meat"));
    }
    if p.pet_food {
        words.push(r.text("flag-pet-food"));
    }
    if p.sticky {
        words.push(r.text("flag-sticky"));
    }
    words.push(r.text(match p.target.pack {
        Pack::Air => "pack-air",
        Pack::OxygenFree => "pack-oxygen-free",
        Pack::Refrigerated => "pack-refrigerated",
    }));
    format!("{}.", words.join("; "))
}

/// Every figure of a product.
pub(crate) fn product_facts(p: &Product, r: &Reader) -> Vec<Fact> {
    let q = |key: &str| r.text(key);
    let mut list = vec![
        quantity(r, q("fact-size"), &p.geometry.size),
        quantity(r, q("fact-size-spread"), &p.geometry.size_spread),
        quantity(r, q("fact-raw-moisture"), &p.initial_moisture),
        quantity(r, q("fact-raw-moisture-spread"), &p.initial_moisture_spread),
    ];
    list.extend(composition(p, r));
    list.extend([
        quantity(r, q("fact-diffusivity"), &p.diffusivity.at_60c),
        quantity(r, q("fact-activation"), &p.diffusivity.activation_energy),
    ]);
    list.extend(p.diffusivity.moisture_parameter.as_ref().map(|c| number(q("fact-moisture-term"), "", c)));
    list.extend([
        number(q("fact-isotherm"), "", &p.sorption.moisture_factor),
        quantity(r, q("fact-solids-density"), &p.volume.solids_density),
        quantity(r, q("fact-shrinkage"), &p.volume.shrinkage_share),
        number(q("fact-lateral"), "", &p.volume.lateral_exponent),
        quantity(r, q("fact-salt"), &p.solutes.salt),
        quantity(r, q("fact-sugar"), &p.solutes.sugar),
        quantity(r, q("fact-marinade-water"), &p.solutes.water),
        quantity(r, q("fact-tray-load"), &p.tray_load),
    ]);
    list.extend(use_facts(p, r));
    list
}

fn composition(p: &Product, r: &Reader) -> Option<Fact> {
    let c = &p.composition;
    let mark = match c.mark {
        Mark::Read => "read",
        Mark::Computed => "computed",
        Mark::Memory => "memory",
        Mark::Assumed => "assumed",
    };
    Some(Fact {
        label: r.text("fact-composition"),
        value: format!("{:.1} %", c.printed_sum_percent),
        range: String::new(),
        mark: mark.to_owned(),
        source: c.source.clone(),
        note: c.note.clone(),
    })
}

fn use_facts(p: &Product, r: &Reader) -> Vec<Fact> {
    let q = |key: &str| r.text(key);
    let mut list = vec![
        quantity(r, q("fact-air"), &p.recommended.air_temperature),
        quantity(r, q("fact-ceiling"), &p.recommended.product_temperature_max),
    ];
    list.extend(
        p.recommended.first_stage_wet_bulb.as_ref().map(|c| quantity(r, q("fact-first-wet-bulb"), c)),
    );
    list.push(quantity(r, q("fact-target-moisture"), &p.target.moisture));
    list.extend(p.target.aw_max.as_ref().map(|c| quantity(r, q("fact-target-aw"), c)));
    list.extend(p.growth.as_ref().map(|g| quantity(r, q("fact-growth-aw"), &g.aw_limit)));
    if let Some(l) = &p.lift_off {
        list.push(number(q("fact-lift-force"), "", &l.force_coefficient));
        list.push(quantity(r, q("fact-lift-mass"), &l.fresh_mass_per_area));
    }
    list
}
