//! Prices.

use fallrate_datafile::Section;
use fallrate_units::{Duration, TimeOfDay};

use super::when::Window;

/// A price of energy that holds for part of the day.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct TariffPeriod {
    /// When it holds.
    pub hours: Window,
    /// Per kWh.
    pub price_per_kwh: f64,
}

/// The energy tariff. Every clock time has exactly one price.
#[derive(Clone, Debug, PartialEq)]
pub struct Tariff {
    /// Price outside the periods; `None` where the periods cover the day.
    pub base_price_per_kwh: Option<f64>,
    /// Periods, not overlapping.
    pub periods: Vec<TariffPeriod>,
    /// Per kW of the highest demand and billing period.
    pub demand_charge_per_kw: Option<f64>,
}

impl Tariff {
    /// Price at a clock time, per kWh. `None` cannot happen for a tariff read from a file.
    #[must_use]
    pub fn price_per_kwh_at(&self, at: TimeOfDay) -> Option<f64> {
        self.periods
            .iter()
            .find(|p| p.hours.contains(at))
            .map(|p| p.price_per_kwh)
            .or(self.base_price_per_kwh)
    }
    /// Clock times at which the price may change, s after midnight, sorted.
    #[must_use]
    pub fn changes_s(&self) -> Vec<f64> {
        let mut all: Vec<f64> =
            self.periods.iter().flat_map(|p| [p.hours.from.seconds(), p.hours.to.seconds()]).collect();
        all.sort_by(f64::total_cmp);
        all.dedup();
        all
    }
}

/// Prices; what is missing is not reckoned.
#[derive(Clone, Debug, PartialEq, Default)]
pub struct MoneyRequest {
    /// Name or sign of the currency; there whenever there is a price.
    pub currency: Option<String>,
    /// Energy.
    pub tariff: Option<Tariff>,
    /// Labour, per hour.
    pub labour_price_per_hour: Option<f64>,
    /// Labour of a batch.
    pub labour: Option<Duration>,
    /// Prepared raw product, per kg.
    pub raw_price_per_kg: Option<f64>,
    /// Finished product sold, per kg.
    pub product_price_per_kg: Option<f64>,
    /// Cost of a batch that comes out too wet (rework, re-drying, loss).
    pub wet_batch_cost: Option<f64>,
}

const DEAREST: f64 = 1e6;

pub(super) fn money(s: Option<&Section<'_>>) -> MoneyRequest {
    let Some(s) = s else { return MoneyRequest::default() };
    let price = |key: &str| s.number(key, 0.0..=DEAREST);
    let currency = s.text("currency");
    if currency.as_ref().is_some_and(|c| c.chars().count() > 8) {
        s.report("currency", "a long name", "a name or sign of up to 8 letters, as 'USD'");
    }
    let request = MoneyRequest {
        currency,
        tariff: tariff(s),
        labour_price_per_hour: price("labour_price_per_hour"),
        labour: s.quantity("labour", Duration::from_seconds(0.0)..=Duration::from_hours(1000.0)),
        raw_price_per_kg: price("raw_price_per_kg"),
        product_price_per_kg: price("product_price_per_kg"),
        wet_batch_cost: price("wet_batch_cost"),
    };
    if request.labour_price_per_hour.is_some() != request.labour.is_some() {
        let (there, missing) = if request.labour.is_some() {
            ("labour", "labour_price_per_hour")
        } else {
            ("labour_price_per_hour", "labour")
        };
        if !s.has(missing) && s.has(there) {
            s.report(there, &format!("given without {missing}"), "both, or neither");
        }
    }
    if !s.has("currency") && !s.keys().is_empty() {
        s.report("currency", "missing", "a currency beside prices, as currency = \"USD\"");
    }
    request
}

fn tariff(s: &Section<'_>) -> Option<Tariff> {
    let base_price_per_kwh = s.number("energy_price_per_kwh", 0.0..=DEAREST);
    let demand_charge_per_kw = s.number("demand_charge_per_kw", 0.0..=DEAREST);
    let sections = s.sections("tariff");
    let mut periods: Vec<TariffPeriod> = Vec::new();
    let mut all_read = true;
    for section in &sections {
        let (from, to) = (section.required_clock("from"), section.required_clock("to"));
        let price = section.required_number("price_per_kwh", 0.0..=DEAREST);
        let (Some(from), Some(to), Some(price_per_kwh)) = (from, to, price) else {
            all_read = false;
            continue;
        };
        let hours = Window { from, to };
        if periods.iter().any(|p| p.hours.contains(from) || hours.contains(p.hours.from)) {
            section.report("from", "overlaps an earlier period", "periods apart from one another");
            all_read = false;
        }
        periods.push(TariffPeriod { hours, price_per_kwh });
    }
    let tariff = Tariff { base_price_per_kwh, periods, demand_charge_per_kw };
    if tariff.periods.is_empty() && base_price_per_kwh.is_none() {
        if s.has("demand_charge_per_kw") && !s.has("energy_price_per_kwh") && sections.is_empty() {
            s.report(
                "demand_charge_per_kw",
                "given without a price of energy",
                "energy_price_per_kwh beside it",
            );
        }
        return None;
    }
    if all_read && base_price_per_kwh.is_none() && !s.has("energy_price_per_kwh") {
        // Where a period ends, another begins, or the day has a gap there.
        let gap = tariff.periods.iter().map(|p| p.hours.to).find(|to| tariff.price_per_kwh_at(*to).is_none());
        if let Some(gap) = gap {
            let found = format!("no price at {}", gap.hm());
            s.report("tariff", &found, "periods that cover the day, or energy_price_per_kwh for the rest");
        }
    }
    Some(tariff)
}
