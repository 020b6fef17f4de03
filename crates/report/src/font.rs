//! The one typeface of every page, card and picture, and its text widths.
//!
//! Noto Sans (SIL Open Font License 1.1) comes inside a registry package; its figures all have one width, so
//! columns of numbers stand in line. Widths are the sum of the glyphs' advances, without kerning.

use std::collections::BTreeSet;
use std::sync::LazyLock;
use ttf_parser::Face;

/// The family name to write wherever a font is named.
pub const FAMILY: &str = "Noto Sans";

static REGULAR: &[u8] = notosans::REGULAR_TTF;
static BOLD: &[u8] = notosans::BOLD_TTF;
static FACES: LazyLock<[Option<Face<'static>>; 2]> =
    LazyLock::new(|| [Face::parse(REGULAR, 0).ok(), Face::parse(BOLD, 0).ok()]);

/// The weights in use.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Weight {
    /// Running text.
    Regular,
    /// Headings and main numbers.
    Bold,
}

/// The bytes of the TrueType file of a weight.
#[must_use]
pub fn bytes(weight: Weight) -> &'static [u8] {
    match weight {
        Weight::Regular => REGULAR,
        Weight::Bold => BOLD,
    }
}

fn face(weight: Weight) -> Option<&'static Face<'static>> {
    let [regular, bold] = &*FACES;
    match weight {
        Weight::Regular => regular.as_ref(),
        Weight::Bold => bold.as_ref(),
    }
}

/// Width of a line of text at a font size, in the unit of the size. A missing glyph counts 0.6 em.
#[must_use]
pub fn text_width(text: &str, weight: Weight, size: f64) -> f64 {
    let Some(face) = face(weight) else { return text.chars().count() as f64 * size * 0.6 };
    let em = f64::from(face.units_per_em());
    let advance = |c: char| face.glyph_index(c).and_then(|g| face.glyph_hor_advance(g)).map(f64::from);
    text.chars().map(|c| advance(c).unwrap_or(0.6 * em)).sum::<f64>() / em * size
}

/// Characters the typeface cannot draw, in code order.
#[must_use]
pub fn missing_glyphs(text: &str) -> BTreeSet<char> {
    let Some(face) = face(Weight::Regular) else { return text.chars().collect() };
    text.chars().filter(|c| !c.is_whitespace() && face.glyph_index(*c).is_none()).collect()
}

/// Whether both weights can draw a character.
#[must_use]
pub fn has_glyph(c: char) -> bool {
    [Weight::Regular, Weight::Bold].into_iter().all(|w| face(w).is_some_and(|f| f.glyph_index(c).is_some()))
}

/// Cuts a text that is wider than `most`, with an ellipsis.
#[must_use]
pub(crate) fn fit(text: &str, weight: Weight, size: f64, most: f64) -> String {
    if text_width(text, weight, size) <= most {
        return text.to_owned();
    }
    let mut cut = text.trim_end().to_owned();
    while !cut.is_empty() && text_width(&cut, weight, size) + text_width("…", weight, size) > most {
        cut.pop();
    }
    cut.trim_end().to_owned() + "…"
}

/// Breaks a text into lines no wider than `most`; a word wider than that is broken inside.
#[must_use]
pub(crate) fn wrap(text: &str, weight: Weight, size: f64, most: f64) -> Vec<String> {
    let fits = |line: &str| text_width(line, weight, size) <= most;
    let mut lines = vec![];
    let mut line = String::new();
    for word in text.split_whitespace() {
        let longer = if line.is_empty() { word.to_owned() } else { format!("{line} {word}") };
        if fits(&longer) {
            line = longer;
            continue;
        }
        if !line.is_empty() {
            lines.push(std::mem::take(&mut line));
        }
        for c in word.chars() {
            line.push(c);
            if line.chars().count() > 1 && !fits(&line) {
                line.pop();
                lines.push(std::mem::replace(&mut line, c.to_string()));
            }
        }
    }
    if !line.is_empty() {
        lines.push(line);
    }
    lines
}
