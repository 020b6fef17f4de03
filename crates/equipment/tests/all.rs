//! Integration tests of the cabinet files.
#![allow(clippy::expect_used, clippy::unwrap_used, clippy::panic)]

#[path = "all/consistency.rs"]
mod consistency;
#[path = "all/files.rs"]
mod files;

use fallrate_equipment::Cabinet;

/// The cabinet files of the data folder.
pub const FILES: [(&str, &str); 3] = [
    ("bench_unit", include_str!("../../../data/cabinets/bench_unit.toml")),
    ("north", include_str!("../../../data/cabinets/north.toml")),
    ("twin_cart", include_str!("../../../data/cabinets/twin_cart.toml")),
];

/// One of them, read.
pub fn north() -> Cabinet {
    Cabinet::parse("north.toml", FILES[1].1).expect("a good file")
}
