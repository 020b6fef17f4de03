//! Batch files, judged batches and their documents, from the invented example and from changed copies of it.

use fallrate_app::proof::record::{Stamp, open_record, verify_record};
use fallrate_app::proof::{
    Batch, BatchDocument, Gathered, Instant, Judged, ReadingsFile, Verdict, gather, judge_batch,
};
use fallrate_app::{Language, Reader, Units, document_page, document_text};
use proptest::prelude::*;

const BATCH: &str = include_str!("../../../../examples/proof/batch.toml");
const BY_HAND: &str = include_str!("../../../../examples/proof/by_hand.txt");

const GROWTH: &str = "[[plan.growth_limit]]\nname = \"slow warm-up\"\norganism = \"Staphylococcus aureus (growth and toxin)\"\n\
    [[plan.growth_limit]]\nname = \"degree-hours\"\ndegree_hours = true\nclass = \"quality\"\n";

fn files(by_hand: &str) -> Vec<ReadingsFile> {
    let mapped = |name: &str, bytes: &[u8], mapping: &str| ReadingsFile {
        name: name.into(),
        bytes: bytes.to_vec(),
        mapping: Some((format!("{name}.toml"), mapping.into())),
    };
    vec![
        mapped(
            "core_probes.csv",
            include_bytes!("../../../../examples/proof/core_probes.csv"),
            include_str!("../../../../examples/proof/core_probes.mapping.toml"),
        ),
        mapped(
            "cabinet.xlsx",
            include_bytes!("../../../../examples/proof/cabinet.xlsx"),
            include_str!("../../../../examples/proof/cabinet.mapping.toml"),
        ),
        ReadingsFile { name: "by_hand.txt".into(), bytes: by_hand.as_bytes().to_vec(), mapping: None },
    ]
}

fn batch(text: &str) -> Batch {
    Batch::parse("batch.toml", text.as_bytes()).unwrap_or_else(|p| panic!("{p}"))
}

fn judged(text: &str, by_hand: &str) -> (Batch, Judged) {
    let batch = batch(text);
    let Gathered::Ready(log) = gather(&files(by_hand), batch.clock.name(), "").unwrap() else {
        panic!("nothing is open in the example")
    };
    let judged = judge_batch(&batch, *log).unwrap();
    (batch, judged)
}

/// The example, and copies of it that bring every part of a document onto the page.
fn variants() -> Vec<(&'static str, String, String)> {
    let plain = |t: &str| t.to_owned();
    let instead = |from: &str, to: &str| {
        assert!(BATCH.contains(from), "{from}");
        BATCH.replacen(from, to, 1)
    };
    let authority = "[authority]\nauthor = \"Dr Example (invented)\"\ndocument = \"letter of 2026-05-01 (invented)\"\n\
        product_range = \"wet strips up to 8 mm\"\nlog_reduction = 5\nd_value = \"2 min\"\nreference = \"60 degC\"\n\
        z_difference = \"6 K\"\nlowest_counted = \"55 degC\"\nhighest_credited = \"70 degC\"\napproved_by = \"Owner\"\n\
        approved_at = \"2026-05-02 09:00\"\n";
    let schedule = "[schedule]\ntrial = \"TRIAL\"\nproduct_and_equipment = \"6 mm beef, same salt, own cabinet\"\n\
        adopted_by = \"Owner\"\nadopted_at = \"2026-05-02 09:00\"\n[[schedule.mismatch]]\nwhat = \"thickness\"\n\
        why = \"thinner here\"\n[[schedule.stage]]\nname = \"cook\"\nfrom = \"08:05\"\nto = \"10:31\"\nfor = \"60 min\"\n\
        wet_bulb_at_least = \"125 degF\"\n";
    let trial = fallrate_lethality::studies().unwrap()[0].trial_id.clone();
    let cut =
        "[[interruption]]\nkind = \"power cut\"\nfrom = \"08:20\"\nto = \"08:31\"\nnote = \"whole street\"\n";
    let practice = "[[practice]]\nkind = \"humidity floor\"\nat_least = \"27 %\"\nfor = \"60 min\"\n\
        [[practice]]\nkind = \"air temperature\"\nat_least = \"160 degF\"\nfor = \"60 min\"\n";
    vec![
        ("met", plain(BATCH), plain(BY_HAND)),
        ("not met", instead("options = [\"2\"]", "options = [\"3\"]"), plain(BY_HAND)),
        ("nothing claimed", instead("document = ", "# document = "), plain(BY_HAND)),
        ("no start", plain(BATCH), BY_HAND.replace("event product-met-heat", "note forgotten")),
        ("no clock", plain(BATCH), BY_HAND.replace("clock within 60 s\n", "")),
        ("no fat, no species", instead("species = \"beef\"\nfat = \"5 %\"", ""), plain(BY_HAND)),
        (
            "turkey",
            instead("species = \"beef\"", "species = \"turkey\"").replace("6.5 log", "7 log"),
            plain(BY_HAND),
        ),
        (
            "5 log waits",
            instead("lethality = \"6.5 log\"", "lethality = \"5 log\"").replace("tolerance = 0.01", ""),
            plain(BY_HAND),
        ),
        ("authority", format!("{BATCH}\n{authority}"), plain(BY_HAND)),
        ("schedule", format!("{BATCH}\n{}", schedule.replace("TRIAL", &trial)), plain(BY_HAND)),
        ("power cut and practices", format!("{BATCH}\n{cut}{practice}"), plain(BY_HAND)),
        (
            "growth limits and label",
            BATCH.replace("[claim] ", &format!("{GROWTH}[claim] ")).replace(
                "[lot]\n",
                "[lot]\ncalled_jerky = true\nmoisture_to_protein = 0.7\nsingle_serving = true\n",
            ),
            plain(BY_HAND),
        ),
        (
            "end of drying, standard and trials",
            format!("{BATCH}\n[end_point]\nloaded_moisture = \"72 % wb\"\nloaded_moisture_within = \"2 % wb\"\nat_most = \"25 % wb\"\n\
                weight_within = \"20 g\"\nstandard = \"dried mango\"\n[[moisture]]\nvalue = \"23 % wb\"\nwithin = \"0.5 % wb\"\n\
                sample = \"tray 8\"\n")
                .replace("[product]\n", "[product]\nform = \"whole muscle\"\nmarinated = true\nthickness = \"6 mm\"\n"),
            plain(BY_HAND),
        ),
        (
            "two readings of one document",
            instead("\"cooking guideline 2021\"", "\"jerky guideline 2014\"")
                .replace("options = [\"2\"]", "options = [\"J-D\"]"),
            plain(BY_HAND),
        ),
        ("missed limit", instead("at_least = \"145 degF\"", "at_least = \"190 degF\""), plain(BY_HAND)),
    ]
}

/// The example claimed by the document whose text and flow chart differ.
fn jerky_d() -> String {
    BATCH
        .replace("cooking guideline 2021", "jerky guideline 2014")
        .replace("options = [\"2\"]", "options = [\"J-D\"]")
}

/// OPTION-J-D: where text and flow chart differ, both stand on page one, each with its own figures.
#[test]
fn identity_both_readings_of_a_document_are_shown() {
    let (batch, judged) = judged(&jerky_d(), BY_HAND);
    let told =
        judged.verdict.judgement().positions.iter().flat_map(|p| &p.options).any(|o| o.readings.len() == 2);
    assert!(told, "the judge gives both");
    for (language, words) in [
        (Language::English, ["document’s text reads", "its flow chart reads"]),
        (Language::Spanish, ["texto del documento", "diagrama de flujo"]),
    ] {
        let reader = Reader::new(language, Units::Us);
        let page = BatchDocument { file: &batch, judged: &judged, record: None }.first_page(&reader);
        let shown = document_text(&page, 100, false);
        assert!(words.iter().all(|w| shown.contains(w)), "{shown}");
    }
}

#[test]
fn identity_no_document_lacks_a_message_or_shows_a_raw_number() {
    for (name, text, by_hand) in variants() {
        let (batch, judged) = judged(&text, &by_hand);
        for (language, units) in [(Language::English, Units::Us), (Language::Spanish, Units::Si)] {
            let reader = Reader::new(language, units);
            let document = BatchDocument { file: &batch, judged: &judged, record: None }.document(&reader);
            let shown = document_text(&document, 100, false);
            let lacking = shown.lines().find(|l| {
                l.split('[')
                    .skip(1)
                    .any(|rest| rest.split(']').next().is_some_and(|k| k.contains('-') && !k.contains(' ')))
            });
            assert_eq!(lacking, None, "{name}");
            assert!(
                !shown.contains("{ $") && !shown.contains("NaN") && !shown.contains(" inf "),
                "{name}: {shown}"
            );
            assert!(document_page(&document).contains("</html>"), "{name}");
        }
    }
}

/// The page prints the lot's answer as the judge composes it, part by part.
#[test]
fn identity_growth_limits_of_the_plan_and_claims_of_the_lot_are_parts_of_its_answer() {
    use fallrate_lethality::{LimitClass, LotItem, LotStanding};
    let variant = variants().into_iter().find(|v| v.0 == "growth limits and label").unwrap();
    let (batch, found) = judged(&variant.1, &variant.2);
    let lot = found.lot_answer(&[]);
    let part = |name: &str| {
        lot.parts.iter().find(|p| p.item == LotItem::PlanLimit { name: name.into() }).unwrap().clone()
    };
    assert_eq!(
        (part("slow warm-up").class, part("degree-hours").class),
        (LimitClass::Critical, LimitClass::Quality)
    );
    assert!(lot.parts.iter().any(|p| p.item == LotItem::NameJerky && p.class == LimitClass::Label));
    assert!(lot.parts.iter().any(|p| p.item == LotItem::ShelfStable), "a stated pack claims it");
    let reader = Reader::new(Language::English, Units::Us);
    let text = |b: &Batch, j: &Judged| {
        document_text(&BatchDocument { file: b, judged: j, record: None }.document(&reader), 100, false)
    };
    let shown = text(&batch, &found);
    assert!(shown.contains("Plan: slow warm-up") && shown.contains("Staphylococcus aureus"), "{shown}");
    let (batch, plain) = judged(BATCH, BY_HAND);
    assert_eq!(plain.lot_answer(&[]).standing, LotStanding::Clear);
    assert!(text(&batch, &plain).contains("Every critical part of the lot is met"));
    // The plan's minutes after the kill, too few: the lot is not met, the criterion still is.
    let (_, missed) =
        judged(&BATCH.replace("after_kill_at_most = \"4 h\"", "after_kill_at_most = \"0 h\""), BY_HAND);
    assert_ne!(missed.lot(), fallrate_lethality::Answer::Met);
    assert_eq!(missed.criterion(), fallrate_lethality::Answer::Met);
    let wrong =
        BATCH.replace("[claim] ", "[[plan.growth_limit]]\nname = \"x\"\norganism = \"Nobody\"\n[claim] ");
    let problems = Batch::parse("batch.toml", wrong.as_bytes()).unwrap_err().to_string();
    assert!(
        problems.contains("plan.growth_limit[0].organism") || problems.contains("'Nobody'"),
        "{problems}"
    );
}

#[test]
fn identity_end_of_drying_and_published_trials_stand_beside_the_verdict_and_never_in_it() {
    use fallrate_lethality::{Answer, LimitClass};
    let variant = variants().into_iter().find(|v| v.0.starts_with("end of drying")).unwrap();
    let (batch, found) = judged(&variant.1, &variant.2);
    let standard = found.standard.as_ref().unwrap();
    assert_eq!(
        (standard.answer, standard.highest_percent),
        (Answer::Met, Some(23.0)),
        "23 and 0.5 within 24"
    );
    let parts = found.lot_answer(&[]).parts;
    let label = parts.iter().filter(|p| p.class == LimitClass::Label).count();
    assert!(label >= 1 && parts.iter().all(|p| p.class != LimitClass::Critical || p.answer == Answer::Met));
    let reader = Reader::new(Language::English, Units::Us);
    let shown = document_text(
        &BatchDocument { file: &batch, judged: &found, record: None }.document(&reader),
        100,
        false,
    );
    for text in ["End of drying", "dried mango", "Conditions shown to work", "never gives"] {
        assert!(shown.contains(text), "{text}: {shown}");
    }
    let (_, plain) = judged(BATCH, BY_HAND);
    assert_eq!((found.criterion(), found.lot()), (plain.criterion(), plain.lot()));
    let wrong = BATCH.replace("[lot]\n", "[end_point]\nloaded_moisture = \"72 % wb\"\n[lot]\n");
    let problems = Batch::parse("batch.toml", wrong.as_bytes()).unwrap_err().to_string();
    assert!(problems.contains("end_point.at_most"), "{problems}");
}

#[test]
fn identity_every_page_of_guidance_names_its_sources_in_both_languages() {
    use fallrate_app::proof::{Guidance, LogTarget, StudyQuery, guidance_document, species_from_word};
    let species = species_from_word("turkey").unwrap();
    let rows = Guidance::Rows { species, fat_percent: None, target: LogTarget::SixPointFive };
    let topics = [
        Guidance::Options,
        rows,
        Guidance::Studies(StudyQuery::default()),
        Guidance::Routes,
        Guidance::Moisture,
        Guidance::Produce,
        Guidance::Exposure,
    ];
    for topic in topics {
        for (language, units) in [(Language::English, Units::Us), (Language::Spanish, Units::Si)] {
            let shown =
                document_text(&guidance_document(&topic, &Reader::new(language, units)).unwrap(), 110, false);
            assert!(
                !shown.contains("{ $") && !shown.contains('[') && !shown.contains("NaN"),
                "{topic:?}: {shown}"
            );
            assert!(shown.lines().count() > 10, "{topic:?}");
        }
    }
}

#[test]
fn identity_where_one_document_says_two_things_both_are_shown() {
    let variant = variants().into_iter().find(|v| v.0 == "two readings of one document").unwrap();
    let (batch, found) = judged(&variant.1, &variant.2);
    let reader = Reader::new(Language::English, Units::Us);
    let shown = document_text(
        &BatchDocument { file: &batch, judged: &found, record: None }.document(&reader),
        100,
        false,
    );
    assert!(shown.contains("By its text:") && shown.contains("By its flow chart:"), "{shown}");
}

#[test]
fn identity_an_invented_batch_is_practice_and_says_so_first() {
    let (batch, judged) = judged(BATCH, BY_HAND);
    assert!(matches!(judged.verdict, Verdict::Practice(_)), "no verdict on invented readings");
    let document = BatchDocument { file: &batch, judged: &judged, record: None }
        .document(&Reader::new(Language::English, Units::Us));
    assert_eq!(document.flag.as_ref().map(|f| f.word.as_str()), Some("INVENTED"));
    assert!(document.headline().is_some_and(|h| h.starts_with("Practice.")), "{:?}", document.headline());
    let real = judged_real();
    assert!(matches!(real.verdict, Verdict::Measured(_)));
}

/// The same readings, stated to be measured: only for looking at the type of what comes out.
fn judged_real() -> Judged {
    judged(&BATCH.replace("invented = true ", "invented = false"), BY_HAND).1
}

#[test]
fn refuse_two_times_for_one_thing() {
    let text = BATCH.replace("[process] ", "[process]\nmet_heat = \"08:30\"\nclock_within = \"30 s\" ");
    let batch = batch(&text);
    let Gathered::Ready(log) = gather(&files(BY_HAND), batch.clock.name(), "").unwrap() else { panic!() };
    let error = judge_batch(&batch, *log).unwrap_err().to_string();
    assert!(
        error.contains("process.met_heat") && error.contains("08:05") && error.contains("08:30"),
        "{error}"
    );
}

#[test]
fn refuse_names_every_problem_of_a_batch_file_with_its_place() {
    let text = BATCH
        .replace("species = \"beef\"", "species = \"beaf\"")
        .replace("options = [\"2\"]", "options = [\"2\", \"Z\"]")
        .replace("interval = \"60 s\"", "interval = \"60\"")
        .replace("pack = \"air\"", "pak = \"air\"");
    let problems = Batch::parse("batch.toml", text.as_bytes()).unwrap_err();
    insta::assert_snapshot!("batch_file_problems", problems.to_string());
}

/// 1 November 2026, 01:30, came twice in Denver (zone database): a batch file that names it must say which.
#[test]
fn refuse_a_time_that_came_twice() {
    let text = BATCH.replace("at = \"2026-09-10 06:55\"", "at = \"2026-11-01 01:30\"");
    let problems = Batch::parse("batch.toml", text.as_bytes()).unwrap_err().to_string();
    assert!(problems.contains("01:30-06:00") && problems.contains("01:30-07:00"), "{problems}");
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(200))]
    /// Cutting or changing a batch file anywhere gives a batch or named problems, never a panic.
    #[test]
    fn arbitrary_changes_of_a_batch_file_are_read_or_named(at in 0..BATCH.len(), cut in 0..40usize, put in "[ -~\n]{0,12}") {
        let at = (0..=at).rev().find(|i| BATCH.is_char_boundary(*i)).unwrap_or(0);
        let end = (at + cut..=BATCH.len()).find(|i| BATCH.is_char_boundary(*i)).unwrap_or(BATCH.len());
        let text = format!("{}{put}{}", &BATCH[..at], &BATCH[end..]);
        if let Err(problems) = Batch::parse("batch.toml", text.as_bytes()) {
            prop_assert!(!problems.to_string().is_empty());
        }
    }
}

fn stamp(seconds: f64, by: &str) -> Stamp {
    Stamp {
        at: Instant::from_unix_seconds(1_789_000_000.0 + seconds),
        zone: "America/Denver".into(),
        by: by.into(),
        reason: String::new(),
    }
}

/// proves: RECORD-H10, RECORD-H11
#[test]
fn identity_a_record_is_judged_from_its_kept_bytes_as_the_files_were() {
    use fallrate_app::proof::record::{FileUse, judge_record};
    let (batch, straight) = judged(BATCH, BY_HAND);
    let mut record = open_record(&batch, "batch.toml", BATCH.as_bytes(), &stamp(0.0, "Owner")).unwrap();
    for f in files(BY_HAND) {
        let used = if f.mapping.is_some() { FileUse::Readings } else { FileUse::HandEntry };
        let mapping = f.mapping.map(|(_, t)| t);
        record.keep(&stamp(10.0, "Evening operator"), &f.name, &f.bytes, used, mapping).unwrap();
    }
    let kept = judge_record(&record).unwrap();
    assert_eq!(kept.judged.verdict.judgement().answer, straight.verdict.judgement().answer);
    assert_eq!(kept.judged.verdict.judgement().positions, straight.verdict.judgement().positions);
    let again = judge_record(&record).unwrap();
    assert_eq!(kept.entry, again.entry, "the same record gives the same entry");
    record.add(&stamp(20.0, "Owner"), vec![kept.entry]).unwrap();
    let verified = verify_record(record.chain.to_jsonl().as_bytes(), &record.files, None).unwrap();
    assert!(verified.is_intact(), "{:?}", verified.chain.problems);
}
