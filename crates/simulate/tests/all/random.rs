//! Random, physically sensible batches: no panic, balances close, moisture stays positive, same input gives same output.

use fallrate_simulate::{
    Action, AddedWater, AirConstants, AlongPosition, Batch, ControllerKind, Diffusivity, EndCondition,
    EndPieces, FanSetting, Geometry, HeaterDelay, Interruption, InterruptionKind, MoistureTerm, Options,
    Piece, Room, SimulateError, StageInput, TrayGroup, VentSetting,
    reference_case::{powered, unpowered},
    run,
};
use proptest::{prelude::*, test_runner::RngSeed};

use crate::balances::{base, element};

#[derive(Clone, Debug)]
struct Food {
    geometry: usize,
    size_m: f64,
    moisture: f64,
    start_c: f64,
    shrinkage: f64,
    lateral: f64,
    log_diffusivity: f64,
    energy: f64,
    term: usize,
    inside: bool,
}

#[derive(Clone, Debug)]
struct Cabinet {
    groups: usize,
    positions: usize,
    nodes: usize,
    load_kg: f64,
    h: f64,
    underside: (f64, f64),
    mean: bool,
    heater_w: f64,
    element: bool,
    on_off: bool,
    condensation: bool,
    racks: bool,
    leakage: f64,
    air_flow: f64,
    radiation: bool,
}

#[derive(Clone, Debug)]
struct Plan {
    room: (f64, f64, f64),
    set_point: f64,
    opening: f64,
    hold_rh: bool,
    water: usize,
    flow_share: f64,
    ends: usize,
    interruption: usize,
    cut: (f64, f64),
    actions: usize,
}

fn food() -> impl Strategy<Value = Food> {
    (
        (0..3_usize, 0.001..0.03_f64, 0.3..12.0_f64, 0.0..30.0_f64, 0.0..1.0_f64),
        (0.0..0.67_f64, -11.0..-8.3_f64, 10e3..50e3_f64, 0..3_usize, any::<bool>()),
    )
        .prop_map(
            |(
                (geometry, size_m, moisture, start_c, shrinkage),
                (lateral, log_diffusivity, energy, term, inside),
            )| {
                Food {
                    geometry,
                    size_m,
                    moisture,
                    start_c,
                    shrinkage,
                    lateral,
                    log_diffusivity,
                    energy,
                    term,
                    inside,
                }
            },
        )
}

fn cabinet() -> impl Strategy<Value = Cabinet> {
    (
        (1..4_usize, 1..7_usize, 5..17_usize, 0.05..3.0_f64, 8.0..60.0_f64),
        ((0.0..1.0_f64, 0.0..1.0_f64), any::<bool>(), 500.0..9000.0_f64, any::<bool>(), any::<bool>()),
        (any::<bool>(), any::<bool>(), 0.0002..0.01_f64, 0.1..2.0_f64, any::<bool>()),
    )
        .prop_map(|(a, b, c)| Cabinet {
            groups: a.0,
            positions: a.1,
            nodes: a.2,
            load_kg: a.3,
            h: a.4,
            underside: b.0,
            mean: b.1,
            heater_w: b.2,
            element: b.3,
            on_off: b.4,
            condensation: c.0,
            racks: c.1,
            leakage: c.2,
            air_flow: c.3,
            radiation: c.4,
        })
}

fn plan() -> impl Strategy<Value = Plan> {
    (
        (
            (2.0..38.0_f64, 0.05..0.98_f64, 68e3..103e3_f64),
            30.0..85.0_f64,
            0.0..1.0_f64,
            any::<bool>(),
            0..3_usize,
        ),
        (0.3..1.0_f64, 0..5_usize, 0..6_usize, (10.0..9000.0_f64, 1.0..3000.0_f64), 0..5_usize),
    )
        .prop_map(|(a, b)| Plan {
            room: a.0,
            set_point: a.1,
            opening: a.2,
            hold_rh: a.3,
            water: a.4,
            flow_share: b.0,
            ends: b.1,
            interruption: b.2,
            cut: b.3,
            actions: b.4,
        })
}

fn batch(f: &Food, c: &Cabinet, p: &Plan) -> Batch {
    let mut b = base();
    let m = &mut b.material;
    m.geometry = [Geometry::Slab, Geometry::Cylinder, Geometry::Sphere][f.geometry];
    m.size_m = f.size_m;
    m.moisture_initial_dry_basis = f.moisture;
    m.temperature_initial_c = f.start_c;
    m.shrinkage_share = f.shrinkage;
    m.lateral_shrinkage_exponent = f.lateral;
    m.sorption_heat_inside = f.inside;
    m.diffusivity = Diffusivity::Arrhenius {
        at_60c_m2_per_s: 10_f64.powf(f.log_diffusivity),
        activation_energy_j_per_mol: f.energy,
        moisture_term: [
            MoistureTerm::None,
            MoistureTerm::Reciprocal { b_kg_per_kg: 0.08, x_ref_kg_per_kg: 1.0 },
            MoistureTerm::Exponential { a_per_kg_per_kg: 0.8, x_ref_kg_per_kg: 1.0, x_max_kg_per_kg: 1.5 },
        ][f.term],
    };
    b.air = AirConstants::consistent(m.specific_heat_water_j_per_kg_k);
    b.load.groups = (0..c.groups)
        .map(|g| TrayGroup {
            loaded_trays: 4.0,
            air_share: 1.0 + 0.3 * g as f64,
            heat_transfer_share: 1.0 - 0.1 * g as f64,
            shell_view: if c.radiation { 0.3 * g as f64 } else { 0.0 },
        })
        .collect();
    b.load.positions = c.positions;
    b.load.nodes = c.nodes;
    b.load.fresh_kg_per_tray = c.load_kg;
    b.exchange.heat_transfer_w_per_m2_k = c.h;
    b.exchange.underside.heat = c.underside.0;
    b.exchange.underside.mass = c.underside.1 * c.underside.0;
    // Taking the entering air for a whole position is sensible only where a position changes the air little, also in the
    // slow circulation of a fan that stands still.
    let per_tray = c.load_kg / (1.0 + m.moisture_initial_dry_basis) / m.solids_kg_per_m2();
    let capacity = 0.02 * c.air_flow * 0.7 * 1006.0 / c.groups as f64 / 1.3;
    let units = 2.0 * 0.15 * c.h * 4.0 * per_tray / c.positions as f64 / capacity;
    b.exchange.along_position =
        if c.mean || units > 0.7 { AlongPosition::Mean } else { AlongPosition::Entering };
    b.exchange.emissivity = 0.9;
    if c.radiation {
        b.load.ends = EndPieces { entering: 0.8, leaving: 1.25 };
    }
    let k = &mut b.chamber;
    k.heater_w = c.heater_w;
    k.heater_delay = if c.element { element() } else { HeaterDelay::Lag { seconds: 40.0 } };
    if c.on_off {
        k.controller.kind = ControllerKind::OnOff { hysteresis_k: 2.0 };
        k.controller.sensor_lag_s = 15.0;
    }
    k.shell_condensation = c.condensation;
    k.racks_heat_capacity_j_per_k = if c.racks { 20e3 } else { 0.0 };
    k.racks_exchange_w_per_k = 100.0;
    k.leakage_kg_per_s = c.leakage;
    k.air_flow_m3_per_s = c.air_flow;
    k.door_kg_per_s = 0.1;
    b.room = Room { temperature_c: p.room.0, relative_humidity: p.room.1, pressure_pa: p.room.2 };
    let kind = [
        InterruptionKind::PowerOff,
        InterruptionKind::DoorOpen,
        InterruptionKind::FanLost,
        InterruptionKind::VentMoved(0.7),
        InterruptionKind::HeaterWeak(0.4),
    ];
    if let Some(&kind) = kind.get(p.interruption) {
        b.interruptions.push(Interruption { kind, start_s: p.cut.0, duration_s: p.cut.1 });
    }
    b
}

fn stages(c: &Cabinet, p: &Plan) -> Vec<StageInput> {
    let set = |mut s: StageInput| {
        s.set_point_c = Some(p.set_point);
        s.fan = Some(FanSetting {
            flow_share: p.flow_share,
            exchange_share: p.flow_share.powf(0.6),
            power_w: 200.0,
        });
        s
    };
    let ends = [
        EndCondition::Moisture { piece: Piece::Slowest, dry_basis: 0.2 },
        EndCondition::WaterActivity { piece: Piece::Mean, aw: 0.6 },
        EndCondition::CoreReaches { celsius: p.set_point - 8.0, hold_s: 600.0 },
        EndCondition::ChamberRhBelow { fraction: 0.15 },
        EndCondition::Moisture { piece: Piece::Fastest, dry_basis: 0.1 },
    ];
    let mut warm = set(powered("warm", 0.0, EndCondition::CoreRise { kelvin: 10.0 }));
    warm.at_most_s = Some(3000.0);
    warm.added_water = [
        None,
        Some(AddedWater { kg_per_s: 1e-4, enthalpy_j_per_kg: 84e3 }),
        Some(AddedWater { kg_per_s: 2e-4, enthalpy_j_per_kg: 2.676e6 }),
    ][p.water];
    let mut dry = set(powered("dry", p.opening, ends[p.ends]));
    dry.at_most_s = Some(30_000.0);
    if p.hold_rh {
        dry.vent = VentSetting::HoldRh { target: 0.1 + 0.4 * p.opening, band: 0.05 };
    }
    dry.actions = match p.actions {
        0 => vec![Action::TurnPieces],
        1 => vec![Action::TurnTrays],
        2 => vec![Action::PullTrays { group: 0, trays: 1.0 }],
        3 if c.groups > 1 => vec![Action::SwapGroups { a: 0, b: 1 }],
        _ => Vec::new(),
    };
    vec![warm, dry, unpowered("coast", p.opening, 9000.0)]
}

fn cases() -> u32 {
    std::env::var("FALLRATE_RANDOM_RUNS").ok().and_then(|n| n.parse().ok()).unwrap_or(16)
}

proptest! {
    #![proptest_config(ProptestConfig { cases: cases(), failure_persistence: None, rng_seed: RngSeed::Fixed(20_261_125), max_shrink_iters: 200, ..ProptestConfig::default() })]

    #[test]
    fn identity_random_batches_close_their_balances_and_repeat(f in food(), c in cabinet(), p in plan()) {
        let (batch, stages) = (batch(&f, &c, &p), stages(&c, &p));
        let o = Options { sample_every_s: Some(600.0), ..Options::default() };
        let r = run(&batch, &stages, &o, &mut |_| true);
        prop_assert!(r.is_ok(), "{}", r.unwrap_err());
        let r = r.unwrap();
        prop_assert_eq!(r.stage_ends.len(), 3);
        let hottest = batch.material.temperature_initial_c.max(p.room.0).max(115.0);
        for s in &r.samples {
            for piece in &s.pieces {
                prop_assert!(piece.moisture_dry_basis > 0.0);
                prop_assert!(piece.surface_aw >= -1e-6 && piece.surface_aw <= 1.0);
                prop_assert!(piece.core_c > -20.0 && piece.core_c < hottest, "core {}", piece.core_c);
            }
            prop_assert!(s.humidity_ratio_kg_per_kg > 0.0);
            prop_assert!(s.moisture_fastest_dry_basis <= s.moisture_mean_dry_basis + 1e-9);
            prop_assert!(s.moisture_mean_dry_basis <= s.moisture_slowest_dry_basis + 1e-9);
        }
        for pair in r.samples.windows(2) {
            prop_assert!(pair[0].elapsed_s <= pair[1].elapsed_s);
            // Counters ride along without error control of their own: to the tolerance, not to the joule.
            prop_assert!(
                pair[0].heater_j <= pair[1].heater_j * (1.0 + 1e-4) + 1.0,
                "{} J at {} s, {} J at {} s",
                pair[0].heater_j,
                pair[0].elapsed_s,
                pair[1].heater_j,
                pair[1].elapsed_s
            );
        }
        let again = run(&batch, &stages, &o, &mut |_| true).unwrap();
        prop_assert_eq!(format!("{:?}", r), format!("{:?}", again));
    }

    #[test]
    fn identity_foreign_numbers_are_refused_without_a_panic(
        which in 0..12_usize,
        value in prop_oneof![
            Just(f64::NAN), Just(f64::INFINITY), Just(-1.0), Just(0.0), Just(-1e300), Just(1e300)
        ],
    ) {
        let mut b = base();
        let m = &mut b.material;
        let k = &mut b.chamber;
        match which {
            0 => m.size_m = value,
            1 => m.moisture_initial_dry_basis = value,
            2 => m.temperature_initial_c = value,
            3 => m.solids_density_kg_per_m3 = value,
            4 => m.conductivity_water_w_per_m_k = value,
            5 => b.exchange.heat_transfer_w_per_m2_k = value,
            6 => k.volume_m3 = value,
            7 => k.air_flow_m3_per_s = value,
            8 => b.room.pressure_pa = value,
            9 => b.load.fresh_kg_per_tray = value,
            10 => b.room.relative_humidity = value,
            _ => b.load.groups[0].loaded_trays = value,
        }
        let stages = [powered("a", 0.1, EndCondition::Elapsed { seconds: 60.0 })];
        let r = run(&b, &stages, &Options::default(), &mut |_| true);
        // 0 degC and 0 % relative humidity are sensible, though dry room air at 0 % is no error.
        let sensible = value == 0.0 && matches!(which, 2 | 10) || value == -1.0 && which == 2;
        if !sensible {
            let refused = matches!(r, Err(SimulateError::OutOfRange { .. }));
            prop_assert!(refused, "{:?}", r.map(|r| r.balance));
        }
    }
}
