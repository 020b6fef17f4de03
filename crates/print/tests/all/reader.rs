//! Reads a PDF with a reader of its own (`hayro`): letters with their places and inks, the tree of tags, the
//! description.

use hayro_interpret::font::Glyph;
use hayro_interpret::hayro_cmap::BfString;
use hayro_interpret::hayro_syntax::Pdf;
use hayro_interpret::hayro_syntax::object::{Dict, Name, Object, Stream, String as PdfString};
use hayro_interpret::{
    BlendMode, ClipPath, Context, Device, GlyphDrawMode, Image, InterpreterCache, InterpreterSettings, Paint,
    PathDrawMode, SoftMask, TransformExt, interpret_page,
};
use kurbo::{Affine, BezPath, Point, Rect};
use std::collections::BTreeMap;

/// A letter on a page.
#[derive(Clone, Debug)]
pub struct Letter {
    pub text: String,
    /// Origin from the left top, pt.
    pub x: f64,
    pub y: f64,
    /// Right end, pt.
    pub right: f64,
    /// Size of type, pt.
    pub size: f64,
    /// Whether it is text of the document, not a repeated or decorative part.
    pub tagged: bool,
    /// Relative luminance of its ink, 0 black to 1 white; nothing for a pattern.
    pub luminance: Option<f64>,
    pub glyph_id: u32,
    /// Whether the word stands upright.
    pub upright: bool,
}

/// A page.
pub struct Page {
    pub width: f64,
    pub height: f64,
    pub letters: Vec<Letter>,
}

impl Page {
    /// The text in the order of drawing.
    pub fn text(&self) -> String {
        text_of(self.letters.iter())
    }
    /// The text without running head, foot and watermark.
    pub fn tagged_text(&self) -> String {
        text_of(self.letters.iter().filter(|l| l.tagged))
    }
}

fn text_of<'a>(letters: impl Iterator<Item = &'a Letter>) -> String {
    let mut out = String::new();
    let mut last: Option<&Letter> = None;
    for l in letters {
        if let Some(p) = last {
            if (p.y - l.y).abs() > 0.4 * l.size {
                out.push('\n');
            } else if l.x - p.right > 0.2 * l.size {
                out.push(' ');
            }
        }
        out.push_str(&l.text);
        last = Some(l);
    }
    out
}

#[derive(Default)]
struct Letters {
    letters: Vec<Letter>,
    tags: Vec<bool>,
}

impl<'a> Device<'a> for Letters {
    fn set_soft_mask(&mut self, _: Option<SoftMask<'a>>) {}
    fn set_blend_mode(&mut self, _: BlendMode) {}
    fn draw_path(&mut self, _: &BezPath, _: Affine, _: &Paint<'a>, _: &PathDrawMode) {}
    fn push_clip_path(&mut self, _: &ClipPath) {}
    fn push_transparency_group(&mut self, _: f32, _: Option<SoftMask<'a>>, _: BlendMode) {}
    fn draw_image(&mut self, _: Image<'a, '_>, _: Affine) {}
    fn pop_clip_path(&mut self) {}
    fn pop_transparency_group(&mut self) {}
    fn begin_marked_content(&mut self, tag: &[u8], mcid: Option<i32>) {
        self.tags.push(tag != b"Artifact" && mcid.is_some());
    }
    fn end_marked_content(&mut self) {
        self.tags.pop();
    }
    fn draw_glyph(
        &mut self,
        glyph: &Glyph<'a>,
        transform: Affine,
        glyph_transform: Affine,
        paint: &Paint<'a>,
        _: &GlyphDrawMode,
    ) {
        let Glyph::Outline(outline) = glyph else { panic!("a glyph without outline") };
        let place = transform * glyph_transform;
        let advance = f64::from(outline.advance_width().expect("a glyph without width"));
        let (start, end) = (place * Point::ORIGIN, place * Point::new(advance, 0.0));
        let text = match outline.as_unicode().expect("a glyph without text") {
            BfString::Char(c) => c.to_string(),
            BfString::String(s) => s,
        };
        let luminance = match paint {
            Paint::Color(c) => {
                let [r, g, b, _] = c.to_rgba().to_rgba8().map(|v| channel(f64::from(v) / 255.0));
                Some(0.2126 * r + 0.7152 * g + 0.0722 * b)
            }
            Paint::Pattern(_) => None,
        };
        let [a, b, ..] = place.as_coeffs();
        // A letter with a rim is drawn twice.
        let same = |l: &Letter| l.text == text && (l.x - start.x).hypot(l.y - start.y) < 1e-6;
        if self.letters.last().is_some_and(same) {
            return;
        }
        self.letters.push(Letter {
            text,
            x: start.x,
            y: start.y,
            right: end.x,
            size: 1000.0 * a.hypot(b),
            tagged: self.tags.last().copied().unwrap_or(false),
            luminance,
            glyph_id: outline.glyph_id().to_u32(),
            upright: b.abs() < 1e-9 && a > 0.0,
        });
    }
}

/// Relative luminance, from WCAG 2.2, definition of "relative luminance" (from memory).
fn channel(v: f64) -> f64 {
    if v <= 0.04045 { v / 12.92 } else { ((v + 0.055) / 1.055).powf(2.4) }
}

/// Every page with its letters.
pub fn pages(bytes: &[u8]) -> Vec<Page> {
    let pdf = open(bytes);
    let page = |page: &hayro_interpret::hayro_syntax::page::Page<'_>| {
        let (width, height) = page.render_dimensions();
        let (width, height) = (f64::from(width), f64::from(height));
        let cache = InterpreterCache::new();
        let start = page.initial_transform(true).to_kurbo();
        let mut context = Context::new(
            start,
            Rect::new(0.0, 0.0, width, height),
            &cache,
            page.xref(),
            InterpreterSettings::default(),
        );
        let mut letters = Letters::default();
        interpret_page(page, &mut context, &mut letters);
        Page { width, height, letters: letters.letters }
    };
    pdf.pages().iter().map(page).collect()
}

pub fn open(bytes: &[u8]) -> Pdf {
    Pdf::new(bytes.to_vec()).expect("a readable file")
}

/// The catalogue of a file.
pub fn catalogue(pdf: &Pdf) -> Dict<'_> {
    pdf.xref().get(pdf.xref().root_id()).expect("a catalogue")
}

/// The XMP description.
pub fn xmp(pdf: &Pdf) -> String {
    let stream: Stream<'_> = catalogue(pdf).get(b"Metadata").expect("a description");
    String::from_utf8(stream.decoded().expect("readable").to_vec()).unwrap()
}

/// One element of the tree of tags.
#[derive(Clone, Debug)]
pub struct Tag {
    pub role: String,
    pub alt: Option<String>,
    /// Scope of a heading cell.
    pub scope: Option<String>,
}

/// All tags, in reading order.
pub fn tags(pdf: &Pdf) -> Vec<Tag> {
    let root: Dict<'_> = catalogue(pdf).get(b"StructTreeRoot").expect("a tree of tags");
    let mut out = vec![];
    children(&root, &mut out);
    out
}

fn children(dict: &Dict<'_>, out: &mut Vec<Tag>) {
    let kids: Vec<Object<'_>> = match dict.get::<Object<'_>>(b"K") {
        Some(Object::Array(a)) => a.iter::<Object<'_>>().collect(),
        Some(one) => vec![one],
        None => vec![],
    };
    for kid in kids {
        let Object::Dict(kid) = kid else { continue };
        let Some(role) = kid.get::<Name<'_>>(b"S") else { continue };
        let role = role.as_str().to_owned();
        let scope =
            attributes(&kid).iter().find_map(|a| Some(a.get::<Name<'_>>(b"Scope")?.as_str().to_owned()));
        out.push(Tag { role, alt: kid.get::<PdfString<'_>>(b"Alt").map(|s| decode(s.as_bytes())), scope });
        children(&kid, out);
    }
}

fn attributes<'a>(dict: &Dict<'a>) -> Vec<Dict<'a>> {
    match dict.get::<Object<'a>>(b"A") {
        Some(Object::Dict(d)) => vec![d],
        Some(Object::Array(a)) => a.iter::<Dict<'a>>().collect(),
        _ => vec![],
    }
}

/// A text string: UTF-16 with its mark, else bytes as Latin 1.
pub fn decode(bytes: &[u8]) -> String {
    match bytes {
        [0xfe, 0xff, rest @ ..] => {
            let units: Vec<u16> = rest.chunks(2).map(|c| u16::from_be_bytes([c[0], c[1]])).collect();
            String::from_utf16(&units).unwrap()
        }
        _ => bytes.iter().map(|b| char::from(*b)).collect(),
    }
}

/// Every dictionary of the file by its number, streams' among them.
pub fn dictionaries(pdf: &Pdf) -> BTreeMap<usize, Vec<String>> {
    let keys = |d: &Dict<'_>| d.keys().map(|k| k.as_str().to_owned()).collect::<Vec<_>>();
    let objects = pdf.objects().into_iter().enumerate();
    objects
        .filter_map(|(n, o)| match o {
            Object::Dict(d) => Some((n, keys(&d))),
            Object::Stream(s) => Some((n, keys(s.dict()))),
            _ => None,
        })
        .collect()
}
