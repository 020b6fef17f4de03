//! The form: what matters first, the rest in folds with what is taken where nothing is entered.

use fallrate_app::{Asked as AskedKind, Library, Units};
use maud::{Markup, html};

use super::Asked;
use super::entries::Entries;
use super::fields::{FIELDS, Field, Part, STAGE_ENDS};
use super::text::{Note, NoteKind, Written};
use crate::look::Visit;

/// The form; `fresh` starts the script at once.
pub(crate) fn form(v: &Visit, library: &Library, asked: &Asked, written: &Written, fresh: bool) -> Markup {
    let f = Form { v, library, entries: &asked.entries, written };
    let units = if asked.entries.units == Units::Us { "us" } else { "si" };
    html! {
        form.entry method="get" action="/plan" data-live="/plan/result" data-fresh=[fresh.then_some("yes")] {
            h2 { (v.text(if asked.beside.is_some() { "web-plan-form-b" } else { "web-plan-form" })) }
            input type="hidden" name="units" value=(units);
            @if let Some(beside) = &asked.beside { input type="hidden" name="beside" value=(beside.query()); }
            (f.first())
            (f.part("web-part-pieces", Part::Pieces, &f.liner()))
            (f.part("web-part-room", Part::Room, &html! {}))
            (f.part("web-part-hours", Part::Hours, &f.timer()))
            (f.part("web-part-money", Part::Money, &html! {}))
            (f.stages())
            button.go name="go" value="1" { (v.text("web-plan-go")) }
        }
    }
}

/// The notes of all entries, for the script to put beside them.
pub(crate) fn notes(written: &Written) -> Markup {
    html! {
        ul #notes hidden {
            @for n in &written.notes { li data-key=(n.key) data-kind=(kind(n)) { (n.text) } }
        }
    }
}

fn kind(n: &Note) -> &'static str {
    match n.kind {
        NoteKind::Fault => "fault",
        NoteKind::Read => "read",
        NoteKind::Usual => "usual",
    }
}

/// Choices that change which entries there are.
fn reforms(key: &str) -> bool {
    matches!(key, "target.kind" | "timer.unload") || key.ends_with(".until")
}

/// A first stage by hand: the product's usual air until the target.
pub(crate) fn fill_stage(e: &mut Entries, n: usize, v: &Visit) {
    let key = |name: &str| format!("stage.{n}.{name}");
    e.set(&key("name"), &v.text("stage-dry"));
    e.set(&key("set_point"), if v.units == Units::Us { "140 F" } else { "60 C" });
    e.set(&key("until"), "target");
    e.set(&key("at_most"), "12 h");
}

struct Form<'a> {
    v: &'a Visit,
    library: &'a Library,
    entries: &'a Entries,
    written: &'a Written,
}

/// Groups of products: the word of the data file and its name on the page.
const GROUPS: [(&str, &str); 10] = [
    ("whole-muscle meat", "web-group-meat"),
    ("formed meat", "web-group-formed"),
    ("poultry", "web-group-poultry"),
    ("fish", "web-group-fish"),
    ("fruit", "web-group-fruit"),
    ("vegetable", "web-group-vegetable"),
    ("leaf or herb", "web-group-leaf"),
    ("puree", "web-group-puree"),
    ("pet treat", "web-group-pet"),
    ("other", "web-group-other"),
];

impl Form<'_> {
    fn first(&self) -> Markup {
        let by_activity = self.entries.get("target.kind") == "water_activity";
        let target = if by_activity { "target.water_activity" } else { "target.moisture" };
        html! {
            (self.product())
            (self.cabinet())
            div.pair {
                (self.named("load.amount"))
                (self.choice("load.kind", "web-field-load-kind", &[("", "web-load-total"), ("per_tray", "web-load-per-tray")]))
            }
            (self.named("load.trays"))
            div.pair {
                (self.choice("target.kind", "web-field-target", &[("", "web-target-moisture"), ("water_activity", "web-target-activity")]))
                (self.named(target))
            }
            (self.named("start.at"))
        }
    }

    fn product(&self) -> Markup {
        let v = self.v;
        html! {
            div.field {
                label for="f-product" { (v.text("web-field-product")) }
                select #f-product name="product" {
                    @for (group, name) in GROUPS {
                        optgroup label=(v.text(name)) {
                            @for p in self.library.products().iter().filter(|p| p.group.word() == group) {
                                option value=(p.key) selected[p.key == self.entries.get("product")] {
                                    (v.reader.words.pick(&p.name.en, &p.name.es))
                                }
                            }
                        }
                    }
                }
            }
        }
    }

    fn cabinet(&self) -> Markup {
        let v = self.v;
        html! {
            div.field {
                label for="f-cabinet" { (v.text("web-field-cabinet")) }
                select #f-cabinet name="cabinet" data-reform {
                    @for c in self.library.cabinets() {
                        option value=(c.key) selected[c.key == self.entries.get("cabinet")] {
                            (v.reader.words.pick(&c.name.en, &c.name.es))
                        }
                    }
                }
            }
        }
    }

    fn named(&self, key: &str) -> Markup {
        html! { @if let Some(f) = FIELDS.iter().find(|f| f.key == key) { (self.field(f)) } }
    }

    fn field(&self, f: &Field) -> Markup {
        self.input(f.key, &self.v.text(f.label), f.asked)
    }

    /// A typed entry: its name, its unit, the note on how it is understood.
    fn input(&self, key: &str, label: &str, asked: AskedKind) -> Markup {
        let v = self.v;
        let id = format!("f-{}", key.replace('.', "-"));
        let note = self.written.note(key);
        let fault = note.is_some_and(|n| n.kind == NoteKind::Fault);
        let per_mass = super::fields::PER_MASS.contains(&key);
        let unit = match (per_mass, v.units) {
            (true, Units::Us) => "/ lb",
            (true, Units::Si) => "/ kg",
            _ => asked.unit(v.units),
        };
        let numeric = !matches!(asked, AskedKind::Words);
        html! {
            div.field {
                label for=(id) { (label) }
                div.typed {
                    input id=(id) name=(key) value=(self.entries.get(key)) type="text" autocomplete="off"
                        spellcheck="false" maxlength="80" autocapitalize=[numeric.then_some("none")]
                        aria-describedby={ "n-" (id) } aria-invalid=[fault.then_some("true")];
                    @if !unit.is_empty() { span.unit { (unit) } }
                }
                p.note id={ "n-" (id) } data-note=(key) data-kind=[note.map(kind)] { @if let Some(n) = note { (n.text) } }
            }
        }
    }

    fn choice(&self, key: &str, label: &str, options: &[(&str, &str)]) -> Markup {
        let v = self.v;
        let id = format!("f-{}", key.replace('.', "-"));
        html! {
            div.field {
                label for=(id) { (v.text(label)) }
                select id=(id) name=(key) data-reform[reforms(key)] {
                    @for (value, name) in options {
                        option value=(value) selected[*value == self.entries.get(key)] { (v.text(name)) }
                    }
                }
            }
        }
    }

    /// A fold; open where something in it was entered or is wrong.
    fn part(&self, title: &str, part: Part, more: &Markup) -> Markup {
        let fields: Vec<&Field> = FIELDS.iter().filter(|f| f.part == part).collect();
        let open = fields.iter().any(|f| {
            !self.entries.get(f.key).is_empty()
                || self.written.note(f.key).is_some_and(|n| n.kind == NoteKind::Fault)
        });
        html! {
            details open[open] {
                summary { (self.v.text(title)) }
                @for f in fields.iter().filter(|f| f.key != "timer.unload_at") { (self.field(f)) }
                (more)
            }
        }
    }

    fn liner(&self) -> Markup {
        let v = self.v;
        let cabinet = self.library.cabinets().iter().find(|c| c.key == self.entries.get("cabinet"));
        html! {
            @if let Some(c) = cabinet {
                div.field {
                    label for="f-load-liner" { (v.text("web-field-liner")) }
                    select #f-load-liner name="load.liner" {
                        option value="" { (v.text("web-liner-usual")) }
                        @for l in &c.liners {
                            option value=(l.key) selected[l.key == self.entries.get("load.liner")] {
                                (v.reader.words.pick(&l.name.en, &l.name.es))
                            }
                        }
                    }
                }
            }
        }
    }

    fn timer(&self) -> Markup {
        let unload = [
            ("", "web-unload-usual"),
            ("at end", "web-unload-at-end"),
            ("next staffed", "web-unload-next"),
            ("at", "web-unload-at"),
        ];
        html! {
            (self.choice("timer.dialled", "web-field-dialled", &[("", "web-dialled-once"), ("by hand", "web-dialled-by-hand")]))
            (self.choice("timer.unload", "web-field-unload", &unload))
            @if self.entries.get("timer.unload") == "at" { (self.named("timer.unload_at")) }
            (self.choice("target.piece", "web-field-piece", &[("", "web-piece-usual"), ("mean", "web-piece-mean"), ("wettest", "web-piece-wettest")]))
        }
    }

    fn stages(&self) -> Markup {
        let v = self.v;
        let count = self.entries.stages();
        html! {
            details open[count > 0] {
                summary { (v.text("web-part-stages")) }
                input type="hidden" name="stages" value=(if count == 0 { String::new() } else { count.to_string() });
                @if count == 0 {
                    p { (v.text("web-stages-proposed")) }
                    button name="by_hand" value="1" formaction="/plan" { (v.text("web-stages-by-hand")) }
                } @else {
                    @for n in 1..=count { (self.stage(n)) }
                    p.onward {
                        button name="add_stage" value="1" { (v.text("web-stages-add")) }
                        button name="propose" value="1" { (v.text("web-stages-propose")) }
                    }
                }
            }
        }
    }

    fn stage(&self, n: usize) -> Markup {
        let v = self.v;
        let key = |name: &str| format!("stage.{n}.{name}");
        let until = self.entries.get(&key("until"));
        let end = STAGE_ENDS.iter().find(|(k, ..)| *k == until);
        let ends: Vec<(&str, &str)> = STAGE_ENDS.iter().map(|(k, name, _)| (*k, *name)).collect();
        let cabinet = self.library.cabinets().iter().find(|c| c.key == self.entries.get("cabinet"));
        html! {
            fieldset {
                legend { (v.with("web-stage", &[("number", &n.to_string())])) }
                (self.input(&key("name"), &v.text("web-stage-name"), AskedKind::Words))
                (self.input(&key("set_point"), &v.text("web-stage-set-point"), AskedKind::Temperature))
                (self.input(&key("vent"), &v.text("web-stage-vent"), AskedKind::Words))
                @if let Some(c) = cabinet {
                    @let marks = c.vent.marks.iter().map(|m| m.name.as_str()).collect::<Vec<_>>().join(", ");
                    p.note { (v.with("web-stage-marks", &[("marks", &marks)])) }
                    div.field {
                        label for={ "f-stage-" (n) "-fan" } { (v.text("web-stage-fan")) }
                        select id={ "f-stage-" (n) "-fan" } name=(key("fan")) {
                            option value="" { (v.text("web-fan-usual")) }
                            @for f in &c.fan_steps {
                                option value=(f.name) selected[f.name == self.entries.get(&key("fan"))] { (f.name) }
                            }
                        }
                    }
                }
                (self.choice(&key("until"), "web-stage-until", &ends))
                @if let Some((_, name, asked)) = end.filter(|(k, ..)| *k != "target") {
                    (self.input(&key("until_value"), &v.text(name), *asked))
                }
                @if until == "core" { (self.input(&key("hold"), &v.text("web-stage-hold"), AskedKind::Duration)) }
                (self.input(&key("at_most"), &v.text("web-stage-at-most"), AskedKind::Duration))
            }
        }
    }
}
