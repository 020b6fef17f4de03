//! Cabinets.

use fallrate_equipment::{Cabinet, ControllerKind};
use fallrate_report::{Column, PlanPage, Table};
use fallrate_units::{Area, Quantity};

use super::facts::{Fact, brief, duration, number, quantity};
use crate::library::Library;
use crate::words::{Reader, say};

/// The cabinets at hand.
#[must_use]
pub fn cabinets_page(library: &Library, r: &Reader) -> PlanPage {
    let rows = library.cabinets().iter().map(|c| {
        vec![
            c.key.clone(),
            r.words.pick(&c.name.en, &c.name.es).to_owned(),
            c.trays.count.to_string(),
            area(r, c.total_tray_area_m2()),
            format!("{:.1} kW", c.heater.measured.value.kilowatts()),
            c.vent.marks.iter().map(|m| m.name.as_str()).collect::<Vec<_>>().join(", "),
            c.fan_steps.iter().map(|f| f.name.as_str()).collect::<Vec<_>>().join(", "),
            r.duration(c.timer.maximum.value.seconds()),
        ]
    });
    let table = Table {
        title: r.text("table-cabinets"),
        header: vec![
            Column::left(&r.text("column-key")),
            Column::left(&r.text("column-name")),
            Column::right(&r.text("column-trays")),
            Column::right(&r.text("column-area")),
            Column::right(&r.text("column-heater-power")),
            Column::left(&r.text("column-vent-marks")),
            Column::left(&r.text("column-fan-steps")),
            Column::right(&r.text("column-dial")),
        ],
        rows: rows.collect(),
        note: Some(r.text("table-cabinets-note")),
    };
    let mut page = super::page(
        r,
        String::new(),
        say!(r, "cabinets-headline", count = library.cabinets().len()),
        r.text("cabinets-subline"),
    );
    page.tables.push(table);
    page
}

fn area(r: &Reader, m2: f64) -> String {
    let unit = Area::display_unit(r.units.system());
    let symbol = unit.symbols.first().copied().unwrap_or("").replace('2', "²");
    format!("{:.1} {symbol}", Area::from_square_metres(m2).in_unit(unit))
}

/// One cabinet with every figure.
#[must_use]
pub fn cabinet_page(cabinet: &Cabinet, library: &Library, r: &Reader) -> PlanPage {
    let facts = cabinet_facts(cabinet, r);
    let mut subline = r.words.pick(&cabinet.description.en, &cabinet.description.es).to_owned();
    if cabinet.invented {
        subline = format!("{subline} {}", r.text("cabinet-invented"));
    }
    let sealed = r.text(if cabinet.sealed_capable { "cabinet-sealed" } else { "cabinet-not-sealed" });
    subline = format!("{subline} {sealed} {}", super::marks_summary(r, &facts));
    let mut page = super::page(
        r,
        say!(r, "cabinet-subject", key = cabinet.key.as_str()),
        r.words.pick(&cabinet.name.en, &cabinet.name.es).to_owned(),
        subline,
    );
    page.tables.push(derived(cabinet, r));
    page.tables.push(super::facts_table(r, &facts));
    page.sources = super::sources(r, library, &facts);
    page
}

/// What follows from the figures.
fn derived(c: &Cabinet, r: &Reader) -> Table {
    let idle = c.idle_power_w(60.0, 20.0);
    let rows = vec![
        vec![r.text("derived-area"), area(r, c.total_tray_area_m2())],
        vec![r.text("derived-loss"), format!("{} W/K", brief(c.shell_loss_w_per_k()))],
        vec![
            say!(r, "derived-idle", chamber = r.temperature(60.0), room = r.temperature(20.0)),
            format!("{} kW", brief(idle / 1000.0)),
        ],
        vec![
            r.text("derived-speed"),
            c.fan_steps
                .iter()
                .map(|f| format!("{} {}", f.name, r.air_speed(c.air_speed_m_per_s(f))))
                .collect::<Vec<_>>()
                .join(", "),
        ],
    ];
    Table {
        title: r.text("table-derived"),
        header: vec![Column::left(&r.text("column-figure")), Column::left(&r.text("column-value"))],
        rows,
        note: None,
    }
}

/// Every figure of a cabinet.
pub(crate) fn cabinet_facts(c: &Cabinet, r: &Reader) -> Vec<Fact> {
    let q = |key: &str| r.text(key);
    let mut list = vec![
        quantity(r, q("fact-tray-length"), &c.trays.length),
        quantity(r, q("fact-tray-width"), &c.trays.width),
        quantity(r, q("fact-tray-tare"), &c.trays.tare),
        quantity(r, q("fact-tray-gap"), &c.trays.gap),
    ];
    for g in &c.groups {
        list.push(number(
            say!(r, "fact-air-share", name = g.name.as_str(), trays = g.trays),
            "",
            &g.air_share,
        ));
    }
    list.push(quantity(r, q("fact-plenum"), &c.air.plenum_volume));
    list.push(quantity(r, q("fact-cross-section"), &c.air.cross_section));
    for f in &c.fan_steps {
        list.push(quantity(r, say!(r, "fact-fan-flow", name = f.name.as_str()), &f.air_flow));
        list.push(quantity(r, say!(r, "fact-fan-power", name = f.name.as_str()), &f.power));
    }
    list.extend(heat_facts(c, r));
    list.push(quantity(r, q("fact-leakage"), &c.leakage.dry_air));
    for m in &c.vent.marks {
        list.push(quantity(r, say!(r, "fact-vent-opening", name = m.name.as_str()), &m.opening));
        list.push(quantity(r, say!(r, "fact-vent-flow", name = m.name.as_str()), &m.dry_air));
    }
    list.push(quantity(r, q("fact-door"), &c.door.open_dry_air));
    list.extend(control_facts(c, r));
    for l in &c.liners {
        let name = r.words.pick(&l.name.en, &l.name.es);
        list.push(number(say!(r, "fact-liner-heat", name = name), "", &l.underside_heat));
        list.push(number(say!(r, "fact-liner-mass", name = name), "", &l.underside_mass));
        list.push(quantity(r, say!(r, "fact-liner-weight", name = name), &l.weight));
    }
    list
}

fn heat_facts(c: &Cabinet, r: &Reader) -> Vec<Fact> {
    let q = |key: &str| r.text(key);
    vec![
        quantity(r, q("fact-heater-rated"), &c.heater.rated),
        quantity(r, q("fact-heater-measured"), &c.heater.measured),
        number(q("fact-mains"), "V", &c.mains.actual_v),
        quantity(r, q("fact-shell-heat"), &c.shell.heat_capacity),
        quantity(r, q("fact-shell-exchange"), &c.shell.exchange),
        quantity(r, q("fact-shell-loss"), &c.shell.loss),
        quantity(r, q("fact-racks-heat"), &c.racks.heat_capacity),
        quantity(r, q("fact-transfer"), &c.heat_transfer.coefficient),
        quantity(r, q("fact-transfer-speed"), &c.heat_transfer.air_speed),
        number(q("fact-transfer-exponent"), "", &c.heat_transfer.exponent),
    ]
}

fn control_facts(c: &Cabinet, r: &Reader) -> Vec<Fact> {
    let q = |key: &str| r.text(key);
    let mut list = match &c.controller.kind {
        ControllerKind::Pi { kp_per_k, ti } => {
            vec![number(q("fact-gain"), "1/K", kp_per_k), duration(q("fact-integral"), ti)]
        }
        ControllerKind::OnOff { hysteresis } => vec![quantity(r, q("fact-hysteresis"), hysteresis)],
    };
    list.extend([
        duration(q("fact-sensor-lag"), &c.controller.sensor_lag),
        quantity(r, q("fact-set-least"), &c.controller.set_point_least),
        quantity(r, q("fact-set-greatest"), &c.controller.set_point_greatest),
        quantity(r, q("fact-offset"), &c.controller.displayed_offset),
        duration(q("fact-dial-step"), &c.timer.step),
        duration(q("fact-dial-maximum"), &c.timer.maximum),
    ]);
    list
}
