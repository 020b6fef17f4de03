//! Acts as lines of text, for records and interfaces: `vent quarter`, `set-point 60 degC`, `core 14 leaving`.

use std::fmt;
use std::str::FromStr;

use fallrate_schedule::{FanSetting, VentSetting};

use crate::sensor::Along;
use crate::{Act, RehearseError};

/// What a line may say.
pub const ACT_LINES: &str = "set-point 60 degC, set-point off, vent MARK, vent 25 %, fan STEP, fan strongest, fan off, \
door open, door shut, timer 20400 s, power on, power off, water 0.5 kg, wet-sock, reseat SENSOR, swap A B, turn-trays, \
turn-pieces, take-out 2 5, weigh TRAY, core TRAY entering|middle|leaving, unload";

impl fmt::Display for Act {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::SetPoint(Some(c)) => write!(f, "set-point {c} degC"),
            Self::SetPoint(None) => f.write_str("set-point off"),
            Self::Vent(VentSetting::Mark(mark)) => write!(f, "vent {mark}"),
            Self::Vent(VentSetting::Opening(share)) => write!(f, "vent {} %", share * 100.0),
            Self::Vent(VentSetting::HoldRh(share)) => write!(f, "vent hold {} %", share * 100.0),
            Self::Fan(FanSetting::Step(step)) => write!(f, "fan {step}"),
            Self::Fan(FanSetting::Strongest) => f.write_str("fan strongest"),
            Self::Fan(FanSetting::Off) => f.write_str("fan off"),
            Self::Door { open } => write!(f, "door {}", if *open { "open" } else { "shut" }),
            Self::DialTimer { dial_s } => write!(f, "timer {dial_s} s"),
            Self::Power { on } => write!(f, "power {}", if *on { "on" } else { "off" }),
            Self::AddWater { kilograms } => write!(f, "water {kilograms} kg"),
            Self::WetSock => f.write_str("wet-sock"),
            Self::ReseatProbe { sensor } => write!(f, "reseat {sensor}"),
            Self::SwapGroups { a, b } => write!(f, "swap {a} {b}"),
            Self::TurnTrays => f.write_str("turn-trays"),
            Self::TurnPieces => f.write_str("turn-pieces"),
            Self::TakeOut { trays } => {
                f.write_str("take-out")?;
                trays.iter().try_for_each(|t| write!(f, " {t}"))
            }
            Self::Weigh { tray } => write!(f, "weigh {tray}"),
            Self::ReadCore { tray, along } => write!(f, "core {tray} {}", along.word()),
            Self::Unload => f.write_str("unload"),
        }
    }
}

impl FromStr for Act {
    type Err = RehearseError;
    fn from_str(line: &str) -> Result<Self, RehearseError> {
        read(line).ok_or_else(|| RehearseError::NoAct { line: line.chars().take(80).collect() })
    }
}

fn read(line: &str) -> Option<Act> {
    let words: Vec<&str> = line.split_whitespace().collect();
    let number = |text: &str| text.parse::<f64>().ok().filter(|v| v.is_finite());
    Some(match *words.as_slice() {
        ["set-point", "off"] => Act::SetPoint(None),
        ["set-point", c, "degC"] => Act::SetPoint(Some(number(c)?)),
        ["vent", "hold", share, "%"] => Act::Vent(VentSetting::HoldRh(number(share)? / 100.0)),
        ["vent", share, "%"] => Act::Vent(VentSetting::Opening(number(share)? / 100.0)),
        ["vent", ..] if words.len() > 1 => Act::Vent(VentSetting::Mark(rest(line)?)),
        ["fan", "off"] => Act::Fan(FanSetting::Off),
        ["fan", "strongest"] => Act::Fan(FanSetting::Strongest),
        ["fan", ..] if words.len() > 1 => Act::Fan(FanSetting::Step(rest(line)?)),
        ["door", state @ ("open" | "shut")] => Act::Door { open: state == "open" },
        ["timer", seconds, "s"] => Act::DialTimer { dial_s: number(seconds)? },
        ["power", state @ ("on" | "off")] => Act::Power { on: state == "on" },
        ["water", kilograms, "kg"] => Act::AddWater { kilograms: number(kilograms)? },
        ["wet-sock"] => Act::WetSock,
        ["reseat", sensor] => Act::ReseatProbe { sensor: sensor.parse().ok()? },
        ["swap", a, b] => Act::SwapGroups { a: a.parse().ok()?, b: b.parse().ok()? },
        ["turn-trays"] => Act::TurnTrays,
        ["turn-pieces"] => Act::TurnPieces,
        ["take-out", ref trays @ ..] if !trays.is_empty() => {
            Act::TakeOut { trays: trays.iter().map(|t| t.parse().ok()).collect::<Option<_>>()? }
        }
        ["weigh", tray] => Act::Weigh { tray: tray.parse().ok()? },
        ["core", tray, along] => {
            let all = [Along::Entering, Along::Middle, Along::Leaving];
            let along = all.into_iter().find(|a| a.word() == along)?;
            Act::ReadCore { tray: tray.parse().ok()?, along }
        }
        ["unload"] => Act::Unload,
        _ => return None,
    })
}

/// What follows the first word, as written.
fn rest(line: &str) -> Option<String> {
    line.trim().split_once(char::is_whitespace).map(|(_, rest)| rest.trim().to_owned())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn identity_a_line_is_the_act_it_came_from() {
        let acts = [
            Act::SetPoint(Some(73.888_888_888_888_89)),
            Act::SetPoint(None),
            Act::Vent(VentSetting::Mark("half way".to_owned())),
            Act::Vent(VentSetting::Opening(0.25)),
            Act::Vent(VentSetting::HoldRh(0.5)),
            Act::Fan(FanSetting::Step("low".to_owned())),
            Act::Fan(FanSetting::Strongest),
            Act::Fan(FanSetting::Off),
            Act::Door { open: false },
            Act::DialTimer { dial_s: 20_700.0 },
            Act::Power { on: true },
            Act::AddWater { kilograms: 0.5 },
            Act::WetSock,
            Act::ReseatProbe { sensor: 3 },
            Act::SwapGroups { a: 0, b: 2 },
            Act::TurnTrays,
            Act::TurnPieces,
            Act::TakeOut { trays: vec![2, 5] },
            Act::Weigh { tray: 8 },
            Act::ReadCore { tray: 14, along: Along::Leaving },
            Act::Unload,
        ];
        for act in acts {
            assert_eq!(act.to_string().parse(), Ok(act.clone()), "{act}");
        }
    }

    #[test]
    fn refuse_lines_that_say_nothing() {
        for bad in
            ["", "vent", "weigh", "weigh x", "core 3 under", "set-point 60", "timer NaN s", "unload now"]
        {
            assert!(bad.parse::<Act>().is_err(), "{bad}");
        }
    }
}
