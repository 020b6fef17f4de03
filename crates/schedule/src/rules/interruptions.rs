//! Rules of interruptions.

use std::mem::discriminant;

use crate::{Interruption, InterruptionKind, LONGEST_S, ScheduleError, VentSetting};

pub(super) fn faults(list: &[Interruption], out: &mut Vec<ScheduleError>) {
    for (i, one) in list.iter().enumerate() {
        let (number, kind) = (i + 1, one.kind.word());
        for (what, value, low) in [("start", one.start_s, 0.0), ("duration", one.duration_s, 1.0)] {
            if !(value >= low && value <= LONGEST_S) {
                let high = LONGEST_S;
                out.push(ScheduleError::InterruptionOutOfRange { number, kind, what, value, low, high });
            }
        }
        let overlaps = |other: &Interruption| {
            discriminant(&other.kind) == discriminant(&one.kind)
                && other.start_s < one.start_s + one.duration_s
                && one.start_s < other.start_s + other.duration_s
        };
        if let Some(other) = list.iter().take(i).position(overlaps) {
            out.push(ScheduleError::InterruptionsOverlap { number, kind, other: other + 1 });
        }
        match one.kind {
            InterruptionKind::VentMoved(VentSetting::Opening(value) | VentSetting::HoldRh(value))
                if !(0.0..=1.0).contains(&value) =>
            {
                out.push(ScheduleError::InterruptionVent { number, kind, value });
            }
            InterruptionKind::TraysPulled { trays: 0, .. } => {
                out.push(ScheduleError::InterruptionPullsNothing { number, kind });
            }
            _ => {}
        }
    }
}
