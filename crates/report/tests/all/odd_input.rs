use super::sample;
use fallrate_report::*;
use fallrate_units::TimeOfDay;
use proptest::prelude::*;
use roxmltree::Document;

fn any_number() -> impl Strategy<Value = f64> {
    prop_oneof![
        6 => -50.0..300.0f64,
        1 => prop::sample::select(vec![f64::NAN, f64::INFINITY, f64::NEG_INFINITY, f64::MAX, f64::MIN, -0.0, 0.0,
            f64::MIN_POSITIVE, 1e99, -1e99, 1e-99, 1e15]),
        1 => any::<f64>(),
    ]
}

fn any_text() -> impl Strategy<Value = String> {
    prop_oneof![
        Just(String::new()),
        Just("<script>alert(1)</script>".to_owned()),
        Just("a very long name of a series that does not fit into any margin whatever one does".to_owned()),
        any::<String>(),
    ]
}

fn any_points() -> impl Strategy<Value = Vec<Point>> {
    prop::collection::vec((any_number(), any_number()), 0..12)
}

prop_compose! {
    fn any_series()(label in any_text(), axis in 0..4usize, points in any_points(), measured in any::<bool>(),
                    ink in prop::option::of(any::<usize>())) -> Series {
        let kind = if measured { Kind::Measured } else { Kind::Forecast };
        Series { label, axis, points, kind, dash: Dash::Auto, ink }
    }
}

prop_compose! {
    fn any_chart()(title in any_text(), start in prop::option::of(0.0..86_400.0f64),
                   x_hours in prop::option::of((any_number(), any_number())),
                   ranges in prop::collection::vec((any_text(), any_number(), any_number(), 0..3), 0..3),
                   series in prop::collection::vec(any_series(), 0..4),
                   band in (any_points(), any_points()), moments in prop::collection::vec((any_text(), any_number()), 0..3),
                   stages in prop::collection::vec((any_text(), any_number(), any_number()), 0..3)) -> Chart {
        let axes = ranges.into_iter().map(|(label, a, b, n)| Axis { label, unit: "°F".into(), range: match n {
            0 => AxisRange::Auto, 1 => AxisRange::AutoFromZero, _ => AxisRange::Fixed(a, b) } }).collect();
        let marks: Vec<Mark> = moments.iter().map(|(l, h)| Mark { label: l.clone(), at_h: *h }).collect();
        Chart {
            description: title.clone(), title, clock_start: start.map(TimeOfDay::from_seconds), x_hours, x_unit: None, axes, series,
            bands: vec![Band { label: "band".into(), axis: 0, lower: band.0, upper: band.1, ink: None }],
            stages: stages.into_iter().map(|(name, from_h, to_h)| Stage { name, from_h, to_h }).collect(),
            targets: moments.into_iter().map(|(label, value)| Target { label, axis: 0, value }).collect(),
            now: marks.first().cloned(), marks, words: ChartWords::default(),
        }
    }
}

/// Well formed, and no attribute holds a number that is none.
fn check(svg: &str) -> Result<(), TestCaseError> {
    let doc = Document::parse(svg).map_err(|e| TestCaseError::fail(format!("{e}: {svg}")))?;
    for node in doc.descendants() {
        prop_assert!(!matches!(node.tag_name().name(), "script"));
        for a in node.attributes() {
            let bad = ["NaN", "inf"].iter().any(|b| a.value().contains(b));
            prop_assert!(!bad, "{}=\"{}\"", a.name(), a.value());
        }
    }
    Ok(())
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 200, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn limit_no_chart_panics_or_shows_what_is_no_number(chart in any_chart(), narrow in any::<bool>()) {
        let layout = if narrow { Layout::narrow() } else { Layout::wide() };
        let svg = chart.svg(&layout, "x");
        check(&svg)?;
        prop_assert_eq!(&svg, &chart.svg(&layout, "x"));
        let table = chart.data_table();
        prop_assert!(table.rows.len() <= 201);
        prop_assert!(table.rows.iter().flatten().all(|c| !c.contains("NaN") && !c.contains("inf")));
    }

    #[test]
    fn limit_no_bars_or_strip_panic(values in prop::collection::vec((any_text(), any_number(), any_number(), any_number()), 0..5),
                                    range in prop::option::of((any_number(), any_number())), id in any_text()) {
        let bars = values.iter().map(|(label, v, a, b)| Bar { label: label.clone(), value: *v, interval: Some((*a, *b)),
            words: String::new(), kind: Kind::Measured }).collect();
        let chart = BarChart { bars, range, reference: values.first().map(|v| (v.1, v.0.clone())), ..BarChart::default() };
        check(&chart.svg(&Layout::narrow(), &id))?;
        let spans = values.iter().map(|(r, a, b, _)| Span { from_h: *a, to_h: *b, counted: false, reason: r.clone() }).collect();
        check(&Strip { spans, ..Strip::default() }.svg(&Layout::wide(), &id))?;
    }

    #[test]
    fn limit_layouts_of_any_size_draw(w in any_number(), f in any_number(), p in any_number()) {
        check(&sample::run_chart().svg(&Layout { width: w, font_size: f, panel_height: p }, "1 x"))?;
    }
}

#[test]
fn limit_ten_thousand_points_are_thinned() {
    let points: Vec<Point> = (0..10_000u32).map(|i| (f64::from(i) / 1000.0, f64::from(i % 13))).collect();
    let series =
        |points| vec![Series { label: "probe".into(), points, kind: Kind::Forecast, ..Series::default() }];
    let chart = Chart {
        title: "Dense".into(),
        axes: vec![Axis::default()],
        series: series(points),
        ..Chart::default()
    };
    let svg = chart.svg(&Layout::wide(), "dense");
    let doc = Document::parse(&svg).unwrap();
    let longest =
        doc.descendants().filter_map(|n| n.attribute("d")).map(|d| d.matches('L').count()).max().unwrap();
    assert!((1500..=4 * 1700).contains(&longest), "{longest} points drawn");
}

#[test]
fn limit_empty_and_single_points_say_so() {
    let chart = Chart { title: "Empty".into(), axes: vec![Axis::default()], ..Chart::default() };
    assert!(chart.svg(&Layout::wide(), "e").contains(">no readings</text>"));
    let one = Series { points: vec![(1.0, 5.0)], kind: Kind::Measured, ..Series::default() };
    let svg = Chart { series: vec![one], ..chart }.svg(&Layout::wide(), "e");
    assert!(svg.contains("<circle") && !svg.contains("no readings"));
}
