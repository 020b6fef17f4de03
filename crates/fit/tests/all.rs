//! Estimation against certified problems and measured curves.
#![allow(missing_docs, clippy::unwrap_used, clippy::expect_used, clippy::panic)]

#[path = "all/apple.rs"]
mod apple;
#[path = "all/apple_case.rs"]
mod apple_case;
#[path = "all/behaviour.rs"]
mod behaviour;
#[path = "all/coffee.rs"]
mod coffee;
#[path = "all/coffee_case.rs"]
mod coffee_case;
#[path = "all/nist.rs"]
mod nist;
