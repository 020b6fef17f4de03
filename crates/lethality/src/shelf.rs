//! Water activity, pack and name of a dried product.

use serde::Serialize;

use crate::data::{TCS, table_once};
use crate::{LethalityError, Pack};

/// Highest water activity with air in the pack (JERKY-J27).
pub const AW_LIMIT_AIR: f64 = 0.85;
/// Highest water activity in an oxygen-proof vacuum pack (JERKY-J28).
pub const AW_LIMIT_NO_OXYGEN: f64 = 0.91;
/// Highest ratio of water to protein for the name jerky, kg/kg (JERKY-J31). A naming rule, not a safety limit.
pub const JERKY_MPR_LIMIT: f64 = 0.75;
/// Guard against rounding of ratios and water activities.
const GUARD: f64 = 1e-9;

/// Whether a product is shelf-stable by its water activity and pack.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
pub struct ShelfStability {
    /// Shelf-stable.
    pub shelf_stable: bool,
    /// The label must say to refrigerate after opening (JERKY-J29).
    pub refrigerate_after_opening: bool,
}

/// Shelf stability of jerky: 0.85 with air in the pack, 0.91 without oxygen. Above 0.85 in a vacuum pack the label
/// must say to refrigerate after opening, unless it is a single serving.
///
/// # Errors
/// [`LethalityError::OutOfRange`] outside 0 to 1.1.
///
/// ```
/// use fallrate_lethality::{Pack, shelf_stable};
/// assert!(shelf_stable(0.85, Pack::Air, false)?.shelf_stable);
/// assert!(!shelf_stable(0.851, Pack::Air, false)?.shelf_stable);
/// # Ok::<(), fallrate_lethality::LethalityError>(())
/// ```
pub fn shelf_stable(
    water_activity: f64,
    pack: Pack,
    single_serving: bool,
) -> Result<ShelfStability, LethalityError> {
    let aw = LethalityError::within("water activity", water_activity, "", 0.0..=1.1, "0 to 1")?;
    let limit = match pack {
        Pack::Air => AW_LIMIT_AIR,
        Pack::OxygenProofVacuum => AW_LIMIT_NO_OXYGEN,
    };
    let shelf_stable = aw <= limit + GUARD;
    let above_air_limit = aw > AW_LIMIT_AIR + GUARD;
    let label = shelf_stable && above_air_limit && pack == Pack::OxygenProofVacuum && !single_serving;
    Ok(ShelfStability { shelf_stable, refrigerate_after_opening: label })
}

/// Ratio of water to protein (kg/kg) from the two contents in per cent of the wet product.
///
/// # Errors
/// [`LethalityError::OutOfRange`] for contents outside 0 to 100 % or no protein.
pub fn moisture_to_protein_ratio(
    moisture_wet_basis_percent: f64,
    protein_percent: f64,
) -> Result<f64, LethalityError> {
    let m = LethalityError::within(
        "moisture, wet basis",
        moisture_wet_basis_percent,
        "%",
        0.0..=100.0,
        "0 to 100 %",
    )?;
    let p = LethalityError::within("protein", protein_percent, "%", 0.1..=100.0, "0.1 to 100 %")?;
    Ok(m / p)
}

/// Whether a product may be called jerky: the ratio, and shelf stability. A naming rule only.
#[must_use]
pub fn may_be_called_jerky(moisture_to_protein_ratio: f64, shelf: ShelfStability) -> bool {
    moisture_to_protein_ratio <= JERKY_MPR_LIMIT + GUARD && shelf.shelf_stable
}

/// Result of the Food Code's interaction tables.
#[derive(Clone, Copy, Debug, PartialEq, Eq, serde::Deserialize, Serialize)]
pub enum TcsResult {
    /// Time and temperature control is not needed.
    #[serde(rename = "non-TCS")]
    NotTcs,
    /// Product assessment needed: treat as needing control until shown otherwise.
    #[serde(rename = "PA")]
    ProductAssessment,
}

#[derive(serde::Deserialize)]
struct TcsBox {
    heat_treated_and_packaged: String,
    aw_low: Option<f64>,
    aw_low_inclusive: String,
    aw_high: Option<f64>,
    aw_high_inclusive: String,
    #[serde(rename = "pH_low")]
    ph_low: Option<f64>,
    #[serde(rename = "pH_low_inclusive")]
    ph_low_inclusive: String,
    #[serde(rename = "pH_high")]
    ph_high: Option<f64>,
    #[serde(rename = "pH_high_inclusive")]
    ph_high_inclusive: String,
    result: TcsResult,
}

table_once!(fn tcs_boxes -> TcsBox = "tcs_interaction.csv", TCS);

/// Whether a food needs time and temperature control by the interaction of pH and water activity (Food Code 2022,
/// 1-201.10(B), Table A for food heat-treated and then packaged, Table B for the rest).
///
/// # Errors
/// [`LethalityError::OutOfRange`] for a water activity outside 0 to 1 or a pH outside 0 to 14.
///
/// ```
/// use fallrate_lethality::{TcsResult, tcs};
/// assert_eq!(tcs(0.92, 6.5, true)?, TcsResult::NotTcs);
/// assert_eq!(tcs(0.96, 4.7, true)?, TcsResult::ProductAssessment);
/// # Ok::<(), fallrate_lethality::LethalityError>(())
/// ```
pub fn tcs(
    water_activity: f64,
    ph: f64,
    heat_treated_and_packaged: bool,
) -> Result<TcsResult, LethalityError> {
    let aw = LethalityError::within("water activity", water_activity, "", 0.0..=1.0, "0 to 1")?;
    let ph = LethalityError::within("pH", ph, "", 0.0..=14.0, "0 to 14")?;
    let table = if heat_treated_and_packaged { "yes" } else { "no" };
    let inside = |v: f64, low: Option<f64>, low_in: &str, high: Option<f64>, high_in: &str| {
        low.is_none_or(|l| v > l || (low_in == "yes" && v >= l))
            && high.is_none_or(|h| v < h || (high_in == "yes" && v <= h))
    };
    let found = tcs_boxes().unwrap_or_default().iter().find(|b| {
        b.heat_treated_and_packaged == table
            && inside(aw, b.aw_low, &b.aw_low_inclusive, b.aw_high, &b.aw_high_inclusive)
            && inside(ph, b.ph_low, &b.ph_low_inclusive, b.ph_high, &b.ph_high_inclusive)
    });
    // The boxes leave no pair out; without one the product would need assessment.
    Ok(found.map_or(TcsResult::ProductAssessment, |b| b.result))
}
