//! Time at or above each row, with its bounds.

use serde::Serialize;

use crate::table::{ROW_COMPARISON_GUARD_F, RequiredTimes};
use crate::track::{Line, Shown, Track};

/// What one row was shown.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct RowDwell {
    /// Temperature of the row, degF.
    pub row_f: f64,
    /// Time asked, s.
    pub need_s: f64,
    /// Total time shown at or above the row after the tolerance, s.
    pub shown_s: f64,
    /// Longest unbroken part of it, s. Printed; the total decides.
    pub longest_run_s: f64,
    /// Time at or above the row on the straight lines between readings, after the tolerance, s. Information: verdicts
    /// count each interval at its colder end.
    pub linear_s: f64,
    /// Unknown time, s.
    pub unknown_s: f64,
    /// Table that asks.
    pub table_id: String,
    /// Two consecutive readings at or above the row (a row that asks 0 s needs them).
    pub two_readings: bool,
}

/// Dwell on every allowed row, and when the first of them was satisfied.
#[derive(Clone, Debug, PartialEq, Default)]
pub(crate) struct Dwell {
    pub rows: Vec<RowDwell>,
    /// First instant at which some row is satisfied by what is shown, s, with the index of the row.
    pub shown_at: Option<(f64, usize)>,
    /// First instant at which some row could be satisfied if the missing minutes held the best, s.
    pub possible_at: Option<f64>,
}

/// One row's running sums.
#[derive(Clone, Copy, Default)]
struct Sums {
    shown: f64,
    possible: f64,
    run: f64,
    longest: f64,
    partial: f64,
    two: bool,
    shown_at: Option<f64>,
    possible_at: Option<f64>,
}

impl Sums {
    fn add(&mut self, need: f64, from: f64, to: f64, shown: bool) {
        let length = to - from;
        if self.possible_at.is_none() && self.possible + length >= need - DWELL_GUARD_S && need > 0.0 {
            self.possible_at = Some((from + need - self.possible).clamp(from, to));
        }
        self.possible += length;
        if !shown {
            self.run = 0.0;
            return;
        }
        if self.shown_at.is_none() && self.shown + length >= need - DWELL_GUARD_S && need > 0.0 {
            self.shown_at = Some((from + need - self.shown).clamp(from, to));
        }
        self.shown += length;
        self.run += length;
        self.longest = self.longest.max(self.run);
    }
    fn pair(&mut self, need: f64, to: f64) {
        self.two = true;
        if need == 0.0 {
            self.shown_at = Some(self.shown_at.unwrap_or(to));
            self.possible_at = Some(self.possible_at.map_or(to, |p| p.min(to)));
        }
    }
}

/// Guard against rounding of sums of seconds.
pub(crate) const DWELL_GUARD_S: f64 = 1e-6;

/// Sums the time of a track on every row of a table. An interval counts for a row where its colder end, less the
/// tolerance, is at or above the row; unknown time counts only for what is possible.
pub(crate) fn dwell(track: &Track, table: &RequiredTimes) -> Dwell {
    let rows_f: Vec<f64> = table.rows.iter().map(|r| r.row_f).collect();
    let mut sums = vec![Sums::default(); rows_f.len()];
    let mut unknown_s = 0.0;
    // Neighbouring pieces that reach the same rows are one run; `None` is unknown.
    let mut run: Option<(f64, f64, Option<usize>)> = None;
    let mut rows_with_pair = 0;
    for p in &track.pieces {
        let n = match p.shown {
            Shown::Unknown(_) => {
                unknown_s += p.to - p.from;
                None
            }
            Shown::Known(line) => {
                let n = reached(&rows_f, line.cold_c);
                add_partial(&mut sums, &rows_f, n, &line, p.to - p.from);
                Some(n)
            }
        };
        match &mut run {
            Some((_, to, same)) if *same == n => *to = p.to,
            _ => {
                if let Some(finished) = run.replace((p.from, p.to, n)) {
                    add_run(&mut sums, table, finished);
                }
            }
        }
        let pairs = p.pair_cold_c.map_or(0, |cold| reached(&rows_f, cold));
        for (s, r) in sums.iter_mut().zip(&table.rows).take(pairs).skip(rows_with_pair) {
            s.pair(r.need_s, p.to);
        }
        rows_with_pair = rows_with_pair.max(pairs);
    }
    if let Some(last) = run {
        add_run(&mut sums, table, last);
    }
    finish(sums, table, unknown_s)
}

fn add_run(sums: &mut [Sums], table: &RequiredTimes, (from, to, n): (f64, f64, Option<usize>)) {
    for (i, (s, r)) in sums.iter_mut().zip(&table.rows).enumerate() {
        match n {
            Some(n) if i >= n => s.run = 0.0,
            Some(_) => s.add(r.need_s, from, to, true),
            None => {
                s.add(r.need_s, from, to, false);
                if r.need_s == 0.0 {
                    s.possible_at = Some(s.possible_at.map_or(from, |t| t.min(from)));
                }
            }
        }
    }
}

/// Adds the part of a sloping line above each row that its colder end does not reach.
fn add_partial(sums: &mut [Sums], rows_f: &[f64], from_row: usize, line: &Line, dt: f64) {
    let (cold, hot) =
        (line.from_c.min(line.to_c) - line.tolerance_k, line.from_c.max(line.to_c) - line.tolerance_k);
    let to_row = reached(rows_f, hot);
    for (s, r) in sums.iter_mut().zip(rows_f).take(to_row).skip(from_row) {
        let row_c = crate::table::celsius_from_fahrenheit(*r);
        // A line that is cut by the start or the end of the record may lie above a row that its colder end does not reach.
        let share = if row_c <= cold { 1.0 } else { ((hot - row_c) / (hot - cold)).clamp(0.0, 1.0) };
        s.partial += share * dt;
    }
}

fn reached(rows_f: &[f64], cold_c: f64) -> usize {
    let f = crate::table::fahrenheit_from_celsius(cold_c) + ROW_COMPARISON_GUARD_F;
    rows_f.partition_point(|r| *r <= f)
}

fn finish(sums: Vec<Sums>, table: &RequiredTimes, unknown_s: f64) -> Dwell {
    let mut out = Dwell::default();
    for (i, (s, r)) in sums.into_iter().zip(&table.rows).enumerate() {
        if let Some(t) = s.shown_at
            && out.shown_at.is_none_or(|(best, _)| t < best)
        {
            out.shown_at = Some((t, i));
        }
        if let Some(t) = s.possible_at {
            out.possible_at = Some(out.possible_at.map_or(t, |best| best.min(t)));
        }
        out.rows.push(RowDwell {
            row_f: r.row_f,
            need_s: r.need_s,
            shown_s: s.shown,
            longest_run_s: s.longest,
            linear_s: s.shown + s.partial,
            unknown_s,
            table_id: r.table_id.clone(),
            two_readings: s.two,
        });
    }
    out
}

impl Dwell {
    /// The row to print: the one satisfied first, else the one nearest to being satisfied.
    pub fn row_to_print(&self) -> Option<&RowDwell> {
        if let Some((_, i)) = self.shown_at {
            return self.rows.get(i);
        }
        let share = |r: &RowDwell| if r.need_s > 0.0 { r.shown_s / r.need_s } else { 0.0 };
        self.rows.iter().reduce(|best, r| if share(r) > share(best) { r } else { best })
    }
}
