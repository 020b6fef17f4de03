//! Copies, room, times the program was off.

use axum::Json;
use axum::extract::rejection::JsonRejection;
use axum::extract::{Path, State};
use axum::http::StatusCode;
use fallrate_app::batches::{self, Instant, PlantSettings, Stamp};
use fallrate_app::upkeep::{self, CopyDone, Room};
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use super::batches::Entered;
use super::sender::{plant, refuse};
use crate::fault::Problem;
use crate::keep::stamp;
use crate::look::Visit;
use crate::operate;
use crate::state::Site;

/// Room of a volume.
#[derive(Debug, Serialize, ToSchema)]
pub(super) struct RoomJson {
    /// Bytes that may still be written.
    free_bytes: u64,
    /// Size of the volume.
    total_bytes: u64,
}

/// A time the program was off.
#[derive(Debug, Serialize, ToSchema)]
pub(super) struct OffJson {
    /// Last sign of life, ISO 8601 in UTC.
    from: String,
    /// Start after it.
    to: Option<String>,
}

/// How copies and room stand.
#[derive(Debug, Serialize, ToSchema)]
pub(super) struct UpkeepJson {
    /// Folder of the backups, where one was set.
    backup_folder: Option<String>,
    /// When the backups there were made, the latest last.
    backups: Vec<String>,
    /// What is wrong with the folder or the last try.
    backup_fault: Option<String>,
    /// Room where the records are.
    room: Option<RoomJson>,
    /// Room where the backups are.
    backup_room: Option<RoomJson>,
    /// Times the program was off, of the last 14 days.
    off: Vec<OffJson>,
}

/// A folder of the machine the program runs on.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct FolderQuestion {
    /// Its whole path.
    #[schema(max_length = 400)]
    folder: String,
}

/// A copy that was made or read in.
#[derive(Debug, Serialize, ToSchema)]
pub(super) struct CopyJson {
    /// File or folder.
    path: String,
    /// Streams in it.
    streams: u64,
    /// Entries copied; of an import those that were new.
    entries: u64,
    /// SHA-256 of the list of heads that goes with it.
    heads_sha256: Option<String>,
}

/// The dryer went on while the program was off.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub(super) struct RanOnQuestion {
    /// Id of the sender's own: sent again with the same id it is entered once.
    #[schema(min_length = 8, max_length = 80)]
    entry_id: String,
    /// As `from` of one of the times the program was off.
    from: String,
    /// As its `to`.
    to: String,
}

async fn ready(v: &Visit, site: &Site) -> Result<(PlantSettings, Stamp), Problem> {
    let plant = plant(site).await?;
    let stamp = stamp(&plant, v, "");
    Ok((plant, stamp))
}

fn whole(folder: &str) -> Result<&str, Problem> {
    let good = std::path::Path::new(folder).is_absolute() && !folder.contains('\0');
    if good { Ok(folder) } else { Err(refuse(format!("folder: '{folder}'; allowed: its whole path"))) }
}

fn copied(done: CopyDone) -> Json<CopyJson> {
    Json(CopyJson {
        path: done.path.display().to_string(),
        streams: done.streams,
        entries: done.entries,
        heads_sha256: done.heads_sha256.map(|d| d.to_string()),
    })
}

/// What a copy failed with, which is seldom the program's own fault: the folder is another's.
fn not_copied(e: batches::StoreError) -> Problem {
    match Problem::from(e) {
        p if p.is(StatusCode::INTERNAL_SERVER_ERROR) => refuse(p.said().to_owned()),
        p => p,
    }
}

/// How copies and room stand.
#[utoipa::path(get, path = "/upkeep", operation_id = "upkeep", responses(
    (status = 200, description = "How they stand", body = UpkeepJson)
))]
pub(super) async fn state(State(site): State<Site>) -> Result<Json<UpkeepJson>, Problem> {
    let plant = site.desk().plant().await?;
    let copies = operate::copies(&site, plant.as_ref()).await.unwrap_or_default();
    let room = |r: Room| RoomJson { free_bytes: r.free_bytes, total_bytes: r.total_bytes };
    let off = operate::off_times(&site).await?;
    Ok(Json(UpkeepJson {
        backups: copies.made.iter().map(|(at, _)| at.iso_utc()).collect(),
        backup_folder: copies.folder,
        backup_fault: copies.fault,
        room: copies.room.map(room),
        backup_room: copies.backup_room.map(room),
        off: off
            .iter()
            .map(|d| OffJson { from: d.from.iso_utc(), to: d.until.map(Instant::iso_utc) })
            .collect(),
    }))
}

/// Sets the folder of the daily backups; an empty text takes it away.
#[utoipa::path(put, path = "/upkeep/folder", operation_id = "set_backup_folder", request_body = FolderQuestion, responses(
    (status = 204, description = "Set"),
    (status = 400, description = "Not JSON", body = Problem, content_type = "application/problem+json"),
    (status = 413, description = "Too large", body = Problem, content_type = "application/problem+json"),
    (status = 415, description = "Not sent as JSON", body = Problem, content_type = "application/problem+json"),
    (status = 422, description = "No whole path, or the plant is not set up", body = Problem, content_type = "application/problem+json")
))]
pub(super) async fn folder(
    v: Visit,
    State(site): State<Site>,
    sent: Result<Json<FolderQuestion>, JsonRejection>,
) -> Result<StatusCode, Problem> {
    let q = super::plans::body(sent)?;
    let (plant, stamp) = ready(&v, &site).await?;
    let folder = if q.folder.is_empty() { "" } else { whole(&q.folder)? };
    operate::set_folder(&site, &stamp, plant, folder).await?;
    Ok(StatusCode::NO_CONTENT)
}

/// Makes a backup in the folder that is set.
#[utoipa::path(post, path = "/upkeep/backups", operation_id = "back_up", responses(
    (status = 200, description = "Made and checked", body = CopyJson),
    (status = 422, description = "No folder is set, or it cannot be written", body = Problem, content_type = "application/problem+json"),
    (status = 503, description = "The records are busy", body = Problem, content_type = "application/problem+json"),
    (status = 507, description = "No room left", body = Problem, content_type = "application/problem+json")
))]
pub(super) async fn back_up(v: Visit, State(site): State<Site>) -> Result<Json<CopyJson>, Problem> {
    let (plant, stamp) = ready(&v, &site).await?;
    let folder = upkeep::backup_folder(&plant).ok_or_else(|| refuse("folder of backups: none is set"))?;
    Ok(copied(operate::back_up(&site, &stamp, folder).await.map_err(not_copied)?))
}

/// Writes everything as open files into a new folder.
#[utoipa::path(post, path = "/upkeep/exports", operation_id = "export", request_body = FolderQuestion, responses(
    (status = 200, description = "Written", body = CopyJson),
    (status = 400, description = "Not JSON", body = Problem, content_type = "application/problem+json"),
    (status = 413, description = "Too large", body = Problem, content_type = "application/problem+json"),
    (status = 415, description = "Not sent as JSON", body = Problem, content_type = "application/problem+json"),
    (status = 422, description = "A folder that cannot be written or is there already", body = Problem, content_type = "application/problem+json"),
    (status = 507, description = "No room left", body = Problem, content_type = "application/problem+json")
))]
pub(super) async fn export(
    v: Visit,
    State(site): State<Site>,
    sent: Result<Json<FolderQuestion>, JsonRejection>,
) -> Result<Json<CopyJson>, Problem> {
    let q = super::plans::body(sent)?;
    let (_, stamp) = ready(&v, &site).await?;
    Ok(copied(operate::export(&site, &stamp, whole(&q.folder)?).await.map_err(not_copied)?))
}

/// Reads an export in, after everything in it was checked.
#[utoipa::path(post, path = "/upkeep/imports", operation_id = "import", request_body = FolderQuestion, responses(
    (status = 200, description = "Read in", body = CopyJson),
    (status = 400, description = "Not JSON", body = Problem, content_type = "application/problem+json"),
    (status = 413, description = "Too large", body = Problem, content_type = "application/problem+json"),
    (status = 415, description = "Not sent as JSON", body = Problem, content_type = "application/problem+json"),
    (status = 422, description = "No export, or one that parted from what is here", body = Problem, content_type = "application/problem+json"),
    (status = 507, description = "No room left", body = Problem, content_type = "application/problem+json")
))]
pub(super) async fn import(
    v: Visit,
    State(site): State<Site>,
    sent: Result<Json<FolderQuestion>, JsonRejection>,
) -> Result<Json<CopyJson>, Problem> {
    let q = super::plans::body(sent)?;
    let (_, stamp) = ready(&v, &site).await?;
    Ok(copied(operate::import(&site, &stamp, whole(&q.folder)?).await.map_err(not_copied)?))
}

/// Says of a batch that its dryer went on while the program was off.
#[utoipa::path(post, path = "/batches/{id}/ran_on", operation_id = "ran_on", request_body = RanOnQuestion,
    params(("id" = String, Path, description = "Id of the batch")),
    responses(
        (status = 200, description = "Entered, or entered before with the same id", body = Entered),
        (status = 400, description = "Not JSON", body = Problem, content_type = "application/problem+json"),
        (status = 404, description = "No such batch", body = Problem, content_type = "application/problem+json"),
        (status = 409, description = "The id was used for something else", body = Problem, content_type = "application/problem+json"),
        (status = 413, description = "Too large", body = Problem, content_type = "application/problem+json"),
        (status = 415, description = "Not sent as JSON", body = Problem, content_type = "application/problem+json"),
        (status = 422, description = "Not a time the program was off", body = Problem, content_type = "application/problem+json")
    ))]
pub(super) async fn ran_on(
    v: Visit,
    State(site): State<Site>,
    Path(id): Path<String>,
    sent: Result<Json<RanOnQuestion>, JsonRejection>,
) -> Result<Json<Entered>, Problem> {
    let q = super::plans::body(sent)?;
    let key = id.clone();
    super::batches::found(&id, site.desk().read(move |r| batches::run(r, &key)).await?)?;
    let stamp = stamp(&plant(&site).await?, &v, &q.entry_id);
    if stamp.client_id.is_none() {
        return Err(refuse(format!("entry_id: '{}'; allowed: 8 to 80 letters, digits, hyphens", q.entry_id)));
    }
    let span = operate::ran_on_span(&site, &q.from, &q.to).await?;
    let span =
        span.ok_or_else(|| refuse("from, to: no time the program was off; allowed: one of /upkeep"))?;
    let entry = site.desk().write(move |r| upkeep::ran_on(r, &id, &stamp, span)).await?;
    Ok(Json(Entered::of(entry)))
}
