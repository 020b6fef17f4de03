//! Rules of a stage by itself.

use crate::{
    Action, EndCondition, FanSetting, LONGEST_S, SET_POINT_RANGE_C, ScheduleError, Stage, VentSetting,
};

/// `warmest` is the highest set point of this and all earlier stages.
pub(super) fn faults(number: usize, stage: &Stage, warmest: Option<f64>, out: &mut Vec<ScheduleError>) {
    let mut rules = Rules { number, stage, out };
    rules.ranges();
    rules.ends_at_all();
    rules.durations();
    rules.core(warmest);
    rules.humidity();
    rules.actions();
    if stage.set_point_c.is_some() && stage.fan == FanSetting::Off {
        rules.out.push(ScheduleError::HeaterWithoutFan { stage: number, name: stage.name.clone() });
    }
}

struct Rules<'a> {
    number: usize,
    stage: &'a Stage,
    out: &'a mut Vec<ScheduleError>,
}

impl Rules<'_> {
    fn name(&self) -> String {
        self.stage.name.clone()
    }
    fn range(&mut self, what: &'static str, value: f64, low: f64, high: f64, unit: &'static str) {
        if !(value >= low && value <= high) {
            let (stage, name) = (self.number, self.name());
            self.out.push(ScheduleError::OutOfRange { stage, name, what, value, low, high, unit });
        }
    }

    fn ranges(&mut self) {
        if let Some(set_point_c) = self.stage.set_point_c {
            self.range(
                "set point",
                set_point_c,
                *SET_POINT_RANGE_C.start(),
                *SET_POINT_RANGE_C.end(),
                "degC",
            );
        }
        match self.stage.vent {
            VentSetting::Opening(x) => self.range("vent opening", x, 0.0, 1.0, "of fully open"),
            VentSetting::HoldRh(x) => self.range("relative humidity to hold", x, 0.01, 1.0, "fraction"),
            VentSetting::Mark(_) => {}
        }
        self.range("water added", self.stage.water_added_kg, 0.0, 200.0, "kg");
        if let Some(s) = self.stage.at_most_s {
            self.range("longest duration", s, 1.0, LONGEST_S, "s");
        }
        for end in &self.stage.ends {
            match *end {
                EndCondition::Elapsed { seconds } => self.range("duration", seconds, 1.0, LONGEST_S, "s"),
                EndCondition::CoreRise { kelvin } => self.range("core rise", kelvin, 0.1, 100.0, "K"),
                EndCondition::CoreReaches { celsius, hold_s } => {
                    self.range("core temperature", celsius, 0.0, 100.0, "degC");
                    self.range("hold", hold_s, 0.0, LONGEST_S, "s");
                }
                EndCondition::Moisture { dry_basis, .. } => {
                    self.range("moisture, dry basis", dry_basis, 1e-4, 50.0, "kg/kg");
                }
                EndCondition::WaterActivity { aw, .. } => {
                    self.range("water activity", aw, 0.02, 0.9999, "fraction")
                }
                EndCondition::LoadWeight { kilograms } => {
                    self.range("load weight", kilograms, 1e-4, 1e4, "kg")
                }
                EndCondition::ChamberRhBelow { fraction } | EndCondition::ChamberRhAbove { fraction } => {
                    self.range("relative humidity", fraction, 0.001, 1.0, "fraction");
                }
            }
        }
    }

    fn ends_at_all(&mut self) {
        if self.stage.ends.is_empty() && self.stage.at_most_s.is_none() {
            self.out.push(ScheduleError::NeverEnds { stage: self.number, name: self.name() });
        }
    }

    /// Of several fixed durations only the shortest can come.
    fn durations(&mut self) {
        let mut all: Vec<f64> = self
            .stage
            .ends
            .iter()
            .filter_map(|e| if let EndCondition::Elapsed { seconds } = e { Some(*seconds) } else { None })
            .chain(self.stage.at_most_s)
            .collect();
        all.sort_by(f64::total_cmp);
        if let [first_s, .., second_s] = all[..] {
            let (stage, name) = (self.number, self.name());
            self.out.push(ScheduleError::EndAfterEnd { stage, name, first_s, second_s });
        }
    }

    fn core(&mut self, warmest: Option<f64>) {
        let (stage, longest) = (self.number, self.stage.longest_s());
        for end in &self.stage.ends {
            let (core_c, hold_s) = match *end {
                EndCondition::CoreReaches { celsius, hold_s } => (Some(celsius), hold_s),
                EndCondition::CoreRise { .. } => (None, 0.0),
                _ => continue,
            };
            match (warmest, core_c) {
                (None, _) => self.out.push(ScheduleError::CoreWithoutHeat { stage, name: self.name() }),
                (Some(set_point_c), Some(core_c)) if core_c >= set_point_c => {
                    let name = self.name();
                    self.out.push(ScheduleError::CoreAboveSetPoint { stage, name, core_c, set_point_c });
                }
                _ => {}
            }
            if let Some(at_most_s) = longest.filter(|l| hold_s >= *l) {
                let name = self.name();
                self.out.push(ScheduleError::HoldTooLong { stage, name, hold_s, at_most_s });
            }
        }
    }

    fn humidity(&mut self) {
        let of = |pick: fn(&EndCondition) -> Option<f64>| self.stage.ends.iter().find_map(pick);
        let above =
            of(|e| if let EndCondition::ChamberRhAbove { fraction } = e { Some(*fraction) } else { None });
        let below =
            of(|e| if let EndCondition::ChamberRhBelow { fraction } = e { Some(*fraction) } else { None });
        if let Some((above, below)) = above.zip(below).filter(|(above, below)| above <= below) {
            let (stage, name) = (self.number, self.name());
            self.out.push(ScheduleError::HumidityEndsOverlap { stage, name, above, below });
        }
    }

    fn actions(&mut self) {
        let stage = self.number;
        for action in &self.stage.actions {
            match action {
                Action::SwapGroups { a, b } if a == b => {
                    let (name, group) = (self.name(), a.clone());
                    self.out.push(ScheduleError::SwapWithItself { stage, name, group });
                }
                Action::PullTrays { group, trays: 0 } => {
                    let (name, group) = (self.name(), group.clone());
                    self.out.push(ScheduleError::PullsNothing { stage, name, group });
                }
                _ => {}
            }
        }
    }
}
