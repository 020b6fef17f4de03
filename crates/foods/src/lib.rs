//! What a food is: composition, thermal properties, sorption, diffusivity, shrinkage, and the product files that hold
//! them with value, range, source and mark.

mod composition;
pub mod convection;
mod diffusivity;
mod error;
mod isotherm;
mod net_heat;
mod product;
mod salts;
mod solutes;
mod sorption;
mod thin_layer;
mod volume;

pub use composition::{COMPONENTS, Component, Composition};
pub use diffusivity::*;
pub use error::FoodsError;
pub use isotherm::{Activity, Gab, ISOTHERM_MODELS, Isotherm, IsothermRange, MoisturePoint, RangeFlags};
pub use net_heat::{HeatTable, NetHeat};
pub use product::*;
pub use salts::{SATURATED_SALTS, SaturatedSalt};
pub use solutes::*;
pub use sorption::{Sorption, UpperEnd};
pub use thin_layer::*;
pub use volume::{ConductivityLaw, VolumeLaw};
