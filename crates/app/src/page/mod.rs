//! A plan as a page: every text finished, in the reader's language and units.

mod acts;
mod cautions;
mod figures;
mod forecast;
mod money;
mod sources;
mod sure;
mod timer;
pub(crate) mod view;

pub(crate) use acts::{act_list, act_rows, timed_acts};
pub(crate) use cautions::caution_list;
pub(crate) use figures::kill_option_name;
pub(crate) use sure::{input_name, mark_word, remedy as input_remedy, taken};

use fallrate_report::{Flag, PlanPage};

use crate::chart::plan_pictures;
use crate::library::Library;
use crate::plan_case::Planned;
use crate::words::{Reader, say};
use view::View;

/// How much of a plan is shown.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Detail {
    /// What is needed to run the load.
    #[default]
    Brief,
    /// Every table, caution and source.
    Full,
}

/// The page of a plan.
#[must_use]
pub fn plan_page(planned: &Planned, library: &Library, reader: &Reader, detail: Detail) -> PlanPage {
    let v = View::new(planned, library, reader);
    let full = detail == Detail::Full;
    let mut tables = vec![forecast::table(&v, full)];
    if full {
        tables.extend(forecast::more_tables(&v));
        tables.extend(sure::tables(&v));
    }
    PlanPage {
        language: reader.words.language().tag().to_owned(),
        subject: v.subject(),
        headline: headline(&v),
        subline: subline(&v),
        flag: Some(Flag { word: reader.text("flag-word"), meaning: reader.text("flag-meaning") }),
        acts: act_list(&v),
        timer: Some(timer::timer(&v)),
        figures: figure_groups(&v, full),
        pictures: plan_pictures(&v),
        tables,
        cautions: cautions::shown(&v, full),
        sources: if full { sources::list(&v) } else { Vec::new() },
        footer: footer(&v, full),
    }
}

fn figure_groups(v: &View<'_>, full: bool) -> Vec<fallrate_report::FigureGroup> {
    let mut groups =
        vec![figures::feasibility(v), figures::yields(v), money::energy(v), sure::figures(v, full)];
    groups.extend(figures::kill_step(v, full));
    groups.extend(figures::lift_off(v));
    groups.retain(|g| !g.figures.is_empty() || g.summary.is_some());
    groups
}

fn headline(v: &View<'_>) -> String {
    let dial = v.r.duration(v.plan.timer.dial_s);
    let key = if v.dialled_once() { "headline-dial" } else { "headline-by-hand" };
    say!(v.r, key, dial = dial, clock = v.clock(v.plan.timer.dial_s))
}

fn subline(v: &View<'_>) -> String {
    let t = &v.plan.timer;
    let target = v.target();
    let (start, off, out) = (v.clock(0.0), v.clock(t.dial_s), v.clock(t.unloaded_s));
    let stands = t.unloaded_s - t.dial_s > 60.0;
    let first = if stands {
        say!(v.r, "subline-stands", start = start, off = off, out = out)
    } else {
        say!(v.r, "subline-at-once", start = start, off = off)
    };
    let expected = t.quantiles_s.map_or(t.nominal_s, |q| q[1]);
    let second = say!(v.r, "subline-target", target = target, dur = v.r.duration(expected));
    let at_unloading = v.moisture_at_unloading_words();
    format!("{first} {second} {at_unloading}")
}

fn footer(v: &View<'_>, full: bool) -> Vec<String> {
    let mut lines = vec![say!(v.r, "footer-version", version = crate::VERSION)];
    if !full {
        lines.push(v.r.text("footer-full"));
    }
    lines
}
