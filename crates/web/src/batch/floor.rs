//! The word for the floor: one of four, each with a picture of its own.

use fallrate_app::underway::{Floor, FloorWord};
use maud::{Markup, html};

use crate::look::Visit;

/// The word, large, with its picture and its reason.
pub(crate) fn floor_line(v: &Visit, floor: &Floor) -> Markup {
    html! {
        div.floor data-word=(floor.word.name()) {
            (sign(floor.word))
            div {
                p.word { (floor.word.words(&v.reader)) }
                p.why { (floor.why) }
            }
        }
    }
}

/// A small one beside other words, read out with its word.
pub(crate) fn floor_mark(v: &Visit, word: FloorWord) -> Markup {
    html! { span.floor-mark data-word=(word.name()) { (sign(word)) " " (word.words(&v.reader)) } }
}

/// The picture: an arrow, an hourglass, a carton struck through, a telephone. The word beside it says the same.
fn sign(word: FloorWord) -> Markup {
    html! {
        svg.sign viewBox="0 0 48 48" aria-hidden="true" focusable="false" {
            @match word {
                FloorWord::GoOn => {
                    circle cx="24" cy="24" r="20" {}
                    path d="M13 24H33M25 15L34 24L25 33" {}
                }
                FloorWord::Wait => {
                    path d="M12 5H36M12 43H36M15 5V12C15 19 24 20 24 24C24 28 15 29 15 36V43M33 5V12C33 19 24 20 24 24C24 28 33 29 33 36V43" {}
                    path.filled d="M18 41C18 36 23 35 24 31C25 35 30 36 30 41Z" {}
                }
                FloorWord::Hold => {
                    path d="M7 16L24 8L41 16V36L24 44L7 36ZM7 16L24 24L41 16M24 24V44" {}
                    path.under d="M5 45L43 4" {}
                    path.strike d="M5 45L43 4" {}
                }
                FloorWord::Call => {
                    path d="M13 6L20 7L22 17L17 21C19 26 22 29 27 31L31 26L41 28L42 35C40 41 36 42 32 41C18 38 9 29 6 15C6 11 8 8 13 6Z" {}
                }
            }
        }
    }
}
