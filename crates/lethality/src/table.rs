//! The published time-temperature tables and which of their rows a product may use.

use serde::{Deserialize, Serialize};

use crate::LethalityError;
use crate::data::{TIME_TEMPERATURE, table_once};

/// Guard against rounding when a temperature is compared with a row, degF. It is a billionth of a degree: far below
/// any instrument, far above the rounding of the conversion.
pub const ROW_COMPARISON_GUARD_F: f64 = 1e-9;

/// The kind of animal the product is made of.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Species {
    /// Beef.
    Beef,
    /// Pork.
    Pork,
    /// Lamb or mutton.
    Lamb,
    /// Another red meat.
    OtherRedMeat,
    /// Chicken.
    Chicken,
    /// Turkey.
    Turkey,
    /// Another bird, or a mixture of birds.
    OtherPoultry,
    /// Red meat with any poultry in it: the poultry standard applies.
    MeatWithPoultry,
}

impl Species {
    /// Whether the poultry standard applies.
    #[must_use]
    pub const fn takes_poultry_standard(self) -> bool {
        matches!(self, Self::Chicken | Self::Turkey | Self::OtherPoultry | Self::MeatWithPoultry)
    }
    /// Whether beef is in the product.
    #[must_use]
    pub const fn may_contain_beef(self) -> bool {
        matches!(self, Self::Beef | Self::MeatWithPoultry)
    }
}

/// Decimal reductions of Salmonella a table is made for. Times are never scaled from one to another.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum LogTarget {
    /// 5 log10.
    Five,
    /// 6.5 log10.
    SixPointFive,
    /// 7 log10.
    Seven,
}

impl LogTarget {
    /// As a number of log10.
    #[must_use]
    pub const fn log10(self) -> f64 {
        match self {
            Self::Five => 5.0,
            Self::SixPointFive => 6.5,
            Self::Seven => 7.0,
        }
    }
}

/// The animal a table is printed for.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum TableSpecies {
    /// Red meat.
    Meat,
    /// Chicken.
    Chicken,
    /// Turkey.
    Turkey,
}

/// One printed row.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct TableRow {
    /// Name of the table here ("T2-6.5").
    pub table_id: String,
    /// The animal.
    pub species: TableSpecies,
    /// Fat column, per cent; `None` where the table has none.
    pub fat_pct: Option<u8>,
    /// Log target.
    pub log10_reduction_salmonella: f64,
    /// Temperature of the row, degF.
    #[serde(rename = "temp_F")]
    pub row_f: f64,
    /// Time asked, s; 0 is the printed "instant".
    pub time_s: f64,
    /// Time as printed.
    pub time_as_printed: String,
    /// Source.
    pub source_id: String,
    /// Section.
    pub section: String,
    /// How it is known.
    pub basis: crate::Basis,
}

table_once!(
    /// Every printed row of the four tables.
    ///
    /// # Errors
    /// [`LethalityError::Criteria`] where the compiled-in table is damaged.
    pub fn table_rows -> TableRow = "time_temperature.csv", TIME_TEMPERATURE
);

/// A row a product must satisfy: time at or above a temperature.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct RequiredRow {
    /// Temperature, degF, compared exactly.
    pub row_f: f64,
    /// Time asked, s; 0 asks for two consecutive readings.
    pub need_s: f64,
    /// The table that asks this time.
    pub table_id: String,
}

/// How the fat column was chosen.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum FatChoice {
    /// The table has no fat columns.
    NotNeeded,
    /// A printed column.
    Column(u8),
    /// Between two printed columns: the longer time of the two, row by row.
    LongerOf(u8, u8),
    /// Unknown: the strictest column.
    UnknownStrictest,
    /// Above the last column: the last column.
    AboveLastColumn,
}

/// The rows a product may use, from cold to hot.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct RequiredTimes {
    /// Rows, temperature rising.
    pub rows: Vec<RequiredRow>,
    /// How the fat column was chosen.
    pub fat: FatChoice,
}

impl RequiredTimes {
    /// The row at or below a temperature: the hottest row that the temperature reaches. `None` below the lowest row.
    /// Above the hottest row the hottest row serves. Nothing is interpolated.
    ///
    /// ```
    /// use fallrate_lethality::{LogTarget, Species, required_times};
    /// let t = required_times(Species::Beef, None, LogTarget::SixPointFive)?;
    /// assert_eq!(t.row_at_or_below_c(62.77).map(|r| (r.row_f, r.need_s)), Some((144.0, 300.0)));
    /// assert_eq!(t.row_at_or_below_c(62.78).map(|r| (r.row_f, r.need_s)), Some((145.0, 240.0)));
    /// # Ok::<(), fallrate_lethality::LethalityError>(())
    /// ```
    #[must_use]
    pub fn row_at_or_below_c(&self, temperature_c: f64) -> Option<&RequiredRow> {
        let n = self.rows_reached(temperature_c);
        n.checked_sub(1).and_then(|i| self.rows.get(i))
    }
    /// How many rows, counted from the coldest, a temperature reaches.
    #[must_use]
    pub fn rows_reached(&self, temperature_c: f64) -> usize {
        let f = fahrenheit_from_celsius(temperature_c) + ROW_COMPARISON_GUARD_F;
        self.rows.partition_point(|r| r.row_f <= f)
    }
    /// Keeps the rows from a temperature up, and asks at least `dwell_s` at that first temperature.
    #[must_use]
    pub(crate) fn allowing_from(mut self, least_f: Option<f64>, dwell_s: Option<f64>) -> Self {
        if let Some(least) = least_f {
            self.rows.retain(|r| r.row_f >= least);
            if let (Some(first), Some(dwell)) = (self.rows.first_mut().filter(|r| r.row_f == least), dwell_s)
            {
                first.need_s = first.need_s.max(dwell);
            }
        }
        self
    }
}

/// degF from degC: F = 1.8 C + 32.
#[must_use]
pub fn fahrenheit_from_celsius(c: f64) -> f64 {
    c.mul_add(1.8, 32.0)
}

/// degC from degF: C = (F - 32) / 1.8.
#[must_use]
pub fn celsius_from_fahrenheit(f: f64) -> f64 {
    (f - 32.0) / 1.8
}

/// The rows a product may use.
///
/// Red meat uses the red-meat table of the target. Any poultry uses the poultry tables (made for 7 log10) whatever the
/// target; other birds and mixtures take the longer of chicken and turkey, row by row. Unknown fat and fat above 12 %
/// take the 12 % column, fat between two columns the longer time of the two, fat below 1 % the 1 % column.
///
/// # Errors
/// [`LethalityError::OutOfRange`] for a fat content outside 0 to 100 %.
pub fn required_times(
    species: Species,
    fat_percent: Option<f64>,
    target: LogTarget,
) -> Result<RequiredTimes, LethalityError> {
    if !species.takes_poultry_standard() {
        let rows = printed(TableSpecies::Meat, None, target);
        return Ok(RequiredTimes { rows, fat: FatChoice::NotNeeded });
    }
    let fat = fat_choice(fat_percent)?;
    let columns = match fat {
        FatChoice::Column(c) => vec![c],
        FatChoice::LongerOf(a, b) => vec![a, b],
        _ => vec![LAST_FAT_COLUMN],
    };
    let tables: &[TableSpecies] = match species {
        Species::Chicken => &[TableSpecies::Chicken],
        Species::Turkey => &[TableSpecies::Turkey],
        _ => &[TableSpecies::Chicken, TableSpecies::Turkey],
    };
    let columns = tables.iter().flat_map(|t| columns.iter().map(|c| printed(*t, Some(*c), LogTarget::Seven)));
    let rows = columns.reduce(|mut rows, other| {
        longest(&mut rows, &other);
        rows
    });
    Ok(RequiredTimes { rows: rows.unwrap_or_default(), fat })
}

const LAST_FAT_COLUMN: u8 = 12;

#[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
fn fat_choice(fat_percent: Option<f64>) -> Result<FatChoice, LethalityError> {
    let Some(fat) = fat_percent else { return Ok(FatChoice::UnknownStrictest) };
    let fat = LethalityError::within("fat content", fat, "%", 0.0..=100.0, "0 to 100 %, or left out")?;
    Ok(if fat > f64::from(LAST_FAT_COLUMN) {
        FatChoice::AboveLastColumn
    } else if fat <= 1.0 {
        FatChoice::Column(1)
    } else if fat.fract() == 0.0 {
        FatChoice::Column(fat as u8)
    } else {
        FatChoice::LongerOf(fat.floor() as u8, fat.ceil() as u8)
    })
}

/// The rows of one printed column.
fn printed(species: TableSpecies, fat: Option<u8>, target: LogTarget) -> Vec<RequiredRow> {
    table_rows()
        .unwrap_or_default()
        .iter()
        .filter(|r| {
            r.species == species && r.fat_pct == fat && r.log10_reduction_salmonella == target.log10()
        })
        .map(|r| RequiredRow { row_f: r.row_f, need_s: r.time_s, table_id: r.table_id.clone() })
        .collect()
}

/// Takes the longer time of each row into `rows`; a row that only one of the two has is open to neither.
fn longest(rows: &mut Vec<RequiredRow>, other: &[RequiredRow]) {
    rows.retain_mut(|mine| {
        let twin = other.iter().find(|r| r.row_f == mine.row_f);
        if let Some(longer) = twin.filter(|r| r.need_s > mine.need_s) {
            *mine = longer.clone();
        }
        twin.is_some()
    });
}
