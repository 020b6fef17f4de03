//! Why something cannot be fitted, in the reader's language.

use fallrate_fit::FitError;
use fallrate_fit::isotherm::IsothermFault;
use fallrate_fit::thin_layer::ThinLayerFault;

use super::sheet::digits;
use crate::words::{Reader, say};

/// The reason in words; rare ones as the library says them.
pub(super) fn fault(r: &Reader, e: &FitError) -> String {
    match e {
        FitError::Isotherm(f) => isotherm(r, f),
        FitError::ThinLayer(f) => thin(r, f),
        FitError::TooFewReadings { readings, parameters } => {
            say!(r, "learn-too-few", readings = *readings, parameters = *parameters)
        }
        FitError::NoStartConverged { .. } => r.text("learn-no-convergence"),
        e => e.to_string(),
    }
}

fn isotherm(r: &Reader, f: &IsothermFault) -> String {
    match f {
        IsothermFault::OneTemperature { needed, .. } => {
            say!(r, "iso-one-temperature", needed = r.difference(*needed))
        }
        IsothermFault::TooFewActivities { found, needed } => {
            say!(r, "iso-few-activities", found = *found, needed = *needed)
        }
        f => f.to_string(),
    }
}

fn thin(r: &Reader, f: &ThinLayerFault) -> String {
    match f {
        ThinLayerFault::NoHumidity { curve } => say!(r, "thin-no-humidity", curve = curve.clone()),
        ThinLayerFault::OneDeficit { ratio, .. } => say!(r, "thin-one-deficit", ratio = digits(*ratio, 3)),
        f => f.to_string(),
    }
}
