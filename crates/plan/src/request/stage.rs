//! Stages and interruptions.

use fallrate_datafile::Section;
use fallrate_schedule::{
    Action, EndCondition, FanSetting, Interruption, InterruptionKind, LONGEST_S, Piece, SET_POINT_RANGE_C,
    Stage, VentSetting,
};
use fallrate_units::{
    Duration, Fraction, Mass, RelativeHumidity, Temperature, TemperatureDifference, TimeOfDay,
};

use super::target::{PIECES, TargetRequest, piece_of};

/// What a stage may refer to.
pub(super) struct Context {
    pub target: Option<TargetRequest>,
    pub loaded_trays: Option<u32>,
    pub start: TimeOfDay,
}

fn durations() -> std::ops::RangeInclusive<Duration> {
    Duration::from_seconds(1.0)..=Duration::from_seconds(LONGEST_S)
}

pub(super) fn stage(s: &Section<'_>, context: &Context) -> Option<Stage> {
    let c = Temperature::from_celsius;
    let name = s.required_text("name");
    let set_point = s.quantity("set_point", c(*SET_POINT_RANGE_C.start())..=c(*SET_POINT_RANGE_C.end()));
    let vent = vent(s);
    let fan = match s.text("fan").as_deref() {
        None => FanSetting::Strongest,
        Some("off") => FanSetting::Off,
        Some(step) => FanSetting::Step(step.to_owned()),
    };
    let water = s.quantity("add_water", Mass::from_kilograms(0.0)..=Mass::from_kilograms(200.0));
    let ends = s.section("until").map(|u| ends(&u, context)).unwrap_or_default();
    let at_most_s = s.quantity("at_most", durations()).map(Duration::seconds);
    let actions = actions(s);
    Some(Stage {
        name: name?,
        set_point_c: set_point.map(Temperature::celsius),
        vent: vent?,
        fan,
        water_added_kg: water.map_or(0.0, Mass::kilograms),
        ends,
        at_most_s,
        actions,
    })
}

/// `vent = "quarter"` (a mark), `vent = "25 %"` or `0.25` (an opening), or `hold_humidity = "30 %"`.
fn vent(s: &Section<'_>) -> Option<VentSetting> {
    let pct = RelativeHumidity::from_percent;
    let hold = s.quantity("hold_humidity", pct(1.0)..=pct(100.0));
    match (s.has("vent"), s.has("hold_humidity")) {
        (true, true) => {
            s.report("hold_humidity", "given beside vent", "one of vent, hold_humidity");
            return None;
        }
        (false, false) => {
            s.report(
                "vent",
                "missing",
                "a mark of the cabinet, an opening as '25 %', or hold_humidity = '30 %'",
            );
            return None;
        }
        (false, true) => return hold.map(|h| VentSetting::HoldRh(h.fraction())),
        (true, false) => {}
    }
    if !s.is_text("vent") {
        return s.number("vent", 0.0..=1.0).map(VentSetting::Opening);
    }
    let text = s.text("vent")?;
    if text.starts_with(|c: char| c.is_ascii_digit() || c == '-' || c == '+' || c == '.') {
        let range = Fraction::from_fraction(0.0)..=Fraction::from_fraction(1.0);
        return s.quantity("vent", range).map(|f| VentSetting::Opening(f.fraction()));
    }
    Some(VentSetting::Mark(text))
}

fn ends(s: &Section<'_>, context: &Context) -> Vec<EndCondition> {
    let mut out = Vec::new();
    let (c, k) = (Temperature::from_celsius, TemperatureDifference::from_kelvin);
    out.extend(s.quantity("elapsed", durations()).map(|d| EndCondition::Elapsed { seconds: d.seconds() }));
    out.extend(
        s.quantity("core_rise", k(0.1)..=k(100.0)).map(|d| EndCondition::CoreRise { kelvin: d.kelvin() }),
    );
    let hold = s.quantity("hold", Duration::from_seconds(0.0)..=Duration::from_seconds(LONGEST_S));
    out.extend(s.quantity("core", c(0.0)..=c(100.0)).map(|t| EndCondition::CoreReaches {
        celsius: t.celsius(),
        hold_s: hold.map_or(0.0, Duration::seconds),
    }));
    if s.has("hold") && !s.has("core") {
        s.report("hold", "a hold without a core temperature", "core beside it");
    }
    out.extend(dryness_ends(s));
    let (rh, pct) = (RelativeHumidity::fraction, RelativeHumidity::from_percent);
    let humidity = |key: &str| s.quantity(key, pct(0.1)..=pct(100.0)).map(rh);
    out.extend(humidity("humidity_below").map(|fraction| EndCondition::ChamberRhBelow { fraction }));
    out.extend(humidity("humidity_above").map(|fraction| EndCondition::ChamberRhAbove { fraction }));
    if s.flag("target") == Some(true) {
        let end = context.target.and_then(|t| t.end(context.loaded_trays));
        if end.is_none() && context.target.is_some() {
            s.report("target", "a tray weight without the number of trays", "load.trays");
        }
        out.extend(end);
    }
    out
}

fn dryness_ends(s: &Section<'_>) -> Vec<EndCondition> {
    let mut out = Vec::new();
    let piece = s.choice("piece", &PIECES).map(piece_of);
    out.extend(s.moisture("moisture").map(|m| EndCondition::Moisture {
        piece: piece.unwrap_or(Piece::Mean),
        dry_basis: m.dry_basis().kg_per_kg(),
    }));
    out.extend(
        s.number("water_activity", 0.02..=0.9999)
            .map(|aw| EndCondition::WaterActivity { piece: piece.unwrap_or(Piece::Slowest), aw }),
    );
    let kg = Mass::from_kilograms;
    out.extend(
        s.quantity("load_weight", kg(0.001)..=kg(5000.0))
            .map(|m| EndCondition::LoadWeight { kilograms: m.kilograms() }),
    );
    if s.has("piece") && !s.has("moisture") && !s.has("water_activity") {
        s.report("piece", "without a moisture or water activity", "moisture or water_activity beside it");
    }
    out
}

fn actions(s: &Section<'_>) -> Vec<Action> {
    let mut out = Vec::new();
    if let Some(groups) = s.texts("swap") {
        match &groups[..] {
            [a, b] => out.push(Action::SwapGroups { a: a.clone(), b: b.clone() }),
            _ => s.report(
                "swap",
                &format!("{} groups", groups.len()),
                "two tray groups, as ['upper', 'lower']",
            ),
        }
    }
    if s.flag("turn_trays") == Some(true) {
        out.push(Action::TurnTrays);
    }
    if s.flag("turn_pieces") == Some(true) {
        out.push(Action::TurnPieces);
    }
    if let Some(pull) = s.section("pull") {
        out.extend(pulled(&pull).map(|(group, trays)| Action::PullTrays { group, trays }));
    }
    out
}

fn pulled(s: &Section<'_>) -> Option<(String, u32)> {
    let group = s.required_text("group");
    let trays = s.required_integer("trays", 1..=500).and_then(|n| u32::try_from(n).ok());
    Some((group?, trays?))
}

pub(super) fn interruption(s: &Section<'_>, context: &Context) -> Option<Interruption> {
    const KINDS: [&str; 5] = ["power off", "door open", "fan lost", "vent moved", "trays pulled"];
    let kind = match s.required_choice("kind", &KINDS) {
        Some(0) => Some(InterruptionKind::PowerOff),
        Some(1) => Some(InterruptionKind::DoorOpen),
        Some(2) => Some(InterruptionKind::FanLost),
        Some(3) => vent(s).map(InterruptionKind::VentMoved),
        Some(_) => pulled(s).map(|(group, trays)| InterruptionKind::TraysPulled { group, trays }),
        None => None,
    };
    let start_s = either(
        s,
        ("after", s.quantity("after", Duration::from_seconds(0.0)..=Duration::from_seconds(LONGEST_S))),
        ("at", s.clock("at").map(|at| after(context.start, at))),
    );
    let until = s.clock("until");
    let duration_s = either(
        s,
        ("duration", s.quantity("duration", durations())),
        (
            "until",
            until
                .zip(start_s)
                .map(|(until, start)| after(context.start.plus(Duration::from_seconds(start)), until)),
        ),
    );
    Some(Interruption { kind: kind?, start_s: start_s?, duration_s: duration_s? })
}

/// From one clock time to the next such other clock time.
fn after(from: TimeOfDay, to: TimeOfDay) -> Duration {
    Duration::from_seconds((to.seconds() - from.seconds()).rem_euclid(86_400.0))
}

/// Exactly one of two keys, s.
fn either(s: &Section<'_>, a: (&str, Option<Duration>), b: (&str, Option<Duration>)) -> Option<f64> {
    match (s.has(a.0), s.has(b.0)) {
        (true, true) => s.report(b.0, &format!("given beside {}", a.0), "one of the two"),
        (false, false) => {
            s.report(a.0, "missing", &format!("{} (a duration) or {} (a clock time)", a.0, b.0))
        }
        _ => {}
    }
    a.1.or(b.1).map(Duration::seconds)
}
