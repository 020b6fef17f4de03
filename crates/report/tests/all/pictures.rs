use super::charts::text_box;
use super::sample;
use fallrate_report::font::{Weight, bytes, missing_glyphs, text_width};
use fallrate_report::*;
use resvg::tiny_skia::Pixmap;
use roxmltree::Document;

fn without_texts(svg: &str) -> String {
    svg.lines().filter(|l| !l.starts_with("<text")).collect::<Vec<_>>().join("\n")
}

fn pixels(svg: &str, width: u32) -> Pixmap {
    Pixmap::decode_png(&png(svg, width).unwrap().bytes).unwrap()
}

/// A generic family once lost all labels of a picture without a word: every text must leave ink in its own place.
#[test]
fn limit_every_text_leaves_ink_in_the_picture() {
    for (svg, width) in [
        (sample::run_chart().svg(&Layout::wide(), "a"), 840),
        (sample::bars().svg(&Layout::narrow(), "b"), 480),
        (sample::strip().svg(&Layout::narrow(), "c"), 480),
    ] {
        let (with, without) = (pixels(&svg, width), pixels(&without_texts(&svg), width));
        let doc = Document::parse(&svg).unwrap();
        let scale = f64::from(width) / super::charts::number(&doc.root_element(), "width");
        let texts: Vec<_> = doc.descendants().filter(|n| n.tag_name().name() == "text").collect();
        assert!(texts.len() > 8);
        for text in texts {
            let (l, t, r, b) = text_box(&text);
            let (mut changed, mut all) = (0, 0);
            for y in (t * scale) as u32..(b * scale) as u32 {
                for x in (l * scale) as u32..(r * scale) as u32 {
                    all += 1;
                    changed += u32::from(with.pixel(x, y) != without.pixel(x, y));
                }
            }
            let share = f64::from(changed) / f64::from(all);
            assert!(share > 0.15, "'{}': {changed} of {all} pixels changed", text.text().unwrap());
        }
    }
}

#[test]
fn limit_a_lost_text_is_an_error_and_no_silence() {
    let svg = |text: &str, more: &str| {
        format!(
            "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"100\" height=\"40\" font-family=\"Noto Sans\">\
                 <text x=\"4\" y=\"20\" font-size=\"12\" {more}>{text}</text></svg>"
        )
    };
    assert!(png(&svg("core", "fill=\"#000\""), 100).is_ok());
    let lost = png(&svg("core", "display=\"none\""), 100);
    assert!(matches!(lost, Err(ReportError::TextLost { drawn: 0, expected: 1 })), "{lost:?}");
    let missing = png(&svg("\u{6e7f}", "fill=\"#000\""), 100);
    let drawn = missing.unwrap();
    assert_eq!(drawn.missing_glyphs.into_iter().collect::<String>(), "\u{6e7f}");
}

#[test]
fn limit_pictures_have_sound_sizes() {
    let svg = sample::strip().svg(&Layout::narrow(), "s");
    assert!(matches!(png(&svg, 0), Err(ReportError::PictureWidth { width_px: 0, .. })));
    assert!(matches!(png(&svg, 100_000), Err(ReportError::PictureWidth { .. })));
    assert!(matches!(png("<svg", 100), Err(ReportError::NotSvg { .. })));
    let p = png(&svg, 480).unwrap();
    assert_eq!(p.width_px, 480);
    assert!(p.missing_glyphs.is_empty());
    assert_eq!(p, png(&svg, 480).unwrap());
}

/// Figures must be tabular, and the signs that plans use must be there.
#[test]
fn identity_figures_have_one_width_and_signs_exist() {
    for weight in [Weight::Regular, Weight::Bold] {
        let zero = text_width("0", weight, 1000.0);
        for figure in "123456789".chars() {
            assert!((text_width(&figure.to_string(), weight, 1000.0) - zero).abs() < 1e-9, "{figure}");
        }
        let face = ttf_parser::Face::parse(bytes(weight), 0).unwrap();
        let family = face.names().into_iter().find(|n| n.name_id == 1).and_then(|n| n.to_string());
        assert_eq!(family.as_deref(), Some(font::FAMILY));
    }
    let needed = "°±×÷−–—≤≥²³½¼·µ€£$%áéíóúüñ¿¡ÁÉÍÓÚÑ«»“”‘’…";
    assert!(missing_glyphs(needed).is_empty(), "{:?}", missing_glyphs(needed));
}
