//! Readings by hand: a small text form, one line a reading.
//!
//! ```text
//! hand entry 1
//! # a comment
//! date 2026-03-13
//! zone America/Chicago
//! by Ana Ruiz
//! clock within 30 s of core.csv
//! instrument TH-07 tolerance 0.5 degC calibrated 2026-01-10 due 2027-01-10
//! 08:00 event product-met-heat
//! 08:05 core rear-right 161F with TH-07
//! 08:05 core 2 front-left 158.5 degF with TH-07
//! 08:06 air 160 F
//! 08:06 wet-bulb 128 F
//! 08:06 rh 42 %
//! 08:30 tray 8 1.240 kg
//! 08:31 vent shut
//! 08:40 event door-open until 08:44
//! 09:00 note trays turned
//! ```
//!
//! - The first line that is not blank or a comment is `hand entry 1`.
//! - `date`, `zone` and `by` hold from their line on; `date` and `by` must stand before the first reading. A clock time
//!   more than 12 hours before the one above it belongs to the next day, which is reported.
//! - `clock within 30 s` says how far the clock that was read may be from the true time, `clock within 30 s of core.csv`
//!   from that of another file.
//! - Clock times are `08:05`, `8:05 PM`, or `08:05+01:00` where the clock change makes them ambiguous.
//! - Words for channels are those of the mapping file (`air`, `wet-bulb`, `rh`, `core`, `surface`, `tray`, `vent`,
//!   `door`, `fan`, `steam`, `heater`, `power`, `pressure`, `room`, `room-rh`). `core` and `surface` take a number, a
//!   position or both; a hyphen in a position stands for a space. `tray` takes its number.
//! - Every value has its unit: `161` alone is refused, with both readings shown. States are `on`, `off`, `open`, `shut`.
//! - `with` names the instrument.

use std::collections::BTreeMap;

use fallrate_series::{
    ChannelBuilder, Clock, ClockEvidence, Diagnostic, DiagnosticKind, Event, EventKind, ExcludedReason,
    Instant, Instrument, Log, Proof, ProofProvenance, Quality, Reading, Role, Source, SuspectReason,
};

use crate::checks::instant;
use crate::column_plan::ColumnPlan;
use crate::error::{IngestError, Place, shorten};
use crate::hand_parts::with_half_day;
use crate::limits::Options;
use crate::mapping::{InstrumentMapping, ROLE_WORDS, role_from_word, word_of_role};
use crate::number::DecimalMark;
use crate::question::{Question, Topic};
use crate::read::Outcome;
use crate::roles::kind_of;
use crate::stamp::{ClockTime, DateOrder, ZoneMark, parse_clock, parse_stamp};
use crate::table::sha256_hex;
use crate::units_seen::MeasureUnit;
use crate::value::{CellValue, ValueReader};
use crate::zone::{Local, Zone, offset_name};

/// Readings by hand.
#[derive(Clone, Debug, PartialEq)]
pub struct HandRead {
    /// The log; its channels are [`ProofProvenance::Entered`].
    pub log: Log<Proof>,
    /// Who read, in the order of the `by` lines.
    pub by: Vec<String>,
}

/// Whether bytes are a hand-entry form.
#[must_use]
pub fn is_hand_entry(bytes: &[u8]) -> bool {
    let head = bytes.get(..bytes.len().min(4096)).unwrap_or(bytes);
    let text = String::from_utf8_lossy(head);
    let first = text
        .trim_start_matches('\u{feff}')
        .lines()
        .map(str::trim)
        .find(|l| !l.is_empty() && !l.starts_with('#'));
    first.is_some_and(|l| l.to_ascii_lowercase().starts_with("hand entry"))
}

/// Role, instrument, and the readings with their lines.
pub(crate) type HandChannel = ((Role, String), Vec<(Reading, u64)>);

pub(crate) struct Form<'a> {
    pub(crate) file: &'a str,
    pub(crate) options: &'a Options,
    pub(crate) day_ms: Option<i64>,
    pub(crate) zone: Option<Zone>,
    pub(crate) by: Vec<String>,
    pub(crate) clock_within: Option<(f64, Option<String>)>,
    pub(crate) instruments: BTreeMap<String, InstrumentMapping>,
    pub(crate) last_clock_ms: Option<i64>,
    pub(crate) last_at: Option<i64>,
    pub(crate) channels: Vec<HandChannel>,
    pub(crate) events: Vec<Event>,
    pub(crate) diagnostics: Vec<Diagnostic>,
    pub(crate) zone_missing_at: Option<(u64, String)>,
}

/// Reads a hand-entry form.
///
/// # Errors
/// [`IngestError::Hand`] with the line and what may stand there.
pub fn read_hand(file: &str, bytes: &[u8], options: &Options) -> Result<Outcome<HandRead>, IngestError> {
    if bytes.len() as u64 > options.limits.bytes.min(16 << 20) {
        return Err(IngestError::TooLarge {
            allowed: options.limits.bytes.min(16 << 20),
            place: Place::file(file),
        });
    }
    let found = crate::encoding::detect(bytes, true);
    if let Some(what) = crate::encoding::not_text(bytes, &found) {
        return Err(IngestError::NotText { found: what, place: Place::file(file) });
    }
    let (text, _, _) = found.encoding.decode(bytes);
    let mut form = Form {
        file,
        options,
        day_ms: None,
        zone: None,
        by: Vec::new(),
        clock_within: None,
        instruments: BTreeMap::new(),
        last_clock_ms: None,
        last_at: None,
        channels: Vec::new(),
        events: Vec::new(),
        diagnostics: Vec::new(),
        zone_missing_at: None,
    };
    if let Some(name) = &options.default_zone {
        form.zone = Zone::named(name);
    }
    let mut begun = false;
    for (line, number) in text.lines().zip(1u64..) {
        if line.len() > options.limits.line_bytes {
            return Err(IngestError::LineTooLong {
                allowed: options.limits.line_bytes,
                place: Place::line(file, number),
            });
        }
        let line = line.split(" #").next().unwrap_or("").trim();
        if line.is_empty() || line.starts_with('#') {
            continue;
        }
        if begun {
            form.line(line, number)?;
        } else if line.eq_ignore_ascii_case("hand entry 1") {
            begun = true;
        } else {
            return Err(form.bad(line, "'hand entry 1' as the first line", number));
        }
    }
    form.finish(bytes)
}

impl Form<'_> {
    pub(crate) fn bad(&self, found: &str, allowed: &str, line: u64) -> IngestError {
        IngestError::Hand {
            found: shorten(found),
            allowed: allowed.to_owned(),
            place: Place::line(self.file, line),
        }
    }

    fn line(&mut self, line: &str, number: u64) -> Result<(), IngestError> {
        let (word, rest) = line.split_once(char::is_whitespace).unwrap_or((line, ""));
        let rest = rest.trim();
        match word.to_ascii_lowercase().as_str() {
            "date" => {
                let stamp =
                    parse_stamp(rest.as_bytes(), DateOrder::YearMonthDay).filter(|s| s.clock.is_none());
                let day = stamp.ok_or_else(|| self.bad(rest, "a date as 2026-03-13", number))?;
                self.day_ms = Some(day.day.days_from_epoch() * 86_400_000);
                self.last_clock_ms = None;
                Ok(())
            }
            "zone" => {
                let allowed = "a zone such as America/Chicago or an offset such as -06:00";
                self.zone = Some(Zone::named(rest).ok_or_else(|| self.bad(rest, allowed, number))?);
                Ok(())
            }
            "by" if !rest.is_empty() => {
                self.by.push(rest.to_owned());
                Ok(())
            }
            "clock" => self.clock(rest, number),
            "instrument" => self.instrument(rest, number),
            _ if word.bytes().next().is_some_and(|b| b.is_ascii_digit()) => self.entry(word, rest, number),
            _ => Err(self.bad(line, "date, zone, by, clock, instrument, or a clock time", number)),
        }
    }

    /// `within 30 s`, `within 2 min of core.csv`.
    fn clock(&mut self, rest: &str, number: u64) -> Result<(), IngestError> {
        const ALLOWED: &str = "'clock within 30 s', 'clock within 2 min', or 'clock within 30 s of core.csv'";
        let (length, of) = match rest.split_once(" of ") {
            Some((length, of)) if !of.trim().is_empty() => (length, Some(of.trim().to_owned())),
            Some(_) => return Err(self.bad(rest, ALLOWED, number)),
            None => (rest, None),
        };
        let text = length.trim().strip_prefix("within").map(str::trim).unwrap_or_default();
        let within = fallrate_units::Duration::parse(text).ok().map(fallrate_units::Duration::seconds);
        match within.filter(|s| (0.0..=86_400.0).contains(s)) {
            Some(s) => {
                self.clock_within = Some((s, of));
                Ok(())
            }
            None => Err(self.bad(rest, ALLOWED, number)),
        }
    }

    fn entry(&mut self, clock: &str, rest: &str, number: u64) -> Result<(), IngestError> {
        let (clock_text, rest) = with_half_day(clock, rest);
        let clock = parse_clock(clock_text.as_bytes())
            .ok_or_else(|| self.bad(&clock_text, "a clock time such as 08:05 or 8:05 PM", number))?;
        if self.day_ms.is_none() {
            return Err(self.bad(&clock_text, "a 'date' line before the first reading", number));
        }
        if self.by.is_empty() {
            return Err(self.bad(&clock_text, "a 'by' line with a name before the first reading", number));
        }
        let Some(at) = self.instant(clock, &clock_text, number, true)? else { return Ok(()) };
        self.last_at = Some(at);
        let (word, tail) = rest.split_once(char::is_whitespace).unwrap_or((&rest, ""));
        match word.to_ascii_lowercase().as_str() {
            "event" => self.event(at, tail.trim(), number),
            "note" if !tail.trim().is_empty() => {
                self.push_event(at, None, EventKind::Other("note".to_owned()), tail.trim());
                Ok(())
            }
            _ => self.reading(at, word, tail, number),
        }
    }

    /// `None` while the zone is missing (asked at the end).
    pub(crate) fn instant(
        &mut self,
        clock: ClockTime,
        text: &str,
        number: u64,
        follows: bool,
    ) -> Result<Option<i64>, IngestError> {
        let mut day_ms = self.day_ms.unwrap_or(0);
        let past_midnight = self.last_clock_ms.is_some_and(|last| clock.milliseconds + 43_200_000 < last);
        if past_midnight {
            day_ms += 86_400_000;
        }
        if follows {
            if past_midnight {
                let chosen = crate::zone::show_local(day_ms).chars().take(10).collect();
                let because = "the clock passed midnight".to_owned();
                let kind = DiagnosticKind::ChoiceMade { what: "day".to_owned(), chosen, because };
                self.diagnostics.push(Diagnostic::new(kind).line(number));
                self.day_ms = Some(day_ms);
            }
            self.last_clock_ms = Some(clock.milliseconds);
        }
        let local = day_ms + clock.milliseconds;
        if let ZoneMark::Offset(seconds) = clock.zone {
            return Ok(Some(local - i64::from(seconds) * 1000));
        }
        let Some(zone) = self.zone.as_mut() else {
            self.zone_missing_at.get_or_insert((number, text.to_owned()));
            return Ok(None);
        };
        match zone.resolve(local) {
            Some(Local::One(at)) => Ok(Some(at)),
            Some(Local::Two(first, second)) => {
                let name = |at: i64| offset_name((local - at) / 1000);
                let allowed = format!(
                    "{text}{} before the clock was set back or {text}{} after",
                    name(first),
                    name(second)
                );
                Err(self.bad(text, &allowed, number))
            }
            Some(Local::Skipped { .. }) => {
                Err(self.bad(text, "a clock time that the clock change does not skip", number))
            }
            None => Err(self.bad(text, "a clock time of the years 1970 to 2199", number)),
        }
    }

    pub(crate) fn push_event(&mut self, at: i64, until: Option<Instant>, kind: EventKind, note: &str) {
        self.events.push(Event {
            at: instant(at),
            until,
            kind,
            provenance: ProofProvenance::Entered,
            by: self.by.last().cloned().unwrap_or_default(),
            note: note.to_owned(),
            source: Some(0),
        });
    }

    fn reading(&mut self, at: i64, word: &str, tail: &str, number: u64) -> Result<(), IngestError> {
        let known = role_from_word(word, 0, "", "").flatten().filter(|r| !matches!(r, Role::Other(_)));
        let role = known.ok_or_else(|| {
            self.bad(
                word,
                &format!("{}, event, note", ROLE_WORDS.get(..15).unwrap_or(&[]).join(", ")),
                number,
            )
        })?;
        let (tail, instrument) = match tail.rsplit_once(" with ") {
            Some((before, id)) => (before.trim(), id.trim().to_owned()),
            None => (tail.trim(), String::new()),
        };
        let tokens: Vec<&str> = tail.split_whitespace().collect();
        let (value, used) = self.value(&role, &tokens, number)?;
        let names = tokens.get(..tokens.len().saturating_sub(used)).unwrap_or(&[]);
        let role = self.place_role(role, names, number)?;
        let reader = self.value_reader(&role, &instrument, number)?;
        let mut trouble = None;
        let quality = match reader.judge(value, &mut trouble) {
            CellValue::Reading(_, quality) => quality,
            _ => Quality::Valid,
        };
        if let Some(kind) = trouble {
            self.diagnostics.push(
                Diagnostic::new(kind).channel(&channel_name(&role, &instrument)).at(instant(at)).line(number),
            );
        }
        let reading = Reading { at: instant(at), value, quality };
        let key = (role, instrument);
        match self.channels.iter_mut().find(|(k, _)| *k == key) {
            Some((_, list)) => list.push((reading, number)),
            None => self.channels.push((key, vec![(reading, number)])),
        }
        Ok(())
    }

    fn made_instrument(&self, role: &Role, id: &str, line: u64) -> Result<Option<Instrument>, IngestError> {
        if id.is_empty() {
            return Ok(None);
        }
        match self.instruments.get(id) {
            Some(mapping) => mapping.instrument(role, &Place::line(self.file, line)).map(Some),
            None => Ok(Some(Instrument { id: id.to_owned(), ..Instrument::default() })),
        }
    }

    fn value_reader(&self, role: &Role, instrument: &str, line: u64) -> Result<ValueReader, IngestError> {
        let plan = ColumnPlan {
            index: 0,
            heading: String::new(),
            name: String::new(),
            kind: kind_of(role),
            unit: MeasureUnit::AS_WRITTEN,
            instrument: self.made_instrument(role, instrument, line)?,
            codes: Vec::new(),
            code_words: Vec::new(),
            role: role.clone(),
        };
        Ok(ValueReader::new(&plan, DecimalMark::Point, &self.options.checks))
    }

    fn finish(mut self, bytes: &[u8]) -> Result<Outcome<HandRead>, IngestError> {
        if let Some((line, text)) = self.zone_missing_at.take() {
            let question = Question {
                topic: Topic::Zone,
                heading: None,
                example: text,
                choices: Vec::new(),
                likelier: None,
                place: Place::line(self.file, line),
            };
            let seen = crate::inspection::nothing_seen();
            return Ok(Outcome::Asked(Box::new(crate::read::Asked { questions: vec![question], seen })));
        }
        if self.channels.is_empty() && self.events.is_empty() {
            return Err(IngestError::Empty { place: Place::file(self.file) });
        }
        self.number_positions();
        self.wet_above_dry();
        let zone = self.zone.as_ref().map_or_else(String::new, |z| z.name.clone());
        let mut log = Log::new(if zone.is_empty() { "UTC" } else { &zone });
        log.sources.push(Source {
            file_name: self.file.to_owned(),
            sha256: sha256_hex(bytes),
            bytes: bytes.len() as u64,
            clock: Clock {
                zone,
                offset_s: 0.0,
                uncertainty_s: self.clock_within.as_ref().map(|(s, _)| *s),
                evidence: match self.clock_within.as_ref().and_then(|(_, of)| of.clone()) {
                    Some(with) => ClockEvidence::Compared { with },
                    None => ClockEvidence::Declared { by: self.by.first().cloned().unwrap_or_default() },
                },
            },
        });
        log.diagnostics =
            self.diagnostics.iter().cloned().map(|d| Diagnostic { source: Some(0), ..d }).collect();
        log.events = std::mem::take(&mut self.events);
        for ((role, id), readings) in std::mem::take(&mut self.channels) {
            let name = channel_name(&role, &id);
            let instrument = self.made_instrument(&role, &id, 0)?;
            let mut builder = ChannelBuilder::<Proof>::new(&name, role, ProofProvenance::Entered).source(0);
            if let Some(instrument) = instrument {
                builder = builder.instrument(instrument);
            }
            for (reading, line) in readings {
                builder.push(reading, line)?;
            }
            let (channel, diagnostics) = builder.finish();
            log.add(channel, diagnostics)?;
        }
        Ok(Outcome::Done(HandRead { log, by: self.by }))
    }

    /// Gives probes named by position alone the next free number, in the order of their first readings.
    fn number_positions(&mut self) {
        let mut used: Vec<u16> = Vec::new();
        for ((role, _), _) in &self.channels {
            if let Role::CoreProbe { number, .. } | Role::SurfaceProbe { number, .. } = role {
                used.push(*number);
            }
        }
        let mut given: BTreeMap<(bool, String), u16> = BTreeMap::new();
        let mut numbered: Vec<HandChannel> = Vec::new();
        for ((mut role, id), readings) in std::mem::take(&mut self.channels) {
            let core = matches!(role, Role::CoreProbe { .. });
            if let Role::CoreProbe { number, position } | Role::SurfaceProbe { number, position } = &mut role
                && *number == 0
            {
                let next = || (1..=u16::MAX).find(|n| !used.contains(n)).unwrap_or(u16::MAX);
                let free = *given.entry((core, position.clone())).or_insert_with(next);
                used.push(free);
                *number = free;
            }
            numbered.push(((role, id), readings));
        }
        self.channels = numbered;
    }

    /// Marks wet bulbs above the dry bulb of the same instant.
    fn wet_above_dry(&mut self) {
        let dry: BTreeMap<Instant, f64> = self
            .channels
            .iter()
            .filter(|((role, _), _)| *role == Role::AirDryBulb)
            .flat_map(|(_, list)| list.iter().map(|(r, _)| (r.at, r.value)))
            .collect();
        let limit = self.options.checks.wet_above_dry_k;
        for ((role, id), list) in self.channels.iter_mut().filter(|((role, _), _)| *role == Role::AirWetBulb)
        {
            for (reading, line) in list.iter_mut() {
                let by_k = dry.get(&reading.at).map_or(0.0, |d| reading.value - d);
                if by_k > 1e-9 && reading.quality.counts() {
                    reading.quality = if by_k > limit {
                        Quality::Excluded(ExcludedReason::WetBulbAboveDryBulb)
                    } else {
                        Quality::Suspect(SuspectReason::WetBulbNearAboveDryBulb)
                    };
                    let kind = DiagnosticKind::WetBulbAboveDryBulb { by_k };
                    self.diagnostics.push(
                        Diagnostic::new(kind).channel(&channel_name(role, id)).at(reading.at).line(*line),
                    );
                }
            }
        }
    }
}

fn channel_name(role: &Role, instrument: &str) -> String {
    let mut name = word_of_role(Some(role)).to_owned();
    match role {
        Role::CoreProbe { number, position } | Role::SurfaceProbe { number, position } => {
            if *number > 0 {
                name.push_str(&format!(" {number}"));
            }
            if !position.is_empty() {
                name.push_str(&format!(" {position}"));
            }
        }
        Role::TrayWeight { tray } => name.push_str(&format!(" {tray}")),
        _ => {}
    }
    if !instrument.is_empty() {
        name.push_str(&format!(" ({instrument})"));
    }
    name
}
