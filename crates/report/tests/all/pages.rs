use super::sample;
use fallrate_report::*;
use roxmltree::Document;
use std::collections::BTreeSet;

fn plain_font() -> HtmlOptions {
    HtmlOptions { font: FontSource::System, day_only: false }
}

/// Every tag closed in order, but for the void elements that the page uses.
fn assert_balanced(html: &str) {
    let mut open: Vec<&str> = vec![];
    let body = html.split_once("<body>").unwrap().1.split_once("</body>").unwrap().0;
    for tag in body.split('<').skip(1) {
        let (inside, _) = tag.split_once('>').expect("a tag without end");
        let name = inside.split(|c: char| c.is_whitespace() || c == '/').next().unwrap();
        if let Some(closed) = inside.strip_prefix('/') {
            assert_eq!(open.pop(), Some(closed));
        } else if !inside.ends_with('/') {
            open.push(name);
        }
    }
    assert!(open.is_empty(), "{open:?}");
}

#[test]
fn identity_page_is_balanced_self_contained_and_in_its_language() {
    let mut page = sample::page();
    page.language = "es".into();
    page.pictures.push(Picture::Strip(sample::strip()));
    let text = html(&page, &Words::spanish(), &HtmlOptions::default());
    assert!(text.starts_with("<!DOCTYPE html>\n<html lang=\"es\">"));
    assert_balanced(&text);
    let without_names = text.replace("http://www.w3.org/2000/svg", "");
    for outside in ["http:", "https:", "src=", "<script", "<link", "@import", "javascript"] {
        assert!(!without_names.contains(outside), "{outside}");
    }
    assert_eq!(text.matches("data:font/ttf;base64,").count(), 2);
    for word in ["Qué hacer", "Temporizador", "Precauciones", "Fuentes", "Actúe ya"] {
        assert!(text.contains(word), "{word}");
    }
    for english in ["What to do", "Cautions", "Sources", "The same as a table"] {
        assert!(!text.contains(english), "{english}");
    }
}

#[test]
fn identity_the_largest_line_comes_first_and_drawings_are_sound() {
    let text = html(&sample::page(), &Words::english(), &plain_font());
    let at = |s: &str| text.find(s).unwrap_or_else(|| panic!("no {s}"));
    let order = [
        "<h1>Dial 7 h 10 min</h1>",
        "calibration is due",
        "06:40</time>",
        "class=\"dial\"",
        "Can this cabinet do it?",
        "Yield and money",
        "<figure>",
        "process authority decides",
        "Target tray weights",
        "An invented guideline",
        "<footer>",
    ];
    assert!(order.windows(2).all(|w| at(w[0]) < at(w[1])), "{:?}", order.map(at));
    let mut ids = BTreeSet::new();
    let mut drawings = 0;
    for piece in text.split("<svg ").skip(1) {
        let svg = format!("<svg {}</svg>", piece.split_once("</svg>").unwrap().0);
        drawings += 1;
        for n in Document::parse(&svg).unwrap().descendants() {
            if let Some(id) = n.attribute("id") {
                assert!(ids.insert(id.to_owned()), "{id} is there twice");
            }
        }
    }
    assert_eq!(drawings, 4, "each picture for wide and for narrow screens");
}

#[test]
fn limit_foreign_text_never_becomes_markup() {
    const EVIL: &str = "</style><script>x</script>\"'><img src=x onerror=y>&\u{1}\u{1b}[31m";
    let e = || EVIL.to_owned();
    let table = Table {
        title: e(),
        header: vec![Column::left(EVIL), Column::right(EVIL)],
        rows: vec![vec![e(), e(), e()], vec![]],
        note: Some(e()),
    };
    let mut chart = sample::run_chart();
    chart.title = e();
    chart.description = e();
    chart.series.iter_mut().for_each(|s| s.label = e());
    chart.stages.iter_mut().for_each(|s| s.name = e());
    chart.marks.iter_mut().for_each(|s| s.label = e());
    chart.targets.iter_mut().for_each(|s| s.label = e());
    chart.axes.iter_mut().for_each(|s| (s.label, s.unit) = (e(), e()));
    let page = PlanPage {
        language: e(),
        subject: e(),
        headline: e(),
        subline: e(),
        flag: Some(Flag { word: e(), meaning: e() }),
        acts: vec![Act { clock: e(), text: e(), watch: Some(e()) }],
        timer: Some(Timer { dial: e(), early: e(), expected: e(), late: e(), reasons: vec![e()] }),
        figures: vec![FigureGroup {
            title: e(),
            summary: Some(e()),
            figures: vec![KeyFigure { label: e(), value: e(), unit: e(), note: Some(e()) }],
        }],
        pictures: vec![Picture::Chart(chart)],
        tables: vec![table],
        cautions: [Level::Note, Level::Caution, Level::Act]
            .map(|level| Caution { level, text: e() })
            .to_vec(),
        sources: vec![Source { text: e(), basis: e(), used_for: e() }],
        footer: vec![e()],
    };
    let font = FontSource::Address { regular: "a)}</style><script>".into(), bold: "/fonts/bold.ttf".into() };
    let text = html(&page, &Words::english(), &HtmlOptions { font, day_only: true });
    assert!(!text.contains("<script") && !text.contains("<img"));
    assert_eq!(text.matches("</style>").count(), 1);
    assert!(
        text.contains("&lt;/style&gt;&lt;script&gt;") && !text.contains('\u{1}') && !text.contains('\u{1b}')
    );
    assert_balanced(&text);
    let screen = terminal(&page, &Words::english(), &TerminalOptions::default());
    assert!(screen.contains("<script>") && !screen.contains('\u{1b}') && !screen.contains('\u{1}'));
}

#[test]
fn limit_an_empty_page_has_no_empty_headings() {
    let text = html(&PlanPage::default(), &Words::english(), &plain_font());
    assert!(!text.contains("<section") && !text.contains("<ul") && text.contains("lang=\"en\""));
    assert_balanced(&text);
    let screen = terminal(&PlanPage::default(), &Words::english(), &TerminalOptions::default());
    assert!(screen.lines().count() <= 2, "{screen}");
}

#[test]
fn regress_page_in_a_terminal() {
    insta::assert_snapshot!(terminal(&sample::page(), &Words::english(), &TerminalOptions::default()));
}

#[test]
fn limit_terminal_fits_its_columns_and_about_one_screen() {
    use unicode_width::UnicodeWidthStr;
    for columns in [60, 80, 100] {
        let text = terminal(
            &sample::page(),
            &Words::spanish(),
            &TerminalOptions { columns, ..TerminalOptions::default() },
        );
        for line in text.lines() {
            assert!(line.width() <= columns, "{} columns: {line}", line.width());
            assert_eq!(line, line.trim_end());
        }
        assert!(columns < 100 || text.lines().count() <= 62, "{} lines", text.lines().count());
    }
    let styled = terminal(
        &sample::page(),
        &Words::english(),
        &TerminalOptions { styled: true, ..TerminalOptions::default() },
    );
    let bare = styled.replace("\u{1b}[1m", "").replace("\u{1b}[0m", "");
    assert_eq!(bare, terminal(&sample::page(), &Words::english(), &TerminalOptions::default()));
}
