//! The record of one position: its probes, whether they may be relied on, and its margin.

use fallrate_series::{Channel, Instant, Log, Realm};

use crate::Answer;
use crate::clocks::{Clocks, Reader};
use crate::facts::{Case, Endpoint};
use crate::instruments::instrument_gaps;
use crate::option::HumidityOption;
use crate::probe::spans_perhaps_not_in_product;
use crate::reason::{Missing, StripEntry, StripReason};
use crate::table::{FatChoice, RequiredRow, RequiredTimes, celsius_from_fahrenheit};
use crate::track::{Shown, Track, Window};
use crate::verdict::{Item, Part};

/// Printed poultry endpoint, uncured, degF (JERKY-J13).
pub const POULTRY_ENDPOINT_UNCURED_F: f64 = 160.0;
/// Printed poultry endpoint, cured and smoked, degF (JERKY-J13).
pub const POULTRY_ENDPOINT_CURED_SMOKED_F: f64 = 155.0;

/// What one position's probes recorded.
pub(crate) struct PositionRecord {
    /// As the clocks stand.
    pub track: Track,
    /// What holds for every shift of the probes' clock, and what is possible with some; `None` where it cannot be
    /// shifted.
    shifted: Option<(Track, Track)>,
    /// Whose clock the probes stand on.
    pub clock: Reader,
    /// How far it may be shifted against the stated times, s.
    pub slack_s: f64,
    /// End of the record on the probes' clock, s: at the earliest, at the latest.
    pub end: (f64, f64),
    pub tolerance_k: Option<f64>,
    pub channels: Vec<String>,
    pub missing: Vec<Missing>,
}

impl PositionRecord {
    pub fn new<R: Realm>(
        log: &Log<R>,
        name: &str,
        window: Option<Window>,
        case: &Case,
        clocks: &Clocks,
    ) -> Self {
        let probes: Vec<&Channel<R>> = log.core_probes(name).collect();
        let clock = Reader::of(probes.first().and_then(|c| c.source));
        let mut out = Self {
            track: Track::default(),
            shifted: None,
            clock,
            slack_s: clocks.apart_s(Reader::Stated, clock),
            end: (0.0, 0.0),
            tolerance_k: None,
            channels: probes.iter().map(|c| c.name.clone()).collect(),
            missing: Vec::new(),
        };
        if probes.is_empty() {
            out.missing.push(Missing::ProbeAt { position: name.to_owned() });
        }
        out.missing.extend(clocks.relation_missing(log, clock));
        let Some(w) = window else { return out };
        out.missing.extend(probes.iter().flat_map(|c| instrument_gaps(c, w.span())));
        if !out.missing.is_empty() {
            return out;
        }
        out.end = w.ends(log, clocks, clock);
        let range = (-out.slack_s, out.end.1.max(w.end));
        let tracks = probes.iter().map(|c| {
            let doubtful = spans_perhaps_not_in_product(log, c, case.facts.drying_began, clocks);
            let entered = c.provenance.into() == fallrate_series::Provenance::Entered;
            let track = Track::from_channel(c, w, range, &doubtful, entered);
            if clocks.apart_s(clock, Reader::of(c.source)) > 0.0 {
                // Two sensors at one position on clocks that may be shifted cannot be compared.
                return Track::unknown(range, track.tolerance_k, StripReason::ClocksApart);
            }
            track
        });
        let track = tracks.reduce(|a, b| a.merge(&b)).unwrap_or_default();
        out.tolerance_k = Some(track.tolerance_k);
        if out.slack_s > 0.0 || out.end != (w.end, w.end) {
            let (slack, (first, last)) = (out.slack_s, out.end);
            out.shifted = Some((track.cut(slack, first), track.cut(-slack, last)));
            out.track = track.cut(0.0, w.end);
        } else {
            out.track = track;
        }
        out
    }

    /// Whether the probes' clock may be shifted against the stated times or the end of the record.
    pub fn is_shifted(&self) -> bool {
        self.shifted.is_some()
    }
    /// What holds for every shift of the clocks.
    pub fn shown(&self) -> &Track {
        self.shifted.as_ref().map_or(&self.track, |s| &s.0)
    }
    /// What is possible with some shift of the clocks.
    pub fn possible(&self) -> &Track {
        self.shifted.as_ref().map_or(&self.track, |s| &s.1)
    }

    /// Whether there is a track to judge.
    pub fn usable(&self) -> bool {
        self.missing.is_empty()
    }

    pub fn instruments_part(&self) -> Part {
        let answer = if self.missing.is_empty() { Answer::Met } else { Answer::CannotBeJudged };
        Part::plain(Item::Instruments, answer, vec!["RULE-C21", "RECORD-H08"]).missing(self.missing.clone())
    }

    pub fn strip(
        &self,
        w: Option<Window>,
        lowest_row_f: Option<f64>,
        drying: Option<Instant>,
    ) -> Vec<StripEntry> {
        let Some(w) = w else { return Vec::new() };
        self.track.strip(w.t0, lowest_row_f, drying.map(|d| d.seconds_since(w.t0)))
    }

    /// By how much every reading could have been colder (negative: must have been hotter) with some row just satisfied,
    /// K, rounded down to 0.01 K. Unknown time counts as nothing. `None` where the known time is shorter than every
    /// row asks.
    pub fn temperature_margin_k(&self, table: &RequiredTimes, window: Option<Window>) -> Option<f64> {
        window?;
        let levels = Levels::new(self.shown());
        table
            .rows
            .iter()
            .filter_map(|r| {
                let level = if r.need_s > 0.0 { levels.held_for(r.need_s) } else { levels.hottest_pair };
                level.map(|c| c - celsius_from_fahrenheit(r.row_f))
            })
            .reduce(f64::max)
            .map(|m| ((m + 1e-9) * 100.0).floor() / 100.0)
    }
}

const LEVEL_STEP_K: f64 = 0.01;
const LEVEL_LOW_C: f64 = -50.0;
const LEVELS: usize = 35_000;

/// Known seconds by temperature level of 0.01 K.
struct Levels {
    /// Seconds, and the coldest temperature among them.
    seconds: Vec<(f64, f64)>,
    hottest_pair: Option<f64>,
}

impl Levels {
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
    fn new(track: &Track) -> Self {
        let mut out = Self { seconds: vec![(0.0, f64::INFINITY); LEVELS], hottest_pair: None };
        for p in &track.pieces {
            if let Shown::Known(line) = p.shown {
                let i = ((line.cold_c - LEVEL_LOW_C) / LEVEL_STEP_K + 1e-6).floor();
                let i = i.clamp(0.0, (LEVELS - 1) as f64) as usize;
                let s = &mut out.seconds[i];
                *s = (s.0 + p.to - p.from, s.1.min(line.cold_c));
            }
            if let Some(c) = p.pair_cold_c {
                out.hottest_pair = Some(out.hottest_pair.map_or(c, |h| h.max(c)));
            }
        }
        out
    }
    /// Hottest level that was held for so long in total.
    fn held_for(&self, need_s: f64) -> Option<f64> {
        let mut sum = 0.0;
        for (seconds, coldest_c) in self.seconds.iter().rev() {
            sum += seconds;
            if *seconds > 0.0 && sum >= need_s - crate::dwell::DWELL_GUARD_S {
                return Some(*coldest_c);
            }
        }
        None
    }
}

/// The rows an option allows.
pub(crate) fn required_rows(table: &RequiredTimes, option: &HumidityOption) -> RequiredTimes {
    table.clone().allowing_from(option.row_min_f, option.row_min_dwell_s)
}

/// The printed poultry endpoint as a table of one row: the lower one only where the product is cured and smoked.
pub(crate) fn poultry_endpoint(case: &Case) -> RequiredTimes {
    let lower = case.facts.cured == Some(true) && case.facts.smoked == Some(true);
    one_row(if lower { POULTRY_ENDPOINT_CURED_SMOKED_F } else { POULTRY_ENDPOINT_UNCURED_F })
}

/// Where the endpoint is claimed and cure or smoke is not stated: the lower endpoint, which may be the right one.
pub(crate) fn lower_poultry_endpoint(case: &Case) -> Option<RequiredTimes> {
    let f = &case.facts;
    let may_be_both = f.cured != Some(false) && f.smoked != Some(false);
    let unsure = may_be_both && (f.cured.is_none() || f.smoked.is_none());
    (case.claim.endpoint == Endpoint::PoultryEndpoint && unsure)
        .then(|| one_row(POULTRY_ENDPOINT_CURED_SMOKED_F))
}

/// Whether the printed endpoint is open to the animal.
pub(crate) fn endpoint_part(case: &Case) -> Option<Part> {
    if case.claim.endpoint != Endpoint::PoultryEndpoint {
        return None;
    }
    let poultry = case.facts.species?.takes_poultry_standard();
    let answer = if poultry { Answer::Met } else { Answer::NotMet };
    Some(Part::plain(Item::TableForSpecies, answer, vec!["JERKY-J13"]))
}

fn one_row(row_f: f64) -> RequiredTimes {
    let row = RequiredRow { row_f, need_s: 0.0, table_id: "poultry endpoint".to_owned() };
    RequiredTimes { rows: vec![row], fat: FatChoice::NotNeeded }
}
