//! Checks of the food equations and the product files.
#![allow(missing_docs, clippy::unwrap_used, clippy::expect_used, clippy::panic)]

#[path = "all/convection.rs"]
mod convection;
#[path = "all/diffusivity.rs"]
mod diffusivity;
#[path = "all/products.rs"]
mod products;
#[path = "all/properties.rs"]
mod properties;
#[path = "all/reference.rs"]
mod reference;
#[path = "all/solutes.rs"]
mod solutes;
#[path = "all/sorption.rs"]
mod sorption;
#[path = "all/thin_layer.rs"]
mod thin_layer;
