//! A batch under way: what was read moves the forecast towards a hidden truth, and says why, in both languages.

use std::sync::OnceLock;

use fallrate_app::batches::{
    DoneAct, HandReading, Instant, ReadingKind, RecordRealm, Role, Run, Stopped, StoppedKind, board,
};
use fallrate_app::underway::{
    Beside, Cause, Followed, Otherwise, Question, TimeRead, ask, asked_table, asked_words, doubt, doubted,
    end_words, follow, moved_words, outlook_pictures, read_time, timer_words,
};
use fallrate_app::{Language, Planned, Reader, Units};
use fallrate_rehearse::{Act, Scenario, VirtualCabinet};

use super::support::{library, planned};

const HOUR: f64 = 3600.0;

fn start() -> Instant {
    Instant::from_unix_seconds(1_709_275_200.0)
}

fn apple() -> &'static Planned {
    static APPLE: OnceLock<Planned> = OnceLock::new();
    APPLE.get_or_init(|| planned("apple.toml", 64))
}

/// A run of the apple plan, begun and so far without a reading.
fn run() -> Run {
    Run {
        realm: RecordRealm::Proof,
        id: "20240301-01".to_owned(),
        lot: "A-1".to_owned(),
        product: "Apples".to_owned(),
        cabinet: "North".to_owned(),
        zone: "UTC".to_owned(),
        plan_toml: String::new(),
        opened_at: start(),
        done: vec![DoneAct { number: 1, at: start(), by: "Ana".to_owned(), entry: 3 }],
        readings: Vec::new(),
        settings: Vec::new(),
        stopped: Vec::new(),
        verdict: None,
        deviations: Vec::new(),
        remarks: Vec::new(),
        ended: None,
        last_n: 3,
    }
}

fn reading(role: Role, at_s: f64, value: f64, entry: u64) -> HandReading {
    HandReading { role, at: start().plus_seconds(at_s), value, by: "Ana".to_owned(), entry }
}

fn followed(run: &Run, at_s: f64, earlier: Option<&Followed>) -> Followed {
    let r = Reader::new(Language::English, Units::Si);
    let q = Question::of(run, apple(), &library(), &r).expect("a run under way");
    follow(apple(), q, start().plus_seconds(at_s), earlier, &|_| true).expect("followed")
}

/// Product on a mean tray by the plan, kg.
fn net_at(at_s: f64) -> f64 {
    let p = apple();
    let batch = &p.plan.assembled.setup.batch;
    let solids = batch.load.fresh_kg_per_tray / (1.0 + batch.material.moisture_initial_dry_basis);
    let sample = p.plan.run.samples.iter().find(|s| s.elapsed_s >= at_s).expect("a sample");
    solids * (1.0 + sample.moisture_mean_dry_basis)
}

/// Confirms the acts of the stages that the plan begins before a time, at the plan's times.
fn confirm(run: &mut Run, until_s: f64) {
    let p = apple();
    let r = Reader::new(Language::English, Units::Si);
    let acts = board(run, p, None, &library(), &r, start()).acts;
    for end in p.plan.run.stage_ends.iter().take(p.plan.assembled.stages.len() - 1) {
        let at_s = end.sample.elapsed_s;
        let act = acts.iter().find(|a| (a.at.seconds_since(start()) - at_s).abs() < 60.0).expect("an act");
        if at_s < until_s {
            let (number, at) = (act.number, start().plus_seconds(at_s));
            run.done.push(DoneAct { number, at, by: "Ana".to_owned(), entry: 4 });
        }
    }
}

/// A virtual cabinet with hidden figures of its own, run by the plan's acts; weights of three trays as a hand reads them,
/// at the shares of the plan's end, and when the target is really met, s.
fn hidden_truth(seed: u64, shares: &[f64]) -> (Run, f64) {
    let p = apple();
    let mut scenario = Scenario::new(seed, start(), "UTC");
    scenario.hand_lag_s = (0.0, 0.0);
    let mut v = VirtualCabinet::new(&p.plan, &p.case.cabinet, scenario).unwrap();
    let first = &p.plan.assembled.stages[0];
    for act in [
        Act::Vent(first.vent.clone()),
        Act::Fan(first.fan.clone()),
        Act::SetPoint(first.set_point_c),
        Act::Power { on: true },
    ] {
        v.act(act).unwrap();
    }
    let mut run = run();
    let expected = p.plan.timer.quantiles_s.unwrap()[1];
    let mut stages: Vec<(usize, f64)> =
        p.plan.run.stage_ends.iter().enumerate().map(|(k, e)| (k + 1, e.sample.elapsed_s)).collect();
    stages.retain(|(k, _)| *k < p.plan.assembled.stages.len());
    let mut entry = 10;
    for share in shares {
        let to = (share * expected / 60.0).round() * 60.0;
        while let Some((k, at)) = stages.first().copied().filter(|s| s.1 < to) {
            v.advance(at.max(v.now_s()), &mut |_| true).unwrap();
            let stage = &p.plan.assembled.stages[k];
            for act in
                [Act::Vent(stage.vent.clone()), Act::Fan(stage.fan.clone()), Act::SetPoint(stage.set_point_c)]
            {
                v.act(act).unwrap();
            }
            let r = Reader::new(Language::English, Units::Si);
            let b = board(&run, p, None, &library(), &r, start());
            let act =
                b.acts.iter().find(|a| (a.at.seconds_since(start()) - at).abs() < 60.0).expect("an act");
            let done =
                DoneAct { number: act.number, at: start().plus_seconds(at), by: "Ana".to_owned(), entry };
            run.done.push(done);
            entry += 1;
            stages.remove(0);
        }
        v.advance(to.max(v.now_s()), &mut |_| true).unwrap();
        [4, 11, 17].iter().for_each(|t| {
            v.act(Act::Weigh { tray: *t }).unwrap();
        });
        v.advance(v.now_s() + 300.0, &mut |_| true).unwrap();
    }
    let log = v.log().unwrap();
    for channel in log.channels.iter().filter(|c| matches!(c.role, Role::TrayWeight { .. })) {
        for r in channel.readings() {
            run.readings.push(reading(channel.role.clone(), r.at.seconds_since(start()), r.value, entry));
            entry += 1;
        }
    }
    run.readings.sort_by_key(|r| r.at.unix_nanoseconds());
    let target = &p.plan.assembled.setup.target;
    let met = |v: &VirtualCabinet| {
        let last = v.true_states().last().unwrap();
        let x = match target.piece {
            fallrate_schedule::Piece::Mean => last.mean_dry_basis,
            _ => last.wettest_dry_basis,
        };
        x <= target.moisture_dry_basis
    };
    while !met(&v) {
        let to = v.now_s() + 300.0;
        v.advance(to, &mut |_| true).unwrap();
    }
    (run, v.now_s())
}

#[test]
fn val_readings_of_a_hidden_truth_move_the_end_towards_it() {
    let expected = apple().plan.timer.quantiles_s.unwrap()[1];
    let (mut before, mut after) = (0.0, 0.0);
    for seed in [3, 8, 12, 21] {
        let (run, end_s) = hidden_truth(seed, &[0.3, 0.55]);
        assert_eq!(run.readings.len(), 6);
        let now_s = run.readings.last().unwrap().at.seconds_since(start()) + 60.0;
        let f = followed(&run, now_s, None);
        before += (expected - end_s).abs();
        after += (f.end().power_off_s.middle - end_s).abs();
    }
    assert!(after < 0.6 * before, "{after} s after, {before} s before");
}

#[test]
fn identity_the_reason_names_what_was_read_in_both_languages() {
    let p = apple();
    let mut run = run();
    let r = Reader::new(Language::English, Units::Si);
    let es = Reader::new(Language::Spanish, Units::Us);
    let begun = followed(&run, 1.0 * HOUR, None);
    let waited = followed(&run, 4.0 * HOUR, None);
    assert_eq!(waited.moved.clone().unwrap().causes, [Cause::Overdue]);
    assert!(waited.end().power_off_s.middle > begun.end().power_off_s.middle + 600.0);
    confirm(&mut run, 4.0 * HOUR);
    let first = followed(&run, 4.0 * HOUR, Some(&waited));
    assert_eq!(first.moved.clone().unwrap().causes, [Cause::Done]);
    // Trays 4 and 11 hold 12 % more than the forecast has them, after four hours.
    let at_s = 4.0 * HOUR;
    let heavy = 1.12 * net_at(at_s) + p.plan.assembled.tare_kg;
    run.readings.push(reading(Role::TrayWeight { tray: 4 }, at_s, heavy, 11));
    run.readings.push(reading(Role::TrayWeight { tray: 11 }, at_s, heavy, 12));
    let f = followed(&run, at_s + 60.0, Some(&first));
    assert!(f.end().power_off_s.middle > first.end().power_off_s.middle + 600.0);
    let said = moved_words(&f, &run, &r).unwrap();
    assert!(
        said.starts_with("End moved from ") && said.ends_with("trays 4 and 11 are heavier than forecast."),
        "{said}"
    );
    let said = moved_words(&f, &run, &es).unwrap();
    assert!(said.contains("las bandejas 4 y 11 pesan más que el pronóstico"), "{said}");
    assert!(end_words(&f, &run, &es).contains("entre"), "{}", end_words(&f, &run, &es));
    assert!(timer_words(&f, &run, &r).last().unwrap().contains("If you dial the timer anew now"));
    // Asked again with nothing new, the reason stands.
    let again = followed(&run, at_s + 400.0, Some(&f));
    assert_eq!(again.moved, f.moved);
    // A reading taken back is named as that.
    run.readings.pop();
    let less = followed(&run, at_s + 400.0, Some(&f));
    assert_eq!(less.moved.unwrap().causes, [Cause::TakenBack]);
}

#[test]
fn identity_a_power_cut_moves_the_end_and_the_picture_shows_both() {
    let p = apple();
    let mut run = run();
    let r = Reader::new(Language::English, Units::Si);
    let before = followed(&run, 3.0 * HOUR, None);
    run.stopped.push(Stopped {
        kind: StoppedKind::Power,
        from: start().plus_seconds(2.0 * HOUR),
        until: Some(start().plus_seconds(2.0 * HOUR + 47.0 * 60.0)),
        trays: Vec::new(),
        note: String::new(),
        by: "Ana".to_owned(),
        entry: 5,
    });
    run.readings.push(reading(Role::TrayWeight { tray: 8 }, 3.0 * HOUR, 2.9, 6));
    let f = followed(&run, 3.0 * HOUR + 60.0, Some(&before));
    assert!(f.end().power_off_s.middle > before.end().power_off_s.middle + 600.0);
    let causes = f.moved.clone().unwrap().causes;
    assert_eq!(causes[0], Cause::Stopped { kind: StoppedKind::Power, seconds: 2820.0 });
    assert!(moved_words(&f, &run, &r).unwrap().contains("the power was off for 47 min"));
    let pictures = outlook_pictures(&f, &run, p, &library(), &r);
    let svg = pictures[0].svg(&fallrate_app::parts::Layout::wide(), "x");
    for part in [
        "<title",
        "<desc",
        "mean, forecast",
        "mean, before the run",
        "Tray 8, measured",
        "8 of 10 batches",
        "now",
    ] {
        assert!(svg.contains(part), "{part}: {svg}");
    }
}

#[test]
fn identity_what_if_is_said_beside_the_forecast() {
    let run = run();
    let p = apple();
    let (en, es) = (Reader::new(Language::English, Units::Us), Reader::new(Language::Spanish, Units::Si));
    let f = followed(&run, 4.0 * HOUR, None);
    let asked = |o: Otherwise| ask(p, &f, o, &|_| true).expect("an answer");
    let stop = asked(Otherwise::StopNow);
    assert!(asked_words(&stop, &f, &run, &en).starts_with("Stopping now would leave"));
    let hot = asked(Otherwise::SetPoint(70.0));
    assert!(asked_words(&hot, &f, &run, &en).contains("earlier"), "{}", asked_words(&hot, &f, &run, &en));
    assert!(asked_words(&hot, &f, &run, &es).contains("antes"));
    let cut = asked(Otherwise::PowerOff {
        from: start().plus_seconds(4.5 * HOUR),
        until: start().plus_seconds(6.0 * HOUR),
    });
    assert!(asked_words(&cut, &f, &run, &en).contains("later"));
    let table = asked_table(&cut, &f, &run, &en);
    assert!(table.rows.len() >= 7 && table.rows.iter().all(|r| r.len() == 3));
    let [was, is] = cut.figures(&f);
    assert!(is.power_off[1].unwrap().seconds_since(was.power_off[1].unwrap()) > 600.0);
    assert!(ask(p, &f, Otherwise::Vent("ajar".to_owned()), &|_| true).is_err());
    assert!(matches!(ask(p, &f, Otherwise::StopNow, &|_| false), Err(fallrate_app::AppError::Cancelled)));
}

#[test]
fn identity_doubtful_entries_are_read_back_with_what_may_be_meant() {
    let p = apple();
    let mut run = run();
    confirm(&mut run, 2.0 * HOUR);
    let at = start().plus_seconds(2.0 * HOUR);
    let hour_ago = net_at(HOUR) + p.plan.assembled.tare_kg;
    run.readings.push(reading(Role::TrayWeight { tray: 8 }, HOUR, hour_ago, 7));
    let f = followed(&run, 2.0 * HOUR, None);
    let beside = Beside { run: &run, planned: p, followed: Some(&f), at };
    let (en, us) = (Reader::new(Language::English, Units::Si), Reader::new(Language::English, Units::Us));
    let back = |kind: &ReadingKind, value: &str| doubt(kind, value, &beside, &en);
    let tray = ReadingKind::Tray(8);
    let rises = back(&tray, &format!("{:.3} kg", hour_ago + 0.1)).expect("weight that rises");
    assert!(rises.text.contains("does not gain weight") && rises.ways.len() == 1, "{rises:?}");
    let alone = format!("{:.3} kg", net_at(2.0 * HOUR));
    let tare = back(&tray, &alone).expect("tare forgotten");
    assert!(tare.text.contains("With the tray or without"), "{tare:?}");
    assert_eq!(tare.ways[1].value, format!("{:.3} kg", net_at(2.0 * HOUR) + p.plan.assembled.tare_kg));
    let gross = net_at(2.0 * HOUR) + p.plan.assembled.tare_kg;
    let slip = back(&tray, &format!("{:.2} kg", 10.0 * gross)).expect("a slipped point");
    let kilograms = |w: &str| w.trim_end_matches(" kg").parse::<f64>().expect("a weight");
    assert!((kilograms(&slip.ways[1].value) - gross).abs() < 0.006, "{slip:?}");
    assert_eq!(back(&tray, &format!("{gross:.3} kg")), None);
    let core = ReadingKind::Core(String::new());
    let unit = back(&core, "105 degC").expect("as expected in the other unit");
    assert!(unit.text.contains("In which unit") && unit.ways[1].value == "105 degF", "{unit:?}");
    assert!(back(&core, "78 degC").expect("hotter than the air").text.contains("hotter than the air"));
    assert!(doubt(&core, "172 degF", &beside, &us).expect("the same").text.contains("°F"));
    assert!(back(&ReadingKind::WetBulb, "90 degC").is_some());
    let rh = back(&ReadingKind::Humidity, "0.42 %").expect("a share for a per cent");
    assert_eq!(rh.ways[1].value, "42 %");
    assert_eq!(back(&ReadingKind::Humidity, "42 %"), None);
    assert!(doubted(&f, &run, &en).is_empty());
}

#[test]
fn identity_a_time_that_may_be_a_length_of_time_is_read_back() {
    let r = Reader::new(Language::English, Units::Si);
    let now = Instant::from_unix_seconds(1_709_300_400.0); // 2024-03-01 13:40 UTC
    let read = |text: &str| read_time(text, "UTC", now, Some(start()), &r);
    let at = |text: &str| match read(text) {
        TimeRead::At(i) => i.iso_utc(),
        other => format!("{other:?}"),
    };
    assert_eq!(read(""), TimeRead::Now);
    assert_eq!(at("13:30"), "2024-03-01T13:30:00Z");
    assert_eq!(at("08:05"), "2024-03-01T08:05:00Z");
    assert_eq!(read("soon"), TimeRead::Unread);
    assert_eq!(read("14:10"), TimeRead::Unread);
    let TimeRead::Doubtful(back) = read("1:30") else { panic!("{:?}", read("1:30")) };
    let said: Vec<&str> = back.ways.iter().map(|w| w.label.as_str()).collect();
    assert_eq!(said, ["At 01:30", "At 13:30", "1 h 30 min ago, at 12:10"]);
    for (way, is) in back.ways.iter().zip(["T01:30", "T13:30", "T12:10"]) {
        assert!(at(&way.value).contains(is), "{way:?} {}", at(&way.value));
    }
}
