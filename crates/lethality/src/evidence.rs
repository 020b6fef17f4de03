//! The papers and statements an option rests on beside the record.

use crate::facts::{BatchFacts, SteamSource};
use crate::option::{HumidityOption, OptionKind};
use crate::reason::{Missing, SealedPaper};
use crate::verdict::{Item, Part, WetBulbSign};
use crate::{Answer, OptionId};

/// Mass of a large piece, kg: 10 lb (OPTION-N4).
pub const LARGE_PIECE_KG: f64 = 10.0 * 0.453_592_37;

/// The parts of an option that do not depend on time.
pub(crate) fn parts(f: &BatchFacts, option: &HumidityOption, sign: &WetBulbSign) -> Vec<Part> {
    match option.kind {
        OptionKind::Steam => vec![steam(f, option.id)],
        OptionKind::Sealed => sealed(f, option.id, sign),
        OptionKind::Rh | OptionKind::Advice => Vec::new(),
        _ => vec![no_humidity(f, option)],
    }
}

fn steam(f: &BatchFacts, id: OptionId) -> Part {
    let part = |a| Part::plain(Item::Evidence, a, vec![id.requirement(), "JERKY-J25"]);
    match f.steam_source {
        Some(SteamSource::Injection | SteamSource::WaterOnHotElements) => part(Answer::Met),
        Some(SteamSource::PanOfWater) => part(Answer::CannotBeJudged).missing(vec![Missing::ContinuousSteam]),
        None => part(Answer::CannotBeJudged).missing(vec![Missing::SteamSource]),
    }
}

fn sealed(f: &BatchFacts, id: OptionId, sign: &WetBulbSign) -> Vec<Part> {
    let openings = |a| Part::plain(Item::Openings, a, vec![id.requirement()]);
    let opening = match f.opening_that_cannot_shut {
        Some(false) => openings(Answer::Met),
        Some(true) => openings(Answer::NotMet),
        None => openings(Answer::CannotBeJudged).missing(vec![Missing::OpeningsCanShut]),
    };
    let p = &f.sealed_papers;
    let missing: Vec<Missing> = [
        (&p.temperature, SealedPaper::Temperature),
        (&p.damper_shut, SealedPaper::DamperShut),
        (&p.humidity_held, SealedPaper::HumidityHeld),
        (&p.seal_upkeep, SealedPaper::SealUpkeep),
    ]
    .into_iter()
    .filter(|(name, _)| name.as_ref().is_none_or(|n| n.trim().is_empty()))
    .map(|(_, paper)| Missing::SealedPaper { paper })
    .collect();
    let answer = if missing.is_empty() { Answer::Met } else { Answer::CannotBeJudged };
    let papers = Part::plain(Item::Evidence, answer, vec![id.requirement()]).missing(missing);
    let seen = matches!(sign, WetBulbSign::Seen { .. });
    let answer = if seen { Answer::Met } else { Answer::CannotBeJudged };
    let missing = if seen { Vec::new() } else { vec![Missing::WetBulbSign] };
    let sign = Part::plain(Item::WetBulbSign, answer, vec!["OPTION-J-WB", "TOOL-18"]).missing(missing);
    vec![opening, papers, sign]
}

fn no_humidity(f: &BatchFacts, option: &HumidityOption) -> Part {
    let part = |a| Part::plain(Item::Evidence, a, vec![option.id.requirement()]);
    let lacking = || part(Answer::CannotBeJudged).missing(vec![Missing::NoHumidityEvidence]);
    let Some(e) = f.no_humidity.iter().find(|e| e.option == option.id) else { return lacking() };
    if option.kind == OptionKind::DirectHeat && e.moving_hot_air == Some(true) {
        return part(Answer::NotMet);
    }
    if option.kind == OptionKind::LargePiece {
        match e.smallest_piece_kg {
            Some(kg) if kg + 1e-9 < LARGE_PIECE_KG => return part(Answer::NotMet),
            None => return lacking(),
            Some(_) => {}
        }
    }
    if option.kind == OptionKind::DirectHeat && e.moving_hot_air.is_none() {
        return lacking();
    }
    match (e.throughout, e.record.trim().is_empty()) {
        (Some(true), false) => part(Answer::Met),
        (Some(false), false) => part(Answer::NotMet),
        _ => lacking(),
    }
}
