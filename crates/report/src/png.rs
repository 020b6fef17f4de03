//! Pictures: an SVG turned into pixels with the one embedded typeface, never with whatever fonts a machine has.

use crate::ReportError;
use crate::font::{Weight, bytes, missing_glyphs};
use resvg::tiny_skia::{Pixmap, Transform};
use resvg::usvg::{self, Node, Options, Tree, fontdb};
use std::collections::BTreeSet;
use std::sync::{Arc, LazyLock};

/// A picture.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Png {
    /// The bytes of the PNG file.
    pub bytes: Vec<u8>,
    /// Width, px.
    pub width_px: u32,
    /// Height, px.
    pub height_px: u32,
    /// Characters that the typeface lacks and that are therefore drawn as empty boxes.
    pub missing_glyphs: BTreeSet<char>,
}

const LEAST_PX: u32 = 16;
const MOST_PX: u32 = 6000;
const MOST_HEIGHT_PX: u32 = 20_000;

static FONTS: LazyLock<Arc<fontdb::Database>> = LazyLock::new(|| {
    let mut fonts = fontdb::Database::new();
    for weight in [Weight::Regular, Weight::Bold] {
        fonts.load_font_source(fontdb::Source::Binary(Arc::new(bytes(weight))));
    }
    for set in [fontdb::Database::set_sans_serif_family, fontdb::Database::set_serif_family] {
        set(&mut fonts, crate::font::FAMILY);
    }
    Arc::new(fonts)
});

/// Draws an SVG of this crate as a PNG of a given width. Every text is checked to have been drawn.
///
/// # Errors
/// [`ReportError`] where the SVG is not well formed, the size is not allowed, or a text got lost.
pub fn png(svg: &str, width_px: u32) -> Result<Png, ReportError> {
    if !(LEAST_PX..=MOST_PX).contains(&width_px) {
        return Err(ReportError::PictureWidth { width_px, least_px: LEAST_PX, most_px: MOST_PX });
    }
    let options = Options {
        fontdb: Arc::clone(&FONTS),
        font_family: crate::font::FAMILY.to_owned(),
        ..Options::default()
    };
    let not_svg = |e: &dyn std::fmt::Display| ReportError::NotSvg { reason: e.to_string() };
    let document = usvg::roxmltree::Document::parse(svg).map_err(|e| not_svg(&e))?;
    let texts: Vec<String> = document
        .descendants()
        .filter(|n| n.has_tag_name("text"))
        .map(|n| n.descendants().filter_map(|t| t.text()).collect::<String>())
        .collect();
    let tree = Tree::from_xmltree(&document, &options).map_err(|e| not_svg(&e))?;
    let expected = texts.iter().filter(|t| !t.trim().is_empty()).count();
    let drawn = drawn_texts(tree.root());
    if drawn < expected {
        return Err(ReportError::TextLost { drawn, expected });
    }
    let missing = texts.iter().flat_map(|t| missing_glyphs(t)).collect();
    pixels(&tree, width_px, missing)
}

fn drawn_texts(group: &usvg::Group) -> usize {
    group
        .children()
        .iter()
        .map(|node| match node {
            Node::Group(g) => drawn_texts(g),
            Node::Text(t) => usize::from(t.bounding_box().width() > 0.0 && t.flattened().has_children()),
            _ => 0,
        })
        .sum()
}

fn pixels(tree: &Tree, width_px: u32, missing_glyphs: BTreeSet<char>) -> Result<Png, ReportError> {
    let scale = width_px as f32 / tree.size().width();
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
    let height_px = (tree.size().height() * scale).round().max(1.0) as u32;
    let too_high = ReportError::PictureHeight { height_px, width_px, most_px: MOST_HEIGHT_PX };
    if height_px > MOST_HEIGHT_PX {
        return Err(too_high);
    }
    let Some(mut map) = Pixmap::new(width_px, height_px) else { return Err(too_high) };
    resvg::render(tree, Transform::from_scale(scale, scale), &mut map.as_mut());
    let bytes = map.encode_png().map_err(|e| ReportError::NotPacked { reason: e.to_string() })?;
    Ok(Png { bytes, width_px, height_px, missing_glyphs })
}
