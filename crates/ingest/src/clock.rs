//! From the clock cells of a row to an instant: zones, clock changes, midnight, elapsed counts.

use fallrate_series::DiagnosticKind;

use crate::clock_plan::{ClockColumns, ClockPlan};
use crate::error::Place;
use crate::mapping::{ClockMapping, Fold, Skipped};
use crate::number::{DecimalMark, parse_number};
use crate::question::{Choice, Question, Setting, Topic};
use crate::stamp::{ClockTime, Stamp, ZoneMark, local_from_serial, parse_clock, parse_span, parse_stamp};
use crate::table::Row;
use crate::zone::{Local, Zone, offset_name, show_local};

const DAY_MS: i64 = 86_400_000;

/// What a row's clock says.
#[derive(Clone, Debug, PartialEq)]
pub enum ClockReading {
    /// An instant, ms since 1970 UTC, offset applied.
    At(i64),
    /// The clock cells are all blank.
    Blank,
    /// They cannot be read.
    Unreadable(String),
    /// A local time that the zone skips; the row is left out.
    Skipped(String),
}

/// The reader of a file's clock.
pub struct ClockReader {
    columns: ClockColumns,
    zone: Option<Zone>,
    mark: DecimalMark,
    start_utc_ms: Option<i64>,
    half_day: Option<bool>,
    given: ClockMapping,
    offset_ms: i64,
    next_step: usize,
    last_utc: Option<i64>,
    last_clock_ms: Option<i64>,
    day_ms: i64,
    usual_step_ms: Option<i64>,
    fold: Option<FoldPass>,
    /// What was noticed since the last call of [`ClockReader::take_notes`].
    notes: Vec<DiagnosticKind>,
    questions: Vec<Question>,
    file: String,
}

/// A passage through a repeated hour.
#[derive(Clone, Debug)]
struct FoldPass {
    line: u64,
    text: String,
    first: i64,
    second: i64,
    seen_first: bool,
    seen_second: bool,
    /// The step into the hour was a usual one under the first pass.
    joined: bool,
}

impl ClockReader {
    /// Makes the reader; `None` while the columns are open.
    #[must_use]
    pub fn new(
        plan: &ClockPlan,
        given: &ClockMapping,
        mark: DecimalMark,
        usual_step_ms: Option<i64>,
        file: &str,
    ) -> Option<Self> {
        let start_local_ms = plan.start_local_ms.unwrap_or(0);
        let mut zone = plan.zone.clone();
        let start_utc_ms =
            plan.start_local_ms.and_then(|ms| match zone.as_mut().and_then(|z| z.resolve(ms)) {
                Some(Local::One(at) | Local::Two(at, _) | Local::Skipped { before: at, .. }) => Some(at),
                None => None,
            });
        Some(Self {
            columns: plan.columns?,
            zone,
            mark,
            start_utc_ms,
            half_day: plan.half_day,
            given: given.clone(),
            offset_ms: ms_from_s(given.offset_seconds),
            next_step: 0,
            last_utc: None,
            last_clock_ms: None,
            day_ms: start_local_ms.div_euclid(DAY_MS) * DAY_MS,
            usual_step_ms,
            fold: None,
            notes: Vec::new(),
            questions: Vec::new(),
            file: file.to_owned(),
        })
    }

    /// What was noticed since the last call.
    pub fn take_notes(&mut self) -> Vec<DiagnosticKind> {
        std::mem::take(&mut self.notes)
    }

    /// Whether something was noticed.
    #[must_use]
    pub fn has_notes(&self) -> bool {
        !self.notes.is_empty()
    }

    /// Questions that only the rows raised. Call after the last row.
    pub fn finish(&mut self) -> Vec<Question> {
        if let Some(pass) = self.fold.take()
            && (!pass.seen_first || !pass.seen_second && !pass.joined)
        {
            self.ask_fold(&pass);
        }
        std::mem::take(&mut self.questions)
    }

    /// Reads the clock of a row.
    pub fn read(&mut self, row: &Row) -> ClockReading {
        while let Some(step) = self.given.steps.get(self.next_step).filter(|s| s.from_line <= row.line) {
            self.offset_ms = ms_from_s(step.add_seconds);
            self.next_step += 1;
        }
        let reading = self.read_raw(row);
        if let ClockReading::At(at) = reading {
            self.last_utc = Some(at);
            return ClockReading::At(at + self.offset_ms);
        }
        reading
    }

    fn read_raw(&mut self, row: &Row) -> ClockReading {
        let unreadable = |c: usize| {
            let text = row.text(c);
            if text.is_empty() { ClockReading::Blank } else { ClockReading::Unreadable(text) }
        };
        match self.columns {
            ClockColumns::Stamp(c, order) => match parse_stamp(row.cell(c), order) {
                Some(Stamp { day, clock }) => self.civil(day.days_from_epoch() * DAY_MS, clock, row, c),
                None => unreadable(c),
            },
            ClockColumns::DayAndClock(d, c, order) => {
                match (parse_stamp(row.cell(d), order), parse_clock(row.cell(c))) {
                    (Some(stamp), Some(clock)) => {
                        self.civil(stamp.day.days_from_epoch() * DAY_MS, Some(clock), row, c)
                    }
                    (None, _) => unreadable(d),
                    (_, None) => unreadable(c),
                }
            }
            ClockColumns::Clock(c) => match parse_clock(row.cell(c)) {
                Some(clock) => self.clock_alone(clock, row, c),
                None => unreadable(c),
            },
            ClockColumns::Span(c) => match (parse_span(row.cell(c)), self.start_utc_ms) {
                (Some(ms), Some(start)) => ClockReading::At(start + ms),
                _ => unreadable(c),
            },
            ClockColumns::Elapsed(c, factor) => {
                match (parse_number(row.cell(c), self.mark), self.start_utc_ms) {
                    (Some(v), Some(start)) => {
                        scaled(v, factor).map_or_else(|| unreadable(c), |ms| ClockReading::At(start + ms))
                    }
                    _ => unreadable(c),
                }
            }
            ClockColumns::Unix(c, factor) => {
                match parse_number(row.cell(c), self.mark)
                    .and_then(|v| scaled(v, factor))
                    .filter(|ms| *ms > 0)
                {
                    Some(ms) => ClockReading::At(ms),
                    None => unreadable(c),
                }
            }
            ClockColumns::Serial(c, system) => {
                match parse_number(row.cell(c), self.mark).and_then(|v| local_from_serial(v, system)) {
                    Some(ms) => self.local(ms, ZoneMark::None, row, c),
                    None => unreadable(c),
                }
            }
        }
    }

    fn civil(&mut self, day_ms: i64, clock: Option<ClockTime>, row: &Row, column: usize) -> ClockReading {
        let Some(clock) = clock else { return self.local(day_ms, ZoneMark::None, row, column) };
        let ms = self.with_half_day(clock, Some(day_ms));
        self.local(day_ms + ms, clock.zone, row, column)
    }

    /// Milliseconds of the day, a 12-hour clock without AM and PM followed through its turns.
    fn with_half_day(&mut self, clock: ClockTime, day_ms: Option<i64>) -> i64 {
        if clock.half_day {
            return clock.milliseconds;
        }
        let Some(afternoon) = self.half_day else { return clock.milliseconds };
        let within = clock.milliseconds % (DAY_MS / 2);
        let mut now = afternoon;
        if let Some(last) = self.last_clock_ms
            && within + 1_800_000 < last % (DAY_MS / 2)
            && day_ms.is_none_or(|d| d == self.day_ms || afternoon)
        {
            now = !afternoon;
        }
        if let Some(day) = day_ms {
            if day > self.day_ms && self.last_clock_ms.is_some() {
                now = false;
            }
            self.day_ms = day;
        }
        self.half_day = Some(now);
        self.last_clock_ms = Some(within);
        within + if now { DAY_MS / 2 } else { 0 }
    }

    fn clock_alone(&mut self, clock: ClockTime, row: &Row, column: usize) -> ClockReading {
        let was_half = self.half_day;
        let ms = match self.half_day {
            Some(_) => {
                let ms = self.with_half_day(clock, None);
                if was_half == Some(true) && self.half_day == Some(false) {
                    self.day_ms += DAY_MS;
                }
                ms
            }
            None => {
                if self.last_clock_ms.is_some_and(|last| clock.milliseconds + DAY_MS / 2 < last) {
                    self.day_ms += DAY_MS;
                    self.notes.push(DiagnosticKind::ChoiceMade {
                        what: "day".to_owned(),
                        chosen: show_local(self.day_ms).chars().take(10).collect(),
                        because: "the clock passed midnight".to_owned(),
                    });
                }
                self.last_clock_ms = Some(clock.milliseconds);
                clock.milliseconds
            }
        };
        self.local(self.day_ms + ms, clock.zone, row, column)
    }

    fn local(&mut self, local_ms: i64, mark: ZoneMark, row: &Row, column: usize) -> ClockReading {
        if let ZoneMark::Offset(seconds) = mark {
            return ClockReading::At(local_ms - i64::from(seconds) * 1000);
        }
        let Some(zone) = self.zone.as_mut() else { return ClockReading::Unreadable(row.text(column)) };
        let Some(found) = zone.resolve(local_ms) else { return ClockReading::Unreadable(row.text(column)) };
        if let ZoneMark::Abbreviation(letters) = mark {
            return self.abbreviated(found, letters, row, column);
        }
        match found {
            Local::One(at) => {
                if self.fold.is_some() {
                    self.leave_fold(at);
                }
                ClockReading::At(at)
            }
            Local::Two(first, second) => ClockReading::At(self.pass(first, second, row, column)),
            Local::Skipped { before, .. } => self.skipped(local_ms, before, row, column),
        }
    }

    fn abbreviated(&mut self, found: Local, letters: [u8; 5], row: &Row, column: usize) -> ClockReading {
        let candidates = match found {
            Local::One(at) => [Some(at), None],
            Local::Two(first, second) => [Some(first), Some(second)],
            Local::Skipped { before, after } => [Some(before), Some(after)],
        };
        let zone = self.zone.as_ref();
        let fits = |at: &i64| zone.is_some_and(|z| z.abbreviates(*at, &letters));
        match candidates.into_iter().flatten().find(|at| fits(at)) {
            Some(at) => ClockReading::At(at),
            None => ClockReading::Unreadable(row.text(column)),
        }
    }

    /// Chooses the pass of a repeated local time by the order of the rows, or as given.
    fn pass(&mut self, first: i64, second: i64, row: &Row, column: usize) -> i64 {
        match self.given.fold {
            Some(Fold::First) => return first,
            Some(Fold::Second) => return second,
            None => {}
        }
        let later = self.last_utc.is_some_and(|last| last >= first);
        let near =
            |from: i64, to: i64| self.usual_step_ms.is_some_and(|step| to - from <= step * 3 / 2 + 1000);
        let joined = self.last_utc.is_some_and(|last| last < first && near(last, first));
        if self.fold.is_none() {
            self.notes.push(DiagnosticKind::AmbiguousLocalTime { text: row.text(column) });
        }
        let pass = self.fold.get_or_insert_with(|| FoldPass {
            line: row.line,
            text: row.text(column),
            first,
            second,
            seen_first: false,
            seen_second: false,
            joined,
        });
        if later {
            pass.seen_second = true;
            second
        } else {
            pass.seen_first = true;
            first
        }
    }

    /// The rows have left a repeated hour: were both passes seen?
    fn leave_fold(&mut self, at: i64) {
        let Some(pass) = self.fold.take() else { return };
        let both = pass.seen_first && pass.seen_second;
        // One pass and then a full hour missing may as well be a clock that was never set back.
        if both {
            self.notes.push(DiagnosticKind::ChoiceMade {
                what: "repeated hour".to_owned(),
                chosen: "first pass, then second".to_owned(),
                because: "the rows go through it twice in order".to_owned(),
            });
        } else if self.last_utc.is_none_or(|last| at > last) {
            self.ask_fold(&pass);
        }
    }

    fn ask_fold(&mut self, pass: &FoldPass) {
        if self.given.fold.is_some() {
            return;
        }
        let zone = self.zone.as_ref();
        let steady = zone.and_then(|z| z.offset_at(pass.first - 1)).map(offset_name);
        let show = |ms: i64| format!("{} UTC", show_local(ms));
        let mut choices = vec![
            Choice {
                setting: Setting::Fold(Fold::First),
                shown: format!("{} (before the clock was set back)", show(pass.first)),
            },
            Choice {
                setting: Setting::Fold(Fold::Second),
                shown: format!("{} (after it was set back)", show(pass.second)),
            },
        ];
        if let Some(name) = steady {
            choices.push(Choice {
                shown: format!("the logger's clock was never set back and stays at {name}"),
                setting: Setting::Zone(name),
            });
        }
        self.questions.push(Question {
            topic: Topic::RepeatedHour,
            heading: None,
            example: pass.text.clone(),
            choices,
            likelier: None,
            place: Place::line(&self.file, pass.line),
        });
    }

    fn skipped(&mut self, local_ms: i64, before: i64, row: &Row, column: usize) -> ClockReading {
        let text = row.text(column);
        if self.given.skipped == Some(Skipped::Exclude) {
            return ClockReading::Skipped(text);
        }
        if !self.questions.iter().any(|q| q.topic == Topic::SkippedHour) {
            let steady = self.zone.as_ref().and_then(|z| z.offset_at(before - 1)).map(offset_name);
            let mut choices = Vec::new();
            if let Some(name) = steady {
                choices.push(Choice {
                    shown: format!(
                        "the logger's clock was never set forward and stays at {name} ({} UTC)",
                        show_local(before)
                    ),
                    setting: Setting::Zone(name),
                });
            }
            choices.push(Choice {
                setting: Setting::Skipped(Skipped::Exclude),
                shown: "such rows are left out".to_owned(),
            });
            let zone = self.zone.as_ref().map_or("", |z| z.name.as_str());
            self.questions.push(Question {
                topic: Topic::SkippedHour,
                heading: None,
                example: format!("{} does not exist in {zone}", show_local(local_ms)),
                choices,
                likelier: Some(0),
                place: Place::line(&self.file, row.line),
            });
        }
        ClockReading::Skipped(text)
    }
}

fn scaled(value: f64, factor: f64) -> Option<i64> {
    let ms = value * factor;
    #[allow(clippy::cast_possible_truncation)] // bounded
    (ms.is_finite() && ms.abs() < 7.2e15).then_some(ms.round() as i64)
}

fn ms_from_s(seconds: f64) -> i64 {
    scaled(seconds, 1000.0).unwrap_or(0)
}
