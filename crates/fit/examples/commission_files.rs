//! Writes the invented logger files of `examples/commission` by the virtual cabinet:
//! `cargo run -p fallrate-fit --example commission_files -- examples/commission`.
#![allow(clippy::unwrap_used, missing_docs, dead_code)]

#[path = "../tests/all/commission_case.rs"]
mod commission_case;

use std::fmt::Write as _;
use std::path::Path;

use commission_case::{Truth, bench};
use fallrate_fit::commission::{CabinetTest, TestKind};

fn clock(day: u32, s: f64) -> String {
    let s = s.round() as u64;
    format!("2026-09-{day:02} {:02}:{:02}:{:02}", s / 3600, s / 60 % 60, s % 60)
}

/// Day and clock time, s, at which second 0 of each record lies.
fn written(
    folder: &Path,
    name: &str,
    log: &str,
    test: &CabinetTest,
    day: u32,
    start_s: f64,
    fixed: &str,
) -> String {
    let at = |s: f64| clock(day, start_s + s);
    let mut csv = String::from("Time,Temp (C),RH (%)\n");
    for r in &test.air {
        let rh = r.relative_humidity.map_or(String::new(), |h| format!("{:.1}", 100.0 * h));
        writeln!(csv, "{},{:.1},{rh}", at(r.at_s), r.temperature_c).unwrap();
    }
    std::fs::write(folder.join(log), csv).unwrap();
    let mut out = String::new();
    writeln!(out, "[[test]]\nname = \"{name}\"\nlog = \"{log}\"\nvent = \"fixed\"").unwrap();
    writeln!(out, "room_temperature = \"{:.1} degC\"", test.room.temperature_c).unwrap();
    writeln!(out, "room_humidity = \"{:.1} %\"", 100.0 * test.room.relative_humidity).unwrap();
    out.push_str(fixed);
    match &test.kind {
        TestKind::HeatCool { on_s, off_s } => {
            writeln!(out, "kind = \"heat_cool\"\nheater_on = \"{}\"\nheater_off = \"{}\"", at(*on_s), at(*off_s))
        }
        TestKind::Hold { set_point_c, display_c } => {
            let (low, high) = display_c.unwrap_or((*set_point_c, *set_point_c));
            writeln!(out, "kind = \"hold\"\nset_point = \"{set_point_c} degC\"\ndisplay_low = \"{low} degC\"\ndisplay_high = \"{high} degC\"")
        }
        TestKind::Decay => writeln!(out, "kind = \"decay\""),
        TestKind::Pan { in_s, out_s, scale_step_kg, .. } => writeln!(
            out,
            "kind = \"pan\"\nin = \"{}\"\nout = \"{}\"\nscale_step = \"{} g\"",
            at(*in_s),
            at(*out_s),
            1e3 * scale_step_kg
        ),
        TestKind::Cloths { in_s, out_s, area_m2, scale_step_kg, .. } => writeln!(
            out,
            "kind = \"cloths\"\nin = \"{}\"\nout = \"{}\"\ncloth_area = \"{area_m2:.3} m2\"\nscale_step = \"{} g\"",
            at(*in_s),
            at(*out_s),
            1e3 * scale_step_kg
        ),
    }
    .unwrap();
    if !test.meter.is_empty() {
        writeln!(out, "meter_step = {}", test.meter_step_kwh).unwrap();
    }
    for m in &test.meter {
        writeln!(out, "[[test.meter]]\nat = \"{}\"\nkwh = {:.3}", at(m.at_s), m.kwh).unwrap();
    }
    if let TestKind::Pan { pans: wet, .. } | TestKind::Cloths { cloths: wet, .. } = &test.kind {
        for w in wet {
            writeln!(
                out,
                "[[test.wet]]\ntray = {}\nbefore = \"{:.0} g\"\nafter = \"{:.0} g\"\ndry = \"{:.0} g\"",
                w.tray,
                1e3 * w.before_kg,
                1e3 * w.after_kg,
                1e3 * w.dry_kg
            )
            .unwrap();
        }
    }
    out.push('\n');
    out
}

const HEAD: &str = "\
# Tests of a cabinet, for 'fallrate commission'. INVENTED for a demonstration: the readings were made by the virtual cabinet
# (crates/fit/examples/commission_files.rs), whose true figures lie up to 30 % from those of the draft.

[cabinet]
draft = \"bench_unit\"              # a cabinet of the library, or the path of a file: what the tests start from
key = \"bench_unit_measured\"       # what the measured cabinet is called
# name = \"Dryer by the window\"     # its name on pages; the draft's where left out

[place]
zone = \"America/Denver\"
date = \"DATE\"                # day of the tests; a test may have its own 'date'
altitude = \"0 m\"
by = \"Owner\"
invented = true

# What you know beforehand by tape or by a power meter, not from the nameplate (leave out what you do not know):
# [known]
# volume = \"0.12 m3\"
# volume_error = \"0.01 m3\"
# heater_power = \"0.95 kW\"

# One [[test]] for each. 'vent' is the name of a mark in the cabinet's file. The room was read with the same logger, beside the
# cabinet, before the test. Times may be written with their date or as clock times of the day.

";

fn main() {
    let folder = std::env::args().nth(1).unwrap_or_else(|| "examples/commission".to_owned());
    let folder = Path::new(&folder);
    std::fs::create_dir_all(folder).unwrap();
    let mut t = Truth::drawn(&bench(), 2026, 9);
    t.instruments.meter_step_kwh = 0.001;
    let at = |h: f64, m: f64| h * 3600.0 + m * 60.0;
    let mut text = HEAD.replace("DATE", "2026-09-10");
    text += &written(
        folder,
        "heat-up and cool-down",
        "heat_up.csv",
        &t.heat_cool(0, 720.0, 4500.0, true, 31),
        10,
        at(7.0, 30.0),
        "",
    );
    text += &written(
        folder,
        "hold at 55",
        "hold.csv",
        &t.hold(0, 55.0, 3600.0, 5400.0, 32),
        10,
        at(10.0, 0.0),
        "",
    );
    text +=
        &written(folder, "pan of water", "pan.csv", &t.pan(0, 50.0, 0.25, 1.0, 33), 10, at(14.0, 0.0), "");
    text += &written(
        folder,
        "wet cloths",
        "cloths.csv",
        &t.cloths(0, 55.0, 45.0, 34),
        11,
        at(9.0, 0.0),
        "date = \"2026-09-11\"\n",
    );
    std::fs::write(folder.join("tests.toml"), text).unwrap();
    // Half a year later one of two elements has failed in part.
    t.chamber.heater_w *= 0.8;
    t.room.temperature_c -= 2.0;
    let mut later = HEAD.replace("DATE", "2026-09-28").replace(
        "Tests of a cabinet, for 'fallrate commission'",
        "One test repeated later, for 'fallrate drift'",
    );
    later += &written(
        folder,
        "heat-up and cool-down, again",
        "later.csv",
        &t.heat_cool(0, 720.0, 4500.0, true, 41),
        28,
        at(7.0, 30.0),
        "",
    );
    std::fs::write(folder.join("later.toml"), later).unwrap();
}
