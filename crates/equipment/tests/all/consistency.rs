//! Each check is shown to fail on the figure it is about.

use fallrate_equipment::{Cabinet, Inconsistency as I};
use fallrate_units::{
    AirFlow, DryAirFlow, Duration, Fraction, HeatCapacity, HeatConductance, Power, Temperature, Volume,
};

use crate::{FILES, north};

fn found(change: impl FnOnce(&mut Cabinet)) -> Vec<I> {
    let mut c = north();
    change(&mut c);
    c.inconsistencies()
}

macro_rules! one {
    ($found:expr, $pattern:pat) => {{
        let found = $found;
        assert!(found.len() == 1 && matches!(found[0], $pattern), "{found:?}");
        assert!(!found[0].allowed().is_empty());
    }};
}

#[test]
fn trays_and_air() {
    one!(found(|c| c.groups[0].trays = 8), I::GroupTrays { in_groups: 21, count: 20 });
    one!(found(|c| c.groups[2].air_share.value = 0.9), I::AirShareMean { .. });
    one!(found(|c| c.fan_steps[0].air_flow.value = AirFlow::from_m3_per_s(0.08)), I::AirSpeed { .. });
    one!(found(|c| c.fan_steps[1].air_flow.value = AirFlow::from_m3_per_s(0.30)), I::FanOrder { .. });
    one!(found(|c| c.air.plenum_volume.value = Volume::from_cubic_metres(0.3)), I::PlenumVolume { .. });
    one!(found(|c| c.fan_steps[1].name = "low".into()), I::DuplicateName { list: "fan_step", .. });
    one!(found(|c| c.racks.heat_capacity.value = HeatCapacity::from_kj_per_k(100.0)), I::RackMass { .. });
    let found = found(|c| c.air.cross_section.value = fallrate_units::Area::from_square_metres(2.0));
    assert!(matches!(found[0], I::CrossSection { .. }), "{found:?}");
}

#[test]
fn heater() {
    one!(found(|c| c.heater.measured.value = Power::from_kilowatts(4.0)), I::HeaterPower { .. });
    one!(found(|c| c.leakage.dry_air.value = DryAirFlow::from_kg_per_s(0.1)), I::HeaterTooWeak { .. });
    one!(found(|c| c.heater.fan_off_share.value = Fraction::from_fraction(0.25)), I::StillAir { .. });
    let cold = Temperature::from_celsius(20.0);
    one!(found(|c| c.controller.set_point_greatest.value = cold), I::SetPoints { .. });
}

#[test]
fn vent_door_shell_timer_liner() {
    one!(found(|c| c.vent.marks.swap(1, 2)), I::VentOrder { .. });
    one!(found(|c| c.vent.marks[0].dry_air.value = DryAirFlow::from_kg_per_s(0.001)), I::VentEnds { .. });
    one!(found(|c| c.vent.marks[4].opening.value = Fraction::from_fraction(0.9)), I::VentEnds { .. });
    let found_open = found(|c| c.vent.closes = false);
    assert!(matches!(found_open[..], [I::VentEnds { .. }, I::NotSealed { .. }]), "{found_open:?}");
    one!(found(|c| c.door.gasketed = false), I::NotSealed { .. });
    one!(
        found(|c| c.vent.marks[4].dry_air.value = DryAirFlow::from_kg_per_s(1.5)),
        I::VentAboveCirculation { .. }
    );
    one!(found(|c| c.shell.loss.value = HeatConductance::from_w_per_k(2.0)), I::ShellPerArea { .. });
    one!(found(|c| c.timer.step.value = Duration::from_minutes(7.0)), I::Timer { .. });
    one!(found(|c| c.liners[4].underside_mass.value = 0.2), I::Liner { .. });
}

#[test]
fn inconsistencies_of_a_file_name_their_line() {
    let text = FILES[1].1.replacen("trays = 7", "trays = 9", 1);
    let p = Cabinet::parse("n.toml", &text).expect_err("22 trays");
    let line = text.lines().position(|l| l == "[[tray_group]]").expect("there") + 1;
    assert_eq!(p.list().len(), 1, "{p}");
    assert!(
        p.list()[0].to_string().starts_with("tray_group: groups hold 22 trays, the cabinet 20; allowed:"),
        "{p}"
    );
    assert!((line..line + 30).contains(&p.list()[0].line), "{p}");
}

/// A bound from energy alone: with no way out but the air and all conductances to it, the air cannot pass the
/// mixing temperature of element and air without shell; and with a huge shell the rise is below G_EA/(G_AS+G_AR) x excess.
#[test]
fn limit_still_air_rise_lies_below_its_bounds_and_scales_with_power() {
    for (key, text) in FILES {
        let c = Cabinet::parse(key, text).expect("good");
        let rise = c.still_air_rise_k(1.0);
        let excess = c.heater.measured.value.watts()
            / (c.heater.element_conductance.value.w_per_k() + c.heater.to_shell.value.w_per_k());
        let c_air = c.air.plenum_volume.value.cubic_metres() * 1.014 * 1006.0;
        let c_element = c.heater.element_heat_capacity.value.j_per_k();
        assert!(rise > 0.0 && rise < excess * c_element / (c_element + c_air), "{key}: {rise}");
        assert!((c.still_air_rise_k(0.5) / rise - 0.5).abs() < 1e-9, "linear equations");
        println!(
            "{key}: rise {rise:.2} K, idle at greatest {:.0} W",
            c.idle_power_w(c.controller.set_point_greatest.value.celsius(), 20.0)
        );
    }
}

/// Without shell and racks the energy balance of element and air has a closed answer: E and A meet at
/// excess x C_E / (C_E + C_A).
#[test]
fn identity_still_air_without_shell_mixes_element_and_air() {
    let mut c = north();
    let none = HeatConductance::from_w_per_k(0.0);
    c.shell.exchange.value = none;
    c.racks.exchange.value = none;
    c.heater.to_shell.value = none;
    let excess = c.heater.measured.value.watts() / c.heater.element_conductance.value.w_per_k();
    let c_air = c.air.plenum_volume.value.cubic_metres() * 101_325.0 / (287.042 * 348.15) * 1006.0;
    let c_element = c.heater.element_heat_capacity.value.j_per_k();
    let exact = excess * c_element / (c_element + c_air);
    assert!((c.still_air_rise_k(1.0) - exact).abs() < 1e-6 * exact);
}
