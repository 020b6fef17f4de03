//! Reads the whole file.

use fallrate_datafile::{Document, Problems, Section};
use fallrate_schedule::{
    EndCondition, FanSetting, Interruption, Schedule, ScheduleError, Stage, VentSetting,
};

use super::{Named, PlanRequest, StagesRequest, load, money, stage, target, when};

/// Something the file left out, and what was taken for it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct DefaultUsed {
    /// The key.
    pub key: &'static str,
    /// What was taken, in words.
    pub taken: &'static str,
}

impl PlanRequest {
    /// Reads a plan file. `file_name` is only used in messages.
    ///
    /// # Errors
    /// [`Problems`] lists everything wrong with the file.
    pub fn parse(file_name: &str, text: &str) -> Result<Self, Problems> {
        let doc = Document::parse(file_name, text)?;
        let request = request(&doc.root());
        doc.finish_with(request)
    }

    /// The user's stages with the interruptions; `None` where stages are to be proposed.
    #[must_use]
    pub fn schedule(&self) -> Option<Schedule> {
        match &self.stages {
            StagesRequest::Propose { .. } => None,
            StagesRequest::Given(stages) => Schedule::new(stages.clone(), self.interruptions.clone()).ok(),
        }
    }
}

fn request(root: &Section<'_>) -> Option<PlanRequest> {
    let title = root.text("title");
    let (product, cabinet) = (named(root, "product"), named(root, "cabinet"));
    let piece = load::piece(root.section("piece").as_ref());
    let raw = load::raw(root.section("raw").as_ref());
    let load = root.required_section("load").and_then(|s| load::load(&s));
    let room = root.required_section("room").and_then(|s| when::room(&s));
    let start = when::start(root.section("start").as_ref());
    let staff = when::staff(root.section("staff").as_ref());
    let money = money::money(root.section("money").as_ref());
    let target = root.required_section("target").and_then(|s| target::target(&s));
    let timer = when::timer(root.section("timer").as_ref(), staff.as_ref());
    let loaded_trays = load.as_ref().and_then(|l| l.trays);
    let context = stage::Context { target, loaded_trays, start: start.at };
    let interruptions = interruptions(root, &context);
    let stages = stages(root, &context, &interruptions);
    let defaults_used = defaults_used(root);
    Some(PlanRequest {
        title,
        product: product?,
        cabinet: cabinet?,
        piece,
        raw,
        load: load?,
        room: room?,
        start,
        staff,
        money,
        target: target?,
        timer,
        stages: stages?,
        interruptions,
        defaults_used,
    })
}

fn named(s: &Section<'_>, key: &str) -> Option<Named> {
    let text = s.required_text(key)?;
    if text.contains(['/', '\\']) || text.ends_with(".toml") {
        return Some(Named::Path(text));
    }
    let good = text.bytes().all(|b| b.is_ascii_lowercase() || b.is_ascii_digit() || b == b'_');
    if !good || text.len() > 40 {
        s.report(
            key,
            &format!("'{}'", text.chars().take(40).collect::<String>()),
            "a key as 'beef_eye_of_round', or a path ending in .toml",
        );
        return None;
    }
    Some(Named::Key(text))
}

fn stages(
    root: &Section<'_>,
    context: &stage::Context,
    interruptions: &[Interruption],
) -> Option<StagesRequest> {
    let sections = root.sections("stage");
    let propose = root.flag("propose");
    let swaps = root.flag("swaps");
    if propose == Some(true) && root.has("stage") {
        root.report("propose", "true, while stages are given", "either propose = true or [[stage]]");
    }
    if propose == Some(false) && sections.is_empty() {
        root.report("propose", "false, while no stage is given", "propose = true, or one or more [[stage]]");
    }
    if root.has("swaps") && !sections.is_empty() {
        root.report("swaps", "given beside stages", "swaps only where stages are proposed");
    }
    if sections.is_empty() {
        report_schedule(
            root,
            &[],
            &Schedule::new(vec![stand_in()], interruptions.to_vec()).err().unwrap_or_default(),
        );
        return Some(StagesRequest::Propose { swaps: swaps.unwrap_or(false) });
    }
    let read: Vec<Option<Stage>> = sections.iter().map(|s| stage::stage(s, context)).collect();
    let stages: Vec<Stage> = read.into_iter().collect::<Option<_>>()?;
    let faults = Schedule::new(stages.clone(), interruptions.to_vec()).err().unwrap_or_default();
    report_schedule(root, &sections, &faults);
    Some(StagesRequest::Given(stages))
}

/// A stage without fault, so that interruptions of a plan still to be proposed can be checked.
fn stand_in() -> Stage {
    let ends = vec![EndCondition::Elapsed { seconds: 3600.0 }];
    Stage { ends, ..Stage::new("proposed", VentSetting::Opening(0.0), FanSetting::Strongest) }
}

fn report_schedule(root: &Section<'_>, stages: &[Section<'_>], faults: &[ScheduleError]) {
    let interruptions = root.sections("interruption");
    for fault in faults {
        let stage = fault.stage().and_then(|n| stages.get(n - 1));
        let interruption = fault.interruption().and_then(|n| interruptions.get(n - 1));
        let (found, allowed) = split_allowed(&fault.to_string());
        match stage.or(interruption) {
            Some(section) => section.report_here(&found, &allowed),
            None => root.report("stage", &found, &allowed),
        }
    }
}

/// The schedule's messages say what is allowed after "; allowed: ".
fn split_allowed(message: &str) -> (String, String) {
    message.split_once("; allowed: ").map_or_else(
        || (message.to_owned(), String::new()),
        |(found, allowed)| (found.to_owned(), allowed.to_owned()),
    )
}

/// All interruptions, or none where one could not be read (its problem is reported already).
fn interruptions(root: &Section<'_>, context: &stage::Context) -> Vec<Interruption> {
    let read: Vec<Option<Interruption>> =
        root.sections("interruption").iter().map(|s| stage::interruption(s, context)).collect();
    read.into_iter().collect::<Option<Vec<_>>>().unwrap_or_default()
}

fn defaults_used(root: &Section<'_>) -> Vec<DefaultUsed> {
    const TABLE: [(&str, &str, &str, &str); 9] = [
        ("piece", "thickness", "piece.thickness", "the product file's"),
        ("load", "trays", "load.trays", "every tray of the cabinet"),
        ("load", "liner", "load.liner", "a bare tray"),
        ("load", "temperature", "load.temperature", "4 degC for raw meat, else the room's"),
        ("room", "altitude", "room.altitude", "0 m"),
        ("start", "at", "start.at", "07:00"),
        ("staff", "hours", "staff.hours", "somebody is always there"),
        (
            "target",
            "piece",
            "target.piece",
            "the wettest for water activity, the mean for moisture and weight",
        ),
        ("timer", "unload", "timer.unload", "next staffed where staffed hours are given, else at end"),
    ];
    let by_group = root.section("load").is_some_and(|s| s.has("groups"));
    TABLE
        .into_iter()
        .filter(|(.., key, _)| !(by_group && *key == "load.trays"))
        .filter(|(section, key, ..)| {
            !root.is_section(section) || root.section(section).is_none_or(|s| !s.has(key))
        })
        .map(|(.., key, taken)| DefaultUsed { key, taken })
        .collect()
}
