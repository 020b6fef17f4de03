//! Dates and conditions of records: how long they are kept, when they are reviewed, whether a lot may ship.

use fallrate_series::{CalendarDate, Instant};
use serde::{Deserialize, Serialize};

/// How long records of a product are kept.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Retention {
    /// 9 CFR 417.5(e): slaughter and refrigerated product, 1 year.
    MeatRefrigerated,
    /// 9 CFR 417.5(e): frozen, preserved or shelf-stable product, 2 years.
    MeatShelfStable,
    /// 21 CFR 117.315: 2 years.
    PreventiveControls,
}

impl Retention {
    /// Years.
    #[must_use]
    pub const fn years(self) -> i32 {
        match self {
            Self::MeatRefrigerated => 1,
            Self::MeatShelfStable | Self::PreventiveControls => 2,
        }
    }
    /// Hours within which a record kept elsewhere must be back (RECORD-H14, RECORD-P15).
    #[must_use]
    pub const fn back_within_hours(self) -> u32 {
        24
    }
    /// The last day of keeping a record made on a day. 29 February moves to 1 March where the year has none.
    #[must_use]
    pub fn keep_until(self, made: CalendarDate) -> CalendarDate {
        let year = made.year() + self.years();
        CalendarDate::new(year, made.month(), made.day())
            .or_else(|_| CalendarDate::new(year, 3, 1))
            .unwrap_or(made)
    }
}

/// The day so many working days (Monday to Friday, holidays not known) after a day (RECORD-P08).
///
/// ```
/// use fallrate_series::CalendarDate;
/// let made = CalendarDate::parse("2024-03-01")?;
/// assert_eq!(fallrate_lethality::working_days_after(made, 7).to_string(), "2024-03-12");
/// # Ok::<(), fallrate_series::SeriesError>(())
/// ```
#[must_use]
pub fn working_days_after(from: CalendarDate, working_days: u32) -> CalendarDate {
    let mut days = from.days_since_epoch();
    let mut left = working_days;
    while left > 0 {
        days += 1;
        if CalendarDate::from_days_since_epoch(days).weekday_from_monday() < 5 {
            left -= 1;
        }
    }
    CalendarDate::from_days_since_epoch(days)
}

/// What a pre-shipment review finds (RECORD-H12).
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct PreShipment {
    /// The lot's records are complete.
    pub lot_complete: bool,
    /// All critical limits were met.
    pub limits_met: bool,
    /// Corrective actions are closed and dispositions right.
    pub corrective_closed: bool,
}

impl PreShipment {
    /// Whether the lot may ship: all three.
    #[must_use]
    pub const fn may_ship(self) -> bool {
        self.lot_complete && self.limits_met && self.corrective_closed
    }
}

/// Longest wait between an event and its entry that is not late, s (tool rule; the rule says at the time of the event).
pub const ENTRY_AT_THE_TIME_S: f64 = 900.0;

/// Whether an entry was made later than the event (RECORD-H11). Both times are kept.
#[must_use]
pub fn is_late_entry(event: Instant, entered: Instant) -> bool {
    entered.seconds_since(event) > ENTRY_AT_THE_TIME_S
}

/// Lower limit of a challenge study of six results: mean less 1.94 standard deviations (RULE-C36).
///
/// ```
/// assert!((fallrate_lethality::challenge_lower_limit(6.9, 0.9) - 5.154).abs() < 1e-9);
/// ```
#[must_use]
pub fn challenge_lower_limit(mean_log10: f64, sd_log10: f64) -> f64 {
    mean_log10 - 1.94 * sd_log10
}

/// Target of a recook after growth: the target plus the largest modelled growth, log10 (RULE-C30).
#[must_use]
pub fn recook_target(target_log10: f64, modelled_growth_log10: &[f64]) -> f64 {
    target_log10 + modelled_growth_log10.iter().copied().fold(0.0, f64::max)
}

/// Logs asked of a product's kill step.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct KillTarget {
    /// Salmonella, log10.
    pub salmonella: f64,
    /// Pathogenic E. coli, log10, where beef is in the product.
    pub stec: Option<f64>,
    /// Listeria monocytogenes, log10, for jerky.
    pub listeria: Option<f64>,
    /// Whether the poultry tables are the ones to use.
    pub poultry_tables: bool,
}

/// What is asked of a product (RULE-C08, RULE-C09, RULE-C11, JERKY-J09 to J12).
#[must_use]
pub fn kill_target(species: crate::Species, shelf_stable_dried: bool) -> KillTarget {
    let poultry = species.takes_poultry_standard();
    let salmonella = match (shelf_stable_dried, poultry) {
        (true, _) => 5.0,
        (false, true) => 7.0,
        (false, false) => 6.5,
    };
    KillTarget {
        salmonella,
        stec: (shelf_stable_dried && species.may_contain_beef()).then_some(5.0),
        listeria: shelf_stable_dried.then_some(3.0),
        poultry_tables: poultry,
    }
}
