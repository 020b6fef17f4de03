//! The tables of criteria, compiled in.

use serde::de::DeserializeOwned;

use crate::LethalityError;

pub(crate) const TIME_TEMPERATURE: &str = include_str!("../../../data/criteria/time_temperature.csv");
pub(crate) const HUMIDITY_OPTIONS: &str = include_str!("../../../data/criteria/humidity_options.csv");
pub(crate) const SOURCES: &str = include_str!("../../../data/criteria/sources.csv");
pub(crate) const REQUIREMENTS: &str = include_str!("../../../data/criteria/requirements.csv");
pub(crate) const EXPOSURE_LIMITS: &str = include_str!("../../../data/criteria/exposure_limits.csv");
pub(crate) const DEGREE_HOURS: &str = include_str!("../../../data/criteria/degree_hours.csv");
pub(crate) const GROWTH_LIMITS: &str = include_str!("../../../data/criteria/growth_limits.csv");
pub(crate) const TCS: &str = include_str!("../../../data/criteria/tcs_interaction.csv");
pub(crate) const MOISTURE_LIMITS: &str = include_str!("../../../data/criteria/moisture_limits.csv");
pub(crate) const STUDIES: &str = include_str!("../../../data/criteria/studies.csv");
pub(crate) const STUDY_STAGES: &str = include_str!("../../../data/criteria/study_stages.csv");
pub(crate) const PRODUCE_ADVICE: &str = include_str!("../../../data/criteria/produce_advice.csv");

/// The texts of all tables, for a hash that names the edition of the criteria.
///
/// ```
/// assert!(fallrate_lethality::criteria_texts().iter().any(|(name, _)| *name == "time_temperature.csv"));
/// ```
#[must_use]
pub fn criteria_texts() -> [(&'static str, &'static str); 12] {
    [
        ("time_temperature.csv", TIME_TEMPERATURE),
        ("humidity_options.csv", HUMIDITY_OPTIONS),
        ("sources.csv", SOURCES),
        ("requirements.csv", REQUIREMENTS),
        ("exposure_limits.csv", EXPOSURE_LIMITS),
        ("degree_hours.csv", DEGREE_HOURS),
        ("growth_limits.csv", GROWTH_LIMITS),
        ("tcs_interaction.csv", TCS),
        ("moisture_limits.csv", MOISTURE_LIMITS),
        ("studies.csv", STUDIES),
        ("study_stages.csv", STUDY_STAGES),
        ("produce_advice.csv", PRODUCE_ADVICE),
    ]
}

/// Reads one table.
pub(crate) fn rows<T: DeserializeOwned>(table: &'static str, text: &str) -> Result<Vec<T>, LethalityError> {
    csv::Reader::from_reader(text.as_bytes())
        .into_deserialize()
        .map(|r| {
            r.map_err(|e| LethalityError::Criteria {
                table,
                line: e.position().map_or(0, csv::Position::line),
                problem: e.to_string(),
            })
        })
        .collect()
}

/// Declares a function that reads a table once and keeps it.
///
/// The judge itself takes `name().unwrap_or_default()`: of a damaged table it sees no row, and without rows nothing is
/// met. A test reads every table.
macro_rules! table_once {
    ($(#[$doc:meta])* $vis:vis fn $name:ident -> $row:ty = $file:literal, $text:expr) => {
        $(#[$doc])*
        $vis fn $name() -> Result<&'static [$row], $crate::LethalityError> {
            static ROWS: std::sync::LazyLock<Result<Vec<$row>, $crate::LethalityError>> =
                std::sync::LazyLock::new(|| $crate::data::rows($file, $text));
            ROWS.as_deref().map_err(Clone::clone)
        }
    };
}
pub(crate) use table_once;

#[cfg(test)]
mod tests {
    use super::*;

    #[derive(Debug, serde::Deserialize)]
    struct Two {
        #[serde(rename = "a")]
        _a: f64,
    }

    #[test]
    fn a_damaged_table_names_itself_and_the_line() {
        assert_eq!(rows::<Two>("x.csv", "a\n1\n2\n").map(|r| r.len()), Ok(2));
        let damaged = rows::<Two>("x.csv", "a\n1\ntwo\n");
        assert!(
            matches!(damaged, Err(LethalityError::Criteria { table: "x.csv", line: 3, .. })),
            "{damaged:?}"
        );
    }
}
