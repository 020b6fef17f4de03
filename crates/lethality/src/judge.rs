//! Composition: parts into options, options into positions, positions into the answer.

use fallrate_series::{Log, Realm, Span};

use crate::assemble::{assemble, merge_information};
use crate::come_up::ComeUp;
use crate::dwell::{Dwell, dwell};
use crate::facts::{Case, Endpoint};
use crate::humid::{Evidence, HumidRecord};
use crate::option::{HumidityOption, OptionKind, humidity_option};
use crate::position::{PositionRecord, lower_poultry_endpoint, required_rows};
use crate::reason::{Counted, Missing, StripReason, instant_at};
use crate::search::Curve;
use crate::table::{RequiredTimes, required_times};
use crate::timed::timed;
use crate::timeline::Timeline;
use crate::track::Window;
use crate::verdict::{Item, Judgement, OptionResult, Part, PositionResult, WetBulbSign};
use crate::{Answer, LethalityError, OptionId, evidence, gate};

/// Least minutes of the wet-bulb sign (OPTION-J-WB).
pub const ADVICE_MINUTES: f64 = 60.0;

/// Everything prepared once for all positions.
pub(crate) struct Prepared<'a> {
    pub case: &'a Case,
    pub window: Option<Window>,
    pub table: Option<RequiredTimes>,
    pub common: Vec<Part>,
    pub sign: WetBulbSign,
    pub evidence: Vec<(OptionId, Evidence, Curve)>,
}

/// Judges a log of either realm.
pub(crate) fn run<R: Realm>(log: &Log<R>, case: &Case) -> Result<Judgement, LethalityError> {
    let f = &case.facts;
    LethalityError::within(
        "monitoring interval",
        f.monitoring_interval.seconds(),
        "s",
        1e-3..=86_400.0,
        "above 0 to 24 h",
    )?;
    LethalityError::within(
        "earlier minutes in the band",
        f.earlier_minutes_in_band,
        "min",
        0.0..=1e6,
        "0 or more",
    )?;
    let table = table_for(case)?;
    let window = window(log, case);
    let clocks = unknown_clocks(log);
    let inputs_known = clocks.is_empty() && table.is_some() && window.is_some();
    let common = gate::common(case, clocks)?;
    let (sign, evidence) = humid_evidence(log, case, window)?;
    let p = Prepared { case, window: window.filter(|_| inputs_known), table, common, sign, evidence };
    let mut positions = Vec::new();
    let mut information: Vec<(OptionId, Answer)> = Vec::new();
    for name in &f.required_positions {
        let record = PositionRecord::new(log, name, p.window, case);
        let (result, others) = judge_position(&p, name, record)?;
        positions.push(result);
        merge_information(&mut information, others);
    }
    assemble(p, positions, information)
}

/// The rows the claim may use; `None` where the animal is not stated.
fn table_for(case: &Case) -> Result<Option<RequiredTimes>, LethalityError> {
    let Some(species) = case.facts.species else { return Ok(None) };
    let table = required_times(species, case.facts.fat_percent, case.claim.target)?;
    Ok(Some(match case.claim.endpoint {
        Endpoint::Tables => table,
        Endpoint::PoultryEndpoint => crate::position::poultry_endpoint(case),
    }))
}

pub(crate) fn window<R: Realm>(log: &Log<R>, case: &Case) -> Option<Window> {
    let t0 = case.facts.product_met_heat?;
    let end = case.facts.record_ends.or_else(|| log.span().map(Span::to))?;
    let end = end.seconds_since(t0);
    (end > 0.0).then_some(Window { t0, end, longest_s: case.facts.monitoring_interval.seconds() })
}

/// Sources of channels whose clock nobody vouches for.
pub(crate) fn unknown_clocks<R: Realm>(log: &Log<R>) -> Vec<Missing> {
    log.sources
        .iter()
        .filter(|s| !s.clock.is_known())
        .map(|s| Missing::Clock { file_name: s.file_name.clone() })
        .collect()
}

type Lines = (WetBulbSign, Vec<(OptionId, Evidence, Curve)>);

fn humid_evidence<R: Realm>(
    log: &Log<R>,
    case: &Case,
    window: Option<Window>,
) -> Result<Lines, LethalityError> {
    let Some(w) = window else { return Ok((WetBulbSign::NotMeasured, Vec::new())) };
    let span = Span::new(w.t0, instant_at(w.t0, w.end)).map_err(|_| LethalityError::OutOfRange {
        what: "end of the record",
        value: w.end,
        unit: "s",
        allowed: "after the product met heat",
    })?;
    let record = HumidRecord { log, facts: &case.facts, w, span };
    let sign = sign(&record.wet_bulb_sign(), w.end);
    let (steam, sealed, rh90, oven) =
        (record.steam(), record.sealed(), record.relative_humidity(0.9), record.hot_oven());
    let mut out = Vec::new();
    for id in OptionId::ALL {
        let o = humidity_option(id)?;
        let evidence = match o.kind {
            OptionKind::Steam => steam.clone(),
            OptionKind::Sealed => sealed.clone(),
            OptionKind::Rh => rh90.clone(),
            OptionKind::LargePiece => oven.clone(),
            _ => continue,
        };
        let evidence = with_dry_steps(evidence, o, case, w);
        let curve = Curve::new(&evidence.line);
        out.push((id, evidence, curve));
    }
    Ok((sign, out))
}

/// Where every minute must be humid but a declared dry step is allowed, the step is taken out of the question.
fn with_dry_steps(mut e: Evidence, o: &HumidityOption, case: &Case, w: Window) -> Evidence {
    if o.throughout && o.dry_step_at_most_min.is_some() {
        for s in &case.facts.dry_surface_steps {
            let (from, to) = (s.from().seconds_since(w.t0), s.to().seconds_since(w.t0));
            e.line = e.line.overlay(from, to, Counted::Yes, StripReason::DrySurfaceStep);
        }
    }
    e
}

fn sign(e: &Evidence, end: f64) -> WetBulbSign {
    let (yes, unknown) = e.line.yes_and_unknown_s(end);
    if yes / 60.0 >= ADVICE_MINUTES - 1e-7 {
        WetBulbSign::Seen { minutes: yes / 60.0 }
    } else if (yes + unknown) / 60.0 < ADVICE_MINUTES {
        WetBulbSign::NotSeen { minutes: yes / 60.0 }
    } else {
        WetBulbSign::NotMeasured
    }
}

fn judge_position(
    p: &Prepared<'_>,
    name: &str,
    record: PositionRecord,
) -> Result<(PositionResult, Vec<(OptionId, Answer)>), LethalityError> {
    let come_up = ComeUp::from_track(&record.track, p.case.facts.earlier_minutes_in_band);
    let mut dwells: Vec<(OptionId, Dwell)> = Vec::new();
    let (mut options, mut others) = (Vec::new(), Vec::new());
    for id in OptionId::ALL.into_iter().filter(|id| *id != OptionId::JerkyWetBulbAdvice) {
        let option = humidity_option(id)?;
        let d = dwell_for(p, &record, option, &mut dwells);
        let result = judge_option(p, &record, option, &d, &come_up);
        if result.claimed {
            options.push(result);
        } else {
            others.push((id, result.answer));
        }
    }
    let order = |id: OptionId| p.case.claim.options.iter().position(|o| *o == id);
    options.sort_by_key(|o| order(o.option));
    let all_rows = p.table.as_ref().map(|t| dwell(&record.track, t).rows).unwrap_or_default();
    let mut answer = Answer::any(options.iter().map(|o| o.answer)).unwrap_or(Answer::CannotBeJudged);
    if options.is_empty() {
        answer = Answer::all(p.common.iter().map(|c| c.answer)).unwrap_or(answer).and(Answer::CannotBeJudged);
    }
    let margin = p.table.as_ref().and_then(|t| record.temperature_margin_k(t, p.window));
    let after_kill = crate::after_kill::after_kill(p.case, p.window, &record.track, &come_up, &options);
    let lowest = p.table.as_ref().and_then(|t| t.rows.first()).map(|r| r.row_f);
    let result = PositionResult {
        position: name.to_owned(),
        answer,
        options,
        rows: all_rows,
        strip: record.strip(p.window, lowest, p.case.facts.drying_began),
        tolerance_k: record.tolerance_k,
        temperature_margin_k: margin,
        within_tolerance: margin.zip(record.tolerance_k).is_some_and(|(m, tol)| m < 0.0 && -m <= tol + 1e-9),
        unknown_min: record.track.unknown_s() / 60.0,
        after_kill,
        channels: record.channels.clone(),
    };
    Ok((result, others))
}

/// Options that allow the same rows share one dwell.
fn dwell_for(
    p: &Prepared<'_>,
    record: &PositionRecord,
    o: &HumidityOption,
    known: &mut Vec<(OptionId, Dwell)>,
) -> Dwell {
    let same = |id: &OptionId| {
        humidity_option(*id)
            .is_ok_and(|k| k.row_min_f == o.row_min_f && k.row_min_dwell_s == o.row_min_dwell_s)
    };
    if let Some((_, d)) = known.iter().find(|(id, _)| same(id)) {
        return d.clone();
    }
    let mut d = p.table.as_ref().map(|t| dwell(&record.track, &required_rows(t, o))).unwrap_or_default();
    if let Some(best) = lower_poultry_endpoint(p.case) {
        // Cure or smoke not stated: what is possible follows the lower endpoint.
        d.possible_at = dwell(&record.track, &required_rows(&best, o)).possible_at;
    }
    known.push((o.id, d.clone()));
    d
}

fn judge_option(
    p: &Prepared<'_>,
    record: &PositionRecord,
    option: &HumidityOption,
    d: &Dwell,
    come_up: &ComeUp,
) -> OptionResult {
    let f = &p.case.facts;
    let claimed = p.case.claim.options.contains(&option.id);
    let mut fixed = p.common.clone();
    if claimed {
        fixed.push(gate::claimed(p.case.claim.document, option));
    }
    fixed.extend(gate::open_to_order(f, option));
    fixed.push(record.instruments_part());
    fixed.extend(evidence::parts(f, option, &p.sign));
    fixed.extend(gate::dry_step(f, option));
    if option.meat_only {
        let poultry = f.species.is_some_and(|s| s.takes_poultry_standard());
        let a = if poultry { Answer::NotMet } else { Answer::Met };
        fixed.push(Part::plain(Item::TableForSpecies, a, vec!["OPTION-J-C", "JERKY-J13"]));
    }
    fixed.extend(crate::position::endpoint_part(p.case));
    let line = p.evidence.iter().find(|(id, ..)| *id == option.id);
    let judged = p.window.filter(|_| record.usable()).map(|w| timed(w, p, option, d, come_up, line));
    let mut result = OptionResult {
        option: option.id,
        claimed,
        answer: Answer::all(fixed.iter().map(|part| part.answer)).unwrap_or(Answer::CannotBeJudged),
        end: None,
        parts: fixed,
        row: d.row_to_print().cloned(),
        humid_strip: Vec::new(),
    };
    let Some((answer, end, parts)) = judged else {
        result.answer = result.answer.and(Answer::CannotBeJudged);
        return result;
    };
    result.answer = result.answer.and(answer);
    result.end = p.window.map(|w| instant_at(w.t0, end));
    result.parts.extend(parts);
    if claimed {
        result.humid_strip = strip(line.map(|(_, e, _)| &e.line), p.window);
    }
    result
}

fn strip(line: Option<&Timeline>, w: Option<Window>) -> Vec<crate::StripEntry> {
    line.zip(w).map(|(l, w)| l.strip(w.t0)).unwrap_or_default()
}
