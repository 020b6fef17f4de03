//! Use cases in the user's words. Only this crate composes the others; it does no input or output of its own but through
//! the ports of [`ports`].

mod chart;
mod check;
mod compare;
mod csv_file;
mod edit;
mod error;
mod json;
mod library;
mod moist_air;
mod page;
mod plan_case;
pub mod ports;
mod render;
mod shelf;
mod words;

pub use check::{Checked, FileKind, check};
pub use compare::{Compared, Way, compare, compare_page, compare_ways};
pub use csv_file::curves_csv;
pub use edit::{Change, ChangeError};
pub use error::{AppError, NoPlan, Place, UnknownName};
pub use json::{PlanReport, plan_report, plan_schema};
pub use library::Library;
pub use moist_air::{AirQuestion, air_page};
pub use page::{Detail, plan_page};
pub use plan_case::{PlanCase, Planned, Progress};
pub use render::{ChartFile, chart_files, html_page, terminal_page};
pub use shelf::{cabinet_page, cabinets_page, product_page, products_page};
pub use words::{Language, Reader, Units, Words};

pub use fallrate_report::PlanPage as Page;

/// Version of the program.
pub const VERSION: &str = env!("CARGO_PKG_VERSION");

/// Quantities as people type them, for whoever talks to people.
pub mod quantities {
    pub use fallrate_units::{
        Altitude, HumidityRatio, Pressure, Quantity, RelativeHumidity, Temperature, UnitError, Volume,
    };
}
