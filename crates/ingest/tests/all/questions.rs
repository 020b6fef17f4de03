//! Questions are answered through the mapping, which round-trips.

use fallrate_ingest::{
    ClockForm, DateOrder, IngestError, Mapping, Options, Outcome, Setting, Topic, inspect, parse_number,
    read_bytes,
};
use fallrate_series::ClockEvidence;
use proptest::prelude::*;

const FILE: &[u8] = b"Date,Air,CH2\n04/03/2026 08:00,71,60\n04/03/2026 08:01,72,61\n";

/// Answers question after question with the first choice (or a zone) until the file is read.
#[test]
fn answers_lead_to_a_series_and_are_kept() {
    let options = Options::default();
    let mut mapping = Mapping::new();
    let mut topics = Vec::new();
    let log = loop {
        match read_bytes("f.csv", FILE, &mapping, &options).unwrap() {
            Outcome::Done(log) => break log,
            Outcome::Asked(asked) => {
                assert!(topics.len() < 20, "asked for ever: {topics:?}");
                for q in &asked.questions {
                    assert!(q.choices.len() >= 2 || q.topic == Topic::Zone, "{q}");
                    topics.push(q.topic.clone());
                    let setting = q
                        .choices
                        .first()
                        .map_or(Setting::Zone("Europe/Madrid".into()), |c| c.setting.clone());
                    mapping.apply(&setting);
                }
            }
        }
    };
    for topic in [Topic::Zone, Topic::DateOrder, Topic::Role, Topic::Unit] {
        assert!(topics.contains(&topic), "{topic:?} was not asked");
    }
    assert_eq!(log.channels.len(), 2);
    let again = Mapping::parse("m.toml", &mapping.to_toml().unwrap()).unwrap();
    assert_eq!(again, mapping);
    assert!(matches!(read_bytes("f.csv", FILE, &again, &options).unwrap(), Outcome::Done(l) if l == log));
}

#[test]
fn a_proposed_mapping_reads_the_same_series() {
    let file =
        b"Date;Air (\xb0C);Core 1 (\xb0C);RH\n13.03.2026 08:00;71,5;20,1;45\n13.03.2026 08:01;71,9;20,4;46\n";
    let options = Options { default_zone: Some("Europe/Madrid".into()), ..Options::default() };
    let asked = inspect("f.csv", file, &Mapping::new(), &options).unwrap();
    assert!(asked.questions.is_empty(), "{:?}", asked.questions);
    let proposed = asked.seen.proposed_mapping(&Mapping::new());
    assert_eq!(proposed.clock.form, Some(ClockForm::of_order(DateOrder::DayMonthYear)));
    assert!(proposed.fits(&asked.seen.layout.headings));
    let kept = Mapping::parse("m.toml", &proposed.to_toml().unwrap()).unwrap();
    let plain = read_bytes("f.csv", file, &Mapping::new(), &options).unwrap();
    let mapped = read_bytes("f.csv", file, &kept, &Options::default()).unwrap();
    let (Outcome::Done(plain), Outcome::Done(mapped)) = (plain, mapped) else { panic!("asked") };
    assert_eq!(plain.channels, mapped.channels);
}

#[test]
fn mapping_errors_say_where() {
    for (text, line) in [
        ("version = 1\n[clock]\nform = \"sideways\"\n", ":3"),
        ("version = 1\nnonsense = 4\n", ":2"),
        ("version = 2\n", "m.toml"),
        ("version = 1\n[[column]]\nheading = \"A\"\nrole = \"core\"\nunit = \"bar\"\n", "m.toml"),
        ("version = 1\n[[column]]\nheading = \"A\"\nrole = \"roast\"\n", "m.toml"),
        ("version = 1\n[layout]\ndelimiter = \"x\"\n", "m.toml"),
    ] {
        let error = Mapping::parse("m.toml", text).unwrap_err().to_string();
        assert!(error.contains("allowed:") && error.contains(line), "{error}");
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(200))]

    /// The fast number path is the standard library's reading of the same text.
    #[test]
    fn identity_numbers(whole in 0u64..100_000_000, part in "[0-9]{0,7}", minus: bool) {
        let text = format!("{}{whole}.{part}", if minus { "-" } else { "" });
        let want: f64 = text.parse().unwrap();
        prop_assert_eq!(parse_number(text.as_bytes(), fallrate_ingest::DecimalMark::Point), Some(want));
    }

    /// Mappings round-trip through their file.
    #[test]
    fn identity_mapping_file(
        heading in "\\PC{1,12}", role in prop::sample::select(vec!["core", "air", "rh", "tray", "ignore"]),
        number in 0u16..99, offset in -1e6f64..1e6, delimiter in prop::option::of(prop::sample::select(vec![',', ';', '\t', '|'])),
    ) {
        let mut mapping = Mapping::new();
        mapping.clock.offset_seconds = offset;
        mapping.layout.delimiter = delimiter;
        mapping.columns.push(fallrate_ingest::ColumnMapping {
            heading, role: Some(role.to_owned()), number: Some(number), ..Default::default()
        });
        let text = mapping.to_toml().unwrap();
        prop_assert_eq!(Mapping::parse("m.toml", &text).unwrap(), mapping);
    }
}

/// The examples of the README are read as they stand.
#[test]
fn the_readmes_examples_hold() {
    let readme = include_str!("../../README.md");
    let block = |mark: &str| readme.split(mark).nth(1).unwrap().split("```").next().unwrap().to_owned();
    let mapping = Mapping::parse("readme.toml", &block("```toml\n")).unwrap();
    assert_eq!(mapping.columns[0].position, "rear right");
    assert_eq!(Mapping::parse("again", &mapping.to_toml().unwrap()).unwrap(), mapping);
    let hand = block("```text\n");
    let Outcome::Done(log) =
        read_bytes("hand.txt", hand.as_bytes(), &Mapping::new(), &Options::default()).unwrap()
    else {
        panic!("asked")
    };
    assert_eq!((log.channels.len(), log.events.len()), (6, 3));
    assert_eq!(log.channels[0].instrument.as_ref().unwrap().range, Some((-40.0, 125.0)));
    assert!(log.diagnostics.is_empty(), "{:?}", log.diagnostics);
}

/// How far the clock that was read by may be off stands in the form, against the true time or another file.
#[test]
fn identity_a_hand_entry_says_how_right_its_clock_was() {
    let form =
        |clock: &str| format!("hand entry 1\ndate 2026-03-13\nzone UTC\nby A\n{clock}\n08:05 air 70 degC\n");
    let read =
        |clock: &str| read_bytes("hand.txt", form(clock).as_bytes(), &Mapping::new(), &Options::default());
    let clock_of = |text: &str| {
        let Ok(Outcome::Done(log)) = read(text) else { panic!("{text}") };
        log.sources[0].clock.clone()
    };
    let none = clock_of("");
    assert_eq!(none.uncertainty_s, None);
    let own = clock_of("clock within 2 min");
    assert_eq!((own.uncertainty_s, own.evidence), (Some(120.0), ClockEvidence::Declared { by: "A".into() }));
    let other = clock_of("clock within 30 s of core.csv");
    assert_eq!(other.uncertainty_s, Some(30.0));
    assert_eq!(other.evidence, ClockEvidence::Compared { with: "core.csv".into() });
    for bad in [
        "clock",
        "clock 30 s",
        "clock within",
        "clock within 30",
        "clock within -5 s",
        "clock within 3 d of ",
        "clock within 30 kg",
    ] {
        assert!(matches!(read(bad), Err(IngestError::Hand { .. })), "{bad}");
    }
}
