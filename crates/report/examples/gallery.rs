//! Writes the example pictures and pages into a folder: `cargo run -p fallrate-report --example gallery -- FOLDER`.

#[allow(dead_code)]
#[path = "../tests/all/sample.rs"]
mod sample;

use fallrate_report::{HtmlOptions, Layout, TerminalOptions, Words, html, png, terminal};
use std::error::Error;
use std::path::Path;

fn main() -> Result<(), Box<dyn Error>> {
    let folder = std::env::args().nth(1).ok_or("name a folder")?;
    let folder = Path::new(&folder);
    std::fs::create_dir_all(folder)?;
    for (name, chart) in [
        ("run", sample::run_chart()),
        ("forecast", sample::forecast_chart()),
        ("crowded", sample::crowded_chart()),
    ] {
        for (size, layout, width) in [("wide", Layout::wide(), 1200), ("phone", Layout::narrow(), 480)] {
            let svg = chart.svg(&layout, name);
            std::fs::write(folder.join(format!("{name}-{size}.svg")), &svg)?;
            std::fs::write(folder.join(format!("{name}-{size}.png")), png(&svg, width)?.bytes)?;
        }
    }
    for (size, layout, width) in [("wide", Layout::wide(), 1200), ("phone", Layout::narrow(), 480)] {
        for (name, svg) in
            [("bars", sample::bars().svg(&layout, "b")), ("strip", sample::strip().svg(&layout, "s"))]
        {
            std::fs::write(folder.join(format!("{name}-{size}.png")), png(&svg, width)?.bytes)?;
        }
    }
    let (page, words) = (sample::page(), Words::english());
    std::fs::write(folder.join("plan.html"), html(&page, &words, &HtmlOptions::default()))?;
    std::fs::write(folder.join("plan.txt"), terminal(&page, &words, &TerminalOptions::default()))?;
    Ok(())
}
