//! Unloading, night, trays, stands, light pieces.

use fallrate_plan::request::PlanRequest;
use fallrate_plan::{Unloading, lift_off_moisture};
use fallrate_schedule::FanSetting;

use crate::support::{APPLE, TWO_STAGES, cabinet, nominal, product, request};

fn setup(text: &str) -> fallrate_plan::Setup {
    fallrate_plan::assemble(&request(text), &product("apple"), &cabinet("north")).unwrap().setup
}

const STAFF: &str = "[staff]\nhours = [\"06:00-21:00\"]\n";

#[test]
fn identity_unloading_at_a_clock_time_is_the_next_one_after_the_power() {
    let s = setup(&format!("{APPLE}{TWO_STAGES}{STAFF}[timer]\nunload = \"06:30\"\n"));
    // Started at 07:00: 06:30 comes 23.5 h later, and again every day.
    let h = 3600.0;
    assert_eq!(s.unloading, Unloading::At { elapsed_s: 23.5 * h });
    for (off, out) in [(10.0, 23.5), (23.5, 23.5), (23.6, 47.5), (47.4, 47.5), (60.0, 71.5)] {
        assert!((s.unloaded_s(off * h) - out * h).abs() < 1e-6, "{off} h: {}", s.unloaded_s(off * h) / h);
    }
}

#[test]
fn identity_the_night_room_holds_by_night_only() {
    let night = "altitude = \"0 m\"\nnight_temperature = \"10 degC\"\nnight_relative_humidity = \"90 %\"\nnight_hours = \"21:00-06:00\"";
    let s = setup(&format!("{APPLE}{TWO_STAGES}").replace("altitude = \"0 m\"", night));
    // Start 07:00. A stand from 12:00 to 16:00 has the day's room, one from 22:00 to 04:00 the night's.
    assert_eq!(s.stand(5.0 * 3600.0, 4.0 * 3600.0).room, None);
    assert_eq!(s.stand(15.0 * 3600.0, 6.0 * 3600.0).room.map(|r| r.temperature_c), Some(10.0));
}

/// What the sweep says of the moisture at unloading is what the plan's own run then comes to.
#[test]
fn identity_the_sweep_and_the_run_agree_on_unloading() {
    let humid = |text: &str| {
        text.replace(
            "altitude = \"0 m\"",
            "altitude = \"0 m\"\nnight_temperature = \"14 degC\"\nnight_relative_humidity = \"85 %\"",
        )
    };
    let base = format!("{APPLE}{TWO_STAGES}");
    let overnight = humid(&base.replace("07:00", "14:00"));
    let mut worst: f64 = 0.0;
    for text in [
        base.clone(),
        format!("{overnight}{STAFF}[timer]\nunload = \"next staffed\"\n"),
        format!("{}{STAFF}[timer]\nunload = \"06:00\"\n", overnight.replace("20 % wb", "10 % wb")),
        format!("{}{STAFF}[timer]\nunload = \"next staffed\"\n", overnight.replace("14:00", "09:10")),
    ] {
        let p = nominal(&text).unwrap();
        let last = p.run.samples.last().unwrap();
        let (mean, slowest) = (
            p.sweep.mean_at_unloading.at(p.timer.dial_s) - last.moisture_mean_dry_basis,
            p.sweep.slowest_at_unloading.at(p.timer.dial_s) - last.moisture_slowest_dry_basis,
        );
        worst = worst.max(mean.abs()).max(slowest.abs());
    }
    assert!(worst < 0.004, "kg/kg: {worst}");
}

#[test]
fn identity_swapping_groups_narrows_the_spread() {
    // Two groups as far apart in air as the cabinet has them; as many trays in each. Over the evenly weighted pieces.
    let stages = |swap: &str| {
        format!(
            "{}\n[[stage]]\nname = \"one\"\nset_point = \"60 degC\"\nvent = \"quarter\"\nuntil = {{ moisture = \"70 % wb\" }}\nat_most = \"20 h\"\n[[stage]]\nname = \"two\"\nset_point = \"60 degC\"\nvent = \"quarter\"\n{swap}until = {{ target = true }}\nat_most = \"40 h\"\n",
            APPLE.replace("[load]", "[load]\ngroups = { upper = 6, middle = 0, lower = 6 }")
        )
    };
    let spread = |text: &str| {
        let plan = nominal(text).unwrap();
        let last = &plan.run.stage_ends.iter().rfind(|e| e.name == "two").unwrap().sample;
        let mean = |g: usize| {
            let own = last.pieces.iter().filter(|p| p.group == g && p.load_share > 0.0);
            let (x, w) =
                own.fold((0.0, 0.0), |(x, w), p| (x + p.load_share * p.moisture_dry_basis, w + p.load_share));
            x / w
        };
        assert!(
            plan.run.balance.water_residual_share < 1e-5 && plan.run.balance.energy_residual_share < 1e-3
        );
        (mean(0) - mean(1)).abs()
    };
    let (without, with) = (spread(&stages("")), spread(&stages("swap = [\"upper\", \"lower\"]\n")));
    assert!(with < 0.8 * without, "{with} of {without}");
}

#[test]
fn identity_trays_taken_out_close_the_balances() {
    let pulled = format!(
        "{APPLE}{}[[interruption]]\nkind = \"trays pulled\"\ngroup = \"lower\"\ntrays = 3\nafter = \"2 h\"\nduration = \"20 min\"\n",
        TWO_STAGES.replace("name = \"dry\"", "name = \"dry\"\npull = { group = \"upper\", trays = 2 }")
    );
    let r = PlanRequest::parse("t", &pulled).unwrap_or_else(|p| panic!("{p}"));
    assert_eq!(r.interruptions.len(), 1);
    let (whole, plan) = (nominal(&format!("{APPLE}{TWO_STAGES}")).unwrap(), nominal(&pulled).unwrap());
    let b = &plan.run.balance;
    assert!(b.water_residual_share < 1e-5 && b.energy_residual_share < 1e-3, "{b:?}");
    let ratio = plan.run.solids_kg / whole.run.solids_kg;
    assert!((ratio - 0.9).abs() < 1e-9, "18 of 20 trays are left: {ratio}");
}

#[test]
fn identity_a_group_without_trays_is_refused_where_it_is_named() {
    let text = format!(
        "{}{}",
        APPLE.replace("[load]", "[load]\ngroups = { upper = 6, middle = 0, lower = 5 }"),
        TWO_STAGES.replace("name = \"dry\"", "name = \"dry\"\npull = { group = \"lower\", trays = 2 }")
    );
    // The lower group is the second of those that are loaded, the third of the cabinet.
    let lower = nominal(&text).unwrap();
    assert_eq!(
        lower.assembled.setup.stages[1].actions,
        [fallrate_simulate::Action::PullTrays { group: 1, trays: 2.0 }]
    );
    let message = nominal(&text.replace("group = \"lower\"", "group = \"middle\"")).unwrap_err().to_string();
    assert_eq!(message, "tray group 'middle': no tray loaded; allowed: upper, lower");
}

#[test]
fn identity_a_wet_meat_load_must_not_stand_overnight() {
    let beef = |target: &str| {
        format!(
            "product = \"beef_eye_of_round\"\ncabinet = \"north\"\n[load]\nper_area = \"3 kg/m2\"\n[room]\ntemperature = \"20 degC\"\nrelative_humidity = \"50 %\"\n[start]\nat = \"16:00\"\n[staff]\nhours = [\"06:00-17:00\"]\n[target]\nmoisture = \"{target}\"\n[timer]\nunload = \"next staffed\"\n[[stage]]\nname = \"dry\"\nset_point = \"70 degC\"\nvent = \"quarter\"\nuntil = {{ target = true }}\nat_most = \"40 h\"\n"
        )
    };
    let wet = nominal(&beef("55 % wb")).unwrap();
    let refused = wet.timer.stand_refused.expect("refused");
    assert!(refused.water_activity > refused.limit && refused.limit <= 0.85, "{refused:?}");
    let dry = nominal(&beef("12 % wb")).unwrap();
    assert!(dry.timer.unloaded_s > dry.timer.dial_s + 1800.0, "it stands too");
    assert_eq!(dry.timer.stand_refused, None);
    let at_once = nominal(&beef("55 % wb").replace("next staffed", "at end")).unwrap();
    assert_eq!(at_once.timer.stand_refused, None);
}

const KALE: &str = "product = \"kale\"\ncabinet = \"north\"\n[load]\nper_area = \"1.5 kg/m2\"\n[room]\ntemperature = \"20 degC\"\nrelative_humidity = \"50 %\"\n[target]\nwater_activity = 0.4\n";

#[test]
fn identity_leaves_fly_sooner_the_drier_they_are_and_the_fan_is_stepped_down() {
    let kale = product("kale");
    let r = request(KALE);
    let north = cabinet("north");
    let assembled = fallrate_plan::assemble(&r, &kale, &north).unwrap();
    let at = |speed: f64| lift_off_moisture(&kale, &assembled, speed);
    assert_eq!(at(0.5), None, "a breath lifts nothing");
    let moistures: Vec<f64> = [2.5, 3.0, 3.5, 4.0].into_iter().filter_map(at).collect();
    assert!(moistures.len() >= 2 && moistures.windows(2).all(|w| w[0] < w[1]), "{moistures:?}");
    // A leaf caught more by the air (the file's high figure) or a cabinet with more air: the proposal steps the fan down.
    let mut light = kale.clone();
    let force = &mut light.lift_off.as_mut().unwrap().force_coefficient;
    force.value = force.high;
    let plan =
        fallrate_plan::plan(&r, &light, &north, fallrate_plan::Effort { draws: 0 }, &|_| true).unwrap();
    let last = plan.assembled.stages.last().unwrap();
    let FanSetting::Step(step) = &last.fan else { panic!("{:?}", plan.assembled.stages) };
    assert_ne!(step, "full");
    let own = plan.lift_off.iter().find(|l| &l.fan_step == step).unwrap();
    let target = plan.assembled.setup.target.moisture_dry_basis;
    let full = plan.lift_off.iter().find(|l| l.fan_step == "full").unwrap();
    assert!(full.below_dry_basis.unwrap() > target);
    // The step taken lifts nothing above the target, or is the gentlest there is.
    assert!(own.below_dry_basis.is_none_or(|x| x <= target) || step == "low", "{own:?}");
}
