//! Checks over time, row after row and in bounded memory: gaps of one channel, stuck, spike, condensing, dry sock, probe in hot air.

use fallrate_series::{Diagnostic, DiagnosticKind, Gap, GapReason, Instant, Role, Span, SuspectReason};

use crate::column_plan::ColumnPlan;
use crate::limits::CheckLimits;
use crate::notes::Notes;
use crate::units_seen::Kind;
use crate::value::CellValue;

/// Instant of milliseconds since 1970 UTC.
#[must_use]
pub fn instant(ms: i64) -> Instant {
    Instant::from_unix_nanoseconds(ms.saturating_mul(1_000_000))
}

fn span(from: i64, to: i64) -> Option<Span> {
    Span::new(instant(from), instant(to)).ok()
}

#[allow(clippy::cast_precision_loss)]
fn seconds(ms: i64) -> f64 {
    ms as f64 / 1000.0
}

/// A stretch in which something holds.
#[derive(Clone, Copy, Debug, Default)]
struct Run {
    open: Option<(i64, u64)>,
    last: i64,
}

impl Run {
    /// Follows the stretch; gives it back, with its first line, when it has ended.
    fn follow(&mut self, holds: bool, at: i64, line: u64) -> Option<(i64, i64, u64)> {
        if holds {
            self.open.get_or_insert((at, line));
            self.last = at;
            return None;
        }
        self.open.take().map(|(from, line)| (from, self.last, line))
    }
    fn close(&mut self) -> Option<(i64, i64, u64)> {
        self.open.take().map(|(from, line)| (from, self.last, line))
    }
}

/// What a check found about a channel, by its index.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Found {
    /// Readings of a stretch are suspect.
    Suspect(usize, Span, SuspectReason),
    /// The channel held nothing in a stretch.
    Gap(usize, Gap),
}

#[derive(Clone, Debug)]
struct Watched {
    index: usize,
    name: String,
    column: u32,
    spike: f64,
    is_rh: bool,
    is_fahrenheit: bool,
    watch: bool,
    last_reading: Option<i64>,
    missing: Option<GapReason>,
    stuck_value: f64,
    stuck_count: u32,
    stuck: Run,
    before: Option<(i64, f64)>,
    middle: Option<(i64, f64, u64)>,
    condensing: Run,
    in_air: Run,
}

/// Pairs of wet bulb, dry bulb and humidity, by index of the channel.
#[derive(Clone, Copy, Debug)]
struct Psychrometer {
    wet: usize,
    dry: usize,
    rh: Option<usize>,
    tolerance: f64,
}

/// The checks of a file.
pub struct Checks {
    limits: CheckLimits,
    channels: Vec<Watched>,
    wet: Vec<(Psychrometer, Run)>,
    cores: Vec<usize>,
    max_step_ms: i64,
    found: Vec<Found>,
    previous_core: Vec<Option<(i64, f64)>>,
}

impl Checks {
    /// Checks for the columns of a plan.
    #[must_use]
    pub fn new(columns: &[ColumnPlan], limits: &CheckLimits, usual_step_ms: Option<i64>) -> Self {
        let channels: Vec<Watched> = columns.iter().zip(0..).map(|(c, i)| watched(i, c, limits)).collect();
        let find = |test: &dyn Fn(&Role) -> bool| columns.iter().position(|c| test(&c.role));
        let dry: Vec<usize> =
            columns.iter().enumerate().filter(|(_, c)| c.role == Role::AirDryBulb).map(|(i, _)| i).collect();
        let rh = find(&|r| *r == Role::RelativeHumidity);
        let tolerance =
            |i: usize| columns.get(i).and_then(|c| c.instrument.as_ref()).and_then(|x| x.tolerance);
        let wet = columns
            .iter()
            .enumerate()
            .filter(|(_, c)| c.role == Role::AirWetBulb)
            .zip(0usize..)
            .filter_map(|((wet, _), n)| {
                let dry = *dry.get(n).or(dry.first())?;
                let tolerance = match (tolerance(wet), tolerance(dry)) {
                    (Some(a), Some(b)) => a + b,
                    _ => limits.wet_above_dry_k,
                };
                Some((Psychrometer { wet, dry, rh, tolerance }, Run::default()))
            })
            .collect();
        let cores: Vec<usize> = columns
            .iter()
            .enumerate()
            .filter(|(_, c)| matches!(c.role, Role::CoreProbe { .. }))
            .map(|(i, _)| i)
            .collect();
        Self {
            limits: *limits,
            previous_core: vec![None; cores.len()],
            channels,
            wet,
            cores,
            max_step_ms: usual_step_ms.map_or(i64::MAX, |s| s.saturating_mul(2)),
            found: Vec::new(),
        }
    }

    /// What was found since the last call.
    #[must_use]
    pub fn take_found(&mut self) -> Vec<Found> {
        std::mem::take(&mut self.found)
    }
    /// Whether something was found since.
    #[must_use]
    pub fn has_found(&self) -> bool {
        !self.found.is_empty()
    }

    /// Wet bulbs above their dry bulb: index of the channel, by how much, and the tolerance of the pair.
    pub fn wet_above_dry<'a>(
        &'a self,
        values: &'a [CellValue],
    ) -> impl Iterator<Item = (usize, f64, f64)> + 'a {
        self.wet.iter().filter_map(move |(p, _)| {
            let wet = values.get(p.wet)?.counting()?;
            let dry = values.get(p.dry)?.counting()?;
            (wet > dry + 1e-9).then_some((p.wet, wet - dry, p.tolerance))
        })
    }

    /// Follows a row that is in order.
    pub fn follow(&mut self, at: i64, line: u64, values: &[CellValue], notes: &mut Notes) {
        for (index, value) in values.iter().enumerate() {
            self.follow_channel(index, *value, at, line, notes);
        }
        self.follow_socks(at, line, values, notes);
        self.follow_cores(at, line, values, notes);
    }

    fn follow_channel(&mut self, index: usize, value: CellValue, at: i64, line: u64, notes: &mut Notes) {
        let limits = self.limits;
        let Some(c) = self.channels.get_mut(index) else { return };
        let missing = match value {
            CellValue::Reading(..) => None,
            CellValue::Empty => Some(GapReason::EmptyCell),
            CellValue::Unreadable => Some(GapReason::UnreadableCell),
        };
        if let Some(reason) = missing {
            c.missing.get_or_insert(reason);
            return;
        }
        if let Some(reason) = c.missing.take()
            && let Some(last) = c.last_reading
            && let Some(span) = span(last, at)
        {
            let kind = DiagnosticKind::Gap {
                seconds: span.seconds(),
                usual_step_s: seconds(self.max_step_ms.min(1 << 50) / 2),
            };
            notes.push(entry(kind, c, Some(span), line));
            self.found.push(Found::Gap(index, Gap { span, reason }));
        }
        c.last_reading = Some(at);
        if let Some(v) = value.counting()
            && c.watch
        {
            c.follow_value(v, at, line, &limits, notes, &mut self.found);
        }
    }

    fn follow_socks(&mut self, at: i64, line: u64, values: &[CellValue], notes: &mut Notes) {
        let limits = self.limits;
        for (p, run) in &mut self.wet {
            let get = |i: usize| values.get(i).and_then(|v| v.counting());
            let (wet, dry) = (get(p.wet), get(p.dry));
            let vouched = p.rh.and_then(get).is_some_and(|rh| rh >= limits.sock_vouched_rh);
            // Below 40 degC a small difference is common in humid rooms.
            let tracks = matches!((wet, dry), (Some(w), Some(d)) if d >= 40.0 && (d - w).abs() <= limits.sock_k)
                && !vouched;
            if let Some(c) = self.channels.get(p.wet) {
                report(
                    run.follow(tracks, at, line),
                    DiagnosticKind::SockPerhapsDry,
                    limits.sock_s,
                    c,
                    notes,
                    &mut self.found,
                );
            }
        }
    }

    /// A core reading that jumps onto the dry bulb while the wet bulb is far below.
    fn follow_cores(&mut self, at: i64, line: u64, values: &[CellValue], notes: &mut Notes) {
        let Some((p, _)) = self.wet.first() else { return };
        let get = |i: usize| values.get(i).and_then(|v| v.counting());
        let (Some(wet), Some(dry)) = (get(p.wet), get(p.dry)) else { return };
        for (index, previous) in self.cores.iter().zip(self.previous_core.iter_mut()) {
            let Some(core) = get(*index) else { continue };
            let Some(c) = self.channels.get_mut(*index) else { continue };
            let near = dry - wet >= 8.0 && (dry - core).abs() <= 3.0;
            if !near && c.in_air.open.is_none() {
                *previous = Some((at, core));
                continue;
            }
            let jumped = previous.is_some_and(|(t, v)| at - t <= 300_000 && core - v >= 8.0);
            let holds = near && (c.in_air.open.is_some() || jumped);
            let ended = c.in_air.follow(holds, at, line);
            report(ended, DiagnosticKind::PerhapsNotInProduct, 0.0, c, notes, &mut self.found);
            *previous = Some((at, core));
        }
    }

    /// Closes what is still open at the end.
    pub fn finish(&mut self, notes: &mut Notes) {
        let limits = self.limits;
        for c in &mut self.channels {
            c.end_stuck(&limits, notes, &mut self.found);
            let ended = c.condensing.close();
            report(ended, DiagnosticKind::SensorCondensing, limits.condensing_s, c, notes, &mut self.found);
            let ended = c.in_air.close();
            report(ended, DiagnosticKind::PerhapsNotInProduct, 0.0, c, notes, &mut self.found);
        }
        for (p, run) in &mut self.wet {
            if let Some(c) = self.channels.get(p.wet) {
                report(run.close(), DiagnosticKind::SockPerhapsDry, limits.sock_s, c, notes, &mut self.found);
            }
        }
    }
}

fn watched(index: usize, column: &ColumnPlan, limits: &CheckLimits) -> Watched {
    let is_rh = matches!(column.role, Role::RelativeHumidity | Role::RoomRelativeHumidity);
    Watched {
        index,
        name: column.name.clone(),
        column: u32::try_from(column.index + 1).unwrap_or(0),
        spike: if is_rh { limits.spike_rh } else { limits.spike_k },
        is_rh,
        is_fahrenheit: column.unit.symbol == "degF",
        watch: is_rh || column.kind == Kind::Temperature,
        last_reading: None,
        missing: None,
        stuck_value: f64::NAN,
        stuck_count: 0,
        stuck: Run::default(),
        before: None,
        middle: None,
        condensing: Run::default(),
        in_air: Run::default(),
    }
}

fn entry(kind: DiagnosticKind, c: &Watched, span: Option<Span>, line: u64) -> Diagnostic {
    let mut d = Diagnostic::new(kind).channel(&c.name).line(line).column(c.column);
    d.span = span;
    d
}

fn report(
    ended: Option<(i64, i64, u64)>,
    kind: DiagnosticKind,
    least_s: f64,
    c: &Watched,
    notes: &mut Notes,
    found: &mut Vec<Found>,
) {
    let Some((from, to, line)) = ended.filter(|(from, to, _)| seconds(to - from) >= least_s) else { return };
    let reason = match kind {
        DiagnosticKind::SockPerhapsDry => SuspectReason::SockPerhapsDry,
        DiagnosticKind::SensorCondensing => SuspectReason::SensorCondensing,
        _ => SuspectReason::PerhapsNotInProduct,
    };
    notes.push(entry(kind, c, span(from, to), line));
    found.extend(span(from, to).map(|s| Found::Suspect(c.index, s, reason)));
}

impl Watched {
    #[allow(clippy::float_cmp)]
    fn follow_value(
        &mut self,
        v: f64,
        at: i64,
        line: u64,
        limits: &CheckLimits,
        notes: &mut Notes,
        found: &mut Vec<Found>,
    ) {
        if v == self.stuck_value {
            self.stuck_count += 1;
            self.stuck.last = at;
        } else {
            if self.stuck_count > 1 && self.stuck_count >= limits.stuck_readings {
                self.end_stuck(limits, notes, found);
            }
            self.stuck_value = v;
            self.stuck_count = 1;
            self.stuck = Run { open: Some((at, line)), last: at };
        }
        if self.is_rh && (v >= limits.condensing_rh || self.condensing.open.is_some()) {
            let ended = self.condensing.follow(v >= limits.condensing_rh, at, line);
            report(ended, DiagnosticKind::SensorCondensing, limits.condensing_s, self, notes, found);
        }
        self.spike(v, at, limits, notes, found);
        self.before = self.middle.map(|(t, m, _)| (t, m));
        self.middle = Some((at, v, line));
    }

    fn end_stuck(&mut self, limits: &CheckLimits, notes: &mut Notes, found: &mut Vec<Found>) {
        let Some((from, to, line)) = self.stuck.close() else { return };
        let pinned = self.is_rh && self.stuck_value >= limits.condensing_rh;
        if self.stuck_count >= limits.stuck_readings && seconds(to - from) >= limits.stuck_s && !pinned {
            let kind = DiagnosticKind::Stuck { seconds: seconds(to - from) };
            notes.push(entry(kind, self, span(from, to), line));
            found.extend(span(from, to).map(|s| Found::Suspect(self.index, s, SuspectReason::Stuck)));
        }
    }

    fn spike(
        &mut self,
        after: f64,
        at: i64,
        limits: &CheckLimits,
        notes: &mut Notes,
        found: &mut Vec<Found>,
    ) {
        let (Some((t0, before)), Some((t1, middle, line))) = (self.before, self.middle) else { return };
        let (up, down) = (middle - before, middle - after);
        // Nearly every reading leaves here: no smaller step is of interest, neither as a spike nor as the 85 degC below.
        if up.abs() <= self.spike.min(5.0) || up * down <= 0.0 {
            return;
        }
        if seconds(at - t0) > 2.0 * limits.spike_within_s {
            return;
        }
        let by = if up.abs() < down.abs() { up } else { down };
        // 85 degC is what some digital sensors give before their first conversion (common practice, no source).
        let power_on = !self.is_rh && (middle - 85.0).abs() < 1e-6 && by.abs() > 5.0;
        if by.abs() > self.spike && (after - before).abs() < self.spike / 2.0 || power_on {
            let kind = if power_on {
                DiagnosticKind::FaultCode {
                    text: if self.is_fahrenheit { "185 degF".into() } else { "85 degC".into() },
                }
            } else {
                DiagnosticKind::Spike { by }
            };
            notes.push(entry(kind, self, span(t1, t1), line));
            let reason = if power_on { SuspectReason::PerhapsFaultCode } else { SuspectReason::Spike };
            found.extend(span(t1, t1).map(|s| Found::Suspect(self.index, s, reason)));
            // The reading after is compared with the one before the spike.
            self.middle = self.before.map(|(t, v)| (t, v, line));
        }
    }
}
