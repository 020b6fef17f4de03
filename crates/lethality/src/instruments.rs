//! Whether a channel's instrument may be relied on.

use fallrate_series::{CalibrationState, Channel, Realm, Span};

use crate::reason::Missing;

/// What is missing before a channel's readings can be compared with a limit: its instrument, the tolerance, a
/// calibration in date over the whole span.
pub(crate) fn instrument_gaps<R: Realm>(channel: &Channel<R>, span: Span) -> Vec<Missing> {
    let name = || channel.name.clone();
    let Some(instrument) = &channel.instrument else {
        return vec![Missing::Instrument { channel: name() }];
    };
    let mut out = Vec::new();
    if channel.tolerance().is_none() {
        out.push(Missing::Tolerance { channel: name() });
    }
    let in_date = |at| instrument.calibration_at(at) == CalibrationState::InDate;
    if !(in_date(span.from()) && in_date(span.to())) {
        out.push(Missing::Calibration { channel: name() });
    }
    out
}
