//! Energy and money.

use fallrate_report::FigureGroup;

use super::figures::figure;
use super::view::View;
use crate::words::say;

pub(super) fn energy(v: &View<'_>) -> FigureGroup {
    let (e, r) = (&v.plan.energy, v.r);
    let per_water = r.per_mass(e.kwh_per_kg_water);
    let mut figures = vec![
        figure(
            r.text("energy"),
            format!("{:.1}", e.heater_kwh + e.fan_kwh),
            "kWh",
            Some(say!(
                r,
                "energy-note",
                heater = format!("{:.1}", e.heater_kwh),
                fan = format!("{:.1}", e.fan_kwh)
            )),
        ),
        figure(
            r.text("energy-per-water"),
            format!("{per_water:.2}"),
            &format!("kWh/{}", r.mass_unit()),
            Some(say!(r, "energy-per-water-note", share = r.percent(e.efficiency))),
        ),
        figure(r.text("peak"), format!("{:.1}", e.peak_kw), "kW", Some(r.text("peak-note"))),
    ];
    let currency = v.currency();
    let amounts = [
        ("cost-energy", e.energy_cost, None),
        ("cost-demand", e.demand_cost, Some("cost-demand-note")),
        ("cost-labour", e.labour_cost, None),
        ("cost-raw", e.raw_cost, None),
    ];
    for (key, amount, note) in amounts {
        if let Some(amount) = amount {
            figures.push(figure(r.text(key), format!("{amount:.2}"), currency, note.map(|n| r.text(n))));
        }
    }
    if let Some(per_kg) = e.cost_per_kg_finished {
        let parts: Vec<String> =
            [("cost-energy", e.energy_cost), ("cost-labour", e.labour_cost), ("cost-raw", e.raw_cost)]
                .iter()
                .filter(|(_, a)| a.is_some())
                .map(|(k, _)| r.text(k).to_lowercase())
                .collect();
        figures.push(figure(
            r.text("cost-per-mass"),
            format!("{:.2}", r.per_mass(per_kg)),
            &format!("{currency}/{}", r.mass_unit()),
            Some(say!(r, "cost-per-mass-note", parts = parts.join(", "))),
        ));
    }
    let summary = currency.is_empty().then(|| r.text("no-prices"));
    FigureGroup { title: r.text("title-money"), summary, figures }
}
