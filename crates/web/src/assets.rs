//! Files that never change: style, script, typeface. Their addresses carry their hash.

use std::sync::LazyLock;

use axum::extract::Path;
use axum::http::header::{CACHE_CONTROL, CONTENT_TYPE, ETAG, IF_NONE_MATCH};
use axum::http::{HeaderMap, StatusCode};
use axum::response::{IntoResponse, Response};
use fallrate_app::parts::font::FAMILY;
use fallrate_app::parts::theme::{DAY, NIGHT, Theme, chart_css};
use sha2::{Digest, Sha256};

/// One file.
struct Asset {
    name: &'static str,
    kind: &'static str,
    hash: String,
    bytes: Vec<u8>,
}

impl Asset {
    fn new(name: &'static str, kind: &'static str, bytes: Vec<u8>) -> Self {
        let hash: String = Sha256::digest(&bytes).iter().take(8).map(|b| format!("{b:02x}")).collect();
        Self { name, kind, hash, bytes }
    }
    fn address(&self) -> String {
        format!("/static/{}/{}", self.hash, self.name)
    }
}

static FONTS: LazyLock<[Asset; 2]> = LazyLock::new(|| {
    [
        Asset::new(
            "regular.ttf",
            "font/ttf",
            include_bytes!(concat!(env!("OUT_DIR"), "/regular.ttf")).to_vec(),
        ),
        Asset::new("bold.ttf", "font/ttf", include_bytes!(concat!(env!("OUT_DIR"), "/bold.ttf")).to_vec()),
    ]
});

/// The script: what redraws, and what keeps entries while the server is away.
const SCRIPT: &str = concat!(include_str!("../assets/live.js"), include_str!("../assets/offline.js"));

static OTHERS: LazyLock<[Asset; 4]> = LazyLock::new(|| {
    [
        Asset::new("style.css", "text/css; charset=utf-8", style().into_bytes()),
        Asset::new("live.js", "text/javascript; charset=utf-8", SCRIPT.as_bytes().to_vec()),
        Asset::new(
            "rehearse.js",
            "text/javascript; charset=utf-8",
            include_bytes!("../assets/rehearse.js").to_vec(),
        ),
        Asset::new("mark.svg", "image/svg+xml", include_bytes!("../assets/mark.svg").to_vec()),
    ]
});

fn style() -> String {
    let mut css = String::new();
    for (font, weight) in FONTS.iter().zip([400, 700]) {
        css.push_str(&format!(
            "@font-face{{font-family:\"{FAMILY}\";font-weight:{weight};font-display:swap;src:url({}) format(\"truetype\")}}\n",
            font.address()
        ));
    }
    css.push_str(&format!(":root{{--face:\"{FAMILY}\",system-ui,sans-serif;{}}}\n", inks(&DAY)));
    css.push_str(&night("html[data-theme=dark]"));
    css.push_str(&format!(
        "@media screen and (prefers-color-scheme:dark){{{}}}\n",
        night("html[data-theme=system]")
    ));
    css.push_str(include_str!("../assets/style.css"));
    css.push_str(include_str!("../assets/run.css"));
    css.push_str(include_str!("../assets/proof.css"));
    css.push_str(include_str!("../assets/cabinet_tests.css"));
    css.push_str(include_str!("../assets/rehearse.css"));
    css.push_str(include_str!("../assets/product_trials.css"));
    css.push_str(include_str!("../assets/operate.css"));
    css
}

fn inks(t: &Theme) -> String {
    format!(
        "--paper:{};--tint:{};--ink:{};--muted:{};--line:{};--act:{}",
        t.paper, t.tint, t.ink, t.muted, t.line, t.act
    )
}

/// The dark theme below a selector; paper is never dark.
fn night(below: &str) -> String {
    let rules: String =
        chart_css(&NIGHT).split_inclusive('}').map(|rule| format!("{below} {rule}")).collect();
    format!("@media screen{{{below}{{color-scheme:dark;{}}}{rules}}}\n", inks(&NIGHT))
}

fn find(name: &str) -> Option<&'static Asset> {
    FONTS.iter().chain(OTHERS.iter()).find(|a| a.name == name)
}

/// The address of a file, with its hash.
pub(crate) fn address(name: &str) -> String {
    find(name).map(Asset::address).unwrap_or_default()
}

/// Serves a file: for good under its own hash, else not at all.
pub(crate) async fn serve(Path((hash, name)): Path<(String, String)>, headers: HeaderMap) -> Response {
    let Some(asset) = find(&name).filter(|a| a.hash == hash) else {
        return StatusCode::NOT_FOUND.into_response();
    };
    let tag = format!("\"{hash}\"");
    let fixed = [
        (ETAG, tag.clone()),
        (CACHE_CONTROL, "public, max-age=31536000, immutable".to_owned()),
        (CONTENT_TYPE, asset.kind.to_owned()),
    ];
    if headers.get(IF_NONE_MATCH).and_then(|v| v.to_str().ok()).is_some_and(|v| v.contains(&tag)) {
        return (StatusCode::NOT_MODIFIED, fixed).into_response();
    }
    (fixed, asset.bytes.clone()).into_response()
}
