//! Composition: parts into options, options into positions, positions into the answer.

use fallrate_series::{Log, Realm, Role, Span};

use crate::assemble::{assemble, merge_information};
use crate::clocks::{Clocks, Reader, judge_reads};
use crate::come_up::ComeUp;
use crate::count::Curve;
use crate::dwell::{Dwell, dwell};
use crate::facts::{Case, Endpoint};
use crate::humid::HumidRecord;
use crate::option::{HumidityOption, OptionKind, humidity_options};
use crate::position::{PositionRecord, lower_poultry_endpoint, required_rows};
use crate::reason::{Counted, StripReason, instant_at};
use crate::record_line::{Evidence, ShownSeconds};
use crate::search::Slack;
use crate::table::{RequiredTimes, required_times};
use crate::timed::Timed;
use crate::timeline::Timeline;
use crate::track::{Track, Window};
use crate::verdict::{Item, Judgement, OptionResult, Part, PositionResult, WetBulbSign};
use crate::{Answer, LethalityError, OptionId, evidence, gate};

/// Least minutes of the wet-bulb sign (OPTION-J-WB).
pub const ADVICE_MINUTES: f64 = 60.0;

/// Everything prepared once for all positions.
pub(crate) struct Prepared<'a> {
    pub case: &'a Case,
    pub clocks: Clocks,
    pub window: Option<Window>,
    pub table: Option<RequiredTimes>,
    pub common: Vec<Part>,
    pub sign: WetBulbSign,
    pub evidence: Vec<(OptionId, Evidence, Curve)>,
    /// A core was measured, and dry or wet bulb were not: a probe out of the product could not be looked for.
    pub probes_unchecked: bool,
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
    if let Some(most) = f.after_kill_at_most_min {
        LethalityError::within("plan's limit after the kill", most, "min", 0.0..=1e6, "0 or more")?;
    }
    LethalityError::within(
        "earlier minutes in the band",
        f.earlier_minutes_in_band,
        "min",
        0.0..=1e6,
        "0 or more",
    )?;
    let table = table_for(case)?;
    let clocks = Clocks::new(log, f);
    let window = window(log, case, &clocks);
    let clocks_missing = clocks.missing(log, judge_reads);
    let rows_known = table.as_ref().is_some_and(|t| !t.rows.is_empty());
    let inputs_known = clocks_missing.is_empty() && rows_known && window.is_some();
    let common = gate::common(case, clocks_missing)?;
    let (sign, evidence) = humid_evidence(log, case, window, &clocks);
    let window = window.filter(|_| inputs_known);
    let measured = |role: &dyn Fn(&Role) -> bool| log.channels.iter().any(|c| role(&c.role));
    let both_bulbs = measured(&|r| *r == Role::AirDryBulb) && measured(&|r| *r == Role::AirWetBulb);
    let probes_unchecked = measured(&|r| matches!(r, Role::CoreProbe { .. })) && !both_bulbs;
    let p = Prepared { case, clocks, window, table, common, sign, evidence, probes_unchecked };
    let mut positions = Vec::new();
    let mut information: Vec<(OptionId, Answer)> = Vec::new();
    for name in &f.required_positions {
        let record = PositionRecord::new(log, name, p.window, case, &p.clocks);
        let (result, others) = judge_position(&p, name, record);
        positions.push(result);
        merge_information(&mut information, others);
    }
    Ok(assemble(p, positions, information))
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

/// What is judged: from the product meeting heat to the end of the record; `None` where there is no such stretch.
pub(crate) fn window<R: Realm>(log: &Log<R>, case: &Case, clocks: &Clocks) -> Option<Window> {
    let t0 = case.facts.product_met_heat?;
    let end = case.facts.record_ends.or_else(|| log.span().map(Span::to))?;
    let end = end.seconds_since(t0);
    let end_is_stated = case.facts.record_ends.is_some();
    (end > 0.0).then(|| Window { end_is_stated, ..Window::new(t0, end, case, clocks) })
}

type Lines = (WetBulbSign, Vec<(OptionId, Evidence, Curve)>);

fn humid_evidence<R: Realm>(log: &Log<R>, case: &Case, window: Option<Window>, clocks: &Clocks) -> Lines {
    let Some(w) = window else { return (WetBulbSign::NotMeasured, Vec::new()) };
    let record = HumidRecord { log, facts: &case.facts, clocks, w, span: w.span() };
    let sign = sign(record.seconds(&record.wet_bulb_sign()));
    let (steam, sealed, rh90, oven) =
        (record.steam(), record.sealed(), record.relative_humidity(0.9), record.hot_oven());
    let mut out = Vec::new();
    for o in humidity_options().unwrap_or_default() {
        let evidence = match o.kind {
            OptionKind::Steam => steam.clone(),
            OptionKind::Sealed => sealed.clone(),
            OptionKind::Rh => rh90.clone(),
            OptionKind::LargePiece => oven.clone(),
            _ => continue,
        };
        let evidence = with_dry_steps(evidence, o, case, w, clocks);
        let curve = Curve::new(&evidence.line);
        out.push((o.id, evidence, curve));
    }
    (sign, out)
}

/// Where every minute must be humid but a declared dry step is allowed, the step is taken out of the question.
fn with_dry_steps(e: Evidence, o: &HumidityOption, case: &Case, w: Window, clocks: &Clocks) -> Evidence {
    if !o.throughout || o.dry_step_at_most_min.is_none() || case.facts.dry_surface_steps.is_empty() {
        return e;
    }
    let second = |at: fallrate_series::Instant| at.seconds_since(w.t0);
    let steps = case.facts.dry_surface_steps.iter();
    let spans: Vec<_> = steps
        .map(|s| (second(s.from()), second(s.to()), Counted::Yes, StripReason::DrySurfaceStep))
        .collect();
    let step = Timeline::from_spans(w.range(), (Counted::No, StripReason::NotHumid), &spans);
    e.or(Evidence::on(Reader::Stated, step), clocks)
}

fn sign(shown: ShownSeconds) -> WetBulbSign {
    let (yes, unknown) = (shown.yes_s, shown.unknown_s);
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
) -> (PositionResult, Vec<(OptionId, Answer)>) {
    let earlier = p.case.facts.earlier_minutes_in_band;
    let come_up = ComeUp::from_track(record.possible(), earlier, record.slack_s);
    let mut dwells: Vec<(RowsAllowed, Dwells)> = Vec::new();
    let (mut options, mut others) = (Vec::new(), Vec::new());
    let all = humidity_options().unwrap_or_default().iter();
    for option in all.filter(|o| o.id != OptionId::JerkyWetBulbAdvice) {
        let d = dwell_for(p, &record, option, &mut dwells);
        let result = judge_option(p, &record, option, &d, &come_up);
        if result.claimed {
            options.push(result);
        } else {
            others.push((option.id, result.answer));
        }
    }
    let order = |id: OptionId| p.case.claim.options.iter().position(|o| *o == id);
    options.sort_by_key(|o| order(o.option));
    let all_rows = p.table.as_ref().map(|t| printed(p, record.shown(), t).rows).unwrap_or_default();
    let mut answer = Answer::any(options.iter().map(|o| o.answer)).unwrap_or(Answer::CannotBeJudged);
    if options.is_empty() {
        answer = Answer::all(p.common.iter().map(|c| c.answer)).unwrap_or(answer).and(Answer::CannotBeJudged);
    }
    let margin = p.table.as_ref().and_then(|t| record.temperature_margin_k(t, p.window));
    let after_kill = crate::after_kill::after_kill(p.case, p.window, &record, &come_up, &options);
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
        clock_uncertainty_s: p.window.map(|_| record.slack_s),
        after_kill,
        channels: record.channels.clone(),
    };
    (result, others)
}

/// Dwell as it holds for every shift of the clocks, and as the clocks stand.
#[derive(Clone)]
pub(crate) struct Dwells {
    pub held: Dwell,
    pub as_clocks_stand: Dwell,
}

/// Coldest row that an option allows, and the least dwell there.
type RowsAllowed = (Option<f64>, Option<f64>);

/// Options that allow the same rows share one dwell.
fn dwell_for(
    p: &Prepared<'_>,
    record: &PositionRecord,
    o: &HumidityOption,
    known: &mut Vec<(RowsAllowed, Dwells)>,
) -> Dwells {
    let allowed = (o.row_min_f, o.row_min_dwell_s);
    if let Some((_, d)) = known.iter().find(|(same, _)| *same == allowed) {
        return d.clone();
    }
    let held = dwell_between(p, o, record.shown(), record.possible());
    let as_clocks_stand =
        if record.is_shifted() { dwell_between(p, o, &record.track, &record.track) } else { held.clone() };
    let d = Dwells { held, as_clocks_stand };
    known.push((allowed, d.clone()));
    d
}

/// Dwell of a track. Where some row was satisfied before drying began, the figures of all rows end there, so that no
/// minute of a dry product is printed as dwell.
fn printed(p: &Prepared<'_>, shown: &Track, table: &RequiredTimes) -> Dwell {
    let mut d = dwell(shown, table);
    let began = p.case.facts.drying_began.zip(p.window).map(|(at, w)| at.seconds_since(w.t0));
    let before = began.filter(|dry| d.shown_at.is_some_and(|(t, _)| t <= *dry) && *dry < shown.end);
    if let Some(dry) = before {
        d.rows = dwell(&shown.cut(shown.begin, dry), table).rows;
    }
    d
}

/// What one track shows, and what another makes possible.
fn dwell_between(p: &Prepared<'_>, o: &HumidityOption, shown: &Track, possible: &Track) -> Dwell {
    let Some(table) = &p.table else { return Dwell::default() };
    let mut d = printed(p, shown, &required_rows(table, o));
    // Cure or smoke not stated: what is possible follows the lower endpoint.
    let lower = lower_poultry_endpoint(p.case);
    if lower.is_some() || shown != possible {
        d.possible_at = dwell(possible, &required_rows(lower.as_ref().unwrap_or(table), o)).possible_at;
    }
    d
}

fn judge_option(
    p: &Prepared<'_>,
    record: &PositionRecord,
    option: &HumidityOption,
    d: &Dwells,
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
    let mut result = OptionResult {
        option: option.id,
        claimed,
        answer: Answer::all(fixed.iter().map(|part| part.answer)).unwrap_or(Answer::CannotBeJudged),
        end: None,
        parts: fixed,
        readings: Vec::new(),
        row: d.held.row_to_print().cloned(),
        humid_strip: Vec::new(),
        earliest_s: None,
    };
    let Some(w) = p.window.filter(|_| record.usable()) else {
        result.answer = result.answer.and(Answer::CannotBeJudged);
        return result;
    };
    let line = p.evidence.iter().find(|(id, ..)| *id == option.id);
    let core_alone = || Slack { core_s: record.slack_s, ..Slack::default() };
    let timed = Timed {
        w,
        case: p.case,
        record,
        option,
        dwells: d,
        come_up,
        humid: line.map(|(_, e, curve)| (curve, e.missing.as_slice())),
        slack: line.map_or_else(core_alone, |(_, e, _)| e.slack(&p.clocks, record.clock)),
    }
    .run();
    let fixed = result.answer;
    result.answer = fixed.and(timed.answer);
    result.end = Some(instant_at(w.t0, timed.end));
    result.earliest_s = timed.earliest_s;
    result.parts.extend(timed.parts);
    result.readings = timed.readings;
    for r in &mut result.readings {
        r.answer = fixed.and(r.answer);
    }
    if claimed {
        result.humid_strip = line.map(|(_, e, _)| e.line.strip(w.t0, w.end)).unwrap_or_default();
    }
    result
}
