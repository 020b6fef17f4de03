//! Moist air: states, conversions, wet bulb, dew point, altitude.
//!
//! Two layers. The free functions take and give bare `f64` with the unit in the name; they are for inner loops, check
//! nothing and give NaN where no answer exists. [`State`] is for people: it is built from any two known quantities and
//! refuses an impossible state with an [`AirError`] that says what, which value and what is allowed.
//!
//! Model: an ideal-gas mixture of dry air and water vapour over liquid water or ice, Hyland-Wexler saturation pressure,
//! constant specific heats. Against a real-gas formulation the humidity ratio is low by up to 1.2 % (worst near
//! saturation at 90 degC) and the wet bulb differs by less than 0.1 K.
//!
//! One enthalpy reference throughout: dry air at 0 degC and liquid water at 0 degC hold zero. The specific heat of the
//! vapour is that of liquid water plus the slope of the latent heat, so that energy closes exactly.
//!
//! ```
//! use fallrate_air::{State, pressure_from_altitude};
//! use fallrate_units::{Altitude, Temperature};
//!
//! let p = pressure_from_altitude(Altitude::from_feet(5000.0))?;
//! let air = State::from_temperature_and_wet_bulb(Temperature::from_fahrenheit(170.0), Temperature::from_fahrenheit(130.0), p)?;
//! assert!((air.relative_humidity().percent() - 34.5).abs() < 0.1);
//! # Ok::<(), fallrate_air::AirError>(())
//! ```

mod altitude;
mod error;
mod humidify;
mod humidity;
mod mixture;
mod root;
mod saturation;
mod state;
mod state_from;
mod wet_bulb;

pub use altitude::*;
pub use error::AirError;
pub use humidify::*;
pub use humidity::*;
pub use mixture::*;
pub use saturation::*;
pub use state::{GREATEST_HUMIDITY_RATIO_KG_PER_KG, GREATEST_PRESSURE_PA, LEAST_PRESSURE_PA, State};
pub use wet_bulb::*;
