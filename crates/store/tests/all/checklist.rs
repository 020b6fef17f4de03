//! The table of docs/records.md against the checklist of record rules.

/// Every rule of the checklist stands in the table, with where the record holds it or why it is outside.
#[test]
fn table_every_rule_of_the_checklist_has_its_row() {
    let page = include_str!("../../../../docs/records.md");
    let rows: Vec<Vec<&str>> =
        page.lines().filter(|l| l.starts_with("| ")).map(|l| l.split('|').map(str::trim).collect()).collect();
    let mut reader =
        csv::Reader::from_reader(&include_bytes!("../../../../reference/safety/records_checklist.csv")[..]);
    let mut rules = 0;
    for record in reader.records() {
        let record = record.unwrap();
        let (id, citation) = (&record[0], &record[3]);
        let row = rows.iter().find(|r| r.get(1) == Some(&id)).unwrap_or_else(|| panic!("{id} has no row"));
        assert_eq!(row[2], citation, "{id}");
        assert!(row[3].len() > 10, "{id}: says nothing");
        rules += 1;
    }
    assert_eq!(rules, 25 + 16 + 11);
}
