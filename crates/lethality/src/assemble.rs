//! Positions into the answer, with what is missing, the cautions and the limits used.

use crate::facts::Endpoint;
use crate::judge::Prepared;
use crate::reason::{Missing, StripReason};
use crate::table::FatChoice;
use crate::verdict::{Caution, Item, Judgement, Part, PositionResult};
use crate::{Answer, OptionId, citation};

pub(crate) fn merge_information(all: &mut Vec<(OptionId, Answer)>, one: Vec<(OptionId, Answer)>) {
    for (id, a) in one {
        match all.iter_mut().find(|(known, _)| *known == id) {
            Some((_, worst)) => *worst = worst.and(a),
            None => all.push((id, a)),
        }
    }
}

pub(crate) fn assemble(
    p: Prepared<'_>,
    positions: Vec<PositionResult>,
    information: Vec<(OptionId, Answer)>,
) -> Judgement {
    let mut gate_parts = p.common.clone();
    if !p.case.claim.options.iter().any(|o| *o != OptionId::JerkyWetBulbAdvice) {
        let part = Part::plain(Item::Claimed, Answer::CannotBeJudged, vec!["TOOL-04", "OPTION-J-WB"]);
        gate_parts.push(part.missing(vec![Missing::ClaimedOption]));
    }
    let gate_answer = Answer::all(gate_parts.iter().map(|g| g.answer)).unwrap_or(Answer::CannotBeJudged);
    let answer =
        Answer::all(positions.iter().map(|r| r.answer)).unwrap_or(Answer::CannotBeJudged).and(gate_answer);
    let coldest = coldest(&positions);
    let mut missing = Vec::new();
    let parts =
        || gate_parts.iter().chain(positions.iter().flat_map(|r| r.options.iter().flat_map(|o| &o.parts)));
    for m in parts().flat_map(|part| &part.missing) {
        if !missing.contains(m) {
            missing.push(m.clone());
        }
    }
    let mut ids: Vec<&str> = parts().flat_map(|part| part.requirements.iter().copied()).collect();
    ids.extend(["RULE-C01", "RULE-C21", "TOOL-01", "TOOL-02", "TOOL-06"]);
    ids.sort_unstable();
    ids.dedup();
    // Every id is in the list; the tests hold each judgement's ids against its limits.
    let limits = ids.into_iter().filter_map(|id| citation(id).ok()).collect();
    let mut open = parts().filter(|part| part.answer == Answer::CannotBeJudged);
    let may_come = |part: &Part| !part.missing.is_empty() && part.missing.iter().all(Missing::may_still_come);
    let waiting = answer == Answer::CannotBeJudged && open.all(may_come);
    let after_kill = crate::after_kill::worst(&positions);
    let cautions = cautions(&p, &positions);
    Judgement {
        answer,
        waiting,
        positions,
        coldest,
        gate: gate_parts,
        information,
        wet_bulb_sign: p.sign,
        after_kill,
        missing,
        cautions,
        limits,
    }
}

fn coldest(positions: &[PositionResult]) -> Option<usize> {
    let margins = positions.iter().enumerate().filter_map(|(i, r)| r.temperature_margin_k.map(|m| (i, m)));
    margins.reduce(|a, b| if b.1 < a.1 { b } else { a }).map(|(i, _)| i)
}

fn cautions(p: &Prepared<'_>, positions: &[PositionResult]) -> Vec<Caution> {
    let (f, claim) = (&p.case.facts, &p.case.claim);
    let doubtful = StripReason::Suspect(fallrate_series::SuspectReason::PerhapsNotInProduct);
    let lowest_row = |r: &PositionResult| {
        r.options
            .iter()
            .any(|o| o.answer == Answer::Met && o.row.as_ref().is_some_and(|row| row.row_f <= 130.0))
    };
    let half_told = |r: &PositionResult| {
        let readings = r.options.iter().map(|o| o.readings.iter().map(|x| x.answer));
        readings.into_iter().any(|mut a| a.next().is_some_and(|first| a.any(|other| other != first)))
    };
    let fat = p.table.as_ref().map(|t| t.fat);
    let late_claim = match (claim.claimed_at, f.product_met_heat) {
        (Some(at), Some(t0)) => at > t0,
        _ => true,
    };
    let listed = [
        (true, Caution::ProcessAuthorityDecides),
        (fat == Some(FatChoice::UnknownStrictest), Caution::FatUnknown),
        (fat == Some(FatChoice::AboveLastColumn), Caution::FatAboveTable),
        (claim.endpoint == Endpoint::PoultryEndpoint, Caution::PoultryEndpointBelowTables),
        (f.drying_began.is_none(), Caution::DryingStartNotRecorded),
        (late_claim, Caution::ClaimNotFixedBefore),
        (positions.iter().any(half_told), Caution::DocumentContradictsItself),
        (positions.iter().any(lowest_row), Caution::LowestRowsWeakest),
        (p.probes_unchecked, Caution::ProbeInAirNotCheckable),
        (
            positions.iter().any(|r| r.strip.iter().any(|s| s.reason == doubtful)),
            Caution::ReadingsPerhapsNotInProduct,
        ),
        (claim.target == crate::LogTarget::Five, Caution::FiveLogNeedsShelfStable),
        (f.species.is_some_and(crate::Species::may_contain_beef), Caution::StecTarget),
    ];
    listed.into_iter().filter(|(on, _)| *on).map(|(_, c)| c).collect()
}
