//! Charts, tables and pages, from finished models of plain texts and points.
//!
//! This crate draws; it computes no physical number. Scales, ticks, thinning and places of words are its own.
//! Every text comes in with the model (see [`Words`] and [`chart::ChartWords`]); foreign text is always escaped.
//! The same model gives the same bytes.

// Layout arithmetic turns small counts into coordinates.
#![allow(clippy::cast_precision_loss)]

mod bars;
pub mod chart;
mod document;
mod error;
mod escape;
pub mod font;
mod html;
mod page;
mod png;
mod scale;
mod strip;
mod svg;
pub mod table;
mod terminal;
pub mod theme;

pub use bars::{Bar, BarChart};
pub use chart::{
    Axis, AxisRange, Band, Chart, ChartWords, Dash, Kind, Layout, Mark, Point, Series, Stage, Target,
};
pub use document::*;
pub use error::ReportError;
pub use escape::escape;
pub use html::{FontSource, HtmlOptions, html};
pub use page::*;
pub use png::{Png, png};
pub use strip::{Span, Strip};
pub use table::{Align, Column, Table};
pub use terminal::{TerminalOptions, terminal};
