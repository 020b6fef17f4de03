//! Published limits of growth by water activity. Information: sources disagree, and none of them decides a verdict.

use serde::{Deserialize, Serialize};

use crate::data::{GROWTH_LIMITS, table_once};
use crate::{Basis, LethalityError};

/// What a published limit is of.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum GrowthLimitOf {
    /// Growth.
    Growth,
    /// Forming toxin.
    Toxin,
    /// No limit: what a kind of product usually has.
    Range,
}

/// Limits of one organism in one list.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct GrowthLimit {
    /// The organism.
    pub organism: String,
    /// What it is of.
    pub limit_of: GrowthLimitOf,
    /// Lowest water activity, as printed (one number, a range, or a number with an exception).
    pub aw_min: String,
    /// Lowest pH.
    #[serde(rename = "pH_min")]
    pub ph_min: Option<f64>,
    /// Highest pH.
    #[serde(rename = "pH_max")]
    pub ph_max: Option<f64>,
    /// Most salt in the water phase, per cent.
    pub wps_max_pct: Option<f64>,
    /// Lowest temperature, degC.
    #[serde(rename = "T_min_C")]
    pub t_min_c: Option<f64>,
    /// Highest temperature, degC.
    #[serde(rename = "T_max_C")]
    pub t_max_c: Option<f64>,
    /// Need of oxygen, as printed.
    pub oxygen: String,
    /// The list it stands in.
    pub source: String,
    /// How it is known.
    pub basis: Basis,
}

table_once!(
    /// The limits of all lists.
    ///
    /// # Errors
    /// [`LethalityError::Criteria`] where the compiled-in table is damaged.
    pub fn growth_limits -> GrowthLimit = "growth_limits.csv", GROWTH_LIMITS
);

impl GrowthLimit {
    /// The lowest water activity printed: of a range its lower end, of an exception the lower figure. `None` where no
    /// number stands.
    #[must_use]
    pub fn lowest_water_activity(&self) -> Option<f64> {
        let numbers = self.aw_min.split(|c: char| !(c.is_ascii_digit() || c == '.'));
        numbers.filter_map(|n| n.parse::<f64>().ok()).reduce(f64::min)
    }
}

/// One list's limit against the water activity of a lot.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct GrowthFinding {
    /// The limit.
    pub limit: &'static GrowthLimit,
    /// The lowest water activity it prints.
    pub lowest_water_activity: f64,
    /// Whether the lot's water activity, plus the tolerance of its meter, is below it.
    pub below: bool,
}

/// Every list's limits of growth and toxin against a water activity, the tolerance of the meter added, in the order of
/// the lists. Sources that disagree stand beside each other.
///
/// # Errors
/// [`LethalityError::OutOfRange`] for a water activity outside 0 to 1.1 or a tolerance outside 0 to 1.
///
/// ```
/// let at = |aw| fallrate_lethality::growth_at(aw, 0.003);
/// let s_aureus = |f: &&fallrate_lethality::GrowthFinding| f.limit.organism == "Staphylococcus aureus";
/// // Below the FDA's limits of growth (0.83) and of toxin (0.85), and all older ones.
/// assert!(at(0.80)?.iter().filter(s_aureus).all(|f| f.below));
/// // Below that of toxin, not below that of growth.
/// assert_eq!(at(0.84)?.iter().filter(s_aureus).filter(|f| !f.below).count(), 1);
/// # Ok::<(), fallrate_lethality::LethalityError>(())
/// ```
pub fn growth_at(water_activity: f64, tolerance: f64) -> Result<Vec<GrowthFinding>, LethalityError> {
    let aw = LethalityError::within("water activity", water_activity, "", 0.0..=1.1, "0 to 1.1")?;
    let tolerance =
        LethalityError::within("tolerance of the water activity", tolerance, "", 0.0..=1.0, "0 to 1")?;
    let finding = |limit: &'static GrowthLimit| {
        let lowest = limit.lowest_water_activity();
        lowest.map(|l| GrowthFinding { limit, lowest_water_activity: l, below: aw + tolerance < l })
    };
    growth_limits()
        .map(|all| all.iter().filter(|l| l.limit_of != GrowthLimitOf::Range).filter_map(finding).collect())
}
