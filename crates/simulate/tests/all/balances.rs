//! Water and energy close in every kind of run, and closer as the tolerance tightens.

use std::sync::Arc;

use fallrate_simulate::{
    Action, Activity, AddedWater, AirConstants, AlongPosition, Batch, ControllerKind, EndCondition,
    GabSorption, Geometry, HeaterDelay, Interruption, InterruptionKind, Options, Piece, Room, Run, Sorption,
    StageInput, VentSetting,
    reference_case::{powered, standard_batch, unpowered},
    run,
};
use fallrate_units::WATER_VAPOUR_GAS_CONSTANT_J_PER_KG_K as R_VAPOUR;

use crate::support::Check;

/// An isotherm whose temperature dependence belongs to its net heat (Clausius-Clapeyron).
#[derive(Clone, Copy, Debug)]
pub struct ConsistentSorption(pub GabSorption);

impl Sorption for ConsistentSorption {
    fn activity(&self, x: f64, t_k: f64) -> Activity {
        let at_25c = self.0.activity(x, t_k);
        let (heat, slope) = self.0.net_heat_j_per_kg(x);
        let shift = (1.0 / 298.15 - 1.0 / t_k) / R_VAPOUR;
        let factor = (heat * shift).exp();
        let aw = at_25c.aw * factor;
        if aw >= 1.0 {
            return Activity { aw: 1.0, d_dx: 0.0, d_dt_k: 0.0 };
        }
        Activity {
            aw,
            d_dx: at_25c.d_dx * factor + aw * slope * shift,
            d_dt_k: aw * heat / (R_VAPOUR * t_k * t_k),
        }
    }
    fn net_heat_j_per_kg(&self, x: f64) -> (f64, f64) {
        self.0.net_heat_j_per_kg(x)
    }
}

pub fn consistent_sorption() -> Arc<ConsistentSorption> {
    Arc::new(ConsistentSorption(GabSorption {
        monolayer_kg_per_kg: 0.065,
        c: 8.0,
        k: 0.94,
        net_heat_at_zero_j_per_kg: 4.0e5,
    }))
}

/// The standard load with every constant consistent.
pub fn base() -> Batch {
    let mut b = standard_batch();
    b.air = AirConstants::consistent(4186.0);
    b.material.sorption = consistent_sorption();
    b.material.sorption_heat_inside = true;
    b.material.core_is_middle_node = false;
    b.exchange.along_position = AlongPosition::Mean;
    b
}

pub fn element() -> HeaterDelay {
    HeaterDelay::Element {
        heat_capacity_j_per_k: 4000.0,
        conductance_w_per_k: 60.0,
        fan_off_share: 0.08,
        to_shell_w_per_k: 3.0,
    }
}

fn plain() -> Vec<StageInput> {
    vec![
        powered("warm", 0.0, EndCondition::CoreRise { kelvin: 25.0 }),
        powered("dry", 0.2, EndCondition::Moisture { piece: Piece::Mean, dry_basis: 0.6 }),
        unpowered("coast", 0.2, 20_000.0),
    ]
}

struct Case {
    name: &'static str,
    batch: Batch,
    stages: Vec<StageInput>,
}

fn with(name: &'static str, change: impl Fn(&mut Batch, &mut Vec<StageInput>)) -> Case {
    let (mut batch, mut stages) = (base(), plain());
    change(&mut batch, &mut stages);
    Case { name, batch, stages }
}

fn interruption(kind: InterruptionKind, start_s: f64, duration_s: f64) -> Interruption {
    Interruption { kind, start_s, duration_s }
}

fn shapes() -> Vec<Case> {
    vec![
        with("slab", |_, _| {}),
        with("slab, lateral shrinkage, unequal faces", |b, _| {
            b.material.lateral_shrinkage_exponent = 2.0 / 3.0;
            b.exchange.underside.mass = 0.0;
        }),
        with("cylinder", |b, _| {
            b.material.geometry = Geometry::Cylinder;
            b.material.size_m = 0.012;
            b.load.fresh_kg_per_tray = 0.9;
        }),
        with("sphere", |b, _| {
            b.material.geometry = Geometry::Sphere;
            b.material.size_m = 0.015;
            b.material.shrinkage_share = 0.8;
            b.load.fresh_kg_per_tray = 0.9;
        }),
        with("air entering a position", |b, _| b.exchange.along_position = AlongPosition::Entering),
    ]
}

fn cabinets() -> Vec<Case> {
    vec![
        with("heating element", |b, _| b.chamber.heater_delay = element()),
        with("racks, condensing shell, shut vent", |b, s| {
            b.chamber.racks_heat_capacity_j_per_k = 25_000.0;
            b.chamber.racks_exchange_w_per_k = 150.0;
            b.chamber.shell_condensation = true;
            b.chamber.leakage_kg_per_s = 0.001;
            s.insert(1, powered("shut", 0.0, EndCondition::Elapsed { seconds: 7200.0 }));
        }),
        with("condensing shell in a cold humid room, radiation", |b, s| {
            b.chamber.shell_condensation = true;
            b.chamber.shell_loss_w_per_k = 60.0;
            b.room = Room { temperature_c: 5.0, relative_humidity: 0.9, pressure_pa: 70_000.0 };
            b.exchange.emissivity = 0.9;
            b.load.groups[0].shell_view = 1.0;
            s.insert(1, powered("shut", 0.0, EndCondition::Elapsed { seconds: 3600.0 }));
        }),
        with("water and steam added", |_, s| {
            s[0].added_water = Some(AddedWater { kg_per_s: 2e-4, enthalpy_j_per_kg: 84e3 });
            let steam = Some(AddedWater { kg_per_s: 4e-4, enthalpy_j_per_kg: 2.676e6 });
            let shut = powered("steam", 0.0, EndCondition::Elapsed { seconds: 1200.0 });
            s.insert(1, StageInput { added_water: steam, ..shut });
        }),
        with("on/off control with a lagging sensor", |b, _| {
            b.chamber.controller.kind = ControllerKind::OnOff { hysteresis_k: 2.0 };
            b.chamber.controller.sensor_lag_s = 20.0;
            b.chamber.controller.displayed_offset_k = 1.0;
            b.chamber.heater_delay = element();
        }),
        with("vent that holds a humidity", |_, s| {
            s[1].vent = VentSetting::HoldRh { target: 0.3, band: 0.05 };
        }),
    ]
}

fn handling() -> Vec<Case> {
    vec![
        with("interruptions", |b, _| {
            b.chamber.heater_delay = element();
            b.chamber.door_kg_per_s = 0.1;
            b.chamber.vent_fan_off_share = 0.1;
            b.interruptions = vec![
                interruption(InterruptionKind::DoorOpen, 300.0, 60.0),
                interruption(InterruptionKind::PowerOff, 4000.0, 900.0),
                interruption(InterruptionKind::FanLost, 4500.0, 900.0),
                interruption(InterruptionKind::VentMoved(1.0), 7000.0, 600.0),
                interruption(InterruptionKind::HeaterWeak(0.5), 9000.0, 3000.0),
                interruption(InterruptionKind::VentBlocked(0.4), 9500.0, 3000.0),
                interruption(
                    InterruptionKind::FanWeak { flow_share: 0.6, exchange_share: 0.7 },
                    10_000.0,
                    3000.0,
                ),
            ];
        }),
        with("swaps, turns and pulled trays", |_, s| {
            s[1].ends = vec![EndCondition::Elapsed { seconds: 7000.0 }];
            let mut go_on = powered("on", 0.2, EndCondition::Elapsed { seconds: 5000.0 });
            go_on.actions = vec![
                Action::SwapGroups { a: 0, b: 2 },
                Action::TurnTrays,
                Action::TurnPieces,
                Action::PullTrays { group: 1, trays: 2.0 },
                Action::PullTrays { group: 1, trays: 1.5 },
                Action::PullTrays { group: 0, trays: 0.5 },
            ];
            s.insert(2, go_on);
        }),
        with("open door, then a humid night", |b, s| {
            b.chamber.door_kg_per_s = 0.2;
            let open = unpowered("door", 1.0, 600.0);
            s.insert(2, StageInput { door_open: true, ..open });
            s[3].room = Some(Room { temperature_c: 12.0, relative_humidity: 0.95, pressure_pa: 101_325.0 });
        }),
    ]
}

fn compute(case: &Case, relative_tolerance: f64) -> Run {
    let o = Options {
        relative_tolerance,
        sample_every_s: Some(600.0),
        enforce_balances: false,
        ..Options::default()
    };
    run(&case.batch, &case.stages, &o, &mut |_| true).unwrap_or_else(|e| panic!("{}: {e}", case.name))
}

#[test]
fn identity_balances_close_in_every_kind_of_run() {
    let source = "conservation of water and energy";
    let mut water = Check::new(
        "water balance at the default tolerance",
        source,
        ("of max(water exchanged, 1 % of the first)", 1e-5),
        "COMPUTED",
    );
    let mut energy = Check::new(
        "energy balance at the default tolerance, constants consistent",
        source,
        ("of the energy exchanged", 1e-3),
        "COMPUTED",
    );
    let mut tight_water = Check::new(
        "water balance at 1e-8",
        source,
        ("of max(water exchanged, 1 % of the first)", 1e-7),
        "COMPUTED",
    );
    let mut tight_energy =
        Check::new("energy balance at 1e-8", source, ("of the energy exchanged", 1e-6), "COMPUTED");
    for case in shapes().iter().chain(&cabinets()).chain(&handling()) {
        let runs: Vec<Run> = [1e-4, 1e-5, 1e-6, 1e-8].iter().map(|&r| compute(case, r)).collect();
        let shares: Vec<String> = runs
            .iter()
            .map(|r| {
                format!("{:.1e}/{:.1e}", r.balance.water_residual_share, r.balance.energy_residual_share)
            })
            .collect();
        println!("{}: {} ({} steps at 1e-5)", case.name, shares.join("  "), runs[1].counts.steps);
        water.error(runs[1].balance.water_residual_share, case.name);
        energy.error(runs[1].balance.energy_residual_share, case.name);
        tight_water.error(runs[3].balance.water_residual_share, case.name);
        tight_energy.error(runs[3].balance.energy_residual_share, case.name);
        for s in &runs[1].samples {
            assert!(
                s.pieces.iter().all(|p| p.moisture_dry_basis > 0.0 && p.core_c.is_finite()),
                "{}",
                case.name
            );
            assert!(s.condensate_kg > -5e-5, "{}: {} kg", case.name, s.condensate_kg);
        }
    }
    for line in [water, energy, tight_water, tight_energy] {
        line.done(14);
    }
}

#[test]
fn identity_condensate_forms_on_a_cold_shell_and_dries_again() {
    let case = &cabinets()[1];
    let r = compute(case, 1e-5);
    let most = r.samples.iter().map(|s| s.condensate_kg).fold(0.0, f64::max);
    assert!(most > 0.01, "condensate forms: {most} kg");
    let end = r.samples.last().unwrap().condensate_kg;
    assert!(end < 0.5 * most, "and dries again: {end} of {most} kg");
}

#[test]
fn identity_pulled_trays_leave_with_their_share() {
    let case = &handling()[1];
    let r = compute(case, 1e-6);
    let after = &r.stage_ends[2].sample;
    // 20 trays less 4 pulled.
    let solids = case.batch.solids_kg() * 16.0 / 20.0;
    assert!((r.solids_kg - solids).abs() < 1e-9 * solids, "{} {solids}", r.solids_kg);
    assert!((after.load_weight_kg - solids * (1.0 + after.moisture_mean_dry_basis)).abs() < 1e-9);
}

#[test]
fn identity_a_run_cut_in_two_is_the_run() {
    let case = &cabinets()[0];
    let whole = compute(case, 1e-7);
    let cut = 5000.0;
    let o = Options { snapshots_at_s: vec![cut], relative_tolerance: 1e-7, ..Options::default() };
    let first = run(&case.batch, &case.stages, &o, &mut |_| true).unwrap();
    assert_eq!(first.snapshots.len(), 1);
    assert_eq!(first.snapshots[0].elapsed_s, cut);
    let rest =
        fallrate_simulate::run_from(&case.batch, &first.snapshots[0], &case.stages[1..], &o, &mut |_| true)
            .unwrap();
    let (a, b) = (whole.stage_ends.last().unwrap(), rest.stage_ends.last().unwrap());
    assert!(
        (a.sample.elapsed_s - b.sample.elapsed_s).abs() < 0.5,
        "{} {}",
        a.sample.elapsed_s,
        b.sample.elapsed_s
    );
    assert!((a.sample.moisture_mean_dry_basis - b.sample.moisture_mean_dry_basis).abs() < 1e-5);
}

#[test]
fn limit_a_blocked_vent_and_a_weak_fan_are_a_smaller_vent_and_a_lower_step() {
    let mut faulty = cabinets().remove(0);
    let mut plain = cabinets().remove(0);
    let whole = |kind| interruption(kind, 0.0, 1e6);
    faulty.batch.interruptions = vec![
        whole(InterruptionKind::VentBlocked(0.25)),
        whole(InterruptionKind::FanWeak { flow_share: 0.5, exchange_share: 0.66 }),
    ];
    plain.batch.chamber.vent_full_kg_per_s *= 0.25;
    for fan in plain.stages.iter_mut().filter_map(|s| s.fan.as_mut()) {
        fan.flow_share *= 0.5;
        fan.exchange_share *= 0.66;
    }
    let (a, b) = (compute(&faulty, 1e-5), compute(&plain, 1e-5));
    assert_eq!(a.stage_ends.len(), b.stage_ends.len());
    for (x, y) in a.samples.iter().zip(&b.samples) {
        // The same up to where the faults' own instants cut the steps.
        assert!(
            (x.moisture_mean_dry_basis / y.moisture_mean_dry_basis - 1.0).abs() < 1e-4,
            "{}",
            x.elapsed_s
        );
        assert!((x.chamber_temperature_c - y.chamber_temperature_c).abs() < 0.02, "{}", x.elapsed_s);
    }
}

#[test]
fn identity_samples_asked_for_are_the_regular_ones_and_change_nothing() {
    let case = &cabinets()[0];
    let regular = compute(case, 1e-5);
    let o = Options {
        relative_tolerance: 1e-5,
        sample_every_s: None,
        samples_at_s: vec![-5.0, 1200.0, 1234.5, 3000.0, 1e9],
        enforce_balances: false,
        ..Options::default()
    };
    let asked = run(&case.batch, &case.stages, &o, &mut |_| true).unwrap();
    let own: Vec<_> = asked.samples.iter().filter(|s| [1200.0, 3000.0].contains(&s.elapsed_s)).collect();
    assert_eq!(own.len(), 2);
    for s in own {
        assert!(regular.samples.contains(s), "{}", s.elapsed_s);
    }
    assert!(asked.samples.iter().any(|s| s.elapsed_s == 1234.5));
    // The stage ends beside the three.
    assert_eq!(asked.samples.len(), 3 + asked.stage_ends.len());
    assert_eq!(asked.stage_ends, regular.stage_ends);
}
