//! Pieces, raw material and load.

use fallrate_datafile::Section;
use fallrate_units::{Fraction, Length, Mass, MassPerArea, Quantity, Temperature};

/// How much a figure varies.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Spread<Q> {
    /// Not stated.
    Unstated,
    /// One standard deviation.
    StandardDeviation(Q),
    /// From the least to the greatest that occurs.
    Range {
        /// Least.
        low: Q,
        /// Greatest.
        high: Q,
    },
}

/// Size of the pieces.
#[derive(Clone, Debug, PartialEq)]
pub struct PieceRequest {
    /// Name of the cut, for the page's head.
    pub cut: Option<String>,
    /// Thickness of a slice, diameter of a round piece; `None`: the product file's.
    pub thickness: Option<Length>,
    /// Its spread.
    pub thickness_spread: Spread<Length>,
}

/// What differs from the product file in the raw material; shares of the raw (prepared) weight.
#[derive(Clone, Debug, PartialEq)]
pub struct RawRequest {
    /// Dry solids.
    pub solids: Option<Fraction>,
    /// Their spread.
    pub solids_spread: Spread<Fraction>,
    /// Salt.
    pub salt: Option<Fraction>,
    /// Sugar.
    pub sugar: Option<Fraction>,
}

/// The amount on the trays.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum LoadAmount {
    /// On each loaded tray.
    PerTray(Mass),
    /// On all loaded trays together.
    Total(Mass),
    /// Per area of the loaded trays.
    PerArea(MassPerArea),
}

/// The load.
#[derive(Clone, Debug, PartialEq)]
pub struct LoadRequest {
    /// Amount of prepared raw product.
    pub amount: LoadAmount,
    /// Loaded trays; `None`: every tray of the cabinet.
    pub trays: Option<u32>,
    /// Loaded trays by tray group, where the file says so (their sum is `trays`), in the file's order.
    pub trays_by_group: Vec<(String, u32)>,
    /// Key of the liner; `None`: the cabinet's bare tray.
    pub liner: Option<String>,
    /// Temperature of the product at loading.
    pub temperature: Option<Temperature>,
}

impl LoadRequest {
    /// Prepared raw product on one loaded tray, kg.
    #[must_use]
    pub fn per_tray_kg(&self, loaded_trays: u32, tray_area_m2: f64) -> f64 {
        match self.amount {
            LoadAmount::PerTray(m) => m.kilograms(),
            LoadAmount::Total(m) => m.kilograms() / f64::from(loaded_trays.max(1)),
            LoadAmount::PerArea(m) => m.kg_per_m2() * tray_area_m2,
        }
    }
}

pub(super) fn piece(s: Option<&Section<'_>>) -> PieceRequest {
    let Some(s) = s else {
        return PieceRequest { cut: None, thickness: None, thickness_spread: Spread::Unstated };
    };
    let range = Length::from_millimetres(0.1)..=Length::from_millimetres(80.0);
    let thickness = s.quantity("thickness", range.clone());
    let thickness_spread = spread(s, "thickness", thickness, Length::from_millimetres(40.0), range);
    PieceRequest { cut: s.text("cut"), thickness, thickness_spread }
}

pub(super) fn raw(s: Option<&Section<'_>>) -> RawRequest {
    let Some(s) = s else {
        return RawRequest { solids: None, solids_spread: Spread::Unstated, salt: None, sugar: None };
    };
    let range = Fraction::from_percent(1.0)..=Fraction::from_percent(99.0);
    let solids = s.quantity("solids", range.clone());
    let solids_spread = spread(s, "solids", solids, Fraction::from_percent(30.0), range);
    let salt = s.quantity("salt", Fraction::from_percent(0.0)..=Fraction::from_percent(30.0));
    let sugar = s.quantity("sugar", Fraction::from_percent(0.0)..=Fraction::from_percent(90.0));
    if let Some(solids) = solids {
        let solutes = salt.unwrap_or_default().fraction() + sugar.unwrap_or_default().fraction();
        if solutes > solids.fraction() {
            let key = if sugar.is_some() { "sugar" } else { "salt" };
            let found = format!("salt and sugar are {:.1} % of the raw weight", solutes * 100.0);
            s.report(key, &found, &format!("no more than the solids, {:.1} %", solids.percent()));
        }
    }
    RawRequest { solids, solids_spread, salt, sugar }
}

/// `x_sd` or `x_range` beside `x`.
fn spread<Q: Quantity>(
    s: &Section<'_>,
    key: &str,
    value: Option<Q>,
    greatest_sd: Q,
    range: std::ops::RangeInclusive<Q>,
) -> Spread<Q> {
    let (sd_key, range_key) = (format!("{key}_sd"), format!("{key}_range"));
    let sd = s.quantity(&sd_key, Q::from_base(0.0)..=greatest_sd);
    let ends = s.quantities(&range_key, range);
    if s.has(&sd_key) && s.has(&range_key) {
        s.report(&range_key, &format!("given beside {sd_key}"), "one of the two");
    }
    if let Some(ends) = ends {
        let good = match ends[..] {
            [low, high] if low <= high && value.is_none_or(|v| low <= v && v <= high) => Some((low, high)),
            _ => None,
        };
        match good {
            Some((low, high)) => return Spread::Range { low, high },
            None => s.report(
                &range_key,
                "not a range around the value",
                "[least, greatest] with the value between",
            ),
        }
    }
    if let (Some(value), Some(sd)) = (value, sd)
        && sd.base() * 3.0 > value.base()
    {
        s.report(
            &sd_key,
            "more than a third of the value",
            "a standard deviation below a third of the value",
        );
    }
    sd.map_or(Spread::Unstated, Spread::StandardDeviation)
}

pub(super) fn load(s: &Section<'_>) -> Option<LoadRequest> {
    let trays_by_group = trays_by_group(s);
    let listed: u32 = trays_by_group.iter().map(|(_, n)| n).sum();
    let mut trays = s.integer("trays", 1..=500).and_then(|n| u32::try_from(n).ok());
    match trays {
        Some(n) if !trays_by_group.is_empty() && n != listed => {
            s.report("trays", &format!("{n}, while the groups hold {listed}"), "the sum of the groups");
        }
        None if !trays_by_group.is_empty() => trays = Some(listed),
        _ => {}
    }
    let liner = s.text("liner");
    let temperature =
        s.quantity("temperature", Temperature::from_celsius(-2.0)..=Temperature::from_celsius(95.0));
    Some(LoadRequest { amount: amount(s)?, trays, trays_by_group, liner, temperature })
}

fn amount(s: &Section<'_>) -> Option<LoadAmount> {
    const KEYS: [&str; 3] = ["per_tray", "total", "per_area"];
    let kg = Mass::from_kilograms;
    let per_area = MassPerArea::from_kg_per_m2;
    let given: Vec<&str> = KEYS.into_iter().filter(|k| s.has(k)).collect();
    let amount = s
        .quantity("per_tray", kg(0.005)..=kg(50.0))
        .map(LoadAmount::PerTray)
        .or_else(|| s.quantity("total", kg(0.005)..=kg(5000.0)).map(LoadAmount::Total))
        .or_else(|| s.quantity("per_area", per_area(0.05)..=per_area(60.0)).map(LoadAmount::PerArea));
    match given[..] {
        [] => s.report("per_tray", "missing", "one of per_tray, total ('22 kg'), per_area ('4 kg/m2')"),
        [first, second, ..] => {
            s.report(second, &format!("given beside {first}"), "one of per_tray, total, per_area")
        }
        [_] => {}
    }
    amount
}

fn trays_by_group(s: &Section<'_>) -> Vec<(String, u32)> {
    let Some(groups) = s.section("groups") else { return Vec::new() };
    groups
        .keys()
        .into_iter()
        .filter_map(|name| {
            let n = groups.integer(name, 0..=500).and_then(|n| u32::try_from(n).ok())?;
            Some((name.to_owned(), n))
        })
        .collect()
}
