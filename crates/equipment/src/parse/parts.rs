//! The sections of a cabinet file. Ranges are wide: they catch slips of a unit or a digit; consistency is checked after.

use fallrate_datafile::{Cited, Section};
use fallrate_units::{
    AirFlow, AirSpeed, Area, DryAirFlow, Duration, Fraction, HeatCapacity, HeatConductance, HeatTransfer,
    Length, Mass, MassPerArea, Power, Quantity, Temperature, TemperatureDifference, Volume,
};

use super::{bilingual, key_text, list};
use crate::{
    AirPath, Controller, ControllerKind, Door, FanStep, HeatTransferReference, Heater, Leakage, Liner, Mains,
    Ports, Racks, Shell, Timer, TrayGroup, Trays, Vent, VentMark,
};

/// A cited quantity with its range in the base unit.
fn q<Q: Quantity>(s: &Section<'_>, key: &str, low: f64, high: f64) -> Option<Cited<Q>> {
    s.cited(key, Q::from_base(low)..=Q::from_base(high))
}
fn share(s: &Section<'_>, key: &str) -> Option<Cited<Fraction>> {
    q(s, key, 0.0, 1.0)
}
fn conductance(s: &Section<'_>, key: &str, low: f64) -> Option<Cited<HeatConductance>> {
    q(s, key, low, 5000.0)
}
fn heat_capacity(s: &Section<'_>) -> Option<Cited<HeatCapacity>> {
    q(s, "heat_capacity", 10.0, 1e7)
}
fn count(s: &Section<'_>, key: &str, low: i64, high: i64) -> Option<u32> {
    s.required_integer(key, low..=high).and_then(|n| u32::try_from(n).ok())
}

pub(super) fn trays(s: &Section<'_>) -> Option<Trays> {
    let count = count(s, "count", 1, 500);
    let (length, width) = (q::<Length>(s, "length", 0.05, 3.0), q::<Length>(s, "width", 0.05, 3.0));
    let (tare, gap) = (q::<Mass>(s, "tare", 0.02, 20.0), q::<Length>(s, "gap", 0.005, 0.5));
    Some(Trays { count: count?, length: length?, width: width?, tare: tare?, gap: gap? })
}

pub(super) fn tray_group(s: &Section<'_>) -> Option<TrayGroup> {
    let (name, trays) = (s.required_text("name"), count(s, "trays", 1, 500));
    let air_share = s.cited_number("air_share", 0.1..=3.0);
    let shell_view = s.cited_number("shell_view", 0.0..=1.0);
    Some(TrayGroup { name: name?, trays: trays?, air_share: air_share?, shell_view: shell_view? })
}

pub(super) fn air(s: &Section<'_>) -> Option<AirPath> {
    let plenum_volume = q::<Volume>(s, "plenum_volume", 0.01, 50.0);
    let cross_section = q::<Area>(s, "cross_section", 0.002, 20.0);
    let fan_off_air_share = share(s, "fan_off_air_share");
    let fan_off_exchange_share = share(s, "fan_off_exchange_share");
    Some(AirPath {
        plenum_volume: plenum_volume?,
        cross_section: cross_section?,
        fan_off_air_share: fan_off_air_share?,
        fan_off_exchange_share: fan_off_exchange_share?,
    })
}

pub(super) fn fan_step(s: &Section<'_>) -> Option<FanStep> {
    let name = s.required_text("name");
    let (air_flow, power) = (q::<AirFlow>(s, "air_flow", 0.001, 50.0), q::<Power>(s, "power", 1.0, 30_000.0));
    Some(FanStep { name: name?, air_flow: air_flow?, power: power? })
}

pub(super) fn heater(s: &Section<'_>) -> Option<Heater> {
    let (rated, measured) =
        (q::<Power>(s, "rated", 50.0, 200_000.0), q::<Power>(s, "measured", 50.0, 200_000.0));
    let element_heat_capacity = q::<HeatCapacity>(s, "element_heat_capacity", 10.0, 1e6);
    let element_conductance = conductance(s, "element_conductance", 0.5);
    let fan_off_share = share(s, "fan_off_share");
    let to_shell = conductance(s, "to_shell", 0.0);
    Some(Heater {
        rated: rated?,
        measured: measured?,
        element_heat_capacity: element_heat_capacity?,
        element_conductance: element_conductance?,
        fan_off_share: fan_off_share?,
        to_shell: to_shell?,
    })
}

pub(super) fn mains(s: &Section<'_>) -> Option<Mains> {
    let (rated_v, actual_v) =
        (s.cited_number("rated_v", 90.0..=700.0), s.cited_number("actual_v", 80.0..=700.0));
    Some(Mains { rated_v: rated_v?, actual_v: actual_v? })
}

pub(super) fn shell(s: &Section<'_>) -> Option<Shell> {
    let heat_capacity = heat_capacity(s);
    let (exchange, loss) = (conductance(s, "exchange", 0.1), conductance(s, "loss", 0.05));
    let (fan_off_share, inner_area) = (share(s, "fan_off_share"), q::<Area>(s, "inner_area", 0.1, 200.0));
    Some(Shell {
        heat_capacity: heat_capacity?,
        exchange: exchange?,
        fan_off_share: fan_off_share?,
        loss: loss?,
        inner_area: inner_area?,
    })
}

pub(super) fn racks(s: &Section<'_>) -> Option<Racks> {
    let (heat_capacity, exchange) = (heat_capacity(s), conductance(s, "exchange", 0.1));
    Some(Racks { heat_capacity: heat_capacity?, exchange: exchange? })
}

pub(super) fn leakage(s: &Section<'_>) -> Option<Leakage> {
    let (dry_air, fan_off_share) = (q::<DryAirFlow>(s, "dry_air", 0.0, 1.0), share(s, "fan_off_share"));
    Some(Leakage { dry_air: dry_air?, fan_off_share: fan_off_share? })
}

pub(super) fn vent(s: &Section<'_>) -> Option<Vent> {
    let marks = list(s, "mark", vent_mark);
    let fan_off_share = share(s, "fan_off_share");
    let (closes, gasketed) = (s.required_flag("closes"), s.required_flag("gasketed"));
    Some(Vent { marks: marks?, fan_off_share: fan_off_share?, closes: closes?, gasketed: gasketed? })
}

fn vent_mark(s: &Section<'_>) -> Option<VentMark> {
    let (name, opening) = (s.required_text("name"), share(s, "opening"));
    let dry_air = q::<DryAirFlow>(s, "dry_air", 0.0, 10.0);
    Some(VentMark { name: name?, opening: opening?, dry_air: dry_air? })
}

pub(super) fn door(s: &Section<'_>) -> Option<Door> {
    let (open_dry_air, gasketed) =
        (q::<DryAirFlow>(s, "open_dry_air", 0.0, 10.0), s.required_flag("gasketed"));
    Some(Door { open_dry_air: open_dry_air?, gasketed: gasketed? })
}

pub(super) fn controller(s: &Section<'_>) -> Option<Controller> {
    let kind = match s.required_choice("kind", &["pi", "on_off"]) {
        Some(0) => {
            let (kp, ti) = (s.cited_number("kp_per_k", 1e-4..=10.0), q::<Duration>(s, "ti", 1.0, 86_400.0));
            kp.zip(ti).map(|(kp_per_k, ti)| ControllerKind::Pi { kp_per_k, ti })
        }
        Some(_) => q::<TemperatureDifference>(s, "hysteresis", 0.05, 20.0)
            .map(|hysteresis| ControllerKind::OnOff { hysteresis }),
        None => None,
    };
    let sensor_lag = q::<Duration>(s, "sensor_lag", 0.0, 1800.0);
    let set_point_least = q::<Temperature>(s, "set_point_least", 10.0, 95.0);
    let set_point_greatest = q::<Temperature>(s, "set_point_greatest", 10.0, 95.0);
    let displayed_offset = q::<TemperatureDifference>(s, "displayed_offset", -15.0, 15.0);
    Some(Controller {
        kind: kind?,
        sensor_lag: sensor_lag?,
        set_point_least: set_point_least?,
        set_point_greatest: set_point_greatest?,
        displayed_offset: displayed_offset?,
    })
}

pub(super) fn timer(s: &Section<'_>) -> Option<Timer> {
    let (step, maximum) =
        (q::<Duration>(s, "step", 1.0, 7200.0), q::<Duration>(s, "maximum", 600.0, 604_800.0));
    Some(Timer { step: step?, maximum: maximum? })
}

pub(super) fn heat_transfer(s: &Section<'_>) -> Option<HeatTransferReference> {
    let coefficient = q::<HeatTransfer>(s, "coefficient", 2.0, 200.0);
    let air_speed = q::<AirSpeed>(s, "air_speed", 0.1, 10.0);
    let exponent = s.cited_number("exponent", 0.5..=0.8);
    Some(HeatTransferReference { coefficient: coefficient?, air_speed: air_speed?, exponent: exponent? })
}

pub(super) fn liner(s: &Section<'_>) -> Option<Liner> {
    let (key, name) = (key_text(s, "key"), bilingual(s, "name"));
    let underside_heat = s.cited_number("underside_heat", 0.0..=1.0);
    let underside_mass = s.cited_number("underside_mass", 0.0..=1.0);
    let (weight, open_area) = (q::<MassPerArea>(s, "weight", 0.0, 20.0), share(s, "open_area"));
    Some(Liner {
        key: key?,
        name: name?,
        underside_heat: underside_heat?,
        underside_mass: underside_mass?,
        weight: weight?,
        open_area: open_area?,
    })
}

pub(super) fn ports(s: &Section<'_>) -> Option<Ports> {
    let (wet_bulb, core_probes) = (s.required_flag("wet_bulb"), count(s, "core_probes", 0, 50));
    Some(Ports { wet_bulb: wet_bulb?, core_probes: core_probes? })
}
