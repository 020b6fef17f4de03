//! Products and cabinets.

use axum::Json;
use axum::extract::{Path, State};
use axum::http::StatusCode;
use fallrate_app::parts::{FigureGroup, Table};
use fallrate_app::ports::MemoryFiles;
use fallrate_app::{Page, cabinet_page, product_page};
use serde::Serialize;
use utoipa::ToSchema;

use crate::fault::Problem;
use crate::look::Visit;
use crate::state::Site;

/// An item of the library.
#[derive(Debug, Serialize, ToSchema)]
pub(crate) struct Item {
    /// Key, to be named in a plan.
    key: String,
    /// Name in English.
    name_en: String,
    /// Name in Spanish.
    name_es: String,
}

/// A page as data: finished texts in the reader's language and units.
#[derive(Debug, Serialize, ToSchema)]
pub(crate) struct PageJson {
    /// "forecast" where the page is one.
    kind: Option<&'static str>,
    /// What it is about.
    subject: String,
    /// The one thing first.
    headline: String,
    /// A sentence.
    subline: String,
    /// Groups of figures.
    figures: Vec<GroupJson>,
    /// Tables.
    tables: Vec<TableJson>,
    /// Cautions.
    cautions: Vec<String>,
    /// Sources: what for, document, how it was read.
    sources: Vec<SourceJson>,
}

/// Figures that belong together.
#[derive(Debug, Serialize, ToSchema)]
pub(crate) struct GroupJson {
    /// Title.
    title: String,
    /// One sentence.
    summary: Option<String>,
    /// Figures.
    figures: Vec<FigureJson>,
}

/// One figure.
#[derive(Debug, Serialize, ToSchema)]
pub(crate) struct FigureJson {
    /// What.
    label: String,
    /// Value as printed.
    value: String,
    /// Unit.
    unit: String,
    /// How sure, or from where.
    note: Option<String>,
}

/// A table.
#[derive(Debug, Serialize, ToSchema)]
pub(crate) struct TableJson {
    /// Title.
    title: String,
    /// Heads of the columns.
    columns: Vec<String>,
    /// Rows of cells.
    rows: Vec<Vec<String>>,
}

/// A source.
#[derive(Debug, Serialize, ToSchema)]
pub(crate) struct SourceJson {
    /// Key or use.
    used_for: String,
    /// Document.
    text: String,
    /// How it is known.
    basis: String,
}

impl PageJson {
    pub(crate) fn of(page: &Page) -> Self {
        Self {
            kind: page.flag.as_ref().map(|_| "forecast"),
            subject: page.subject.clone(),
            headline: page.headline.clone(),
            subline: page.subline.clone(),
            figures: page.figures.iter().map(group).collect(),
            tables: page.tables.iter().map(table).collect(),
            cautions: page.cautions.iter().map(|c| c.text.clone()).collect(),
            sources: page
                .sources
                .iter()
                .map(|s| SourceJson {
                    used_for: s.used_for.clone(),
                    text: s.text.clone(),
                    basis: s.basis.clone(),
                })
                .collect(),
        }
    }
}

fn group(g: &FigureGroup) -> GroupJson {
    let figures = g.figures.iter().map(|f| FigureJson {
        label: f.label.clone(),
        value: f.value.clone(),
        unit: f.unit.clone(),
        note: f.note.clone(),
    });
    GroupJson { title: g.title.clone(), summary: g.summary.clone(), figures: figures.collect() }
}

fn table(t: &Table) -> TableJson {
    let columns = t.header.iter().map(|c| c.text.clone()).collect();
    TableJson { title: t.title.clone(), columns, rows: t.rows.clone() }
}

fn missing(what: &str, key: &str) -> Problem {
    let shown: String = key.chars().take(60).collect();
    Problem::new(
        StatusCode::NOT_FOUND,
        format!("{what}: '{shown}' is not known; allowed: those of /api/v1/{what}s"),
    )
}

/// The products.
#[utoipa::path(get, path = "/products", operation_id = "products",
    responses((status = 200, description = "Products by key", body = Vec<Item>)))]
pub(super) async fn products(State(site): State<Site>) -> Json<Vec<Item>> {
    let item =
        |p: &_| item_of(p, |p: &fallrate_app::library_items::Product| (&p.key, &p.name.en, &p.name.es));
    Json(site.library().products().iter().map(item).collect())
}

/// The cabinets.
#[utoipa::path(get, path = "/cabinets", operation_id = "cabinets",
    responses((status = 200, description = "Cabinets by key", body = Vec<Item>)))]
pub(super) async fn cabinets(State(site): State<Site>) -> Json<Vec<Item>> {
    let item =
        |c: &_| item_of(c, |c: &fallrate_app::library_items::Cabinet| (&c.key, &c.name.en, &c.name.es));
    Json(site.library().cabinets().iter().map(item).collect())
}

fn item_of<T>(thing: &T, names: impl Fn(&T) -> (&String, &String, &String)) -> Item {
    let (key, en, es) = names(thing);
    Item { key: key.clone(), name_en: en.clone(), name_es: es.clone() }
}

/// One product with every figure, its range, mark and source.
#[utoipa::path(get, path = "/products/{key}", operation_id = "product",
    params(("key" = String, Path, description = "Key of the product")),
    responses(
        (status = 200, description = "The product", body = PageJson),
        (status = 404, description = "No such product", body = Problem, content_type = "application/problem+json")
    ))]
pub(super) async fn product(
    v: Visit,
    State(site): State<Site>,
    Path(key): Path<String>,
) -> Result<Json<PageJson>, Problem> {
    let library = site.library();
    if !library.products().iter().any(|p| p.key == key) {
        return Err(missing("product", &key));
    }
    let product = library.product(&MemoryFiles::default(), &key)?;
    Ok(Json(PageJson::of(&product_page(&product, library, &v.reader))))
}

/// One cabinet with every figure, its range, mark and source.
#[utoipa::path(get, path = "/cabinets/{key}", operation_id = "cabinet",
    params(("key" = String, Path, description = "Key of the cabinet")),
    responses(
        (status = 200, description = "The cabinet", body = PageJson),
        (status = 404, description = "No such cabinet", body = Problem, content_type = "application/problem+json")
    ))]
pub(super) async fn cabinet(
    v: Visit,
    State(site): State<Site>,
    Path(key): Path<String>,
) -> Result<Json<PageJson>, Problem> {
    let library = site.library();
    if !library.cabinets().iter().any(|c| c.key == key) {
        return Err(missing("cabinet", &key));
    }
    let cabinet = library.cabinet(&MemoryFiles::default(), &key)?;
    Ok(Json(PageJson::of(&cabinet_page(&cabinet, library, &v.reader))))
}
