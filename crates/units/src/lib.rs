//! Quantities with a unit and a basis, their parsing and printing in SI and US units, and physical constants.
//!
//! Every quantity is a newtype over `f64` held in one base unit; the constructor and the accessor carry the unit
//! in their name (`Temperature::from_celsius(71.0).fahrenheit()`). A temperature and a temperature difference are
//! two types, and so are wet-basis and dry-basis moisture. [`Quantity::parse`] accepts what hands type
//! (`"160 F"`, `"71,5 degC"`, `"1/4 in"`) and refuses a number without its unit.
//!
//! Figures after "defined" are exact by definition (international yard and pound, 1959; SI brochure, 9th ed.).

mod constants;
mod duration;
mod moisture;
mod parse;
mod quantity;

pub use constants::*;
pub use duration::{Duration, TimeOfDay};
pub use moisture::{Moisture, MoistureBasis, MoistureDryBasis, MoistureWetBasis};
pub use parse::{UnitError, split_number};
pub use quantity::*;

/// The two families of units a person may choose.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum UnitSystem {
    /// Degrees Celsius, kilograms, millimetres.
    #[default]
    Si,
    /// Degrees Fahrenheit, pounds, inches.
    Us,
}

/// What every quantity can do: be parsed from text with its unit, and printed in either system.
pub trait Quantity: Copy + PartialOrd + Sized + 'static {
    /// The field's name of the quantity, for messages ("temperature").
    const NAME: &'static str;
    /// From the base unit.
    fn from_base(value: f64) -> Self;
    /// In the base unit.
    fn base(self) -> f64;
    /// Symbols accepted, first of each group the one printed, with factor and offset to the base unit
    /// (`base = number * factor + offset`).
    fn unit_table() -> &'static [Unit];
    /// The unit printed in a system.
    fn display_unit(system: UnitSystem) -> &'static Unit;

    /// Reads `"71 degC"`; the unit is required.
    ///
    /// # Errors
    /// [`UnitError`] says what was found and which units are allowed.
    fn parse(text: &str) -> Result<Self, UnitError> {
        parse::quantity::<Self>(text)
    }

    /// Prints with the unit of the system and `digits` decimals: `"71.0 degC"`.
    fn show(self, system: UnitSystem, digits: usize) -> String {
        let unit = Self::display_unit(system);
        format!("{:.*} {}", digits, self.in_unit(unit), unit.symbols[0])
    }

    /// The number in a given unit.
    fn in_unit(self, unit: &Unit) -> f64 {
        (self.base() - unit.offset) / unit.factor
    }
}

/// One unit of a quantity.
#[derive(Debug)]
pub struct Unit {
    /// Accepted spellings, the printed one first.
    pub symbols: &'static [&'static str],
    /// `base = number * factor + offset`.
    pub factor: f64,
    /// `base = number * factor + offset`.
    pub offset: f64,
}
