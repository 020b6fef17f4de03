//! Moisture content, which is meaningless without its basis.

use crate::{Quantity, Unit, UnitError, UnitSystem, parse};

/// The basis of a moisture content.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum MoistureBasis {
    /// kg water per kg total.
    Wet,
    /// kg water per kg dry solids.
    Dry,
}

macro_rules! moisture {
    ($(#[$doc:meta])* $name:ident, $label:literal, $table:expr) => {
        $(#[$doc])*
        #[derive(Clone, Copy, Debug, PartialEq, PartialOrd, Default, serde::Serialize, serde::Deserialize)]
        #[serde(transparent)]
        pub struct $name(f64);
        impl $name {
            /// From kg/kg on this basis.
            #[must_use]
            pub const fn from_kg_per_kg(value: f64) -> Self { Self(value) }
            /// In kg/kg on this basis.
            #[must_use]
            pub const fn kg_per_kg(self) -> f64 { self.0 }
            /// From per cent on this basis.
            #[must_use]
            pub const fn from_percent(value: f64) -> Self { Self(value / 100.0) }
            /// In per cent on this basis.
            #[must_use]
            pub const fn percent(self) -> f64 { self.0 * 100.0 }
        }
        impl Quantity for $name {
            const NAME: &'static str = $label;
            fn from_base(value: f64) -> Self { Self(value) }
            fn base(self) -> f64 { self.0 }
            fn unit_table() -> &'static [Unit] { const T: &[Unit] = $table; T }
            fn display_unit(_: UnitSystem) -> &'static Unit { &Self::unit_table()[0] }
        }
    };
}
moisture!(
    /// Moisture on the wet basis: kg water per kg of wet product, 0 to below 1.
    MoistureWetBasis, "moisture, wet basis",
    &[Unit { symbols: &["% wb", "% wet basis"], factor: 0.01, offset: 0.0 },
      Unit { symbols: &["kg/kg wb", "wb", "wet basis"], factor: 1.0, offset: 0.0 }]);
moisture!(
    /// Moisture on the dry basis: kg water per kg of dry solids, 0 upward.
    MoistureDryBasis, "moisture, dry basis",
    &[Unit { symbols: &["kg/kg db", "db", "dry basis"], factor: 1.0, offset: 0.0 },
      Unit { symbols: &["% db", "% dry basis"], factor: 0.01, offset: 0.0 }]);

impl MoistureWetBasis {
    /// Wet basis from dry basis: m = X / (1 + X).
    #[must_use]
    pub const fn from_dry_basis(x: MoistureDryBasis) -> Self {
        Self(x.0 / (1.0 + x.0))
    }
}

impl MoistureDryBasis {
    /// Dry basis from wet basis: X = m / (1 - m). Infinite at m = 1.
    ///
    /// ```
    /// use fallrate_units::{MoistureDryBasis, MoistureWetBasis};
    /// let x = MoistureDryBasis::from_wet_basis(MoistureWetBasis::from_percent(80.0));
    /// assert!((x.kg_per_kg() - 4.0).abs() < 1e-12);
    /// ```
    #[must_use]
    pub const fn from_wet_basis(m: MoistureWetBasis) -> Self {
        Self(m.0 / (1.0 - m.0))
    }
}

/// A moisture content as a person wrote it, with its basis kept.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Moisture {
    basis: MoistureBasis,
    value: f64,
}

impl Moisture {
    /// A wet-basis content.
    #[must_use]
    pub const fn wet(value: MoistureWetBasis) -> Self {
        Self { basis: MoistureBasis::Wet, value: value.0 }
    }
    /// A dry-basis content.
    #[must_use]
    pub const fn dry(value: MoistureDryBasis) -> Self {
        Self { basis: MoistureBasis::Dry, value: value.0 }
    }
    /// The basis it was given on.
    #[must_use]
    pub const fn basis(self) -> MoistureBasis {
        self.basis
    }
    /// On the dry basis.
    #[must_use]
    pub const fn dry_basis(self) -> MoistureDryBasis {
        match self.basis {
            MoistureBasis::Dry => MoistureDryBasis(self.value),
            MoistureBasis::Wet => MoistureDryBasis::from_wet_basis(MoistureWetBasis(self.value)),
        }
    }
    /// On the wet basis.
    #[must_use]
    pub const fn wet_basis(self) -> MoistureWetBasis {
        match self.basis {
            MoistureBasis::Wet => MoistureWetBasis(self.value),
            MoistureBasis::Dry => MoistureWetBasis::from_dry_basis(MoistureDryBasis(self.value)),
        }
    }
    /// Reads `"25 % wb"`, `"0.33 kg/kg db"`. A number or per cent without a basis is refused.
    ///
    /// # Errors
    /// [`UnitError::NoBasis`] where the basis is missing; else as [`Quantity::parse`].
    pub fn parse(text: &str) -> Result<Self, UnitError> {
        let (number, unit) = parse::split_number(text)?;
        if matches!(unit, "" | "%" | "kg/kg" | "percent" | "pct") {
            return Err(UnitError::NoBasis { text: text.trim().to_owned() });
        }
        let unit_text = format!("{number} {unit}");
        if let Ok(wet) = MoistureWetBasis::parse(&unit_text) {
            if !(0.0..1.0).contains(&wet.0) {
                return Err(UnitError::OutOfRange {
                    quantity: MoistureWetBasis::NAME,
                    value: text.trim().to_owned(),
                    allowed: "0 to below 100 % wb".to_owned(),
                });
            }
            return Ok(Self::wet(wet));
        }
        let dry = MoistureDryBasis::parse(&unit_text).map_err(|_| UnitError::UnknownUnit {
            quantity: "moisture",
            text: text.trim().to_owned(),
            unit: unit.to_owned(),
            allowed: "% wb, kg/kg wb, % db, kg/kg db".to_owned(),
        })?;
        if dry.0 < 0.0 {
            return Err(UnitError::OutOfRange {
                quantity: MoistureDryBasis::NAME,
                value: text.trim().to_owned(),
                allowed: "0 or more".to_owned(),
            });
        }
        Ok(Self::dry(dry))
    }
}
