//! The page of backups, room, open files, and until when records are kept.

use axum::Form;
use axum::extract::{Path, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Redirect, Response};
use fallrate_app::batches::{self, BatchRow, Instant, PlantSettings, StoreError, instant_from_iso};
use fallrate_app::proof::LocalClock;
use fallrate_app::upkeep::{self, BACKUP_FOLDER, Downtime, RoomState, room_state};
use maud::{Markup, html};
use serde::Deserialize;

use super::notices::{backup_acts, backup_words, bytes};
use super::{Copies, copies, off_times};
use crate::fault::said;
use crate::keep::{fault, now, stamp};
use crate::look::{Visit, random_hex};
use crate::shell::{Shell, Tab};
use crate::state::Site;

/// Backups and records listed on the page.
const LINES: u64 = 12;

/// What the forms of the page send; each uses what it needs.
#[derive(Clone, Debug, Default, Deserialize)]
#[serde(default)]
pub(super) struct Sent {
    entry_id: String,
    folder: String,
    from: String,
    to: String,
}

/// What was done or what was wrong, above the page.
enum Told {
    Nothing,
    Done(String),
    Wrong(String),
}

async fn plant(v: &Visit, site: &Site) -> Result<PlantSettings, Response> {
    match site.desk().plant().await {
        Ok(Some(plant)) => Ok(plant),
        Ok(None) => Err(Redirect::to("/setup").into_response()),
        Err(e) => Err(fault(v, &e)),
    }
}

pub(super) async fn page(v: Visit, State(site): State<Site>) -> Response {
    shown(&v, &site, &Told::Nothing).await
}

async fn shown(v: &Visit, site: &Site, told: &Told) -> Response {
    let plant = match plant(v, site).await {
        Ok(plant) => plant,
        Err(answer) => return answer,
    };
    let copies = copies(site, Some(&plant)).await.unwrap_or_default();
    let zone = plant.zone.clone();
    let due = site.desk().read(move |r| upkeep::due_records(r, now(), &zone, LINES)).await;
    let (due, off) = match (due, off_times(site).await) {
        (Ok(due), Ok(off)) => (due, off),
        (Err(e), _) | (_, Err(e)) => return fault(v, &e),
    };
    let place = site.keeper().upkeep().map(|u| u.place()).unwrap_or_default();
    let clock = LocalClock::named(&plant.zone);
    let at = |i: Instant| clock.as_ref().map_or_else(|| i.iso_utc(), |c| c.day_and_minute(i));
    let body = html! {
        h1 { (v.text("ops-title")) }
        @match told {
            Told::Nothing => {}
            Told::Done(words) => p.done-well role="status" { (words) }
            Told::Wrong(words) => ul.faults { li role="alert" { (words) } }
        }
        (backups(v, &copies, &at))
        (room(v, &copies, &place))
        (open_files(v))
        (keeping(v, &due))
        (off_list(v, &off, &at))
        section {
            h2 { (v.text("ops-queue-title")) }
            p { (v.text("ops-queue-promise")) }
            p { (v.text("ops-queue-https")) }
            p { (v.text("ops-queue-no-script")) }
        }
    };
    let page = Shell { title: v.text("ops-title"), tab: Tab::None }.around(v, &body);
    let status = match told {
        Told::Wrong(_) => StatusCode::UNPROCESSABLE_ENTITY,
        _ => StatusCode::OK,
    };
    said((status, page).into_response())
}

fn hidden(v: &Visit) -> Markup {
    html! {
        input type="hidden" name="form_token" value=(v.token);
        input type="hidden" name="entry_id" value=(random_hex().unwrap_or_default());
    }
}

fn folder_field(v: &Visit, id: &str, label: &str, value: &str, hint: &str) -> Markup {
    html! {
        div.field {
            label for=(id) { (v.text(label)) }
            input id=(id) name="folder" type="text" value=(value) autocomplete="off" maxlength="400" aria-describedby={ "n-" (id) };
            p.note id={ "n-" (id) } { (v.text(hint)) }
        }
    }
}

fn backups(v: &Visit, c: &Copies, at: &dyn Fn(Instant) -> String) -> Markup {
    html! {
        section {
            h2 { (v.text("ops-backups")) }
            p.standing.act[backup_acts(c)] { (backup_words(v, c)) }
            @if let Some(why) = &c.fault { p.note lang="en" { (why) } }
            @if c.on_one_disk() { p.standing.act { (v.text("ops-backup-same-disk")) } }
            form.sheet method="post" action="/upkeep/folder" {
                (hidden(v))
                (folder_field(v, "f-folder", "ops-backup-folder", c.folder.as_deref().unwrap_or(""), "ops-backup-folder-more"))
                button { (v.text("ops-backup-folder-save")) }
            }
            @if c.folder.is_some() {
                form.sheet method="post" action="/upkeep/backup" { (hidden(v)) button.go { (v.text("ops-backup-now")) } }
            }
            @if !c.made.is_empty() {
                ol.plain-list {
                    @for (made, size) in c.made.iter().rev().take(usize::try_from(LINES).unwrap_or(12)) {
                        li { (at(*made)) ", " (bytes(*size)) }
                    }
                }
            }
            p { (v.text("ops-restore-more")) " " code { "fallrate data restore" } }
        }
    }
}

fn room(v: &Visit, c: &Copies, place: &str) -> Markup {
    let line = |label: &str, room: &fallrate_app::upkeep::Room| {
        html! {
            p.standing.act[room_state(*room) != RoomState::Enough] {
                (v.with(label, &[("free", &bytes(room.free_bytes)), ("all", &bytes(room.total_bytes))]))
            }
        }
    };
    html! {
        section {
            h2 { (v.text("ops-room")) }
            @match &c.room { Some(r) => (line("ops-room-records", r)), None => p { (v.text("ops-room-unknown")) } }
            @if let Some(r) = &c.backup_room { (line("ops-room-backups", r)) }
            p.note { (v.text("ops-place")) " " code { (place) } }
        }
    }
}

fn open_files(v: &Visit) -> Markup {
    html! {
        section {
            h2 { (v.text("ops-open-files")) }
            p { (v.text("ops-open-files-more")) }
            details {
                summary { (v.text("ops-export")) }
                form.sheet method="post" action="/upkeep/export" {
                    (hidden(v))
                    (folder_field(v, "f-export", "ops-export-folder", "", "ops-export-more"))
                    button { (v.text("ops-export")) }
                }
            }
            details {
                summary { (v.text("ops-import")) }
                form.sheet method="post" action="/upkeep/import" {
                    (hidden(v))
                    (folder_field(v, "f-import", "ops-import-folder", "", "ops-import-more"))
                    button { (v.text("ops-import")) }
                }
            }
        }
    }
}

fn keeping(v: &Visit, due: &[BatchRow]) -> Markup {
    html! {
        section {
            h2 { (v.text("ops-keeping")) }
            p { (v.text(if due.is_empty() { "ops-keeping-none" } else { "ops-keeping-due" })) }
            @if !due.is_empty() {
                ul.plain-list {
                    @for row in due {
                        li {
                            a href={ "/batches/" (row.id) } { (row.product) ", " (row.lot) } " "
                            @if let Some(day) = row.keep_until {
                                (v.with("ops-keeping-until", &[("day", &day.to_string())]))
                            }
                        }
                    }
                }
            }
        }
    }
}

fn off_list(v: &Visit, off: &[Downtime], at: &dyn Fn(Instant) -> String) -> Markup {
    html! {
        section {
            h2 { (v.text("ops-off-title")) }
            @if off.is_empty() { p { (v.text("ops-off-none")) } }
            ul.plain-list {
                @for d in off.iter().rev().take(usize::try_from(LINES).unwrap_or(12)) {
                    li { (at(d.from)) " – " (d.until.map_or_else(String::new, at)) }
                }
            }
        }
    }
}

/// Why a folder cannot be taken.
fn folder_wrong(v: &Visit, folder: &str) -> Option<String> {
    (!std::path::Path::new(folder).is_absolute()).then(|| v.text("ops-folder-relative"))
}

/// Sets the folder of backups; empty takes it away.
pub(super) async fn folder(v: Visit, State(site): State<Site>, Form(s): Form<Sent>) -> Response {
    let plant = match plant(&v, &site).await {
        Ok(plant) => plant,
        Err(answer) => return answer,
    };
    let folder = s.folder.trim().to_owned();
    if let Some(why) = folder_wrong(&v, &folder).filter(|_| !folder.is_empty()) {
        return shown(&v, &site, &Told::Wrong(why)).await;
    }
    let stamp = stamp(&plant, &v, &s.entry_id);
    if let Err(e) = set_folder(&site, &stamp, plant, &folder).await {
        return fault(&v, &e);
    }
    Redirect::to("/upkeep").into_response()
}

/// Keeps the folder of backups in the settings of the plant.
pub(crate) async fn set_folder(
    site: &Site,
    stamp: &batches::Stamp,
    mut plant: PlantSettings,
    folder: &str,
) -> Result<(), StoreError> {
    plant.more.remove(BACKUP_FOLDER);
    if !folder.is_empty() {
        plant.more.insert(BACKUP_FOLDER.to_owned(), folder.to_owned());
    }
    let stamp = stamp.clone();
    site.desk().write(move |r| batches::save_plant(r, &stamp, plant)).await?;
    site.keeper().forget();
    Ok(())
}

/// Which copy is asked for.
enum Copy {
    Backup,
    Export,
    Import,
}

async fn copy(v: Visit, site: Site, s: Sent, what: Copy) -> Response {
    let plant = match plant(&v, &site).await {
        Ok(plant) => plant,
        Err(answer) => return answer,
    };
    let folder = match what {
        Copy::Backup => upkeep::backup_folder(&plant).unwrap_or("").to_owned(),
        _ => s.folder.trim().to_owned(),
    };
    if let Some(why) = folder_wrong(&v, &folder) {
        return shown(&v, &site, &Told::Wrong(why)).await;
    }
    let stamp = stamp(&plant, &v, "");
    let (done, key) = match what {
        Copy::Backup => (super::back_up(&site, &stamp, &folder).await, "ops-backup-done"),
        Copy::Export => (super::export(&site, &stamp, &folder).await, "ops-export-done"),
        Copy::Import => (super::import(&site, &stamp, &folder).await, "ops-import-done"),
    };
    let told = match done {
        Ok(done) => {
            let (place, entries) = (done.path.display().to_string(), done.entries.to_string());
            Told::Done(v.with(key, &[("place", &place), ("entries", &entries)]))
        }
        Err(e) => Told::Wrong(v.with("ops-copy-failed", &[("why", &e.to_string())])),
    };
    shown(&v, &site, &told).await
}

pub(super) async fn backup(v: Visit, State(site): State<Site>, Form(s): Form<Sent>) -> Response {
    copy(v, site, s, Copy::Backup).await
}

pub(super) async fn export_to(v: Visit, State(site): State<Site>, Form(s): Form<Sent>) -> Response {
    copy(v, site, s, Copy::Export).await
}

pub(super) async fn import_from(v: Visit, State(site): State<Site>, Form(s): Form<Sent>) -> Response {
    copy(v, site, s, Copy::Import).await
}

/// The two instants of a time the program was off, where it is one that is known.
pub(crate) async fn ran_on_span(
    site: &Site,
    from: &str,
    to: &str,
) -> Result<Option<(Instant, Instant)>, StoreError> {
    let (Ok(from), Ok(to)) = (instant_from_iso(from), instant_from_iso(to)) else { return Ok(None) };
    let same = |a: Instant, b: Instant| a.seconds_since(b).abs() < 1.0;
    let known = off_times(site).await?;
    Ok(known.iter().any(|d| same(d.from, from) && d.until.is_some_and(|u| same(u, to))).then_some((from, to)))
}

/// The dryer went on while the program was off.
pub(super) async fn ran_on(
    v: Visit,
    State(site): State<Site>,
    Path(id): Path<String>,
    Form(s): Form<Sent>,
) -> Response {
    let plant = match plant(&v, &site).await {
        Ok(plant) => plant,
        Err(answer) => return answer,
    };
    let span = match ran_on_span(&site, &s.from, &s.to).await {
        Ok(Some(span)) => span,
        Ok(None) => return StatusCode::UNPROCESSABLE_ENTITY.into_response(),
        Err(e) => return fault(&v, &e),
    };
    let key = id.clone();
    match site.desk().read(move |r| batches::run(r, &key)).await {
        Ok(Some(_)) => {}
        Ok(None) => return StatusCode::NOT_FOUND.into_response(),
        Err(e) => return fault(&v, &e),
    }
    let (stamp, key) = (stamp(&plant, &v, &s.entry_id), id.clone());
    match site.desk().write(move |r| upkeep::ran_on(r, &key, &stamp, span)).await {
        Ok(_) => Redirect::to(&format!("/batches/{id}")).into_response(),
        Err(e) => fault(&v, &e),
    }
}
