//! A doubtful entry, read back before it stands.

use fallrate_app::underway::ReadBack;
use maud::{Markup, html};

use super::enter::Sent;
use crate::look::Visit;

/// What is asked before an entry stands.
#[derive(Clone, Debug)]
pub(super) struct AskBack {
    /// Where the form goes.
    pub to: &'static str,
    /// Which field is in doubt: "value" or "at".
    pub field: &'static str,
    /// What was sent.
    pub sent: Sent,
    /// What is odd and what may be meant.
    pub back: ReadBack,
}

/// The question, one button for each way it may be meant, and the way back. Nothing was entered yet.
pub(super) fn asked_back(v: &Visit, id: &str, ask: &AskBack) -> Markup {
    let one = ask.back.ways.len() == 1;
    html! {
        section.back-read aria-labelledby="back-title" {
            h1 #back-title { (v.text("back-title")) }
            p.subline { (ask.back.text) }
            @for way in &ask.back.ways {
                form method="post" action={ "/batches/" (id) "/" (ask.to) } {
                    input type="hidden" name="form_token" value=(v.token);
                    @for (name, value) in ask.sent.fields() {
                        @if name != ask.field && name != "sure" { input type="hidden" name=(name) value=(value); }
                    }
                    input type="hidden" name=(ask.field) value=(way.value);
                    @if ask.field == "value" { input type="hidden" name="sure" value="1"; }
                    button.go {
                        @if one { (v.with("back-as-typed", &[("value", &way.label)])) } @else { (way.label) }
                    }
                }
            }
            p { a.button href={ "/batches/" (id) } { (v.text("back-again")) } }
            p.note { (v.text("back-nothing-yet")) }
        }
    }
}
