//! Learning from measurements: isotherms, drying curves, product trials, what batches taught, recipes that move.

mod forms;
mod lessons;
mod show;

pub(crate) use lessons::{WorkFault, decision, make, work_out};

use axum::extract::{Query, State};
use axum::http::StatusCode;
use axum::response::{IntoResponse, Response};
use axum::routing::{get, post};
use axum::{Form, Router};
use fallrate_app::batches::plans;
use fallrate_app::learning::{
    Day, IsothermAsked, MoveAsked, ProductText, ThinAsked, TrialFile, fit_trial_file, isotherm,
    isotherm_document, move_document, move_text, thin_document, thin_layer, trial_document,
};
use fallrate_app::ports::MemoryFiles;
use fallrate_app::quantities::{Quantity, RelativeHumidity, Temperature, WaterActivity};
use fallrate_app::{AppError, Document, Library};
use maud::Markup;
use serde::Deserialize;

use crate::fault::said;
use crate::keep::{fault, now};
use crate::look::Visit;
use crate::shell::{Shell, Tab};
use crate::state::Site;

pub(crate) fn routes() -> Router<Site> {
    Router::new()
        .route("/learn", get(overview))
        .route("/learn/isotherm", get(isotherm_page))
        .route("/learn/curves", get(curves_page))
        .route("/learn/move", get(move_page))
        .route("/learn/trial", get(trial_form).post(trial_page))
        .route("/learn/batches", get(lessons::page))
        .route("/learn/decide", post(lessons::decide))
}

/// Today, for the head of a document.
pub(crate) fn today() -> Day {
    Day(now().utc_date().to_string())
}

/// What is asked of a table of pairs.
#[derive(Clone, Debug, Default, Deserialize)]
pub(crate) struct PairsAsked {
    #[serde(default)]
    pub table: String,
    #[serde(default)]
    pub product: String,
    #[serde(default)]
    pub target: String,
}

/// What is asked of a table of curves.
#[derive(Clone, Debug, Default, Deserialize)]
pub(crate) struct CurvesAsked {
    #[serde(default)]
    pub table: String,
    #[serde(default)]
    pub product: String,
    #[serde(default)]
    pub air: String,
    #[serde(default)]
    pub rh: String,
}

/// Which plan goes where.
#[derive(Clone, Debug, Default, Deserialize)]
pub(crate) struct MoveQuery {
    #[serde(default)]
    plan: String,
    #[serde(default)]
    cabinet: String,
}

/// A trial file with the files it names.
#[derive(Clone, Debug, Default, Deserialize)]
pub(crate) struct TrialEntered {
    #[serde(default)]
    trial: String,
    #[serde(default)]
    name_1: String,
    #[serde(default)]
    file_1: String,
    #[serde(default)]
    name_2: String,
    #[serde(default)]
    file_2: String,
    #[serde(default)]
    name_3: String,
    #[serde(default)]
    file_3: String,
}

async fn overview(v: Visit, State(site): State<Site>) -> Response {
    match site.desk().read(|r| plans(r)).await {
        Err(e) => fault(&v, &e),
        Ok(kept) => page(&v, &forms::overview(&v, site.library(), &kept)),
    }
}

/// A page of this part.
pub(crate) fn page(v: &Visit, body: &Markup) -> Response {
    Shell { title: v.text("web-tab-learn"), tab: Tab::Learn }.around(v, body).into_response()
}

/// Something wrong with what was entered, above the form it came from.
fn refused(v: &Visit, e: &AppError, form: &Markup) -> Response {
    said(
        (StatusCode::UNPROCESSABLE_ENTITY, page(v, &forms::refused(v, &e.to_string(), form))).into_response(),
    )
}

/// Works off the threads that answer; a document or what is wrong.
async fn worked(
    v: &Visit,
    form: Markup,
    work: impl FnOnce() -> Result<Document, AppError> + Send + 'static,
) -> Response {
    match tokio::task::spawn_blocking(work).await {
        Ok(Ok(document)) => page(v, &show::with_form(v, &document, &form)),
        Ok(Err(e)) => refused(v, &e, &form),
        Err(_) => StatusCode::INTERNAL_SERVER_ERROR.into_response(),
    }
}

fn product(library: &Library, key: &str) -> Result<Option<ProductText>, AppError> {
    let none = MemoryFiles::default();
    if key.trim().is_empty() { Ok(None) } else { ProductText::read(library, &none, key.trim()).map(Some) }
}

async fn isotherm_page(v: Visit, State(site): State<Site>, Query(q): Query<PairsAsked>) -> Response {
    let form = forms::pairs(&v, site.library(), &q);
    if q.table.trim().is_empty() {
        return page(&v, &form);
    }
    let (library, reader) = (std::sync::Arc::clone(site.library()), v.reader.clone());
    worked(&v, form, move || {
        let target = WaterActivity::parse(&format!("{} aw", q.target.trim().replace(',', ".")));
        let asked = IsothermAsked {
            product: product(&library, &q.product)?,
            target: target.ok().map(WaterActivity::fraction).filter(|a| *a > 0.0 && *a < 1.0),
            ..IsothermAsked::default()
        };
        Ok(isotherm_document(&isotherm("", q.table.as_bytes(), asked)?, &reader, &today()))
    })
    .await
}

async fn curves_page(v: Visit, State(site): State<Site>, Query(q): Query<CurvesAsked>) -> Response {
    let form = forms::curves(&v, site.library(), &q);
    if q.table.trim().is_empty() {
        return page(&v, &form);
    }
    let (library, reader) = (std::sync::Arc::clone(site.library()), v.reader.clone());
    worked(&v, form, move || {
        let asked = ThinAsked {
            product: product(&library, &q.product)?.map(|p| p.product),
            air: Temperature::parse(&q.air).ok(),
            humidity: RelativeHumidity::parse(&q.rh).ok(),
            ..ThinAsked::default()
        };
        Ok(thin_document(&thin_layer("", q.table.as_bytes(), &asked)?, &reader, &today()))
    })
    .await
}

async fn move_page(v: Visit, State(site): State<Site>, Query(q): Query<MoveQuery>) -> Response {
    let kept = match site.desk().read(|r| plans(r)).await {
        Err(e) => return fault(&v, &e),
        Ok(kept) => kept,
    };
    let form = forms::moving(&v, site.library(), &kept, (&q.plan, &q.cabinet));
    let Some(plan) = kept.into_iter().find(|p| p.name == q.plan) else { return page(&v, &form) };
    let (library, reader) = (std::sync::Arc::clone(site.library()), v.reader.clone());
    worked(&v, form, move || {
        let cabinet = (!q.cabinet.is_empty()).then(|| q.cabinet.clone());
        let asked = MoveAsked { cabinet, changes: Vec::new(), draws: 64 };
        let run = move_text(&library, (&plan.title, &plan.toml), &asked, &|_| true)?;
        Ok(move_document(&run, &library, &reader, &today()))
    })
    .await
}

async fn trial_form(v: Visit) -> Response {
    page(&v, &forms::trial(&v, &TrialEntered::default()))
}

async fn trial_page(v: Visit, State(site): State<Site>, Form(entered): Form<TrialEntered>) -> Response {
    let form = forms::trial(&v, &entered);
    let (library, reader) = (std::sync::Arc::clone(site.library()), v.reader.clone());
    worked(&v, form, move || {
        let named = [
            ("trial.toml".to_owned(), entered.trial),
            (entered.name_1, entered.file_1),
            (entered.name_2, entered.file_2),
            (entered.name_3, entered.file_3),
        ];
        let file = trial_of(&library, named.into_iter())?;
        let run = fit_trial_file(file, &|_| true)?;
        Ok(trial_document(&run, &reader, &today()))
    })
    .await
}

/// A trial file from texts; files it names are those sent beside it.
pub(crate) fn trial_of(
    library: &Library,
    named: impl Iterator<Item = (String, String)>,
) -> Result<TrialFile, AppError> {
    let beside = |name: String| format!("./{}", name.trim().trim_start_matches("./"));
    let files = named.map(|(name, text)| (beside(name), text.into_bytes())).collect();
    TrialFile::read(library, &MemoryFiles(files), "./trial.toml")
}
