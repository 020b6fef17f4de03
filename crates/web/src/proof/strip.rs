//! The minute strip: counted minutes filled, uncounted ones open; each open piece leads to its reason by touch and by
//! keyboard, and a table stands behind.

use fallrate_app::parts::{Span, Strip};
use fallrate_app::quantities::Duration;
use maud::{Markup, html};

use crate::look::Visit;

fn clock(strip: &Strip, h: f64) -> String {
    strip.clock_start.map_or_else(|| format!("{h:.1} h"), |t| t.plus(Duration::from_hours(h)).hm())
}

/// The strip with its reasons and its table. `id` keeps identifiers apart.
pub(super) fn strip(v: &Visit, s: &Strip, id: &str) -> Markup {
    let spans: Vec<&Span> = s.spans.iter().filter(|p| p.to_h > p.from_h).collect();
    let open: Vec<&Span> = spans.iter().copied().filter(|p| !p.counted).collect();
    html! {
        figure.minutes {
            figcaption { b { (s.title) } " " (s.description) }
            div.wide { (drawn(s, &spans, id, 1000.0)) }
            div.narrow { (drawn(s, &spans, id, 420.0)) }
            p.key { span.filled {} (s.counted) span.open {} (s.not_counted) }
            @if !open.is_empty() {
                ol.why {
                    @for (n, p) in open.iter().enumerate() {
                        li id={ (id) "-" (n + 1) } tabindex="-1" {
                            b { (clock(s, p.from_h)) "–" (clock(s, p.to_h)) } " " (reason(s, p))
                        }
                    }
                }
            }
            details {
                summary { (v.text("web-part-table-behind")) span.heard { " – " (s.title) } }
                div.scroll tabindex="0" role="group" aria-label=(s.title) {
                    table {
                        thead { tr { th { (v.text("proof-when")) } th { (v.text("proof-answer")) } th { (v.text("proof-why")) } } }
                        tbody {
                            @for p in &spans {
                                tr {
                                    td { (clock(s, p.from_h)) "–" (clock(s, p.to_h)) }
                                    td { @if p.counted { (s.counted) } @else { (s.not_counted) } }
                                    td { (p.reason) }
                                }
                            }
                        }
                    }
                }
            }
        }
    }
}

fn reason<'a>(s: &'a Strip, p: &'a Span) -> &'a str {
    if p.reason.trim().is_empty() { &s.not_counted } else { &p.reason }
}

fn drawn(s: &Strip, spans: &[&Span], id: &str, width: f64) -> Markup {
    let from = spans.iter().map(|p| p.from_h).fold(f64::INFINITY, f64::min);
    let to = spans.iter().map(|p| p.to_h).fold(f64::NEG_INFINITY, f64::max);
    if !(to > from) {
        return html! {};
    }
    let edge = 26.0;
    let x = |h: f64| edge + (h - from) / (to - from) * (width - 2.0 * edge);
    let n = |value: f64| format!("{value:.1}");
    let mut number = 0;
    let rows: Vec<(&Span, usize)> = spans
        .iter()
        .map(|p| {
            number += usize::from(!p.counted);
            (*p, number)
        })
        .collect();
    html! {
        svg viewBox={ "0 0 " (n(width)) " 86" } role="group" aria-label=(s.title) {
            @for (p, number) in rows {
                @let (a, b) = (x(p.from_h), x(p.to_h));
                @if p.counted {
                    rect.filled x=(n(a)) y="4" width=(n((b - a).max(0.5))) height="50" {}
                } @else {
                    a href={ "#" (id) "-" (number) } aria-label={ (clock(s, p.from_h)) "–" (clock(s, p.to_h)) " " (reason(s, p)) } {
                        rect.open x=(n(a)) y="4" width=(n((b - a).max(0.5))) height="50" stroke-dasharray="4 3" {}
                        @if b - a > 14.0 {
                            text x=(n(f64::midpoint(a, b))) y="35" text-anchor="middle" font-size="17" font-weight="700" { (number) }
                        }
                    }
                }
            }
            rect.frame x=(n(x(from))) y="4" width=(n(x(to) - x(from))) height="50" fill="none" {}
            @for h in ticks(s, from, to, if width > 600.0 { 9.0 } else { 5.0 }) {
                path.frame d={ "M" (n(x(h))) " 54v6" } {}
                text.tick x=(n(x(h))) y="80" text-anchor="middle" font-size="17" { (clock(s, h)) }
            }
        }
    }
}

/// Round clock hours, at most so many.
fn ticks(s: &Strip, from: f64, to: f64, most: f64) -> Vec<f64> {
    let steps = [0.25, 0.5, 1.0, 2.0, 3.0, 6.0, 12.0, 24.0];
    let step = steps.into_iter().find(|step| (to - from) / step <= most).unwrap_or(48.0);
    let start = s.clock_start.map_or(0.0, |t| t.seconds() / 3600.0);
    let mut at = ((from + start) / step).ceil() * step - start;
    let mut out = Vec::new();
    while at <= to {
        out.push(at);
        at += step;
    }
    out
}
