//! Files of a virtual cabinet: read and judged like a logger's, and never as proof.

use fallrate_app::AppError;
use fallrate_app::practice::{
    FaultChoice, Hand, PracticeFile, RehearsalAsked, TestAsked, carries_mark, practised_files,
    refuse_simulated, test_files, usual_tests,
};
use fallrate_app::proof::{Answer, Batch, Gathered, Instant, ReadingsFile, Verdict, gather, judge_batch};

use super::support::{library, planned};

pub fn asked(seed: u64) -> RehearsalAsked {
    RehearsalAsked {
        seed,
        cabinet_seed: None,
        faults: Vec::new(),
        surprise: false,
        start: Instant::from_unix_seconds(1_773_384_000.0),
        zone: "America/Denver".to_owned(),
        trainee: "Ana Ruiz".to_owned(),
    }
}

fn file<'a>(files: &'a [PracticeFile], name: &str) -> &'a [u8] {
    &files.iter().find(|f| f.name == name).unwrap_or_else(|| panic!("{name}")).bytes
}

fn readings(files: &[PracticeFile], names: &[&str]) -> Vec<ReadingsFile> {
    let one = |name: &&str| {
        let mapping = format!("{}.mapping.toml", name.trim_end_matches(".csv"));
        let mapping = files.iter().find(|f| f.name == mapping);
        ReadingsFile {
            name: (*name).to_owned(),
            bytes: file(files, name).to_vec(),
            mapping: mapping.map(|m| (m.name.clone(), String::from_utf8(m.bytes.clone()).expect("text"))),
        }
    };
    names.iter().map(one).collect()
}

#[test]
fn identity_files_of_a_rehearsal_are_read_and_judged_as_practice() {
    let planned = planned("beef.toml", 0);
    let mut a = asked(7);
    a.faults = vec![FaultChoice::PowerCut];
    let hand = Hand { weigh_trays: vec![1, 9], core_trays: vec![9], ..Hand::default() };
    let files = practised_files(&planned, &a, &hand, &mut |_| true).expect("files");
    let again = practised_files(&planned, &a, &hand, &mut |_| true).expect("files");
    assert_eq!(files, again, "the same seed gives the same bytes");
    let texts = readings(&files, &["logger.csv", "by_hand.txt"]);
    assert!(texts.iter().all(|f| carries_mark(&f.bytes)));
    let Gathered::Ready(log) = gather(&texts, "America/Denver", "").expect("read") else {
        panic!("a question is open")
    };
    assert!(log.core_positions().len() >= 2 && log.channels.iter().any(|c| c.name.contains("tray")));
    let batch = Batch::parse("batch.toml", file(&files, "batch.toml")).expect("a batch file");
    assert!(batch.identity.invented);
    let judged = judge_batch(&batch, *log).expect("judged");
    assert!(matches!(judged.verdict, Verdict::Practice(_)));
    // Probes of known tolerance and calibration: what is asked for is not them.
    let missing = format!("{:?}", judged.missing());
    assert!(!missing.contains("Calibration"), "{missing}");
    assert_ne!(judged.lot(), Answer::Met, "no water activity, no pack: the lot waits");
}

#[test]
fn refuse_simulated_files_where_measured_ones_are_wanted() {
    let planned = planned("apple.toml", 0);
    let files = practised_files(&planned, &asked(3), &Hand::default(), &mut |_| true).expect("files");
    let texts = readings(&files, &["logger.csv"]);
    assert!(refuse_simulated(&texts, true).is_ok());
    let refused = refuse_simulated(&texts, false);
    assert!(matches!(refused, Err(AppError::SimulatedFile { .. })), "{refused:?}");
    // A workbook program that saves as UTF-16 does not take the mark off.
    let text = String::from_utf8(texts[0].bytes.clone()).expect("text");
    let wide: Vec<u8> = text.encode_utf16().flat_map(u16::to_le_bytes).collect();
    assert!(carries_mark(&wide));
    assert!(!carries_mark(b"Time,core 1 (degC)\n"));
}

#[test]
fn identity_files_of_cabinet_tests_are_read_without_questions() {
    let library = library();
    let cabinet = library.cabinets().iter().find(|c| c.key == "north").expect("a cabinet");
    let a = TestAsked {
        seed: 7,
        start: Instant::from_unix_seconds(1_773_384_000.0),
        zone: "UTC".to_owned(),
        room_c: 20.0,
        room_rh: 0.5,
        altitude_m: 640.0,
    };
    let tests = usual_tests(cabinet);
    assert_eq!(tests.len(), 2 + cabinet.vent.marks.len());
    let files = test_files(&library, cabinet, &a, &tests, &mut |_| true).expect("files");
    for (name, _) in &tests {
        let logger = format!("{name}.csv");
        let hand = format!("{name}_by_hand.txt");
        let texts = readings(&files, &[&logger, &hand]);
        assert!(texts.iter().all(|f| carries_mark(&f.bytes)));
        let gathered = gather(&texts, "UTC", "").expect("read");
        let Gathered::Ready(log) = gathered else { panic!("{name}: a question is open") };
        assert!(log.channels.len() >= 4, "{name}");
    }
    let hidden = String::from_utf8(file(&files, "hidden.toml").to_vec()).expect("text");
    assert!(hidden.contains("heater_w") && !hidden.contains("diffusivity"), "{hidden}");
    let mut told = 0;
    let cancelled = test_files(&library, cabinet, &a, &tests, &mut |_| {
        told += 1;
        told < 2
    });
    assert!(matches!(cancelled, Err(AppError::Cancelled)));
}
