//! The library that the program carries, and the user's own files.

use fallrate_app::{AppError, FileKind, check};

use super::support::{case, files, library, reader};

#[test]
fn identity_every_carried_file_is_in_order_and_its_sources_are_listed() {
    let library = library();
    assert!(library.products().len() >= 24 && library.cabinets().len() >= 3);
    let r = reader();
    for product in library.products() {
        let page = fallrate_app::product_page(product, &library, &r);
        let shown = page.tables.iter().map(|t| t.rows.len()).sum::<usize>();
        assert!(shown > 15, "{}", product.key);
        for caution in &product.cautions {
            assert!(library.cautions().get(caution).is_some(), "{}: {caution}", product.key);
        }
    }
}

#[test]
fn identity_a_wrong_name_says_which_was_meant() {
    let (library, files) = (library(), files());
    let e = library.product(&files, "aple").unwrap_err();
    assert!(e.to_string().contains("did you mean 'apple'?"), "{e}");
    let e = library.cabinet(&files, "nort").unwrap_err();
    assert!(e.to_string().ends_with("did you mean 'north'?"), "{e}");
}

#[test]
fn identity_a_plan_takes_a_product_file_of_the_users_own() {
    let case = case("apple.toml", &["product=my_apple.toml"]);
    assert_eq!(case.product.key, "my_apple");
    let e = fallrate_app::PlanCase::read(
        &library(),
        &files(),
        "apple.toml",
        &[fallrate_app::Change::parse("product=nowhere.toml").unwrap()],
    )
    .unwrap_err();
    assert!(matches!(e, AppError::File(_)) && e.to_string().contains("apple.toml:4:11"), "{e}");
}

#[test]
fn identity_check_knows_what_a_file_is() {
    let (library, mut files, r) = (library(), files(), reader());
    files.0.push(("north.toml".into(), include_bytes!("../../../../data/cabinets/north.toml").to_vec()));
    let kind = |f: &str| check(&library, &files, f, &r).map(|c| c.kind);
    assert_eq!(kind("beef.toml").unwrap(), FileKind::Plan);
    assert_eq!(kind("my_apple.toml").unwrap(), FileKind::Product);
    assert_eq!(kind("north.toml").unwrap(), FileKind::Cabinet);
    // A product file must be named by its key.
    let apple = include_bytes!("../../../../data/products/apple.toml").to_vec();
    let mut wrong = super::support::files();
    wrong.0.push(("pear.toml".into(), apple));
    let e = check(&library, &wrong, "pear.toml", &r).unwrap_err();
    assert!(e.to_string().contains("pear.toml:"), "{e}");
}
