//! The words of a verdict, in the reader's language.

use fallrate_lethality::{
    Answer, Basis, Caution, ClaimedDocument, Item, Missing, OptionId, SealedPaper, Species, StripReason,
};
use fallrate_report::Sign;
use fallrate_series::{EventKind, ExcludedReason, Role, SuspectReason};

use crate::words::{Reader, Units, say, trimmed};

pub(crate) fn answer(r: &Reader, a: Answer) -> String {
    r.text(match a {
        Answer::Met => "answer-met",
        Answer::NotMet => "answer-not-met",
        Answer::CannotBeJudged => "answer-cannot",
    })
}

/// Of a limit of the plan.
pub(crate) fn kept(r: &Reader, a: Answer) -> String {
    r.text(match a {
        Answer::Met => "answer-kept",
        Answer::NotMet => "answer-missed",
        Answer::CannotBeJudged => "answer-cannot",
    })
}

pub(crate) const fn sign(a: Answer) -> Sign {
    match a {
        Answer::Met => Sign::Yes,
        Answer::NotMet => Sign::No,
        Answer::CannotBeJudged => Sign::Open,
    }
}

pub(crate) fn document(r: &Reader, d: Option<ClaimedDocument>) -> String {
    r.text(match d {
        Some(ClaimedDocument::CookingGuideline2021) => "document-cooking-2021",
        Some(ClaimedDocument::JerkyGuideline2014) => "document-jerky-2014",
        None => "document-none",
    })
}

pub(crate) fn option(r: &Reader, o: OptionId) -> String {
    r.text(match o {
        OptionId::Steam2021 => "option-1",
        OptionId::Sealed2021 => "option-2",
        OptionId::Rh90Share2021 => "option-3",
        OptionId::Rh90Throughout2021 => "option-4",
        OptionId::JerkyA => "option-j-a",
        OptionId::JerkyB => "option-j-b",
        OptionId::JerkyC => "option-j-c",
        OptionId::JerkyD => "option-j-d",
        OptionId::JerkyE => "option-j-e",
        OptionId::JerkyWetBulbAdvice => "option-j-wb",
        OptionId::Immersion => "option-n1",
        OptionId::SealedBag => "option-n2",
        OptionId::Casing => "option-n3",
        OptionId::LargePiece => "option-n4",
        OptionId::DirectHeat => "option-n5",
    })
}

pub(crate) fn item(r: &Reader, i: Item) -> String {
    r.text(match i {
        Item::Claimed => "item-claimed",
        Item::Cabinet => "item-cabinet",
        Item::Scope => "item-scope",
        Item::Identity => "item-identity",
        Item::ColdSpot => "item-cold-spot",
        Item::Instruments => "item-instruments",
        Item::Row => "item-row",
        Item::DwellBeforeDrying => "item-dwell-before-drying",
        Item::ComeUp => "item-come-up",
        Item::TotalCook => "item-total-cook",
        Item::HumidTime => "item-humid-time",
        Item::DryStep => "item-dry-step",
        Item::Evidence => "item-evidence",
        Item::Openings => "item-openings",
        Item::WetBulbSign => "item-wet-bulb-sign",
        Item::Clocks => "item-clocks",
        Item::LotShelfStable => "item-lot-shelf-stable",
        Item::TableForSpecies => "item-table-for-species",
    })
}

pub(crate) fn species(r: &Reader, s: Option<Species>) -> String {
    r.text(match s {
        Some(Species::Beef) => "species-beef",
        Some(Species::Pork) => "species-pork",
        Some(Species::Lamb) => "species-lamb",
        Some(Species::OtherRedMeat) => "species-other-red-meat",
        Some(Species::Chicken) => "species-chicken",
        Some(Species::Turkey) => "species-turkey",
        Some(Species::OtherPoultry) => "species-other-poultry",
        Some(Species::MeatWithPoultry) => "species-meat-with-poultry",
        None => "species-unknown",
    })
}

pub(crate) fn missing(r: &Reader, m: &Missing) -> String {
    let key = match m {
        Missing::Clock { file_name } => return say!(r, "missing-clock", file = file_name.clone()),
        Missing::ClockUncertainty { file_name } => {
            return say!(r, "missing-clock-uncertainty", file = file_name.clone());
        }
        Missing::StatedClock => "missing-stated-clock",
        Missing::CloserClocks => "missing-closer-clocks",
        Missing::ProbeAt { position } => return say!(r, "missing-probe", position = position.clone()),
        Missing::Instrument { channel } => return say!(r, "missing-instrument", channel = channel.clone()),
        Missing::Tolerance { channel } => return say!(r, "missing-tolerance", channel = channel.clone()),
        Missing::Calibration { channel } => return say!(r, "missing-calibration", channel = channel.clone()),
        Missing::Record { role: what } => return say!(r, "missing-record", what = role(r, what)),
        Missing::ClaimedDocument => "missing-document",
        Missing::ClaimedOption => "missing-option",
        Missing::Species => "missing-species",
        Missing::ProductMetHeat => "missing-met-heat",
        Missing::ColdSpotEvidence => "missing-cold-spot",
        Missing::CabinetKind => "missing-cabinet",
        Missing::RequiredPositions => "missing-positions",
        Missing::SteamRecord => "missing-steam-record",
        Missing::SteamSource => "missing-steam-source",
        Missing::ContinuousSteam => "missing-continuous-steam",
        Missing::VentRecord => "missing-vent-record",
        Missing::DoorRecord => "missing-door-record",
        Missing::OpeningsCanShut => "missing-openings",
        Missing::SealedPaper { paper: SealedPaper::Temperature } => "missing-paper-temperature",
        Missing::SealedPaper { paper: SealedPaper::DamperShut } => "missing-paper-damper",
        Missing::SealedPaper { paper: SealedPaper::HumidityHeld } => "missing-paper-humidity",
        Missing::SealedPaper { paper: SealedPaper::SealUpkeep } => "missing-paper-seal",
        Missing::WetBulbSign => "missing-wet-bulb-sign",
        Missing::HumidityRecord => "missing-humidity-record",
        Missing::DryBulbRecord => "missing-dry-bulb-record",
        Missing::AirPressure => "missing-air-pressure",
        Missing::NoHumidityEvidence => "missing-no-humidity",
        Missing::CureAndSmoke => "missing-cure-smoke",
        Missing::WaterActivity => "missing-water-activity",
        Missing::WaterActivityTolerance => "missing-water-activity-tolerance",
        Missing::Pack => "missing-pack",
        Missing::MoistureToProtein => "missing-moisture-to-protein",
        Missing::SurfaceWetted => "missing-surface-wetted",
        Missing::PlanLimitAfterKill => "missing-after-kill",
        Missing::SecondPersonApproval => "missing-approval",
        Missing::Minutes => "missing-minutes",
    };
    r.text(key)
}

pub(crate) fn strip_reason(r: &Reader, s: StripReason) -> String {
    r.text(match s {
        StripReason::AtOrAboveLowestRow => "strip-at-row",
        StripReason::BelowLowestRow => "strip-below-row",
        StripReason::Humid => "strip-humid",
        StripReason::NotHumid => "strip-not-humid",
        StripReason::HumidityImpossible => "strip-humidity-impossible",
        StripReason::Shut => "strip-shut",
        StripReason::Open => "strip-open",
        StripReason::WithinLimit => "strip-within",
        StripReason::OutsideLimit => "strip-outside",
        StripReason::DrySurfaceStep => "strip-dry-step",
        StripReason::AfterDryingBegan => "strip-after-drying",
        StripReason::NothingRecorded => "strip-nothing",
        StripReason::LongerThanMonitoringInterval => "strip-too-long",
        StripReason::Suspect(reason) => return suspicion(r, reason),
        StripReason::Excluded(reason) => return excluded(r, reason),
        StripReason::SensorsDisagree => "strip-sensors-disagree",
        StripReason::OneSensorMissing => "strip-one-sensor",
        StripReason::ToleranceUnknown => "strip-tolerance",
        StripReason::CalibrationNotInDate => "strip-calibration",
        StripReason::ClocksApart => "strip-clocks-apart",
        StripReason::PressureUnknown => "strip-pressure",
    })
}

pub(crate) fn suspicion(r: &Reader, s: SuspectReason) -> String {
    r.text(match s {
        SuspectReason::Spike => "suspect-spike",
        SuspectReason::Stuck => "suspect-stuck",
        SuspectReason::ClockJump => "suspect-clock",
        SuspectReason::SockPerhapsDry => "suspect-sock",
        SuspectReason::SensorCondensing => "suspect-condensing",
        SuspectReason::PerhapsNotInProduct => "suspect-not-in-product",
        SuspectReason::WetBulbNearAboveDryBulb => "suspect-wet-above-dry",
        SuspectReason::SensorsDisagree => "suspect-disagree",
        SuspectReason::ConflictingDuplicate => "suspect-duplicate",
        SuspectReason::AmbiguousLocalTime => "suspect-ambiguous",
        SuspectReason::PerhapsFaultCode => "suspect-fault-code",
    })
}

pub(crate) fn excluded(r: &Reader, e: ExcludedReason) -> String {
    r.text(match e {
        ExcludedReason::OutOfInstrumentRange => "excluded-range",
        ExcludedReason::FaultCode => "excluded-fault",
        ExcludedReason::RelativeHumidityAbove100 => "excluded-rh",
        ExcludedReason::WetBulbAboveDryBulb => "excluded-wet-bulb",
        ExcludedReason::PhysicallyImpossible => "excluded-impossible",
        ExcludedReason::RejectedByPerson => "excluded-rejected",
    })
}

pub(crate) fn caution(r: &Reader, c: Caution) -> String {
    r.text(match c {
        Caution::ProcessAuthorityDecides => "verdict-caution-authority",
        Caution::FatUnknown => "verdict-caution-fat-unknown",
        Caution::FatAboveTable => "verdict-caution-fat-above",
        Caution::PoultryEndpointBelowTables => "verdict-caution-poultry-endpoint",
        Caution::DryingStartNotRecorded => "verdict-caution-drying-start",
        Caution::ClaimNotFixedBefore => "verdict-caution-claim-late",
        Caution::DocumentContradictsItself => "verdict-caution-contradiction",
        Caution::LowestRowsWeakest => "verdict-caution-lowest-rows",
        Caution::ProbeInAirNotCheckable => "verdict-caution-probe-unchecked",
        Caution::ReadingsPerhapsNotInProduct => "verdict-caution-probe-out",
        Caution::FiveLogNeedsShelfStable => "verdict-caution-five-log",
        Caution::StecTarget => "verdict-caution-stec",
    })
}

pub(crate) fn role(r: &Reader, role: &Role) -> String {
    let place = |position: &str| match position.trim() {
        "" => String::new(),
        position => say!(r, "role-where", position = position.to_owned()),
    };
    match role {
        Role::AirDryBulb => r.text("role-air"),
        Role::AirWetBulb => r.text("role-wet-bulb"),
        Role::RelativeHumidity => r.text("role-rh"),
        Role::CoreProbe { number, position } => {
            say!(r, "role-core", number = number.to_string(), place = place(position))
        }
        Role::SurfaceProbe { number, position } => {
            say!(r, "role-surface", number = number.to_string(), place = place(position))
        }
        Role::TrayWeight { tray } => say!(r, "role-tray", number = tray.to_string()),
        Role::VentOpening => r.text("role-vent"),
        Role::DoorOpen => r.text("role-door"),
        Role::FanOn => r.text("role-fan"),
        Role::SteamOn => r.text("role-steam"),
        Role::HeaterOn => r.text("role-heater"),
        Role::Power => r.text("role-power"),
        Role::AirPressure => r.text("role-pressure"),
        Role::RoomDryBulb => r.text("role-room"),
        Role::RoomRelativeHumidity => r.text("role-room-rh"),
        Role::Other(name) => say!(r, "role-other", name = name.clone()),
    }
}

pub(crate) fn event(r: &Reader, e: &EventKind) -> String {
    let key = match e {
        EventKind::ProductMetHeat => "event-met-heat",
        EventKind::DryingBegan => "event-drying-began",
        EventKind::DrySurfaceStep => "event-dry-step",
        EventKind::SteamOn => "event-steam-on",
        EventKind::SteamOff => "event-steam-off",
        EventKind::VentShut => "event-vent-shut",
        EventKind::VentOpened => "event-vent-opened",
        EventKind::DoorOpen => "event-door-open",
        EventKind::PowerCut => "event-power-cut",
        EventKind::FanStopped => "event-fan-stopped",
        EventKind::HeaterFailed => "event-heater-failed",
        EventKind::TrayOut => "event-tray-out",
        EventKind::SockWetted => "event-sock-wetted",
        EventKind::Other(words) => return words.clone(),
    };
    r.text(key)
}

/// How a statement is known.
pub(crate) fn basis(r: &Reader, b: Basis) -> String {
    r.text(match b {
        Basis::Read => "basis-read",
        Basis::Computed => "basis-computed",
        Basis::Memory => "basis-memory",
        Basis::Tool => "basis-tool",
    })
}

/// "145 °F (62.8 °C)": a row is printed as its table prints it.
pub(crate) fn row(r: &Reader, row_f: f64) -> String {
    let printed = format!("{} °F", trimmed(row_f, 1));
    match r.units {
        Units::Us => printed,
        Units::Si => format!("{printed} ({} °C)", trimmed((row_f - 32.0) / 1.8, 1)),
    }
}
