//! Batches on the virtual cabinet with hidden figures: how well the end is known before and after readings.
//! `cargo run --release -p fallrate-follow --example soak [batches] [draws]`
#![allow(clippy::unwrap_used, clippy::expect_used, clippy::panic)]
use std::time::Instant as Clock;

use fallrate_follow::{
    Along, Case, Course, Deed, Done, Earlier, Effort, Interrupted, Measured, Place, Reading, Unconfirmed,
    Update, update,
};
use fallrate_plan::request::PlanRequest;
use fallrate_plan::{Effort as PlanEffort, Plan, plan};
use fallrate_rehearse::{Act, Scenario, VirtualCabinet};
use fallrate_series::{Instant, Role};
use fallrate_simulate::{EndCondition, Piece};

struct Bench {
    name: &'static str,
    plan: Plan,
    product: fallrate_foods::Product,
    cabinet: fallrate_equipment::Cabinet,
}

fn read(path: &str) -> String {
    let root = concat!(env!("CARGO_MANIFEST_DIR"), "/../..");
    std::fs::read_to_string(format!("{root}/{path}")).unwrap_or_else(|e| panic!("{path}: {e}"))
}

fn bench(name: &'static str, text: &str, product: &str, cabinet: &str) -> Bench {
    let product =
        fallrate_foods::Product::parse("p", &read(&format!("data/products/{product}.toml"))).unwrap();
    let cabinet =
        fallrate_equipment::Cabinet::parse("c", &read(&format!("data/cabinets/{cabinet}.toml"))).unwrap();
    let request = PlanRequest::parse("soak.toml", text).unwrap_or_else(|e| panic!("{e}"));
    let plan = plan(&request, &product, &cabinet, PlanEffort { draws: 128 }, &|_| true).unwrap();
    Bench { name, plan, product, cabinet }
}

/// One batch: what was true, what the plan said, what was said after readings.
struct Outcome {
    rest_s: f64,
    plan_s: [f64; 3],
    update: Vec<Update>,
    truth: Vec<f64>,
    seconds: f64,
}

fn truth_piece(b: &Bench, s: &fallrate_rehearse::State) -> f64 {
    match b.plan.assembled.setup.target.piece {
        Piece::Mean => s.mean_dry_basis,
        Piece::Slowest => s.wettest_dry_basis,
        Piece::Fastest => s.driest_dry_basis,
    }
}

/// The plan's condition has come true on the cabinet.
fn due(b: &Bench, end: &EndCondition, s: &fallrate_rehearse::State, began_s: f64, held: &mut f64) -> bool {
    let first_c = b.plan.assembled.setup.batch.material.temperature_initial_c;
    match *end {
        EndCondition::Elapsed { seconds } => s.elapsed_s >= began_s + seconds,
        EndCondition::CoreRise { kelvin } => s.core_coldest_c >= first_c + kelvin,
        EndCondition::CoreReaches { celsius, hold_s } => {
            if s.core_coldest_c < celsius {
                *held = s.elapsed_s;
            }
            s.core_coldest_c >= celsius && s.elapsed_s >= *held + hold_s
        }
        EndCondition::Moisture { piece, dry_basis } => {
            let x = match piece {
                Piece::Mean => s.mean_dry_basis,
                Piece::Slowest => s.wettest_dry_basis,
                Piece::Fastest => s.driest_dry_basis,
            };
            x <= dry_basis
        }
        _ => false,
    }
}

/// What is read, and when the forecast is asked, as a share of the plan's expected end.
#[derive(Clone, Copy, PartialEq)]
enum Kind {
    ThreeWeights,
    OneWeight,
    ThreeWeightsTwice,
    WithCore,
    WithAir,
    All,
    WrongTare,
    ProbeOut,
}

const KINDS: [(Kind, &str); 8] = [
    (Kind::OneWeight, "one tray, once"),
    (Kind::ThreeWeights, "three trays, once"),
    (Kind::ThreeWeightsTwice, "three trays, twice"),
    (Kind::WithCore, "three trays twice, core"),
    (Kind::WithAir, "three trays twice, wet bulb, dry bulb"),
    (Kind::All, "three trays twice, core, wet bulb, dry bulb"),
    (Kind::WrongTare, "three trays twice, one of them with a tare 0.3 kg wrong"),
    (Kind::ProbeOut, "all, the core probe in the air"),
];

fn batch(b: &Bench, seed: u64, kinds: &[Kind], draws: usize) -> Outcome {
    let mut scenario = Scenario::new(seed, Instant::from_unix_seconds(1_709_275_200.0), "UTC");
    scenario.hand_lag_s = (0.0, 0.0);
    let start = scenario.start;
    let mut v = VirtualCabinet::new(&b.plan, &b.cabinet, scenario).unwrap();
    let first = &b.plan.assembled.stages[0];
    for act in [
        Act::Vent(first.vent.clone()),
        Act::Fan(first.fan.clone()),
        Act::SetPoint(first.set_point_c),
        Act::Power { on: true },
    ] {
        v.act(act).unwrap();
    }
    let stages = &b.plan.assembled.setup.stages;
    let (mut stage, mut began, mut held) = (0, 0.0, 0.0);
    let mut done = vec![Done { at_s: 0.0, deed: Deed::Stage(0) }];
    let expected = b.plan.timer.quantiles_s.unwrap()[1];
    let asked_s = (0.5 * expected / 60.0).round() * 60.0;
    let early_s = (0.25 * expected / 60.0).round() * 60.0;
    let trays = middle_trays(b);
    let mut weighed = [false, false];
    let mut end_s = f64::NAN;
    let mut before = f64::NAN;
    while v.now_s() < 7.0 * expected {
        let to = v.now_s() + 60.0 - v.now_s() % 60.0;
        v.advance(to, &mut |_| true).unwrap();
        let s = v.true_states().last().unwrap().clone();
        if stage + 1 < stages.len() {
            let longest = stages[stage].at_most_s.is_some_and(|m| s.elapsed_s >= began + m);
            if longest || stages[stage].ends.iter().any(|e| due(b, e, &s, began, &mut held)) {
                stage += 1;
                began = s.elapsed_s;
                held = s.elapsed_s;
                let next = &b.plan.assembled.stages[stage];
                let acts = [
                    Act::Vent(next.vent.clone()),
                    Act::Fan(next.fan.clone()),
                    Act::SetPoint(next.set_point_c),
                ];
                let at = acts.map(|a| v.act(a).unwrap());
                done.push(Done { at_s: at[0], deed: Deed::Stage(stage) });
            }
        }
        for (k, at) in [early_s, asked_s].into_iter().enumerate() {
            if !weighed[k] && s.elapsed_s >= at {
                weighed[k] = true;
                trays.iter().for_each(|t| {
                    v.act(Act::Weigh { tray: *t }).unwrap();
                });
            }
        }
        let x = truth_piece(b, &s);
        let target = b.plan.assembled.setup.target.moisture_dry_basis;
        if x <= target {
            end_s = s.elapsed_s - 60.0 * ((target - x) / (before - x)).clamp(0.0, 1.0);
            break;
        }
        before = x;
    }
    let now_s = asked_s + 420.0;
    let log = v.log().unwrap();
    let read = |role: &dyn Fn(&Role) -> bool| -> Vec<(f64, f64)> {
        let c = log.channels.iter().filter(|c| role(&c.role));
        let r = c.flat_map(|c| c.readings().iter().map(|r| (r.at.seconds_since(start), r.value)));
        r.filter(|r| r.0 <= now_s).collect()
    };
    let course = Course {
        now_s,
        done: done.into_iter().filter(|d| d.at_s <= now_s).collect(),
        interrupted: Vec::<Interrupted>::new(),
        unconfirmed: Unconfirmed::NotDone,
    };
    let case = Case { assembled: &b.plan.assembled, product: &b.product, cabinet: &b.cabinet };
    let earlier = Earlier::of_plan(&b.plan.timer);
    let mut updates = Vec::new();
    let clock = Clock::now();
    for kind in kinds {
        let mut readings = Vec::new();
        let mut add = |measured, list: Vec<(f64, f64)>, instrument, tolerance: f64| {
            for (at_s, value) in list {
                let id = readings.len() as u64;
                readings.push(Reading { id, at_s, measured, value, tolerance: Some(tolerance), instrument });
            }
        };
        for (k, tray) in trays.iter().enumerate() {
            if *kind == Kind::OneWeight && k != 1 {
                continue;
            }
            let mut w = read(&|r| *r == Role::TrayWeight { tray: u16::try_from(*tray).unwrap() });
            if matches!(kind, Kind::OneWeight | Kind::ThreeWeights) {
                w.retain(|r| r.0 >= asked_s);
            }
            if *kind == Kind::WrongTare && k == 0 {
                w.iter_mut().for_each(|r| r.1 += 0.3);
            }
            add(Measured::TrayGross { tray: *tray, tare_kg: b.plan.assembled.tare_kg }, w, 1, 0.005);
        }
        if matches!(kind, Kind::WithCore | Kind::All | Kind::ProbeOut) {
            let mut core = read(&|r| matches!(r, Role::CoreProbe { number: 1, .. }));
            if *kind == Kind::ProbeOut {
                core = read(&|r| *r == Role::AirDryBulb);
            }
            add(Measured::Core(Place::Coldest), core, 2, 1.0);
        }
        if matches!(kind, Kind::WithAir | Kind::All | Kind::ProbeOut) {
            add(Measured::WetBulb, read(&|r| *r == Role::AirWetBulb), 3, 0.5);
            add(Measured::AirDryBulb, read(&|r| *r == Role::AirDryBulb), 4, 1.0);
        }
        let _ = Along::Middle;
        updates
            .push(update(case, &course, &readings, Effort { draws }, earlier.as_ref(), &|_| true).unwrap());
    }
    let seconds = clock.elapsed().as_secs_f64() / kinds.len() as f64;
    let plan_s = b.plan.timer.quantiles_s.unwrap();
    Outcome {
        rest_s: end_s - now_s,
        plan_s: plan_s.map(|q| q - now_s),
        update: updates,
        truth: v.truth().inputs.iter().map(|i| i.1).collect(),
        seconds,
    }
}

/// The middle tray of each loaded group.
fn middle_trays(b: &Bench) -> Vec<u32> {
    let mut first = 1;
    let mut list = Vec::new();
    for n in b.plan.assembled.trays_by_group.iter().filter(|n| **n > 0) {
        list.push(first + n / 2);
        first += n;
    }
    list
}

fn median(mut v: Vec<f64>) -> f64 {
    v.sort_by(f64::total_cmp);
    v.get(v.len() / 2).copied().unwrap_or(f64::NAN)
}

fn main() {
    let mut args = std::env::args().skip(1);
    let batches: u64 = args.next().and_then(|a| a.parse().ok()).unwrap_or(60);
    let draws: usize = args.next().and_then(|a| a.parse().ok()).unwrap_or(64);
    let only = args.next();
    // Which kinds of readings, by their first letters in the list: all where none is named.
    let digits = args.next();
    let kinds_asked: Vec<(Kind, &str)> = match &digits {
        Some(d) => {
            d.bytes().filter_map(|b| KINDS.get(usize::from(b.saturating_sub(b'0'))).copied()).collect()
        }
        None => KINDS.to_vec(),
    };
    let apple = APPLE;
    let open = |product: &str, moisture: &str| {
        apple.replace("product = \"apple\"", &format!("product = \"{product}\"")).replace("20 % wb", moisture)
    };
    let benches = [
        bench("apple rings, North", apple, "apple", "north"),
        bench(
            "beef strips, North, wettest piece",
            &read("examples/beef_strips.toml").replace("unload = \"next staffed\"", "unload = \"at end\""),
            "beef_eye_of_round",
            "north",
        ),
        bench("carrot, North", &open("carrot", "10 % wb"), "carrot", "north"),
    ];
    for b in benches.iter().filter(|b| only.as_ref().is_none_or(|o| b.name.starts_with(o.as_str()))) {
        let kinds: Vec<Kind> = kinds_asked.iter().map(|k| k.0).collect();
        let all: Vec<Outcome> = (1..=batches).map(|seed| batch(b, seed, &kinds, draws)).collect();
        let all: Vec<&Outcome> = all.iter().filter(|o| o.rest_s > 600.0).collect();
        println!(
            "\n{}: {} batches with more than 10 min left when asked; median rest {:.2} h",
            b.name,
            all.len(),
            median(all.iter().map(|o| o.rest_s / 3600.0).collect())
        );
        println!(
            "| known | median error of the rest, min | of it, % | 80 % band holds, % | band, h | effective draws, median / least | fits anew | named |"
        );
        println!("| --- | ---: | ---: | ---: | ---: | ---: | ---: | ---: |");
        let row = |name: &str, e: Vec<f64>, p: Vec<f64>, inside: usize, width: Vec<f64>, rest: String| {
            println!(
                "| {name} | {:.1} | {:.1} | {:.0} | {:.2} | {rest}",
                median(e),
                median(p),
                100.0 * inside as f64 / all.len() as f64,
                median(width)
            );
        };
        row(
            "the plan",
            all.iter().map(|o| (o.plan_s[1] - o.rest_s).abs() / 60.0).collect(),
            all.iter().map(|o| 100.0 * ((o.plan_s[1] - o.rest_s) / o.rest_s).abs()).collect(),
            all.iter().filter(|o| (o.plan_s[0]..=o.plan_s[2]).contains(&o.rest_s)).count(),
            all.iter().map(|o| (o.plan_s[2] - o.plan_s[0]) / 3600.0).collect(),
            "| | |".to_owned(),
        );
        for (k, (_, name)) in kinds_asked.iter().enumerate() {
            let of = |o: &&Outcome| {
                let e = o.update[k].end.power_off_s;
                let n = o.update[k].now_s;
                [e.low - n, e.middle - n, e.high - n]
            };
            row(
                name,
                all.iter().map(|o| (of(o)[1] - o.rest_s).abs() / 60.0).collect(),
                all.iter().map(|o| 100.0 * ((of(o)[1] - o.rest_s) / o.rest_s).abs()).collect(),
                all.iter().filter(|o| (of(o)[0]..=of(o)[2]).contains(&o.rest_s)).count(),
                all.iter().map(|o| (of(o)[2] - of(o)[0]) / 3600.0).collect(),
                format!(
                    "{:.0} / {:.0} | {} | {} |",
                    median(all.iter().map(|o| o.update[k].quality.effective).collect()),
                    all.iter().map(|o| o.update[k].quality.effective).fold(f64::INFINITY, f64::min),
                    all.iter().map(|o| o.update[k].quality.fits).sum::<usize>(),
                    all.iter().filter(|o| !o.update[k].misfits.is_empty()).count()
                ),
            );
        }
        println!(
            "\nErrors of the inputs in their own standard deviations, root mean square (1 is right); median standard deviation left"
        );
        for (i, s) in b.plan.assembled.setup.spreads.iter().enumerate() {
            let each = (0..kinds_asked.len()).map(|k| {
                let e: f64 = all
                    .iter()
                    .map(|o| {
                        let x = o.update[k].inputs[i];
                        ((o.truth[i] - x.mean_sds) / x.sd_sds).powi(2)
                    })
                    .sum();
                format!(
                    "{:.2} {:.2} |",
                    (e / all.len() as f64).sqrt(),
                    median(all.iter().map(|o| o.update[k].inputs[i].sd_sds).collect())
                )
            });
            println!("| {:?} | {}", s.input, each.collect::<Vec<_>>().join(" "));
        }
        println!(
            "update: median {:.3} s, longest {:.3} s (mean over the kinds of readings); linear updates median {:.0}",
            median(all.iter().map(|o| o.seconds).collect()),
            all.iter().map(|o| o.seconds).fold(0.0, f64::max),
            median(all.iter().map(|o| o.update[o.update.len() - 1].quality.updates as f64).collect())
        );
    }
}

const APPLE: &str = r#"
product = "apple"
cabinet = "north"
[piece]
thickness = "7 mm"
thickness_sd = "0.6 mm"
[load]
total = "35 kg"
liner = "coarse_mesh"
temperature = "15 degC"
[room]
temperature = "20 degC"
relative_humidity = "50 %"
[target]
moisture = "20 % wb"
[timer]
unload = "at end"
[[stage]]
name = "warm up"
set_point = "60 degC"
vent = "shut"
until = { core_rise = "20 degF" }
at_most = "1 h 30 min"
[[stage]]
name = "dry"
set_point = "60 degC"
vent = "quarter"
until = { target = true }
at_most = "60 h"
"#;
