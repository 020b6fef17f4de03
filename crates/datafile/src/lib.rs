//! Reads TOML data files (products, cabinets, plans) and keeps the place of every value.
//!
//! A reader asks a [`Section`] for its keys by name. Nothing fails at once: what is wrong is collected, so that one run
//! names every problem of the file, in file order, each with what was found, what is allowed, and line and column.
//! A key that nobody asked for is a problem too ([`Document::finish`]), with the nearest known name beside it.
//!
//! ```
//! use fallrate_datafile::Document;
//! use fallrate_units::{Length, Quantity};
//! let doc = Document::parse("cut.toml", "thickness = \"6 mm\"\nwidht = \"3 cm\"\n").expect("readable");
//! let range = Length::from_millimetres(1.0)..=Length::from_millimetres(50.0);
//! let thickness = doc.root().required::<Length>("thickness", range.clone());
//! let _width = doc.root().quantity::<Length>("width", range);
//! assert_eq!(thickness.map(|t| t.base()), Some(0.006));
//! let problems = doc.finish().expect_err("a misspelt key");
//! assert_eq!(problems.to_string(), "widht: unknown key; allowed: thickness, width; cut.toml:2:1; did you mean 'width'?");
//! ```

mod cited;
mod document;
mod lists;
mod near;
mod problem;
mod range;
mod section;
mod tree;
mod values;

pub use cited::{Cited, Mark};
pub use document::{Document, LARGEST_FILE_BYTES};
pub use near::nearest;
pub use problem::{Problem, ProblemKind, Problems};
pub use section::Section;
