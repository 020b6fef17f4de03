//! Inks and grounds, by day and by night.
//!
//! Every ink reads at 4.5 : 1 or better on every ground of its theme. A colour never carries a meaning alone:
//! dash patterns, hatches, marker shapes and words do. Red is kept for "a person must act".

/// The colours of one theme, as `#rrggbb`.
#[derive(Clone, Copy, Debug)]
pub struct Theme {
    /// Ground of the page.
    pub paper: &'static str,
    /// Tint of every second stage band and of quiet boxes.
    pub tint: &'static str,
    /// Hairlines; never the only carrier of meaning.
    pub line: &'static str,
    /// Text.
    pub ink: &'static str,
    /// Secondary text.
    pub muted: &'static str,
    /// A person must act.
    pub act: &'static str,
    /// Inks of series, chosen for colour-blind eyes.
    pub series: [&'static str; 6],
}

/// Warm paper by day.
pub const DAY: Theme = Theme {
    paper: "#fbf8f1",
    tint: "#f1ebdd",
    line: "#d5ccba",
    ink: "#1d2126",
    muted: "#57534a",
    act: "#a81e1e",
    series: ["#0a5a8f", "#8a4f00", "#00635a", "#7a3a7a", "#44505c", "#565e00"],
};

/// True dark for dark rooms.
pub const NIGHT: Theme = Theme {
    paper: "#14171a",
    tint: "#20252a",
    line: "#3d454d",
    ink: "#f1ede4",
    muted: "#b8b2a6",
    act: "#ff948a",
    series: ["#7dbdf0", "#e3ae55", "#5bc8b4", "#d9a5da", "#b9c3cd", "#c0c963"],
};

/// CSS rules that set the colour classes of the charts to a theme; put them into a page that shows charts inline.
#[must_use]
pub fn chart_css(theme: &Theme) -> String {
    let mut css = format!(
        ".fr-paper{{fill:{p}}}.fr-tint{{fill:{t}}}.fr-ink{{fill:{i}}}.fr-muted{{fill:{m}}}.fr-act{{fill:{a}}}\
         .fr-grid{{stroke:{l}}}.fr-inkline{{stroke:{i}}}.fr-mutedline{{stroke:{m}}}.fr-halo{{stroke:{p}}}",
        p = theme.paper,
        t = theme.tint,
        i = theme.ink,
        m = theme.muted,
        a = theme.act,
        l = theme.line,
    );
    for (n, ink) in theme.series.iter().enumerate() {
        css.push_str(&format!(".fr-s{n}{{stroke:{ink}}}.fr-t{n}{{fill:{ink}}}"));
    }
    css
}

/// The ink number that a series shows: inks repeat after the sixth.
#[must_use]
pub(crate) fn ink(number: usize) -> (usize, &'static str) {
    let n = number % DAY.series.len();
    (n, DAY.series.get(n).copied().unwrap_or(DAY.ink))
}
