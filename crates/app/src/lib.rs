//! Use cases in the user's words. Only this crate composes the others; it does no input or output of its own but through
//! the ports of [`ports`].

pub mod batches;
pub mod cabinet_tests;
mod card;
mod chart;
mod check;
mod compare;
mod csv_file;
mod edit;
mod error;
mod error_words;
pub mod instruments;
mod json;
pub mod learning;
mod library;
mod moist_air;
pub mod own;
mod page;
mod plan_case;
pub mod ports;
pub mod practice;
pub mod proof;
mod render;
mod shelf;
mod typed;
pub mod underway;
pub mod upkeep;
mod words;

pub use card::plan_card;
pub use check::{Checked, FileKind, check};
pub use compare::{Compared, Way, compare, compare_page, compare_ways};
pub use csv_file::curves_csv;
pub use edit::{Change, ChangeError};
pub use error::{AppError, NoPlan, Place, UnknownName};
pub use error_words::KeyFault;
pub use json::{PlanReport, plan_report, plan_schema};
pub use library::Library;
pub use moist_air::{AirQuestion, air_page};
pub use page::{Detail, plan_page};
pub use plan_case::{PlanCase, Planned, Progress};
pub use render::{
    ChartFile, chart_files, document_page, document_pdf, document_text, html_page, terminal_page,
};
pub use shelf::{cabinet_page, cabinets_page, product_page, products_page};
pub use typed::{Asked, Typed, TypedFault};
pub use words::{Language, Reader, Units, Words};

pub use fallrate_report::{Document, PlanPage as Page};

/// The parts of pages and documents, for whoever shows them in a frame of their own.
pub mod parts {
    pub use fallrate_report::{
        Act, Block, Caution, Comparison, Document, FigureGroup, Flag, FontSource, HtmlOptions, KeyFigure,
        Layout, Level, Paper, Picture, Sign, SignLine, Source, Span, Strip, Table, Timer, blocks_html,
        document_html, escape, font, theme,
    };
}

/// What the library holds.
pub mod library_items {
    pub use fallrate_equipment::Cabinet;
    pub use fallrate_foods::Product;
}

/// Version of the program.
pub const VERSION: &str = env!("CARGO_PKG_VERSION");

/// Quantities as people type them, for whoever talks to people.
pub mod quantities {
    pub use fallrate_units::{
        AirSpeed, Altitude, Duration, Fraction, HumidityRatio, Length, Mass, Moisture, Pressure, Quantity,
        RelativeHumidity, Temperature, TimeOfDay, UnitError, UnitSystem, Volume, WaterActivity,
    };

    /// A length of time as a field gives it, s.
    #[must_use]
    pub fn duration_s(text: &str) -> Option<f64> {
        fallrate_units::Duration::parse(text).ok().map(fallrate_units::Duration::seconds)
    }
}
