//! Measured beside forecast, as followed.

use fallrate_follow::{Moment, Range};
use fallrate_report::{Band, Chart, Dash, Mark, Picture, Point, Stage};

use super::Followed;
use crate::batches::{Run, measured_series};
use crate::chart::{line, points, running_chart, wet_basis_percent};
use crate::library::Library;
use crate::page::view::View;
use crate::plan_case::Planned;
use crate::proof::LocalClock;
use crate::words::{Reader, say};

/// Moments of the forecast that are drawn.
const MOMENTS: usize = 96;

/// Moisture and temperatures: the forecast as it is now with its band, the one made before the run, and what was measured.
#[must_use]
pub fn outlook_pictures(
    f: &Followed,
    run: &Run,
    planned: &Planned,
    library: &Library,
    r: &Reader,
) -> Vec<Picture> {
    let v = View::new(planned, library, r);
    let end_s = shown_until(f);
    let moments = f.update.moments(end_s, MOMENTS);
    let [mut moisture, mut temperatures] = running_chart(&v);
    moisture_lines(&mut moisture, f, &v, &moments);
    temperature_lines(&mut temperatures, r, &moments);
    for (chart, hot) in [(&mut moisture, false), (&mut temperatures, true)] {
        around(chart, f, run, &v, end_s);
        chart.series.extend(measured_series(run, &v, hot, f.question.start));
    }
    vec![Picture::Chart(moisture), Picture::Chart(temperatures)]
}

/// The late end, or what is looked at where it is not reached; now at the least, s.
fn shown_until(f: &Followed) -> f64 {
    let now_s = f.at.seconds_since(f.question.start);
    let end = f.end().power_off_s;
    let late = [end.high, end.middle, end.low].into_iter().find(|s| s.is_finite());
    late.unwrap_or(now_s + 3600.0).max(now_s + 600.0)
}

fn pick(moments: &[Moment], of: impl Fn(&Moment) -> Range, to: impl Fn(f64) -> f64) -> [Vec<Point>; 3] {
    let at = |f: fn(&Range) -> f64| {
        moments.iter().map(|m| (m.at_s / 3600.0, to(f(&of(m))))).collect::<Vec<Point>>()
    };
    [at(|r| r.low), at(|r| r.middle), at(|r| r.high)]
}

fn moisture_lines(chart: &mut Chart, f: &Followed, v: &View<'_>, moments: &[Moment]) {
    let r = v.r;
    let [low, middle, high] = pick(moments, |m| m.mean_dry_basis, wet_basis_percent);
    let wettest = pick(moments, |m| m.wettest_dry_basis, wet_basis_percent)[1].clone();
    let plan = points(&v.plan.run.samples, |s| wet_basis_percent(s.moisture_mean_dry_basis));
    let last_h = moments.last().map_or(0.0, |m| m.at_s / 3600.0);
    let plan = plan.into_iter().filter(|p| p.0 <= last_h.max(0.1)).collect();
    chart.axes.truncate(1);
    chart.targets.retain(|t| t.axis == 0);
    chart.series = vec![
        line(r.text("run-line-wettest"), 0, wettest, 2, Dash::Short),
        line(r.text("run-line-now"), 0, middle, 0, Dash::Long),
        line(r.text("run-line-plan"), 0, plan, 1, Dash::Dots),
    ];
    chart.bands =
        vec![Band { label: r.text("run-line-band"), axis: 0, lower: low, upper: high, ink: Some(0) }];
    let now = f.update.now.mean_dry_basis;
    chart.title = r.text("run-chart-moisture");
    chart.description = say!(
        r,
        "run-chart-moisture-words",
        now = r.moisture(now.middle),
        low = r.moisture_short(now.low),
        high = r.moisture_short(now.high)
    );
}

fn temperature_lines(chart: &mut Chart, r: &Reader, moments: &[Moment]) {
    let t = |c: f64| r.temperature_number(c);
    let [low, core, high] = pick(moments, |m| m.core_coldest_c, t);
    let air = pick(moments, |m| m.chamber_c, t)[1].clone();
    let wet_bulb = pick(moments, |m| m.wet_bulb_c, t)[1].clone();
    chart.series = vec![
        line(r.text("line-air"), 0, air, 0, Dash::Long),
        line(r.text("run-line-core"), 0, core, 2, Dash::Short),
        line(r.text("line-wet-bulb"), 0, wet_bulb, 3, Dash::Dots),
    ];
    chart.bands =
        vec![Band { label: r.text("run-line-band"), axis: 0, lower: low, upper: high, ink: Some(2) }];
    chart.title = r.text("run-chart-temperatures");
    chart.description = r.text("run-chart-temperatures-words");
}

/// Clock, hours shown, stages, now and the end.
fn around(chart: &mut Chart, f: &Followed, run: &Run, v: &View<'_>, end_s: f64) {
    let start = f.question.start;
    let now_s = f.at.seconds_since(start);
    chart.clock_start = LocalClock::named(&run.zone).map(|c| c.time_of_day(start));
    chart.x_hours = Some((0.0, end_s.max(now_s) / 3600.0 * 1.02));
    chart.stages = stages(f, v, end_s);
    chart.marks.clear();
    let end = f.end().power_off_s.middle;
    if end.is_finite() && end > now_s {
        chart.marks.push(Mark { label: v.r.text("mark-power-off"), at_h: end / 3600.0 });
    }
    chart.now = Some(Mark { label: v.r.text("mark-now"), at_h: now_s / 3600.0 });
}

/// The stages that have begun, each to the next; the last to the end.
fn stages(f: &Followed, v: &View<'_>, end_s: f64) -> Vec<Stage> {
    let begun: Vec<(usize, f64)> = f
        .question
        .done
        .iter()
        .filter_map(|d| match d.deed {
            fallrate_follow::Deed::Stage(k) => Some((k, d.at_s)),
            _ => None,
        })
        .collect();
    let ends = begun.iter().skip(1).map(|b| b.1).chain([end_s]);
    begun
        .iter()
        .zip(ends)
        .filter_map(|((k, from_s), to_s)| {
            let name = v.stage(&v.plan.assembled.stages.get(*k)?.name);
            Some(Stage { name, from_h: from_s / 3600.0, to_h: to_s / 3600.0 })
        })
        .filter(|s| s.to_h > s.from_h)
        .collect()
}
