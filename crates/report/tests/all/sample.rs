//! Invented models: smooth curves made up for the eye, no result of any calculation.

use fallrate_report::*;
use fallrate_units::TimeOfDay;

fn curve(from: f64, to: f64, n: u32, f: impl Fn(f64) -> f64) -> Vec<Point> {
    (0..=n).map(|i| from + (to - from) * f64::from(i) / f64::from(n)).map(|h| (h, f(h))).collect()
}

fn line(label: &str, axis: usize, points: Vec<Point>, kind: Kind, ink: usize) -> Series {
    Series { label: label.into(), axis, points, kind, dash: Dash::Auto, ink: Some(ink) }
}

/// A run under way: two panels, forecasts and measurements, a band, stages, a target, events and now.
pub fn run_chart() -> Chart {
    let core = |h: f64| 148.0 - 78.0 * (-h / 1.1).exp();
    let wet = |h: f64| {
        if h < 2.4 { 138.0 - 50.0 * (-h / 0.5).exp() } else { 96.0 + 40.0 * (-(h - 2.4) / 0.25).exp() }
    };
    let air = |h: f64| 165.0 - 70.0 * (-h / 0.35).exp();
    let share = |h: f64| 22.0 + 50.0 * (-h / 2.6).exp();
    let stage = |name: &str, from_h, to_h| Stage { name: name.into(), from_h, to_h };
    let mark = |label: &str, at_h| Mark { label: label.into(), at_h };
    Chart {
        title: "Beef strips 6 mm, cabinet North".into(),
        description:
            "Core, wet bulb and air temperature, and moisture, over eight hours. The core passes the plan \
                      limit after about four hours."
                .into(),
        clock_start: Some(TimeOfDay::from_hm(6, 40)),
        x_hours: Some((0.0, 8.5)),
        x_unit: None,
        axes: vec![
            Axis { label: "Temperature".into(), unit: "°F".into(), range: AxisRange::Fixed(60.0, 180.0) },
            Axis { label: "Moisture, wet basis".into(), unit: "%".into(), range: AxisRange::AutoFromZero },
        ],
        series: vec![
            line("Air", 0, curve(0.0, 8.5, 170, air), Kind::Forecast, 4),
            line("Core, air-leaving end", 0, curve(0.0, 8.5, 170, core), Kind::Forecast, 0),
            line("Wet bulb", 0, curve(0.0, 8.5, 170, wet), Kind::Forecast, 2),
            line("Core", 0, curve(0.0, 3.2, 64, |h| core(h) - 2.0 * (h * 3.0).sin()), Kind::Measured, 0),
            line("Slowest tray", 1, curve(0.0, 8.5, 100, share), Kind::Forecast, 1),
            line("Tray 14", 1, curve(0.0, 3.0, 3, |h| share(h) + 1.5 * (h * 2.0).sin()), Kind::Measured, 1),
        ],
        bands: vec![Band {
            label: "8 of 10 batches".into(),
            axis: 1,
            lower: curve(0.0, 8.5, 100, |h| share(h) - 1.1 * h),
            upper: curve(0.0, 8.5, 100, |h| share(h) + 0.9 * h),
            ink: Some(1),
        }],
        stages: vec![
            stage("Heat up", 0.0, 0.42),
            stage("Kill step, vent shut", 0.42, 2.4),
            stage("Dry, vent a quarter", 2.4, 7.2),
            stage("Coast", 7.2, 8.5),
        ],
        targets: vec![
            Target { label: "plan limit 146 °F".into(), axis: 0, value: 146.0 },
            Target { label: "target 25 %".into(), axis: 1, value: 25.0 },
        ],
        marks: vec![
            mark("probe in", 0.15),
            mark("vent to a quarter", 2.4),
            mark("weigh trays 3, 8, 14", 5.33),
        ],
        now: Some(mark("now 09:52", 3.2)),
        words: ChartWords::default(),
    }
}

/// A forecast alone.
pub fn forecast_chart() -> Chart {
    let mut chart = run_chart();
    chart.series.retain(|s| s.kind == Kind::Forecast);
    chart.now = None;
    chart.title = "Forecast of the run".into();
    chart
}

/// Bars with intervals.
pub fn bars() -> BarChart {
    let bar = |label: &str, value, lo, hi, words: &str, kind| Bar {
        label: label.into(),
        value,
        interval: Some((lo, hi)),
        words: words.into(),
        kind,
    };
    BarChart {
        title: "What makes the end uncertain".into(),
        description:
            "The share of each unknown in the variance of the end. The thickness of the strips has most."
                .into(),
        unit: "% of the variance".into(),
        bars: vec![
            bar("Thickness of the strips", 46.0, 38.0, 55.0, "46 %", Kind::Forecast),
            bar("Air speed at the slowest tray", 27.0, 20.0, 33.0, "27 %", Kind::Forecast),
            bar("Solids of the meat", 14.0, 10.0, 19.0, "14 %", Kind::Forecast),
            bar("Room air", 5.0, 2.0, 8.0, "5 %", Kind::Measured),
        ],
        range: None,
        reference: None,
        words: ChartWords::default(),
    }
}

/// Judged minutes.
pub fn strip() -> Strip {
    let span = |from_h, to_h, counted, reason: &str| Span { from_h, to_h, counted, reason: reason.into() };
    Strip {
        title: "Humidity step: 121 of 159 minutes counted".into(),
        description: "Two pieces did not count: the door was open, and the power was off.".into(),
        clock_start: Some(TimeOfDay::from_hm(8, 5)),
        spans: vec![
            span(0.0, 0.4, true, ""),
            span(0.4, 0.5, false, "door open: humidity below the limit"),
            span(0.5, 0.78, true, ""),
            span(0.78, 1.42, false, "power off: no reading of the wet bulb"),
            span(1.42, 2.65, true, ""),
        ],
        counted: "counted".into(),
        not_counted: "not counted".into(),
    }
}

/// A whole page.
pub fn page() -> PlanPage {
    let act = |clock: &str, text: &str, watch: Option<&str>| Act {
        clock: clock.into(),
        text: text.into(),
        watch: watch.map(Into::into),
    };
    let figure = |label: &str, value: &str, unit: &str, note: &str| KeyFigure {
        label: label.into(),
        value: value.into(),
        unit: unit.into(),
        note: (!note.is_empty()).then(|| note.into()),
    };
    let caution = |level, text: &str| Caution { level, text: text.into() };
    PlanPage {
        language: "en".into(),
        subject: "Beef strips 6 mm, 48.5 lb on 18 trays, cabinet North".into(),
        headline: "Dial 7 h 10 min".into(),
        subline: "Load at 06:40 with the vent shut. The slowest tray is expected at 25 % at about 13:55."
            .into(),
        flag: Some(Flag {
            word: "FORECAST".into(),
            meaning: "Calculated before the run. It is no evidence.".into(),
        }),
        acts: vec![
            act("06:40", "Load 18 trays, vent shut. Set 165 °F, fan full.", Some("door closed by 06:48")),
            act(
                "about 07:05",
                "Pour 2 lb of water into the tray under the fan.",
                Some("wet bulb 125 °F or more"),
            ),
            act(
                "09:04",
                "Vent to a quarter.",
                Some("not before the core reads 146 °F for 4 min at the air-leaving end"),
            ),
            act("12:00", "Weigh trays 3, 8 and 14.", Some("tray 14 above 1.41 lb: dial 30 min more")),
            act("13:50", "Timer ends. Leave the door shut until 14:20.", None),
        ],
        timer: Some(Timer {
            dial: "7 h 10 min".into(),
            early: "13:05".into(),
            expected: "13:55".into(),
            late: "14:50".into(),
            reasons: vec![
                "The cabinet goes on drying for about 20 min after power-off.".into(),
                "An hour too long costs 5.40; an hour too short costs a second start and 9.10.".into(),
                "Somebody is there until 22:00.".into(),
            ],
        }),
        figures: vec![
            FigureGroup {
                title: "Can this cabinet do it?".into(),
                summary: Some(
                    "Yes, with the vent shut and 2 lb of water; without water it falls 6 °F short.".into(),
                ),
                figures: vec![
                    figure("Wet bulb, highest", "131", "°F", "127 to 134 in 8 of 10 batches"),
                    figure("Heater in use, highest", "83", "%", "of 6 kW"),
                    figure("Leak", "9", "m³/h", "measured on an empty cabinet"),
                ],
            },
            FigureGroup {
                title: "Yield and money".into(),
                summary: None,
                figures: vec![
                    figure("Dried product", "18.1", "lb", "17.6 to 18.8"),
                    figure("Energy", "21.4", "kWh", "18.9 to 24.0"),
                    figure("Energy cost", "5.14", "per batch", ""),
                    figure("Given away", "0.4", "lb", "below the 25 % allowed"),
                ],
            },
        ],
        pictures: vec![Picture::Chart(forecast_chart()), Picture::Bars(bars())],
        tables: vec![Table {
            title: "Target tray weights".into(),
            header: vec![
                Column::left("Tray"),
                Column::right("At load, lb"),
                Column::right("At 12:00, lb"),
                Column::right("At the end, lb"),
                Column::left("Place"),
            ],
            rows: [
                ["3", "2.69", "1.36", "0.98", "first in the air"],
                ["8", "2.70", "1.38", "1.00", "middle"],
                ["14", "2.69", "1.41", "1.02", "last in the air, slowest"],
            ]
            .map(|r| r.map(String::from).to_vec())
            .to_vec(),
            note: Some("Weights of the food alone, without the tray.".into()),
        }],
        cautions: vec![
            caution(
                Level::Act,
                "Core thermometer: the calibration is due. Check it in ice water before loading.",
            ),
            caution(
                Level::Caution,
                "Lethality is judged on readings only. A model is not a validation; the process authority decides.",
            ),
            caution(Level::Note, "The forecast assumes strips of 6 mm; 7 mm needs about 1 h 30 min more."),
        ],
        sources: vec![
            Source {
                text: "An invented guideline, 2021 edition, table 3".into(),
                basis: "read".into(),
                used_for: "Core temperature and hold".into(),
            },
            Source {
                text: "Own run on the empty cabinet, 12 March".into(),
                basis: "measured".into(),
                used_for: "Leak and heater".into(),
            },
        ],
        footer: vec![
            "Fallrate 0.1.0, data edition of 25 November 2026. Plan made for 26 November 2026.".into(),
        ],
    }
}

/// More than a chart should hold: eight trays, long words at both edges, events on one another's heels.
pub fn crowded_chart() -> Chart {
    let mark = |label: &str, at_h| Mark { label: label.into(), at_h };
    let long = "take out trays 3, 8 and 14, weigh them, and write the weights on the card beside the door of the cabinet";
    Chart {
        title:
            "Weights of eight trays over the night, with everything that was done by the two who were there"
                .into(),
        description: "Eight trays that differ little.".into(),
        clock_start: Some(TimeOfDay::from_hm(15, 40)),
        axes: vec![Axis { label: "Weight of the food".into(), unit: "g".into(), range: AxisRange::Auto }],
        series: (0..8u32)
            .map(|i| {
                let slow = 4.0 + f64::from(i) * 0.15;
                line(
                    &format!("Tray {}", i + 1),
                    0,
                    curve(0.0, 14.0, 60, |h| 300.0 + 1500.0 * (-h / slow).exp()),
                    Kind::Forecast,
                    i as usize,
                )
            })
            .collect(),
        stages: (0..7u32)
            .map(|i| Stage {
                name: format!("Stage {i} with a long name"),
                from_h: f64::from(i) * 2.0,
                to_h: f64::from(i) * 2.0 + 2.0,
            })
            .collect(),
        marks: vec![
            mark("loaded", 0.0),
            mark("door", 0.05),
            mark(long, 6.0),
            mark("swap", 13.5),
            mark("last weighing", 13.9),
        ],
        now: Some(mark("now 05:38", 13.97)),
        targets: vec![
            Target { label: "target".into(), axis: 0, value: 350.0 },
            Target { label: long.into(), axis: 0, value: 900.0 },
        ],
        ..Chart::default()
    }
}
