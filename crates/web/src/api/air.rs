//! Moist air.

use axum::Json;
use axum::extract::Query;
use axum::http::StatusCode;
use fallrate_app::air_page;

use super::shelf::PageJson;
use crate::air::{question, read};
use crate::fault::{EntryProblem, Problem};
use crate::look::Visit;

/// The state of moist air from two known quantities.
#[utoipa::path(get, path = "/air", operation_id = "air",
    params(
        ("dry_bulb" = Option<String>, Query, description = "Dry bulb with its unit, as 71C or 160F"),
        ("wet_bulb" = Option<String>, Query, description = "Wet bulb"),
        ("rh" = Option<String>, Query, description = "Relative humidity, as 35%"),
        ("dew_point" = Option<String>, Query, description = "Dew point"),
        ("humidity_ratio" = Option<String>, Query, description = "Humidity ratio, as 25g/kg or 175gr/lb"),
        ("altitude" = Option<String>, Query, description = "Height above sea level, as 1600m; 0 m where left out"),
        ("want_wet_bulb" = Option<String>, Query, description = "A wet bulb wanted at this dry bulb"),
        ("want_rh" = Option<String>, Query, description = "A relative humidity wanted at this dry bulb"),
        ("volume" = Option<String>, Query, description = "Air volume to bring there, as 1.6m3")
    ),
    responses(
        (status = 200, description = "The state", body = PageJson),
        (status = 400, description = "A query that cannot be read", body = Problem, content_type = "application/problem+json"),
        (status = 422, description = "Too little, too much, or impossible air", body = Problem, content_type = "application/problem+json")
    ))]
pub(super) async fn state(
    v: Visit,
    Query(pairs): Query<Vec<(String, String)>>,
) -> Result<Json<PageJson>, Problem> {
    let list = read(&pairs, &v);
    let wrong: Vec<EntryProblem> = list
        .iter()
        .filter_map(|r| match &r.note {
            Some((true, text)) => Some(EntryProblem { key: r.name.to_owned(), detail: text.clone() }),
            _ => None,
        })
        .collect();
    if !wrong.is_empty() {
        let detail = wrong.iter().map(|w| format!("{}: {}", w.key, w.detail)).collect::<Vec<_>>().join(" ");
        return Err(Problem::new(StatusCode::UNPROCESSABLE_ENTITY, detail).with(wrong));
    }
    Ok(Json(PageJson::of(&air_page(&question(&list), &v.reader)?)))
}
