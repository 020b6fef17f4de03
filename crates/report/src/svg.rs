//! A small writer of SVG elements: colours as attributes (for pictures) and as classes (for themes on a page).

use crate::escape;
use crate::font::{FAMILY, Weight};
use crate::theme::{DAY, ink};
use std::fmt::Write as _;

/// A coordinate with one decimal; what is not finite becomes 0.
pub(crate) fn c(v: f64) -> String {
    let r = if v.is_finite() { (v * 10.0).round() / 10.0 } else { 0.0 };
    if r == 0.0 { "0".to_owned() } else { format!("{r}") }
}

/// A named colour role.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Tone {
    Paper,
    Tint,
    Line,
    Ink,
    Muted,
    Series(usize),
}

impl Tone {
    fn colour(self) -> &'static str {
        match self {
            Self::Paper => DAY.paper,
            Self::Tint => DAY.tint,
            Self::Line => DAY.line,
            Self::Ink => DAY.ink,
            Self::Muted => DAY.muted,
            Self::Series(n) => ink(n).1,
        }
    }
    /// `class` and `fill` attributes.
    pub fn fill(self) -> String {
        let class = match self {
            Self::Paper | Self::Line => "fr-paper".to_owned(),
            Self::Tint => "fr-tint".to_owned(),
            Self::Ink => "fr-ink".to_owned(),
            Self::Muted => "fr-muted".to_owned(),
            Self::Series(n) => format!("fr-t{}", ink(n).0),
        };
        format!("class=\"{class}\" fill=\"{}\"", self.colour())
    }
    /// `class` and `stroke` attributes.
    pub fn stroke(self) -> String {
        let class = match self {
            Self::Paper => "fr-halo".to_owned(),
            Self::Tint | Self::Line => "fr-grid".to_owned(),
            Self::Ink => "fr-inkline".to_owned(),
            Self::Muted => "fr-mutedline".to_owned(),
            Self::Series(n) => format!("fr-s{}", ink(n).0),
        };
        format!("class=\"{class}\" stroke=\"{}\"", self.colour())
    }
}

/// Where a text is held.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Anchor {
    Start,
    Middle,
    End,
}

/// How a text looks.
#[derive(Clone, Copy, Debug)]
pub(crate) struct TextStyle {
    pub size: f64,
    pub weight: Weight,
    pub tone: Tone,
    pub anchor: Anchor,
    /// A rim in the colour of the paper, so that lines do not run through the letters.
    pub halo: bool,
}

/// The drawing under way.
#[derive(Debug, Default)]
pub(crate) struct Svg {
    body: String,
}

impl Svg {
    pub fn raw(&mut self, element: &str) {
        self.body.push_str(element);
        self.body.push('\n');
    }
    pub fn rect(&mut self, x: f64, y: f64, w: f64, h: f64, attributes: &str) {
        let (w, h) = (w.max(0.0), h.max(0.0));
        self.raw(&format!(
            "<rect x=\"{}\" y=\"{}\" width=\"{}\" height=\"{}\" {attributes}/>",
            c(x),
            c(y),
            c(w),
            c(h)
        ));
    }
    pub fn line(&mut self, from: (f64, f64), to: (f64, f64), attributes: &str) {
        let ((x1, y1), (x2, y2)) = (from, to);
        self.raw(&format!(
            "<line x1=\"{}\" y1=\"{}\" x2=\"{}\" y2=\"{}\" {attributes}/>",
            c(x1),
            c(y1),
            c(x2),
            c(y2)
        ));
    }
    /// A polyline as a path; nothing for fewer than two points.
    pub fn path(&mut self, points: &[(f64, f64)], attributes: &str) {
        if points.len() > 1 {
            self.raw(&format!("<path d=\"{}\" {attributes}/>", path_data(points)));
        }
    }
    pub fn text(&mut self, x: f64, y: f64, text: &str, style: TextStyle) {
        if text.trim().is_empty() {
            return;
        }
        let anchor = match style.anchor {
            Anchor::Start => "",
            Anchor::Middle => " text-anchor=\"middle\"",
            Anchor::End => " text-anchor=\"end\"",
        };
        let weight = if style.weight == Weight::Bold { " font-weight=\"700\"" } else { "" };
        let place = format!("x=\"{}\" y=\"{}\" font-size=\"{}\"{weight}{anchor}", c(x), c(y), c(style.size));
        let words = escape(text);
        let tone = style.tone.fill();
        if style.halo {
            let tone = tone.replacen("\" fill", " fr-halo\" fill", 1);
            self.raw(&format!(
                "<text {place} {tone} stroke=\"{}\" stroke-width=\"4\" stroke-linejoin=\"round\" paint-order=\"stroke\">{words}</text>",
                DAY.paper
            ));
        } else {
            self.raw(&format!("<text {place} {tone}>{words}</text>"));
        }
    }
    /// Closes the drawing with its title, its description and its ground.
    pub fn finish(self, id: &str, title: &str, description: &str, width: f64, height: f64) -> String {
        let (w, h) = (c(width), c(height));
        let mut out = String::new();
        let _ = writeln!(
            out,
            "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {w} {h}\" width=\"{w}\" height=\"{h}\" role=\"img\" \
             aria-labelledby=\"{id}-title {id}-desc\" font-family=\"{FAMILY}, sans-serif\">"
        );
        let _ = writeln!(out, "<title id=\"{id}-title\">{}</title>", escape(title));
        let _ = writeln!(out, "<desc id=\"{id}-desc\">{}</desc>", escape(description));
        let _ = writeln!(out, "<rect x=\"0\" y=\"0\" width=\"{w}\" height=\"{h}\" {}/>", Tone::Paper.fill());
        out.push_str(&self.body);
        out.push_str("</svg>\n");
        out
    }
}

/// A drawing of this crate for white paper: on no ground of its own, its rims white, and every character that the
/// typeface lacks or that hides drawn as U+FFFD.
#[must_use]
pub(crate) fn for_paper(svg: &str) -> String {
    let paper = format!("\"{}\"", DAY.paper);
    let ground = format!("{}/>\n", Tone::Paper.fill());
    let (head, body) = svg.split_once(&ground).unwrap_or(("", svg));
    let head = head.rsplit_once("<rect").map_or(head, |(before, _)| before);
    let drawn = |c: char| c == '\n' || (!crate::document::is_hidden(c) && crate::font::has_glyph(c));
    let whole = format!("{head}{}", body.replace(&paper, "\"#ffffff\""));
    whole.chars().map(|c| if drawn(c) { c } else { char::REPLACEMENT_CHARACTER }).collect()
}

/// `M x y L x y ...`
pub(crate) fn path_data(points: &[(f64, f64)]) -> String {
    let mut d = String::with_capacity(points.len() * 12);
    for (i, (x, y)) in points.iter().enumerate() {
        let _ = write!(d, "{}{} {}", if i == 0 { "M" } else { " L" }, c(*x), c(*y));
    }
    d
}

#[cfg(test)]
mod tests {
    use super::c;

    #[test]
    fn limit_coordinates_are_always_numbers() {
        assert_eq!([f64::NAN, f64::INFINITY, -0.04, 12.345, 20.0].map(c), ["0", "0", "0", "12.3", "20"]);
    }
}
