//! Thin-layer equations: moisture ratio as a closed form of elapsed time, fitted to measured curves and ranked.
//!
//! Such an equation describes the curve it was fitted to and nothing else: it knows no thickness, no air, no wet bulb. So
//! every fit carries the range of conditions and of moisture ratio it holds for, and every prediction lists where it
//! leaves that range ([`Outside`]). Only the equation on the vapour-pressure deficit is carried between conditions, and
//! only between those it was fitted on.
//!
//! Elapsed time is in h inside the equations, so that rates are per hour.

mod curve;
mod equation;
mod fault;
mod fitted;
mod range;
mod study;

pub use curve::{Conditions, RatioCurve, RatioPoint};
pub use equation::ThinLayerEquation;
pub use fault::ThinLayerFault;
pub use fitted::{CurveFit, ThinLayerFit, ThinLayerPrediction, ThinLayerTime, ThinLayerWarning};
pub use range::{FittedRange, Outside, RangeOf, Span};
pub use study::{ThinLayerStudy, Unfitted, fit_thin_layer};
