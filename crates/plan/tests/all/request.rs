//! The plan file: examples, defaults, contradictions, foreign bytes.

use fallrate_datafile::{ProblemKind, Problems};
use fallrate_plan::request::{
    Dialled, LoadAmount, Named, PlanRequest, Spread, StagesRequest, Target, Unload, Window,
};
use fallrate_schedule::{EndCondition, FanSetting, InterruptionKind, Piece, VentSetting};
use fallrate_units::TimeOfDay;
use proptest::prelude::*;

const EXAMPLES: [(&str, &str); 3] = [
    ("beef_strips.toml", include_str!("../../../../examples/beef_strips.toml")),
    ("apple_rings_overnight.toml", include_str!("../../../../examples/apple_rings_overnight.toml")),
    ("kale_crisps.toml", include_str!("../../../../examples/kale_crisps.toml")),
];
const SHORTEST: &str = r#"
product = "apple"
cabinet = "north"
[load]
per_area = "4 kg/m2"
[room]
temperature = "20 degC"
relative_humidity = "50 %"
[target]
water_activity = 0.6
"#;

fn example(i: usize) -> PlanRequest {
    PlanRequest::parse(EXAMPLES[i].0, EXAMPLES[i].1).unwrap_or_else(|p| panic!("{p}"))
}
/// The shortest file with lines put before its first section and after its end.
fn with(before: &str, after: &str) -> Result<PlanRequest, Problems> {
    PlanRequest::parse("p.toml", &format!("{before}\n{SHORTEST}\n{after}\n"))
}
fn fault(before: &str, after: &str) -> String {
    let p = with(before, after).expect_err("a fault");
    assert_eq!(p.list().len(), 1, "{p}");
    p.to_string()
}

#[test]
fn beef_example_is_read_as_written() {
    let r = example(0);
    assert_eq!(r.product, Named::Key("beef_eye_of_round".into()));
    let LoadAmount::Total(total) = r.load.amount else { panic!() };
    assert_eq!((total.kilograms(), r.load.trays), (22.0, Some(18)));
    assert!((r.load.per_tray_kg(18, 0.36) - 22.0 / 18.0).abs() < 1e-12);
    assert!((r.room.altitude.metres() - 1600.0).abs() < 1e-9);
    let Spread::Range { low, high } = r.piece.thickness_spread else { panic!() };
    assert!((low.millimetres() - 5.0).abs() < 1e-9 && (high.millimetres() - 7.0).abs() < 1e-9);
    assert_eq!((r.target.piece, r.target.piece_by_rule), (Piece::Slowest, false));
    assert_eq!((r.timer.dialled, r.timer.unload), (Dialled::Once, Unload::NextStaffed));
    let StagesRequest::Given(stages) = &r.stages else { panic!() };
    assert_eq!(stages.len(), 4);
    assert!((stages[0].set_point_c.expect("heated") - (165.0 - 32.0) / 1.8).abs() < 1e-9);
    let EndCondition::CoreRise { kelvin } = stages[0].ends[0] else { panic!() };
    assert!((kelvin - 40.0 / 1.8).abs() < 1e-9);
    let EndCondition::CoreReaches { celsius, hold_s } = stages[1].ends[0] else { panic!() };
    assert!((celsius - (145.0 - 32.0) / 1.8).abs() < 1e-9 && hold_s == 240.0);
    assert_eq!(stages[2].vent, VentSetting::Mark("quarter".into()));
    let EndCondition::Moisture { piece, dry_basis } = stages[3].ends[0] else { panic!() };
    assert!(piece == Piece::Slowest && (dry_basis - 1.0 / 3.0).abs() < 1e-12);
    assert_eq!(r.schedule().map(|s| s.stages().len()), Some(4));
}

#[test]
fn apple_example_has_its_night() {
    let r = example(1);
    assert_eq!(r.stages, StagesRequest::Propose { swaps: false });
    assert_eq!(r.timer.unload, Unload::At(TimeOfDay::from_hm(5, 45)));
    assert_eq!((r.target.piece, r.target.piece_by_rule), (Piece::Mean, true));
    let tariff = r.money.tariff.expect("a tariff");
    let at = |h, m| tariff.price_per_kwh_at(TimeOfDay::from_hm(h, m));
    assert_eq!(
        [at(21, 59), at(22, 0), at(3, 0), at(5, 44), at(5, 45)],
        [0.24, 0.13, 0.13, 0.13, 0.24].map(Some)
    );
    let night = r.room.night.expect("a night");
    assert!(
        night.hours.contains(TimeOfDay::from_hm(0, 0)) && !night.hours.contains(TimeOfDay::from_hm(6, 30))
    );
    let staff = r.staff.expect("hours");
    assert!(staff.is_staffed(TimeOfDay::from_hm(15, 40)) && !staff.is_staffed(TimeOfDay::from_hm(17, 30)));
    let wait = staff.wait_from(TimeOfDay::from_hm(23, 45)).expect("they come back");
    assert!((wait.hours() - 6.0).abs() < 1e-12);
}

#[test]
fn kale_example_steps_the_fan_down() {
    let r = example(2);
    let StagesRequest::Given(stages) = &r.stages else { panic!() };
    assert_eq!(stages[1].fan, FanSetting::Step("low".into()));
    assert_eq!(stages[1].ends, [EndCondition::WaterActivity { piece: Piece::Slowest, aw: 0.40 }]);
    assert_eq!(r.interruptions[0].kind, InterruptionKind::DoorOpen);
    assert_eq!((r.interruptions[0].start_s, r.interruptions[0].duration_s), (5400.0, 180.0));
    assert_eq!(r.start.at.hm(), "08:15");
}

#[test]
fn the_shortest_file_takes_its_defaults_and_says_so() {
    let r = with("", "").expect("short");
    assert_eq!(r.stages, StagesRequest::Propose { swaps: false });
    assert_eq!((r.timer.dialled, r.timer.unload), (Dialled::Once, Unload::AtEnd));
    assert_eq!((r.target.target, r.target.piece), (Target::WaterActivity(0.6), Piece::Slowest));
    assert_eq!((r.staff.as_ref(), r.start.at.hm().as_str()), (None, "07:00"));
    let keys: Vec<_> = r.defaults_used.iter().map(|d| d.key).collect();
    let all =
        ["piece.thickness", "load.trays", "load.liner", "load.temperature", "room.altitude", "start.at"];
    assert_eq!(keys[..6], all);
    assert!(example(0).defaults_used.iter().all(|d| d.key != "room.altitude"));
}

const STAGE: &str = "[[stage]]\nname = \"a\"\nset_point = \"60 degC\"\nvent = \"shut\"\nat_most = \"1 h\"\n";

#[test]
fn contradictions_are_problems_with_their_place() {
    let both = fault("propose = true", STAGE);
    assert_eq!(
        both,
        "propose: true, while stages are given; allowed: either propose = true or [[stage]]; p.toml:1:11"
    );
    for (before, after, part) in [
        ("propose = false", "", "propose: false, while no stage is given"),
        ("swaps = true", STAGE, "swaps: given beside stages"),
        ("", "[timer]\nunload = \"next staffed\"", "timer.unload: 'next staffed' without staffed hours"),
        (
            "",
            "[staff]\nhours = [\"08:00-17:00\"]\n[timer]\nunload = \"18:00\"",
            "timer.unload: 18:00, when nobody is there",
        ),
        ("", "[staff]\nhours = [\"08:00-17:00\", \"16:00-18:00\"]", "overlaps an earlier span"),
        ("", "[staff]\nhours = [\"8 to 17\"]", "staff.hours: '8 to 17'"),
        ("", "[money]\nenergy_price_per_kwh = 0.2", "money.currency: missing"),
        (
            "",
            "[money]\ncurrency = \"EUR\"\nlabour = \"3 h\"",
            "money.labour: given without labour_price_per_hour",
        ),
        (
            "",
            "[money]\ncurrency = \"EUR\"\n[[money.tariff]]\nfrom = \"22:00\"\nto = \"06:00\"\nprice_per_kwh = 0.1",
            "money.tariff: no price at 06:00",
        ),
        ("", "[raw]\nsolids = \"10 %\"\nsugar = \"12 %\"", "raw.sugar: salt and sugar are 12.0 %"),
        (
            "",
            "[piece]\nthickness = \"6 mm\"\nthickness_range = [\"7 mm\", \"8 mm\"]",
            "not a range around the value",
        ),
        ("", "[piece]\nthickness = \"6 mm\"\nthickness_sd = \"3 mm\"", "more than a third"),
        (
            "",
            &format!("{STAGE}until = {{ core = \"70 degC\" }}"),
            "stage[1]: stage 1 'a': a core of 70 degC can never come",
        ),
        ("", &format!("{STAGE}{STAGE}"), "stage[2]: stage 2 'a': named like stage 1"),
        (
            "",
            &format!("{STAGE}until = {{ hold = \"4 min\" }}"),
            "stage[1].until.hold: a hold without a core temperature",
        ),
        ("", &format!("{STAGE}hold_humidity = \"30 %\""), "stage[1].hold_humidity: given beside vent"),
        ("", "[[interruption]]\nkind = \"power off\"\nat = \"08:52\"", "interruption[1].duration: missing"),
        ("", "[start]\ndate = \"2026-02-29\"", "start.date: '2026-02-29'"),
    ] {
        let message = fault(before, after);
        assert!(message.contains(part) && message.contains("allowed: "), "{part}: {message}");
    }
}

#[test]
fn targets_amounts_and_names() {
    let change = |from: &str, to: &str| {
        let text = SHORTEST.replace(from, to);
        PlanRequest::parse("p.toml", &text).expect_err("a fault").to_string()
    };
    let target = "water_activity = 0.6";
    assert!(change(target, "moisture = \"25 %\"").contains("target.moisture: '25 %' does not say its basis"));
    assert!(
        change(target, "water_activity = 0.6\nmoisture = \"25 % wb\"")
            .contains("target.water_activity: given beside moisture")
    );
    assert!(change(target, "").contains("target.moisture: missing; allowed: one of moisture"));
    assert!(
        change(target, "load_weight = \"8 kg\"\npiece = \"wettest\"")
            .contains("target.piece: 'wettest' beside a weight")
    );
    assert!(
        change("per_area = \"4 kg/m2\"", "per_tray = \"1 kg\"\ntotal = \"9 kg\"")
            .contains("load.total: given beside per_tray")
    );
    assert!(change("per_area = \"4 kg/m2\"", "").contains("load.per_tray: missing"));
    assert!(
        change("product = \"apple\"", "product = \"Apple!\"")
            .contains("product: 'Apple!'; allowed: a key as")
    );
    assert!(
        change("temperature = \"20 degC\"", "temperature = 20").contains("room.temperature: 20 has no unit")
    );
    assert!(change("relative_humidity", "relativ_humidity").contains("did you mean 'relative_humidity'?"));
    assert!(change("cabinet = \"north\"\n", "").contains("cabinet: missing"));
    let own = SHORTEST.replace("\"apple\"", "\"./my apple.toml\"");
    assert_eq!(PlanRequest::parse("p", &own).expect("a path").product, Named::Path("./my apple.toml".into()));
}

#[test]
fn tray_weight_as_an_end_needs_the_number_of_trays() {
    let stage = STAGE.replace("at_most", "until = { target = true }\nat_most");
    let text = |trays: &str| {
        SHORTEST
            .replace("water_activity = 0.6", "tray_weight = \"0.5 kg\"")
            .replace("per_area", &format!("{trays}per_area"))
            + &stage
    };
    let p = PlanRequest::parse("p", &text("")).expect_err("no trays");
    assert!(
        p.to_string().contains("stage[1].until.target: a tray weight without the number of trays"),
        "{p}"
    );
    let r = PlanRequest::parse("p", &text("trays = 18\n")).unwrap_or_else(|p| panic!("{p}"));
    let StagesRequest::Given(stages) = r.stages else { panic!() };
    assert_eq!(stages[0].ends, [EndCondition::LoadWeight { kilograms: 9.0 }]);
}

#[test]
fn loads_by_group_are_summed_and_compared() {
    let text = |load: &str| SHORTEST.replace("[room]", &format!("{load}\n[room]"));
    let r =
        PlanRequest::parse("p", &text("groups = { upper = 6, lower = 4 }")).unwrap_or_else(|p| panic!("{p}"));
    assert_eq!((r.load.trays, r.load.trays_by_group.len()), (Some(10), 2));
    let p = PlanRequest::parse("p", &text("trays = 9\ngroups = { upper = 6, lower = 4 }"))
        .expect_err("10 is not 9");
    assert!(p.to_string().contains("load.trays: 9, while the groups hold 10"), "{p}");
}

#[test]
fn interruptions_by_the_clock_count_from_the_start() {
    let r = with("", "[start]\nat = \"23:30\"\n[[interruption]]\nkind = \"power off\"\nat = \"01:00\"\nuntil = \"01:38\"\n")
        .unwrap_or_else(|p| panic!("{p}"));
    assert_eq!((r.interruptions[0].start_s, r.interruptions[0].duration_s), (5400.0, 2280.0));
    let twice = "[[interruption]]\nkind = \"power off\"\nafter = \"1 h\"\nduration = \"1 h\"\n".repeat(2);
    assert!(
        fault("", &twice).starts_with("interruption[2]: interruption 2 (power off): overlaps interruption 1")
    );
}

#[test]
fn windows_are_read_and_wrap() {
    let w = Window::parse("22:00-05:45").expect("a window");
    assert_eq!(w.length_s(), 7.75 * 3600.0);
    assert_eq!(Window::parse("00:00-24:00").map(Window::length_s), Some(86_400.0));
    assert_eq!(Window::parse("8:00 am to 5:00 pm").map(Window::length_s), Some(9.0 * 3600.0));
    for bad in ["", "8-17", "08:00", "08:00-25:00", "a-b", "-"] {
        assert_eq!(Window::parse(bad), None, "{bad}");
    }
}

#[test]
fn empty_binary_and_huge_files_are_refused() {
    let p = PlanRequest::parse("p", "").expect_err("empty");
    assert!(p.list().iter().all(|p| p.kind == ProblemKind::Missing) && p.list().len() == 5, "{p}");
    assert!(PlanRequest::parse("p", "a\0b").is_err());
    assert!(PlanRequest::parse("p", &"# ".repeat(1 << 20)).is_err());
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(96))]
    #[test]
    fn mutated_examples_never_panic(which in 0..3usize, edits in prop::collection::vec((0..5000usize, any::<char>()), 1..5)) {
        let mut chars: Vec<char> = EXAMPLES[which].1.chars().collect();
        for (at, c) in edits {
            let n = chars.len();
            chars[at % n] = c;
        }
        let _ = PlanRequest::parse("m", &chars.into_iter().collect::<String>());
    }

    /// Any text in place of any value: read or explained.
    #[test]
    fn any_value_is_read_or_explained(which in 0..3usize, at in 0..100usize, value in "[-+]?[0-9a-zA-Z:%. /\\[\\]{}\"'=,]{0,24}") {
        let lines: Vec<&str> = EXAMPLES[which].1.lines().collect();
        let values: Vec<usize> = (0..lines.len()).filter(|i| lines[*i].contains(" = ")).collect();
        let line = values[at % values.len()];
        let key = lines[line].split(" = ").next().unwrap_or("");
        let changed: Vec<String> = lines.iter().enumerate().map(|(i, l)| if i == line { format!("{key} = {value}") } else { (*l).to_owned() }).collect();
        if let Err(p) = PlanRequest::parse("m", &changed.join("\n")) {
            prop_assert!(!p.list().is_empty());
            prop_assert!(p.list().iter().all(|p| p.line >= 1 && p.line <= lines.len() + 1));
        }
    }
}
