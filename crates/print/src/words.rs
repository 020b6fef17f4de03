//! Texts made ready to print: every character has a glyph, and no word is wider than its room.

use fallrate_report::font::{Weight, has_glyph, text_width};
use fallrate_report::{legible, units_kept};
use std::fmt::Write as _;
use typst::foundations::{Array, Str, Value};

/// Share of a room that a word may fill by the widths without kerning.
const FILL: f64 = 0.97;

/// A text as it is printed: what cannot be seen or drawn is written out as `[U+4E2D]`.
pub(crate) fn printable(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in legible(text).chars() {
        match c {
            '\n' => out.push(c),
            c if has_glyph(c) => out.push(c),
            c if c.is_whitespace() => out.push(' '),
            c => {
                let _ = write!(out, "[U+{:04X}]", u32::from(c));
            }
        }
    }
    out
}

/// As [`printable`], with every unit held to its number.
fn kept(text: &str) -> String {
    units_kept(&printable(text))
}

/// How a text is set.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Style {
    pub weight: Weight,
    /// Size, pt.
    pub size: f64,
}

impl Style {
    pub const fn regular(size: f64) -> Self {
        Self { weight: Weight::Regular, size }
    }
    pub const fn bold(size: f64) -> Self {
        Self { weight: Weight::Bold, size }
    }
    /// Width of a line, pt.
    pub fn width(self, text: &str) -> f64 {
        text_width(text, self.weight, self.size)
    }
    /// Width of the widest line of a text, pt.
    pub fn widest_line(self, text: &str) -> f64 {
        kept(text).lines().map(|l| self.width(l)).fold(0.0, f64::max)
    }
    /// Width of the widest word of a text, pt.
    pub fn widest_word(self, text: &str) -> f64 {
        kept(text).split([' ', '\n']).map(|w| self.width(w)).fold(0.0, f64::max)
    }
    /// The text as lines of pieces: between pieces a line may break, so that no word leaves a room of `room` pt.
    pub fn lines(self, text: &str, room: f64) -> Value {
        let printed = kept(text.trim_end());
        let line = |line: &str| {
            let pieces = self.pieces(line, room * FILL).into_iter();
            Value::Array(pieces.map(|p| Value::Str(Str::from(p))).collect::<Array>())
        };
        Value::Array(printed.lines().map(line).collect())
    }

    /// As [`Style::lines`], cut with an ellipsis where it would take more than three lines.
    pub fn three_lines(self, text: &str, room: f64) -> Value {
        let mut cut = printable(text.trim()).replace('\n', " · ");
        // Lines are not filled to their ends.
        while self.width(&cut) > room * 2.5 {
            let kept = cut.chars().count().saturating_sub(2);
            cut = cut.chars().take(kept).collect::<String>() + "…";
        }
        self.lines(&cut, room)
    }

    fn pieces(self, line: &str, room: f64) -> Vec<String> {
        let mut pieces = vec![String::new()];
        for (n, word) in line.split(' ').enumerate() {
            if n > 0 {
                push(&mut pieces, ' ');
            }
            if self.width(word) <= room {
                word.chars().for_each(|c| push(&mut pieces, c));
                continue;
            }
            let mut used = f64::INFINITY;
            for c in word.chars() {
                let width = self.width(c.encode_utf8(&mut [0; 4]));
                if used + width > room {
                    pieces.push(String::new());
                    used = 0.0;
                }
                used += width;
                push(&mut pieces, c);
            }
            pieces.push(String::new());
        }
        pieces.retain(|p| !p.is_empty());
        pieces
    }
}

fn push(pieces: &mut [String], c: char) {
    if let Some(last) = pieces.last_mut() {
        last.push(c);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn identity_pieces_are_the_text() {
        let style = Style::regular(10.0);
        for text in [
            "",
            " ",
            "a  b ",
            "short words",
            &"0123456789abcdef".repeat(8),
            "x yyyyyyyyyyyyyyyyyyyyyyyyyyy z",
        ] {
            let pieces = style.pieces(text, 40.0);
            assert_eq!(pieces.concat(), text);
            for piece in &pieces {
                assert!(piece.split(' ').all(|w| style.width(w) <= 40.0), "{piece}");
            }
        }
    }

    #[test]
    fn limit_what_cannot_be_drawn_is_written_out() {
        assert_eq!(printable("a\u{202e}b 中\u{3000}§ ≥ 4 min"), "a[U+202E]b [U+4E2D] § ≥ 4 min");
        assert_eq!(kept("4 min"), "4\u{a0}min");
    }
}
