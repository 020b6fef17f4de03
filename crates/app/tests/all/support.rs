//! The examples, planned.

use fallrate_app::ports::MemoryFiles;
use fallrate_app::{Change, Language, Library, PlanCase, Planned, Reader, Units};

pub fn files() -> MemoryFiles {
    let example = |name: &str, text: &str| (name.to_owned(), text.as_bytes().to_vec());
    MemoryFiles(vec![
        example("beef.toml", include_str!("../../../../examples/beef_strips.toml")),
        example("apple.toml", include_str!("../../../../examples/apple_rings_overnight.toml")),
        example("kale.toml", include_str!("../../../../examples/kale_crisps.toml")),
        example(
            "my_apple.toml",
            &include_str!("../../../../data/products/apple.toml").replace("\"apple\"", "\"my_apple\""),
        ),
    ])
}

pub fn library() -> Library {
    Library::embedded().expect("carried files in order")
}

pub fn reader() -> Reader {
    Reader::new(Language::English, Units::Si)
}

pub fn case(file: &str, changes: &[&str]) -> PlanCase {
    let changes: Vec<Change> = changes.iter().map(|c| Change::parse(c).expect("a change")).collect();
    PlanCase::read(&library(), &files(), file, &changes).expect("a plan file")
}

pub fn planned(file: &str, draws: usize) -> Planned {
    case(file, &[]).plan(draws, &|_| true).expect("a plan")
}
