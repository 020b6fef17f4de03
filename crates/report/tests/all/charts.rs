use super::sample;
use fallrate_report::font::{Weight, text_width};
use fallrate_report::theme::{DAY, NIGHT, Theme};
use fallrate_report::*;
use roxmltree::{Document, Node};
use std::collections::BTreeSet;

pub fn number(node: &Node<'_, '_>, name: &str) -> f64 {
    node.attribute(name).unwrap().parse().unwrap()
}

/// Left, top, right, bottom of a text's letters.
pub fn text_box(node: &Node<'_, '_>) -> (f64, f64, f64, f64) {
    let weight = if node.attribute("font-weight").is_some() { Weight::Bold } else { Weight::Regular };
    let size = number(node, "font-size");
    let width = text_width(node.text().unwrap(), weight, size);
    let left = match node.attribute("text-anchor") {
        Some("end") => number(node, "x") - width,
        Some("middle") => number(node, "x") - width / 2.0,
        _ => number(node, "x"),
    };
    let base = number(node, "y");
    (left, base - size * 0.72, left + width, base)
}

fn every_drawing() -> Vec<(String, String)> {
    let mut out = vec![];
    for (size, layout) in [("wide", Layout::wide()), ("narrow", Layout::narrow())] {
        out.push((format!("run {size}"), sample::run_chart().svg(&layout, "a")));
        out.push((format!("forecast {size}"), sample::forecast_chart().svg(&layout, "b")));
        out.push((format!("crowded {size}"), sample::crowded_chart().svg(&layout, "e")));
        out.push((format!("bars {size}"), sample::bars().svg(&layout, "c")));
        out.push((format!("strip {size}"), sample::strip().svg(&layout, "d")));
    }
    out
}

#[test]
fn identity_drawings_are_well_formed_named_and_described() {
    for (name, svg) in every_drawing() {
        let doc = Document::parse(&svg).unwrap();
        let root = doc.root_element();
        assert_eq!(root.attribute("role"), Some("img"), "{name}");
        let ids: Vec<&str> = doc.descendants().filter_map(|n| n.attribute("id")).collect();
        assert_eq!(ids.len(), ids.iter().collect::<BTreeSet<_>>().len(), "{name}: ids repeat");
        let named: Vec<&str> = root.attribute("aria-labelledby").unwrap().split(' ').collect();
        for (id, tag) in named.iter().zip(["title", "desc"]) {
            let node = doc.descendants().find(|n| n.attribute("id") == Some(*id)).unwrap();
            assert!(node.has_tag_name(("http://www.w3.org/2000/svg", tag)), "{name}");
            assert!(node.text().unwrap().len() > 5, "{name}");
        }
        assert!(root.attribute("font-family").unwrap().starts_with(font::FAMILY));
        for n in doc.descendants().filter(|n| !n.has_tag_name("svg")) {
            assert!(n.attribute("font-family").is_none(), "{name}: one family, named once");
            for v in n.attributes() {
                if let Some(id) = v.value().strip_prefix("url(#").and_then(|v| v.strip_suffix(")")) {
                    assert!(ids.contains(&id), "{name}: {id} is not in the drawing");
                }
            }
        }
    }
}

#[test]
fn identity_no_words_overlap_and_none_leaves_the_drawing() {
    for (name, svg) in every_drawing() {
        let doc = Document::parse(&svg).unwrap();
        let (w, h) = (number(&doc.root_element(), "width"), number(&doc.root_element(), "height"));
        let texts: Vec<_> = doc
            .descendants()
            .filter(|n| n.tag_name().name() == "text")
            .map(|n| (n.text().unwrap(), text_box(&n)))
            .collect();
        for (i, (a, (l, t, r, b))) in texts.iter().enumerate() {
            assert!(
                *l >= 0.0 && *t >= 0.0 && *r <= w && *b <= h,
                "{name}: '{a}' leaves the drawing: {l} {t} {r} {b}"
            );
            for (c, (l2, t2, r2, b2)) in &texts[i + 1..] {
                assert!(l >= r2 || l2 >= r || t >= b2 || t2 >= b, "{name}: '{a}' and '{c}' overlap");
            }
        }
    }
}

#[test]
fn identity_a_forecast_is_dashed_and_a_measurement_solid_with_points() {
    let mut chart = sample::run_chart();
    for kind in [Kind::Forecast, Kind::Measured] {
        chart.series = vec![Series {
            label: "core".into(),
            points: (0..20).map(|i| (f64::from(i) * 0.4, 100.0 + f64::from(i))).collect(),
            kind,
            ..Series::default()
        }];
        chart.bands.clear();
        let svg = chart.svg(&Layout::wide(), "k");
        let doc = Document::parse(&svg).unwrap();
        let group = doc.descendants().find(|n| n.attribute("clip-path") == Some("url(#k-clip0)")).unwrap();
        let line = group.children().find(|n| n.tag_name().name() == "path").unwrap();
        let points = group.children().filter(|n| n.tag_name().name() == "circle").count();
        assert_eq!(line.attribute("stroke-dasharray").is_some(), kind == Kind::Forecast);
        assert_eq!(points, if kind == Kind::Measured { 20 } else { 0 });
    }
}

#[test]
fn identity_forecasts_of_a_panel_have_different_dashes() {
    let mut chart = sample::forecast_chart();
    chart.bands.clear();
    let svg = chart.svg(&Layout::wide(), "k");
    let doc = Document::parse(&svg).unwrap();
    let group = doc.descendants().find(|n| n.attribute("clip-path") == Some("url(#k-clip0)")).unwrap();
    let dashes: Vec<_> = group.children().filter_map(|n| n.attribute("stroke-dasharray")).collect();
    assert_eq!(dashes.len(), 3);
    assert_eq!(dashes.iter().collect::<BTreeSet<_>>().len(), 3);
}

#[test]
fn identity_ten_crowded_line_ends_keep_their_names_apart() {
    let series = (0..10)
        .map(|i| Series {
            label: format!("tray {i}"),
            points: vec![(0.0, 80.0), (5.0, 20.0 + f64::from(i) * 0.2)],
            ..Series::default()
        })
        .collect();
    let chart = Chart { title: "Trays".into(), axes: vec![Axis::default()], series, ..Chart::default() };
    let svg = chart.svg(&Layout::wide(), "t");
    let doc = Document::parse(&svg).unwrap();
    let mut boxes: Vec<_> = doc
        .descendants()
        .filter(|n| n.text().is_some_and(|t| t.starts_with("tray ")) && n.tag_name().name() == "text")
        .map(|n| text_box(&n))
        .collect();
    assert_eq!(boxes.len(), 10);
    boxes.sort_by(|a, b| a.1.total_cmp(&b.1));
    assert!(boxes.windows(2).all(|w| w[0].3 <= w[1].1 + 0.11), "{boxes:?}");
}

#[test]
fn identity_clock_and_elapsed_agree() {
    let svg = sample::forecast_chart().svg(&Layout::wide(), "k");
    let doc = Document::parse(&svg).unwrap();
    let at =
        |words: &str| doc.descendants().find(|n| n.text() == Some(words)).map(|n| number(&n, "x")).unwrap();
    let hour = at("2 h") - at("1 h");
    // The run starts at 06:40: 07:40 is 1 h, so 08:00 lies a third of an hour later.
    assert!((at("08:00") - (at("1 h") + hour / 3.0)).abs() < 0.2);
}

#[test]
fn identity_table_behind_holds_only_points_of_the_chart() {
    let chart = sample::run_chart();
    let table = chart.data_table();
    assert_eq!(table.header.len(), 2 + chart.series.len());
    assert_eq!(table.rows[0][..2], ["0 h", "06:40"]);
    let (last_measured, after) = (&table.rows[3][5], &table.rows[5][5]);
    assert!(!last_measured.is_empty() && after.is_empty(), "a measurement does not go on after its end");
    let core = &chart.series[1].points;
    let shown: f64 = table.rows[2][3].parse().unwrap();
    assert!(core.iter().any(|p| (p.0 - 2.0).abs() <= 0.5 && (p.1 - shown).abs() <= 0.51));
}

#[test]
fn regress_small_chart() {
    let chart = Chart {
        title: "Core".into(),
        description: "A core that warms.".into(),
        clock_start: Some(fallrate_units::TimeOfDay::from_hm(6, 40)),
        axes: vec![Axis { label: "Temperature".into(), unit: "°C".into(), range: AxisRange::Auto }],
        series: vec![
            Series {
                label: "Core".into(),
                points: vec![(0.0, 20.0), (1.0, 55.0), (2.0, 63.0)],
                ..Series::default()
            },
            Series {
                label: "Core".into(),
                points: vec![(0.0, 21.0), (0.5, 41.0), (0.8, f64::NAN), (1.0, 57.0)],
                kind: Kind::Measured,
                ink: Some(0),
                ..Series::default()
            },
        ],
        targets: vec![Target { label: "limit 60 °C".into(), axis: 0, value: 60.0 }],
        stages: vec![Stage { name: "Warm".into(), from_h: 0.0, to_h: 1.2 }],
        now: Some(Mark { label: "now".into(), at_h: 1.0 }),
        ..Chart::default()
    };
    insta::assert_snapshot!(chart.svg(&Layout::narrow(), "core"));
}

/// Contrast ratio of WCAG 2.2, section 1.4.3 and "relative luminance" (formula from memory).
fn contrast(a: &str, b: &str) -> f64 {
    let luminance = |hex: &str| {
        let part = |i: usize| f64::from(u8::from_str_radix(&hex[i..i + 2], 16).unwrap()) / 255.0;
        let linear = |v: f64| if v <= 0.04045 { v / 12.92 } else { ((v + 0.055) / 1.055).powf(2.4) };
        0.2126 * linear(part(1)) + 0.7152 * linear(part(3)) + 0.0722 * linear(part(5))
    };
    let (x, y) = (luminance(a), luminance(b));
    (x.max(y) + 0.05) / (x.min(y) + 0.05)
}

#[test]
fn limit_inks_read_on_every_ground() {
    assert!((contrast("#ffffff", "#000000") - 21.0).abs() < 1e-9);
    for (name, theme) in [("day", DAY), ("night", NIGHT)] {
        let Theme { paper, tint, ink, muted, act, series, .. } = theme;
        for ground in [paper, tint] {
            for colour in [ink, muted, act].iter().chain(&series) {
                let c = contrast(ground, colour);
                assert!(c >= 4.5, "{name}: {colour} on {ground} has {c:.2}");
            }
        }
    }
}
