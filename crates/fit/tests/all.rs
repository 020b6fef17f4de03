//! Estimation against certified problems and measured curves.
#![allow(missing_docs, clippy::unwrap_used, clippy::expect_used, clippy::panic)]

#[path = "all/apple.rs"]
mod apple;
#[path = "all/apple_case.rs"]
mod apple_case;
#[path = "all/behaviour.rs"]
mod behaviour;
#[path = "all/chance.rs"]
mod chance;
#[path = "all/coffee.rs"]
mod coffee;
#[path = "all/coffee_case.rs"]
mod coffee_case;
#[path = "all/commission.rs"]
mod commission;
#[path = "all/commission_case.rs"]
mod commission_case;
#[path = "all/design.rs"]
mod design;
#[path = "all/isotherm.rs"]
mod isotherm;
#[path = "all/learn.rs"]
mod learn;
#[path = "all/nist.rs"]
mod nist;
#[path = "all/posterior.rs"]
mod posterior;
#[path = "all/statistics.rs"]
mod statistics;
#[path = "all/thin_layer.rs"]
mod thin_layer;
#[path = "all/trial.rs"]
mod trial;
#[path = "all/trial_case.rs"]
mod trial_case;
