//! Reads a cabinet file.

mod parts;

use fallrate_datafile::{Document, Problems, Section};

use crate::checks::inconsistencies;
use crate::{Bilingual, Cabinet};

impl Cabinet {
    /// Reads a cabinet file (TOML) and checks its consistency. `file_name` is only used in messages.
    ///
    /// # Errors
    /// [`Problems`] lists everything wrong with the file, with line and column.
    pub fn parse(file_name: &str, text: &str) -> Result<Self, Problems> {
        let doc = Document::parse(file_name, text)?;
        let cabinet = cabinet(&doc.root());
        if let Some(cabinet) = &cabinet {
            for found in inconsistencies(cabinet) {
                let (section, key) = found.place();
                let within = if section.is_empty() { Some(doc.root()) } else { doc.root().section(section) };
                if let Some(within) = within {
                    within.report(key, &found.to_string(), &found.allowed());
                }
            }
        }
        doc.finish_with(cabinet)
    }
}

fn cabinet(root: &Section<'_>) -> Option<Cabinet> {
    let key = key_text(root, "key");
    let name = bilingual(root, "name");
    let description = bilingual(root, "description");
    let invented = root.required_flag("invented");
    let trays = root.required_section("trays").and_then(|s| parts::trays(&s));
    let groups = list(root, "tray_group", parts::tray_group);
    let air = root.required_section("air").and_then(|s| parts::air(&s));
    let fan_steps = list(root, "fan_step", parts::fan_step);
    let heater = root.required_section("heater").and_then(|s| parts::heater(&s));
    let mains = root.required_section("mains").and_then(|s| parts::mains(&s));
    let shell = root.required_section("shell").and_then(|s| parts::shell(&s));
    let racks = root.required_section("racks").and_then(|s| parts::racks(&s));
    let leakage = root.required_section("leakage").and_then(|s| parts::leakage(&s));
    let vent = root.required_section("vent").and_then(|s| parts::vent(&s));
    let door = root.required_section("door").and_then(|s| parts::door(&s));
    let controller = root.required_section("controller").and_then(|s| parts::controller(&s));
    let timer = root.required_section("timer").and_then(|s| parts::timer(&s));
    let heat_transfer = root.required_section("heat_transfer").and_then(|s| parts::heat_transfer(&s));
    let liners = list(root, "liner", parts::liner);
    let ports = root.required_section("ports").and_then(|s| parts::ports(&s));
    let sealed_capable = root.required_flag("sealed_capable");
    Some(Cabinet {
        key: key?,
        name: name?,
        description: description?,
        invented: invented?,
        trays: trays?,
        groups: groups?,
        air: air?,
        fan_steps: fan_steps?,
        heater: heater?,
        mains: mains?,
        shell: shell?,
        racks: racks?,
        leakage: leakage?,
        vent: vent?,
        door: door?,
        controller: controller?,
        timer: timer?,
        heat_transfer: heat_transfer?,
        liners: liners?,
        ports: ports?,
        sealed_capable: sealed_capable?,
    })
}

/// A list of one or more sections, all of them good.
fn list<T>(s: &Section<'_>, key: &str, read: impl Fn(&Section<'_>) -> Option<T>) -> Option<Vec<T>> {
    if !s.has(key) {
        s.report(key, "missing", &format!("one or more sections [[{key}]]"));
        return None;
    }
    let found = s.sections(key);
    if found.is_empty() {
        s.report(key, "an empty list", &format!("one or more sections [[{key}]]"));
        return None;
    }
    let read_all: Vec<Option<T>> = found.iter().map(read).collect();
    read_all.into_iter().collect()
}

fn bilingual(s: &Section<'_>, key: &str) -> Option<Bilingual> {
    let inner = s.required_section(key)?;
    let (en, es) = (inner.required_text("en"), inner.required_text("es"));
    Some(Bilingual { en: en?, es: es? })
}

/// A short key: lower-case letters, digits, underscores.
fn key_text(s: &Section<'_>, key: &str) -> Option<String> {
    let text = s.required_text(key)?;
    let good = text.len() <= 40
        && text.starts_with(|c: char| c.is_ascii_lowercase())
        && text.bytes().all(|b| b.is_ascii_lowercase() || b.is_ascii_digit() || b == b'_');
    if !good {
        s.report(
            key,
            &format!("'{text}'"),
            "up to 40 lower-case letters, digits and underscores, a letter first",
        );
    }
    good.then_some(text)
}
