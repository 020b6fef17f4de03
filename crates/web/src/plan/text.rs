//! From entries to the text of a plan file, with a note for every entry that needs one.

use std::collections::BTreeMap;
use std::fmt::Write as _;

use fallrate_app::quantities::{Mass, Quantity};
use fallrate_app::{Asked, Library, Reader, Units};

use super::entries::{Entries, POUND_KG};
use super::fields::{FIELDS, PER_MASS, STAGE_ENDS, STAGE_FIELDS};

/// Sort of a note beside an entry.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum NoteKind {
    /// It cannot be used.
    Fault,
    /// How it was understood.
    Read,
    /// What is taken because it is empty.
    Usual,
}

/// A note beside an entry.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Note {
    pub key: String,
    pub kind: NoteKind,
    pub text: String,
}

/// A plan file made from entries.
#[derive(Clone, Debug)]
pub(crate) struct Written {
    pub text: String,
    pub notes: Vec<Note>,
}

impl Written {
    pub(crate) fn has_faults(&self) -> bool {
        self.notes.iter().any(|n| n.kind == NoteKind::Fault)
    }
    pub(crate) fn note(&self, key: &str) -> Option<&Note> {
        self.notes.iter().find(|n| n.key == key)
    }
}

struct Writer<'a> {
    entries: &'a Entries,
    reader: &'a Reader,
    /// Section (empty for the root) to its lines.
    sections: BTreeMap<&'static str, Vec<String>>,
    notes: Vec<Note>,
}

/// Room where nothing is entered: what a heated workshop has.
const ROOM: [(&str, &str); 2] = [("temperature", "20 degC"), ("relative_humidity", "50 %")];

/// Writes the plan file.
pub(crate) fn write(entries: &Entries, library: &Library, reader: &Reader) -> Written {
    let mut w = Writer { entries, reader, sections: BTreeMap::new(), notes: Vec::new() };
    w.line("", "product", &quoted(entries.get("product")));
    w.line("", "cabinet", &quoted(entries.get("cabinet")));
    for f in FIELDS {
        w.field(f.key, f.asked);
    }
    w.choices();
    w.fill(library);
    let cabinet = library.cabinets().iter().find(|c| c.key == entries.get("cabinet"));
    w.stages(cabinet.and_then(|c| c.vent.marks.first()).map_or("shut", |m| m.name.as_str()));
    Written { text: w.text(), notes: w.notes }
}

/// A TOML string; entries hold no control characters.
fn quoted(text: &str) -> String {
    format!("\"{}\"", text.replace('\\', "\\\\").replace('"', "\\\""))
}

fn value_text(asked: Asked, value: &str) -> String {
    match asked {
        Asked::Number | Asked::Activity | Asked::Count => value.to_owned(),
        _ => quoted(value),
    }
}

/// Where the value of a form key goes: section and key of the plan file; `None`: it is used in another way.
fn place(key: &str) -> Option<(&str, &str)> {
    match key {
        "load.amount" | "timer.unload_at" | "staff.hours" => None,
        "title" => Some(("", "title")),
        _ => key.split_once('.'),
    }
}

impl Writer<'_> {
    fn line(&mut self, section: &str, key: &str, value: &str) {
        const SECTIONS: [&str; 9] = ["", "load", "money", "piece", "raw", "room", "staff", "start", "target"];
        let name = SECTIONS.into_iter().find(|s| *s == section).unwrap_or("timer");
        self.sections.entry(name).or_default().push(format!("{key} = {value}"));
    }
    fn has(&self, section: &str, key: &str) -> bool {
        let start = format!("{key} = ");
        self.sections.get(section).is_some_and(|lines| lines.iter().any(|l| l.starts_with(&start)))
    }
    fn note(&mut self, key: &str, kind: NoteKind, text: String) {
        self.notes.push(Note { key: key.to_owned(), kind, text });
    }

    /// Reads one entry; its value as a plan file has it.
    fn read(&mut self, key: &str, asked: Asked) -> Option<String> {
        match asked.read(self.entries.get(key), self.entries.units) {
            Ok(None) => None,
            Ok(Some(typed)) => {
                if let Some(read) = typed.read_back {
                    let text = self.reader.words.with("web-read-as", &[("value", &read)]);
                    self.note(key, NoteKind::Read, text);
                }
                Some(typed.value)
            }
            Err(fault) => {
                self.note(key, NoteKind::Fault, fault.words(self.reader));
                None
            }
        }
    }

    fn field(&mut self, key: &'static str, asked: Asked) {
        let kind = self.entries.get("target.kind");
        let unused = match key {
            "target.moisture" => kind == "water_activity",
            "target.water_activity" => kind != "water_activity",
            "timer.unload_at" => self.entries.get("timer.unload") != "at",
            _ => false,
        };
        if unused {
            return;
        }
        let Some(mut value) = self.read(key, asked) else { return };
        if PER_MASS.contains(&key) && self.entries.units == Units::Us {
            value = value.parse::<f64>().map_or(value, |v| (v / POUND_KG).to_string());
        }
        if let Some((section, name)) = place(key) {
            self.line(section, name, &value_text(asked, &value));
            return;
        }
        match key {
            "load.amount" => {
                let per_tray = self.entries.get("load.kind") == "per_tray";
                self.line("load", if per_tray { "per_tray" } else { "total" }, &quoted(&value));
            }
            "timer.unload_at" => self.line("timer", "unload", &quoted(&value)),
            _ => {
                let spans: Vec<String> = value.split(", ").map(quoted).collect();
                self.line("staff", "hours", &format!("[{}]", spans.join(", ")));
            }
        }
    }

    fn choices(&mut self) {
        let e = self.entries;
        for (key, section, name) in [
            ("load.liner", "load", "liner"),
            ("target.piece", "target", "piece"),
            ("timer.dialled", "timer", "dialled"),
        ] {
            if !e.get(key).is_empty() {
                self.line(section, name, &quoted(e.get(key)));
            }
        }
        if matches!(e.get("timer.unload"), "at end" | "next staffed") {
            self.line("timer", "unload", &quoted(e.get("timer.unload")));
        }
    }

    /// What must be there and is not, from the library's figures; says what is taken.
    fn fill(&mut self, library: &Library) {
        for (key, value) in ROOM {
            if !self.has("room", key) {
                self.line("room", key, &quoted(value));
                let form_key = format!("room.{key}");
                let shown = self.entries_asked(&form_key, value);
                self.usual(&form_key, &shown);
            }
        }
        let priced = self.sections.contains_key("money");
        if priced && !self.has("money", "currency") {
            let currency = if self.entries.units == Units::Us { "USD" } else { "EUR" };
            self.line("money", "currency", &quoted(currency));
            self.usual("money.currency", currency);
        }
        let product = library.products().iter().find(|p| p.key == self.entries.get("product")).cloned();
        let cabinet = library.cabinets().iter().find(|c| c.key == self.entries.get("cabinet")).cloned();
        let (Some(p), Some(c)) = (product, cabinet) else { return };
        let r = self.reader;
        self.fill_load(p.tray_load.value.kg_per_m2(), c.total_tray_area_m2(), c.trays.count);
        self.fill_target(&p.target.moisture.value, p.target.aw_max.as_ref().map(|a| a.value.fraction()));
        self.usual("load.trays", &c.trays.count.to_string());
        self.usual("piece.thickness", &r.shown(p.geometry.size.value, 2));
        let solids = 100.0 - p.initial_moisture.value.percent();
        self.usual("raw.solids", &format!("{solids:.0} %"));
        self.usual("raw.salt", &r.shown(p.solutes.salt.value, 1));
        self.usual("raw.sugar", &r.shown(p.solutes.sugar.value, 1));
        if p.raw_meat {
            let cold = self.entries_asked("load.temperature", "4 degC");
            self.usual("load.temperature", &cold);
        }
        self.usual("start.at", "07:00");
        self.usual("room.altitude", if self.entries.units == Units::Us { "0 ft" } else { "0 m" });
    }

    fn entries_asked(&self, key: &str, value: &str) -> String {
        match self.entries.asked(key) {
            Asked::RoomTemperature => fallrate_app::quantities::Temperature::parse(value)
                .map_or_else(|_| value.to_owned(), |t| self.reader.shown(t, 1)),
            _ => value.to_owned(),
        }
    }

    fn fill_load(&mut self, kg_per_m2: f64, area_m2: f64, trays: u32) {
        if self.has("load", "total") || self.has("load", "per_tray") {
            return;
        }
        self.line("load", "per_area", &quoted(&format!("{kg_per_m2} kg/m2")));
        let per_tray = self.entries.get("load.kind") == "per_tray";
        let loaded = self.entries.get("load.trays").parse::<u32>().unwrap_or(trays).min(trays);
        let share = if per_tray { 1.0 } else { f64::from(loaded) };
        let kg = kg_per_m2 * area_m2 / f64::from(trays.max(1)) * share;
        let shown = self.reader.shown(Mass::from_kilograms(kg), 1);
        self.usual("load.amount", &shown);
    }

    fn fill_target(&mut self, moisture: &impl Quantity, aw_max: Option<f64>) {
        let r = self.reader;
        if self.entries.get("target.kind") == "water_activity" {
            if !self.has("target", "water_activity") {
                let aw = format!("{:.2}", aw_max.unwrap_or(0.6));
                self.line("target", "water_activity", &aw);
                self.usual("target.water_activity", &aw);
            }
        } else if !self.has("target", "moisture") {
            self.line(
                "target",
                "moisture",
                &quoted(&moisture.show(fallrate_app::quantities::UnitSystem::Si, 1)),
            );
            let shown = r.shown(*moisture, 1);
            self.usual("target.moisture", &shown);
        }
    }

    fn usual(&mut self, key: &str, value: &str) {
        if self.entries.get(key).is_empty() {
            let text = self.reader.words.with("web-usual", &[("value", value)]);
            self.note(key, NoteKind::Usual, text);
        }
    }

    fn stages(&mut self, least_vent: &str) {
        for n in 1..=self.entries.stages() {
            let lines = self.stage(n, least_vent);
            self.sections.entry("stage").or_default().push(format!("\n[[stage]]\n{}", lines.join("\n")));
        }
    }

    fn stage(&mut self, n: usize, least_vent: &str) -> Vec<String> {
        let key = |name: &str| format!("stage.{n}.{name}");
        let mut lines = Vec::new();
        for (name, _, asked) in STAGE_FIELDS {
            if matches!(name, "until_value" | "hold" | "vent") {
                continue;
            }
            if let Some(value) = self.read(&key(name), asked) {
                lines.push(format!("{name} = {}", quoted(&value)));
            } else if name == "name" {
                lines.push(format!("name = {}", quoted(&format!("{n}"))));
            }
        }
        lines.push(vent(self.entries.get(&key("vent")), least_vent));
        let fan = self.entries.get(&key("fan"));
        if !fan.is_empty() {
            lines.push(format!("fan = {}", quoted(fan)));
        }
        lines.extend(self.until(n));
        lines
    }

    fn until(&mut self, n: usize) -> Option<String> {
        let until = self.entries.get(&format!("stage.{n}.until")).to_owned();
        let (name, _, asked) = STAGE_ENDS.into_iter().find(|(k, ..)| *k == until)?;
        if name == "target" {
            return Some("until = { target = true }".to_owned());
        }
        let value = self.read(&format!("stage.{n}.until_value"), asked)?;
        let mut text = format!("until = {{ {name} = {}", value_text(asked, &value));
        if name == "core"
            && let Some(hold) = self.read(&format!("stage.{n}.hold"), Asked::Duration)
        {
            let _ = write!(text, ", hold = {}", quoted(&hold));
        }
        Some(text + " }")
    }

    fn text(&self) -> String {
        let mut out = String::new();
        for (section, lines) in &self.sections {
            match *section {
                "" | "stage" => {}
                name => {
                    let _ = write!(out, "\n[{name}]");
                }
            }
            if !section.is_empty() {
                out.push('\n');
            }
            out.push_str(&lines.join("\n"));
            out.push('\n');
        }
        out
    }
}

/// "quarter", "25 %", "0.25"; "hold 30 %" holds a humidity; empty is the least opening.
fn vent(text: &str, least: &str) -> String {
    if let Some(rh) = text.strip_prefix("hold ") {
        return format!("hold_humidity = {}", quoted(rh.trim()));
    }
    format!("vent = {}", quoted(if text.is_empty() { least } else { text }))
}
