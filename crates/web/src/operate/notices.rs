//! What a person must know before anything else: the program was off, the clock is wrong, no copy, little room.

use fallrate_app::batches::{Instant, PlantSettings, Run, StoreError};
use fallrate_app::proof::LocalClock;
use fallrate_app::upkeep::{
    Downtime, DueBy, OffQuestion, Room, RoomState, backup_due_by, off_questions, room_state,
};
use maud::{Markup, html};

use super::{Copies, copies, off_times};
use crate::keep::now;
use crate::look::{Visit, random_hex};
use crate::state::Site;

/// Where an interruption is entered.
fn interruption_form(q: &OffQuestion) -> String {
    let (from, until) = (q.from.iso_utc(), q.until.iso_utc());
    format!("/batches/{}/interruption?kind=power_cut&from={from}&until={until}", q.id)
}

fn clock(zone: &str, at: Instant, beside: Instant) -> String {
    let Some(clock) = LocalClock::named(zone) else { return at.iso_utc() };
    if clock.day(at) == clock.day(beside) { clock.minute(at) } else { clock.day_and_minute(at) }
}

/// Was the dryer off too? One panel for each batch, with the way to the interruption and the word that it ran on.
fn question(v: &Visit, q: &OffQuestion) -> Markup {
    let (from, to) = (clock(&q.zone, q.from, now()), clock(&q.zone, q.until, now()));
    html! {
        section.ask aria-label=(v.text("ops-off-title")) {
            p.subject { (q.cabinet) ", " (q.product) ", " (q.lot) }
            h2 { (v.with("ops-off-question", &[("from", &from), ("to", &to)])) }
            p { (v.text("ops-off-more")) }
            div.choices {
                a.button.go href=(interruption_form(q)) { (v.text("ops-off-yes")) }
                form method="post" action={ "/batches/" (q.id) "/ran-on" } {
                    input type="hidden" name="form_token" value=(v.token);
                    input type="hidden" name="entry_id" value=(random_hex().unwrap_or_default());
                    input type="hidden" name="from" value=(q.from.iso_utc());
                    input type="hidden" name="to" value=(q.until.iso_utc());
                    button { (v.text("ops-off-no")) }
                }
            }
        }
    }
}

async fn questions(site: &Site, runs: Vec<Run>, off: Vec<Downtime>) -> Result<Vec<OffQuestion>, StoreError> {
    if off.is_empty() || runs.is_empty() {
        return Ok(Vec::new());
    }
    site.desk().read(move |r| off_questions(r, &off, &runs)).await
}

/// Above the page of a batch.
pub(crate) async fn about_batch(v: &Visit, site: &Site, run: &Run) -> Result<Markup, StoreError> {
    let open = questions(site, vec![run.clone()], off_times(site).await?).await?;
    Ok(html! {
        @for q in &open { (question(v, q)) }
        noscript { p.note { (v.text("ops-queue-no-script")) } }
    })
}

/// Above and below the day: what needs a person, and how copies and room stand.
pub(crate) async fn of_the_day(
    v: &Visit,
    site: &Site,
    plant: Option<&PlantSettings>,
    runs: Vec<Run>,
) -> Result<(Markup, Markup), StoreError> {
    let open = questions(site, runs, off_times(site).await?).await?;
    let copies = copies(site, plant).await;
    let above = html! {
        @for q in &open { (question(v, q)) }
        @if let Some(back_s) = site.keeper().clock_back_s() {
            section.ask { h2 { (v.with("ops-clock-back", &[("time", &span(v, back_s))])) } p { (v.text("ops-clock-back-more")) } }
        }
        @if let Some(c) = &copies { (urgent_room(v, c)) }
    };
    let below = html! {
        @if let (Some(c), Some(_)) = (&copies, plant) { (standing(v, c)) }
    };
    Ok((above, below))
}

fn urgent_room(v: &Visit, c: &Copies) -> Markup {
    html! {
        @if let Some(room) = c.room.filter(|r| room_state(*r) == RoomState::Urgent) {
            section.ask {
                h2 { (v.with("ops-room-urgent", &[("free", &bytes(room.free_bytes))])) }
                p { (v.text("ops-room-urgent-more")) }
            }
        }
    }
}

/// One line each on copy and room, in a word and a mark where a person must act.
fn standing(v: &Visit, c: &Copies) -> Markup {
    let low = |room: Option<Room>| room.filter(|r| room_state(*r) == RoomState::Low);
    html! {
        ul.standing {
            li.act[backup_acts(c)] { (backup_words(v, c)) }
            @if let Some(room) = low(c.room) {
                li.act { (v.with("ops-room-low", &[("free", &bytes(room.free_bytes))])) }
            }
            @if let Some(room) = low(c.backup_room).filter(|_| !c.on_one_disk()) {
                li.act { (v.with("ops-room-low-backup", &[("free", &bytes(room.free_bytes))])) }
            }
            li { a href="/upkeep" { (v.text("ops-title")) } }
        }
    }
}

pub(super) fn backup_acts(c: &Copies) -> bool {
    c.folder.is_none() || c.fault.is_some() || backup_due_by(c.latest(), now()) == DueBy::Late
}

/// How the backup stands, in one sentence.
pub(super) fn backup_words(v: &Visit, c: &Copies) -> String {
    match (&c.folder, c.latest(), &c.fault) {
        (None, ..) => v.text("ops-backup-unset"),
        (Some(_), None, None) => v.text("ops-backup-none"),
        (Some(_), None, Some(_)) => v.text("ops-backup-fault"),
        (Some(_), Some(at), None) => v.with("ops-backup-age", &[("time", &span(v, now().seconds_since(at)))]),
        (Some(_), Some(at), Some(_)) => {
            v.with("ops-backup-fault-age", &[("time", &span(v, now().seconds_since(at)))])
        }
    }
}

/// A length of time in its largest fitting unit.
pub(super) fn span(v: &Visit, s: f64) -> String {
    let whole = |s: f64| s.max(0.0).round() as usize;
    let words = &v.reader.words;
    if s < 90.0 * 60.0 {
        words.counted("ops-minutes", whole(s / 60.0))
    } else if s < 36.0 * 3600.0 {
        words.counted("ops-hours", whole(s / 3600.0))
    } else {
        words.counted("ops-days", whole(s / 86_400.0))
    }
}

/// "12.4 GB".
pub(super) fn bytes(n: u64) -> String {
    #[allow(clippy::cast_precision_loss)]
    let n = n as f64;
    if n >= 1e9 {
        format!("{:.1} GB", n / 1e9)
    } else if n >= 1e6 {
        format!("{:.1} MB", n / 1e6)
    } else {
        format!("{:.0} kB", (n / 1e3).max(1.0))
    }
}
