//! The proof side over a place that keeps records: statement, floor word, calibration.

use std::collections::BTreeMap;

use fallrate_app::proof::Batch;
use fallrate_app::proof::desk::{FIELDS, with_values};

const BATCH: &str = include_str!("../../../../examples/proof/batch.toml");

/// Every field of the form is a key that the batch file knows, and what is written is read again.
#[test]
fn identity_every_field_of_the_form_is_one_of_the_batch_file() {
    for field in FIELDS {
        let path = field.path();
        use fallrate_app::proof::desk::Asks;
        let text = match field.asks {
            Asks::Choice(list) => list[0].0.to_owned(),
            Asks::Flag => "yes".to_owned(),
            Asks::Options => "2, J-B".to_owned(),
            Asks::Quantity(example) => example.to_owned(),
            Asks::Clock => "08:05".to_owned(),
            Asks::Day => "2026-09-10".to_owned(),
            Asks::Words | Asks::List => "a word".to_owned(),
        };
        let toml = with_values(BATCH, &BTreeMap::from([(path.clone(), text)])).unwrap();
        Batch::parse("batch.toml", toml.as_bytes()).unwrap_or_else(|p| panic!("{path}: {p}"));
    }
}

/// Choices of the form are all the words the batch file takes.
#[test]
fn identity_every_choice_of_the_form_is_read() {
    use fallrate_app::proof::desk::Asks;
    for field in FIELDS {
        let Asks::Choice(list) = field.asks else { continue };
        for (word, _) in list {
            let toml = with_values(BATCH, &BTreeMap::from([(field.path(), (*word).to_owned())])).unwrap();
            Batch::parse("batch.toml", toml.as_bytes()).unwrap_or_else(|p| panic!("{word}: {p}"));
        }
    }
}

/// What the form does not know stays as it is; an emptied field goes.
#[test]
fn identity_the_form_leaves_the_rest_of_the_file_alone() {
    let authority = "\n[authority]\nauthor = \"Dr Example (invented)\"\n";
    let text = format!("{BATCH}{authority}");
    let values = BTreeMap::from([
        ("product.fat".to_owned(), String::new()),
        ("limit.0.name".to_owned(), "CCP 2".to_owned()),
        ("limit.0.at_least".to_owned(), "150 degF".to_owned()),
        ("limit.1.name".to_owned(), String::new()),
        ("limit.1.at_least".to_owned(), String::new()),
    ]);
    let toml = with_values(&text, &values).unwrap();
    assert!(toml.contains("Dr Example (invented)") && toml.contains("# fixed before the run"), "{toml}");
    assert!(!toml.contains("fat = ") && toml.contains("at_least = \"150 degF\""), "{toml}");
    let batch = Batch::parse("batch.toml", with_values(BATCH, &values).unwrap().as_bytes()).unwrap();
    assert_eq!(batch.limits.len(), 1, "a row that was emptied is left out");
    assert_eq!(batch.facts.fat_percent, None);
}
