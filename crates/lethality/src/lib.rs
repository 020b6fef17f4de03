//! From a measured record to a verdict: met, not met, or cannot be judged.
//!
//! The published criteria are compiled in (`data/criteria`), each limit with its document, section and basis
//! ([`citation`]). [`judge`] takes a `Log<Proof>` and a [`Case`] (what is claimed and what is stated) and gives a
//! [`VerdictMeasured`]. A simulated log gives only a [`RehearsalResult`]; forecast temperatures give only a
//! [`VerdictForecast`]. There is no conversion between the three.
//!
//! The rules, in short: *met* holds whatever the missing minutes held, *not met* fails even with them granted, the rest
//! cannot be judged. Intervals count at their colder end, less the tolerance. Positions are judged whole. An option is
//! met if an end instant exists at which all its parts hold together.

mod after_kill;
mod answer;
mod assemble;
mod authority;
mod bulbs;
mod citation;
mod clocks;
mod come_up;
mod count;
mod data;
mod dwell;
mod end_point;
mod error;
mod evidence;
mod exposure;
mod facts;
mod forecast;
mod gate;
mod growth;
mod humid;
mod instruments;
mod interruption;
mod judge;
mod kinetics;
mod lot;
mod moisture;
mod option;
mod plan_growth;
mod plan_limit;
mod position;
mod practice;
mod probe;
mod reason;
mod record_line;
mod records;
mod routes;
mod search;
mod shelf;
mod study;
mod table;
mod timed;
mod timeline;
mod track;
mod verdict;

pub use after_kill::AfterKill;
pub use answer::Answer;
pub use authority::{
    Approval, AuthorityCriterion, AuthorityPosition, AuthorityVerdict, DrynessProxy, HumidityCondition,
    judge_by_authority,
};
pub use citation::{Basis, Citation, LimitClass, Requirement, citation, requirements};
pub use come_up::{COME_UP_HIGH_F, COME_UP_LIMIT_MIN, COME_UP_LOW_F};
pub use data::criteria_texts;
pub use dwell::RowDwell;
pub use end_point::*;
pub use error::LethalityError;
pub use evidence::LARGE_PIECE_KG;
pub use exposure::*;
pub use facts::*;
pub use forecast::{FORECAST_LABEL, ForecastAnswer, ForecastTrace, VerdictForecast, forecast};
pub use growth::*;
pub use humid::{ADVICE_RH, ADVICE_WET_BULB_F, LARGE_PIECE_OVEN_F, SHUT_OPENING_FRACTION};
pub use interruption::{Advised, InterruptionFinding, assess_interruption};
pub use judge::ADVICE_MINUTES;
pub use kinetics::*;
pub use lot::*;
pub use moisture::{MoistureLimit, ProduceAdvice, moisture_limits, produce_advice};
pub use option::{
    AfterDrying, DocumentReading, HumidityOption, OptionId, OptionKind, humidity_option, humidity_options,
};
pub use plan_growth::*;
pub use plan_limit::*;
pub use position::{POULTRY_ENDPOINT_CURED_SMOKED_F, POULTRY_ENDPOINT_UNCURED_F};
pub use practice::*;
pub use probe::*;
pub use reason::{Counted, Missing, SealedPaper, StripEntry, StripReason};
pub use records::*;
pub use routes::RouteWithoutSteam;
pub use shelf::*;
pub use study::*;
pub use table::*;
pub use verdict::*;
