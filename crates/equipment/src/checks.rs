//! Consistency of a cabinet's figures with one another.

use std::ops::RangeInclusive;

use crate::Cabinet;

/// Air speeds between trays that a cabinet dryer has, m/s (job practice 0.5 to 5, slower for light leaves; common
/// practice, no source).
pub const AIR_SPEED_RANGE_M_PER_S: RangeInclusive<f64> = 0.2..=5.0;
/// Room temperature for the heater check, degC.
pub const CHECK_ROOM_C: f64 = 20.0;
/// Measured over nameplate power at the same voltage: worn or partly failed elements lie below 1, tolerances above.
pub const MEASURED_POWER_SHARE_RANGE: RangeInclusive<f64> = 0.7..=1.1;
/// Set point from which the heater is switched off in the still-air check, degC.
pub const STILL_AIR_SET_POINT_C: f64 = 75.0;
/// Largest rise of the air above the set point after power-off, K.
pub const STILL_AIR_LARGEST_RISE_K: f64 = 10.0;
/// Specific heat of stainless steel, J/(kg K) (from memory of textbook tables).
const STEEL_J_PER_KG_K: f64 = 500.0;
/// Rack heat capacity over that of the trays' steel: below, lighter plastic; above, carts and rails.
const RACK_SHARE_RANGE: RangeInclusive<f64> = 0.5..=4.0;

/// Two figures of a cabinet that cannot both be right. Displays what was found; [`Inconsistency::allowed`] says what is
/// allowed.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
#[allow(missing_docs)] // the message beside each field group says what the fields are
pub enum Inconsistency {
    #[error("groups hold {in_groups} trays, the cabinet {count}")]
    GroupTrays { in_groups: u32, count: u32 },
    #[error("air shares average {mean:.3} over all trays")]
    AirShareMean { mean: f64 },
    #[error("air speed at fan step '{step}' is {speed_m_per_s:.2} m/s (air flow over cross-section)")]
    AirSpeed { step: String, speed_m_per_s: f64 },
    #[error("fan step '{step}' does not give more air than the one before")]
    FanOrder { step: String },
    #[error("'{name}' is named twice")]
    DuplicateName { list: &'static str, name: String },
    #[error("cross-section {cross_section_m2:.3} m2 for trays whose gaps measure {gaps_m2:.3} m2")]
    CrossSection { cross_section_m2: f64, gaps_m2: f64 },
    #[error("plenum volume {volume_m3:.3} m3 for trays whose gaps hold {gaps_m3:.3} m3")]
    PlenumVolume { volume_m3: f64, gaps_m3: f64 },
    #[error("measured {measured_w:.0} W where the nameplate gives {nameplate_w:.0} W at the actual voltage")]
    HeaterPower { measured_w: f64, nameplate_w: f64 },
    #[error(
        "holding {set_point_c:.0} degC empty in a room of 20 degC takes {needed_w:.0} W of {heater_w:.0} W"
    )]
    HeaterTooWeak { set_point_c: f64, needed_w: f64, heater_w: f64 },
    #[error("element heat lifts still air {rise_k:.1} K above a set point of 75 degC after power-off")]
    StillAir { rise_k: f64 },
    #[error("vent mark '{mark}' does not open wider or pass more air than the one before")]
    VentOrder { mark: String },
    #[error("vent mark '{mark}' has opening {opening:.2} and {dry_air_kg_per_s} kg/s")]
    VentEnds { mark: String, opening: f64, dry_air_kg_per_s: f64 },
    #[error("vent passes {vent_kg_per_s:.3} kg/s where {circulating_kg_per_s:.3} kg/s circulate")]
    VentAboveCirculation { vent_kg_per_s: f64, circulating_kg_per_s: f64 },
    #[error("a cabinet that is said to seal while {part}")]
    NotSealed { part: &'static str },
    #[error("shell {which} is {value_w_per_m2_k:.2} W/(m2 K) of inner area")]
    ShellPerArea { which: &'static str, value_w_per_m2_k: f64, low: f64, high: f64 },
    #[error("racks hold {racks_j_per_k:.0} J/K where the trays' steel holds {trays_j_per_k:.0} J/K")]
    RackMass { racks_j_per_k: f64, trays_j_per_k: f64 },
    #[error("set points from {least_c:.0} to {greatest_c:.0} degC")]
    SetPoints { least_c: f64, greatest_c: f64 },
    #[error("a step of {step_s:.0} s and a maximum of {maximum_s:.0} s")]
    Timer { step_s: f64, maximum_s: f64 },
    #[error("'{liner}' with an open area of {open_area:.2} lets {underside_mass:.2} of the vapour out below")]
    Liner { liner: String, open_area: f64, underside_mass: f64 },
}

impl Inconsistency {
    /// What is allowed, in words.
    #[must_use]
    pub fn allowed(&self) -> String {
        match self {
            Self::GroupTrays { .. } => "groups that hold every tray once".into(),
            Self::AirShareMean { .. } => "a mean of 1 over all trays, within 0.01".into(),
            Self::AirSpeed { .. } => "0.2 to 5 m/s".into(),
            Self::FanOrder { .. } => "fan steps from the weakest to the strongest".into(),
            Self::DuplicateName { .. } => "different names".into(),
            Self::CrossSection { .. } => "0.5 to 2 times trays x width x gap".into(),
            Self::PlenumVolume { .. } => "at least the volume between the trays".into(),
            Self::HeaterPower { .. } => "0.7 to 1.1 of the nameplate at the same voltage".into(),
            Self::HeaterTooWeak { .. } => "no more than the measured power".into(),
            Self::StillAir { .. } => "at most 10 K".into(),
            Self::VentOrder { .. } => "marks from the least to the widest opening, with rising air flow".into(),
            Self::VentEnds { .. } => {
                "a first mark of opening 0 and no air where the vent closes (else above 0), a last mark of opening 1".into()
            }
            Self::VentAboveCirculation { .. } => "no more than the circulating air".into(),
            Self::NotSealed { .. } => "a vent that closes and gaskets on vent and door".into(),
            Self::ShellPerArea { low, high, .. } => format!("{low} to {high} W/(m2 K)"),
            Self::RackMass { .. } => "0.5 to 4 times the trays' tare in steel".into(),
            Self::SetPoints { .. } => "the least below the greatest".into(),
            Self::Timer { .. } => "a step that divides the maximum".into(),
            Self::Liner { .. } => "none through a closed sheet, some through an open one".into(),
        }
    }
    /// Section and key of the file where it shows.
    #[must_use]
    pub const fn place(&self) -> (&'static str, &'static str) {
        match self {
            Self::GroupTrays { .. } | Self::AirShareMean { .. } => ("", "tray_group"),
            Self::AirSpeed { .. } | Self::FanOrder { .. } => ("", "fan_step"),
            Self::DuplicateName { list, .. } => ("", list),
            Self::CrossSection { .. } => ("air", "cross_section"),
            Self::PlenumVolume { .. } => ("air", "plenum_volume"),
            Self::HeaterPower { .. } => ("heater", "measured"),
            Self::HeaterTooWeak { .. } | Self::SetPoints { .. } => ("controller", "set_point_greatest"),
            Self::StillAir { .. } => ("heater", "element_heat_capacity"),
            Self::VentOrder { .. } | Self::VentEnds { .. } | Self::VentAboveCirculation { .. } => {
                ("vent", "mark")
            }
            Self::NotSealed { .. } => ("", "sealed_capable"),
            Self::ShellPerArea { .. } => ("shell", "inner_area"),
            Self::RackMass { .. } => ("racks", "heat_capacity"),
            Self::Timer { .. } => ("timer", "maximum"),
            Self::Liner { .. } => ("", "liner"),
        }
    }
}

impl Cabinet {
    /// Everything that does not fit together.
    #[must_use]
    pub fn inconsistencies(&self) -> Vec<Inconsistency> {
        inconsistencies(self)
    }
}

pub(crate) fn inconsistencies(c: &Cabinet) -> Vec<Inconsistency> {
    let mut out = Vec::new();
    names(c, &mut out);
    trays(c, &mut out);
    air(c, &mut out);
    heater(c, &mut out);
    vent(c, &mut out);
    shell(c, &mut out);
    smaller(c, &mut out);
    out
}

fn names(c: &Cabinet, out: &mut Vec<Inconsistency>) {
    let lists: [(&'static str, Vec<&str>); 4] = [
        ("tray_group", c.groups.iter().map(|g| g.name.as_str()).collect()),
        ("fan_step", c.fan_steps.iter().map(|f| f.name.as_str()).collect()),
        ("vent", c.vent.marks.iter().map(|m| m.name.as_str()).collect()),
        ("liner", c.liners.iter().map(|l| l.key.as_str()).collect()),
    ];
    for (list, names) in lists {
        for (i, name) in names.iter().enumerate() {
            if names.iter().take(i).any(|n| n == name) {
                out.push(Inconsistency::DuplicateName { list, name: (*name).to_owned() });
            }
        }
    }
}

fn trays(c: &Cabinet, out: &mut Vec<Inconsistency>) {
    let in_groups: u32 = c.groups.iter().map(|g| g.trays).sum();
    if in_groups != c.trays.count {
        out.push(Inconsistency::GroupTrays { in_groups, count: c.trays.count });
    }
    let weighted: f64 = c.groups.iter().map(|g| f64::from(g.trays) * g.air_share.value).sum();
    let mean = weighted / f64::from(in_groups.max(1));
    if (mean - 1.0).abs() > 0.01 {
        out.push(Inconsistency::AirShareMean { mean });
    }
    let (racks, steel) = (
        c.racks.heat_capacity.value.j_per_k(),
        f64::from(c.trays.count) * c.trays.tare.value.kilograms() * STEEL_J_PER_KG_K,
    );
    if !RACK_SHARE_RANGE.contains(&(racks / steel)) {
        out.push(Inconsistency::RackMass { racks_j_per_k: racks, trays_j_per_k: steel });
    }
}

fn air(c: &Cabinet, out: &mut Vec<Inconsistency>) {
    let gap = c.trays.gap.value.metres();
    let gaps_m2 = f64::from(c.trays.count) * gap * c.trays.width.value.metres();
    let cross_section_m2 = c.air.cross_section.value.square_metres();
    if !(0.5..=2.0).contains(&(cross_section_m2 / gaps_m2)) {
        out.push(Inconsistency::CrossSection { cross_section_m2, gaps_m2 });
    }
    let (volume_m3, gaps_m3) = (c.air.plenum_volume.value.cubic_metres(), c.total_tray_area_m2() * gap);
    if volume_m3 < gaps_m3 {
        out.push(Inconsistency::PlenumVolume { volume_m3, gaps_m3 });
    }
    let mut before = 0.0;
    for step in &c.fan_steps {
        let speed_m_per_s = c.air_speed_m_per_s(step);
        if !AIR_SPEED_RANGE_M_PER_S.contains(&speed_m_per_s) {
            out.push(Inconsistency::AirSpeed { step: step.name.clone(), speed_m_per_s });
        }
        if step.air_flow.value.m3_per_s() <= before {
            out.push(Inconsistency::FanOrder { step: step.name.clone() });
        }
        before = step.air_flow.value.m3_per_s();
    }
}

fn heater(c: &Cabinet, out: &mut Vec<Inconsistency>) {
    let (measured_w, nameplate_w) =
        (c.heater.measured.value.watts(), c.nameplate_power_at_actual_voltage_w());
    if !MEASURED_POWER_SHARE_RANGE.contains(&(measured_w / nameplate_w)) {
        out.push(Inconsistency::HeaterPower { measured_w, nameplate_w });
    }
    let (least_c, greatest_c) =
        (c.controller.set_point_least.value.celsius(), c.controller.set_point_greatest.value.celsius());
    if least_c >= greatest_c {
        out.push(Inconsistency::SetPoints { least_c, greatest_c });
    }
    let needed_w = c.idle_power_w(greatest_c, CHECK_ROOM_C);
    if needed_w > measured_w {
        out.push(Inconsistency::HeaterTooWeak { set_point_c: greatest_c, needed_w, heater_w: measured_w });
    }
    let rise_k = c.still_air_rise_k(1.0);
    if rise_k > STILL_AIR_LARGEST_RISE_K {
        out.push(Inconsistency::StillAir { rise_k });
    }
}

fn vent(c: &Cabinet, out: &mut Vec<Inconsistency>) {
    let figures = |m: &crate::VentMark| (m.opening.value.fraction(), m.dry_air.value.kg_per_s());
    for (a, b) in c.vent.marks.iter().zip(c.vent.marks.iter().skip(1)) {
        if figures(b).0 <= figures(a).0 || figures(b).1 <= figures(a).1 {
            out.push(Inconsistency::VentOrder { mark: b.name.clone() });
        }
    }
    let ends = |m: &crate::VentMark| Inconsistency::VentEnds {
        mark: m.name.clone(),
        opening: figures(m).0,
        dry_air_kg_per_s: figures(m).1,
    };
    if let Some(first) = c.vent.marks.first() {
        let (opening, flow) = figures(first);
        let good = if c.vent.closes { opening == 0.0 && flow == 0.0 } else { opening > 0.0 && flow > 0.0 };
        if !good {
            out.push(ends(first));
        }
    }
    if let Some(last) = c.vent.marks.last() {
        let (opening, flow) = figures(last);
        if (opening - 1.0).abs() > 1e-9 {
            out.push(ends(last));
        }
        // At 75 degC and sea level a cubic metre holds about 1.01 kg of dry air.
        let circulating = c.full_air_flow_m3_per_s() * 1.01;
        if flow > circulating {
            out.push(Inconsistency::VentAboveCirculation {
                vent_kg_per_s: flow,
                circulating_kg_per_s: circulating,
            });
        }
    }
    if c.sealed_capable {
        for (bad, part) in [
            (!c.vent.closes, "its vent does not close"),
            (!c.vent.gasketed, "its vent has no gasket"),
            (!c.door.gasketed, "its door has no gasket"),
        ] {
            if bad {
                out.push(Inconsistency::NotSealed { part });
            }
        }
    }
}

fn shell(c: &Cabinet, out: &mut Vec<Inconsistency>) {
    let area = c.shell.inner_area.value.square_metres();
    for (which, value, low, high) in [
        ("exchange", c.shell.exchange.value.w_per_k() / area, 3.0, 60.0),
        ("loss", c.shell.loss.value.w_per_k() / area, 0.3, 12.0),
    ] {
        if !(low..=high).contains(&value) {
            out.push(Inconsistency::ShellPerArea { which, value_w_per_m2_k: value, low, high });
        }
    }
}

fn smaller(c: &Cabinet, out: &mut Vec<Inconsistency>) {
    let (step_s, maximum_s) = (c.timer.step.value.seconds(), c.timer.maximum.value.seconds());
    let steps = maximum_s / step_s;
    if steps < 1.0 || (steps - steps.round()).abs() > 1e-6 {
        out.push(Inconsistency::Timer { step_s, maximum_s });
    }
    for liner in &c.liners {
        let (open_area, underside_mass) = (liner.open_area.value.fraction(), liner.underside_mass.value);
        if (open_area == 0.0) != (underside_mass == 0.0) {
            out.push(Inconsistency::Liner { liner: liner.key.clone(), open_area, underside_mass });
        }
    }
}
