//! The debrief as a document: what was done, what it cost, what would have been better, what was hidden.

use fallrate_rehearse::{Change, Debrief, FaultChoice, FaultSeen, Outcome};
use fallrate_report::{Block, Column, Document, Fact, Flag, Level, Paper, Sign, Table};

use super::front::act_words;
use super::session::Rehearsing;
use crate::AppError;
use crate::batches::HandReading;
use crate::library::Library;
use crate::page::input_name;
use crate::page::view::View;
use crate::words::{Reader, Units, fixed, say};

/// Ways shown.
const MOST_WAYS: usize = 6;
/// Late or early by less than this is in time, s (own judgement, as the debrief tries again).
const IN_TIME_S: f64 = 120.0;
/// Gains below this share of the batch's value are not told as better.
const LEAST_GAIN: f64 = 5e-4;

struct Sheet<'a> {
    r: &'a Reader,
    v: View<'a>,
    d: Debrief,
    /// What the batch would be worth at its target, where a price is known.
    value: Option<f64>,
}

impl Rehearsing {
    /// Looks back: runs the other ways on the same cabinet, which takes a moment.
    ///
    /// # Errors
    /// [`AppError::Rehearse`] before the unloading.
    pub fn look_back(&self) -> Result<Debrief, AppError> {
        Ok(self.cabinet.debrief(None)?)
    }

    /// A look back as a document. `noted` are the readings that the trainee wrote down.
    #[must_use]
    pub fn debrief_document(
        &self,
        debrief: &Debrief,
        library: &Library,
        r: &Reader,
        noted: &[HandReading],
    ) -> Document {
        let d = debrief.clone();
        let v = View::new(&self.planned, library, r);
        let setup = v.setup;
        let x0 = setup.batch.material.moisture_initial_dry_basis;
        let target_kg = setup.batch.fresh_kg() / (1.0 + x0) * (1.0 + setup.target.moisture_dry_basis);
        let value = setup.money.product_price_per_kg.map(|p| p * target_kg);
        let s = Sheet { r, v, d, value };
        let mut blocks = s.opening();
        blocks.extend(s.acts());
        blocks.extend(s.faults());
        blocks.extend(s.ways());
        blocks.extend(self.noted(&s, noted));
        blocks.extend(s.hidden());
        blocks.push(Block::Small(say!(r, "rehearse-debrief-again", seed = self.asked.seed.to_string())));
        Document {
            language: r.words.language().tag().to_owned(),
            title: r.text("rehearse-debrief-title"),
            subject: s.v.subject(),
            author: r.text("rehearse-flag"),
            date: Some(self.asked.start.utc_date().to_string()),
            paper: if r.units == Units::Us { Paper::Letter } else { Paper::A4 },
            flag: Some(Flag { word: r.text("rehearse-flag"), meaning: r.text("rehearse-flag-meaning") }),
            running_head: say!(r, "rehearse-debrief-head", seed = self.asked.seed.to_string()),
            running_foot: say!(r, "footer-version", version = crate::VERSION),
            page_word: r.text("proof-page"),
            words: crate::proof::document_words(r),
            blocks,
        }
    }

    /// What was written down, beside the truth where there is one.
    fn noted(&self, s: &Sheet<'_>, noted: &[HandReading]) -> Vec<Block> {
        if noted.is_empty() {
            return vec![Block::Text(s.r.text("rehearse-debrief-nothing-noted"))];
        }
        let truth = self.cabinet.true_states();
        let at = |n: &HandReading| n.at.seconds_since(self.asked.start);
        let rows = noted.iter().map(|n| {
            let state = truth.iter().rev().find(|t| t.elapsed_s <= at(n) + 1.0);
            let (what, value, real) = s.noted_row(n, state, self.planned.plan.assembled.tare_kg);
            vec![s.v.clock(at(n)), what, value, real]
        });
        let col = |key: &str| Column::left(&s.r.text(key));
        let heading = Block::Heading { level: 1, text: s.r.text("rehearse-debrief-noted") };
        vec![
            heading,
            Block::Table(Table {
                title: String::new(),
                header: vec![
                    col("rehearse-col-clock"),
                    col("rehearse-col-what"),
                    Column::right(&s.r.text("rehearse-col-noted")),
                    Column::right(&s.r.text("rehearse-col-true")),
                ],
                rows: rows.collect(),
                note: Some(s.r.text("rehearse-debrief-noted-note")),
            }),
        ]
    }
}

impl Sheet<'_> {
    fn noted_row(
        &self,
        n: &HandReading,
        state: Option<&fallrate_rehearse::State>,
        tare_kg: f64,
    ) -> (String, String, String) {
        use fallrate_series::Role;
        let r = self.r;
        let dash = "–".to_owned();
        match &n.role {
            Role::TrayWeight { tray } => {
                let net = state.and_then(|s| s.trays_kg.get(usize::from(*tray).checked_sub(1)?).copied());
                let real = net.map_or(dash, |kg| r.mass(tare_kg + kg, 3));
                (say!(r, "rehearse-tray", tray = tray.to_string()), r.mass(n.value, 3), real)
            }
            Role::AirDryBulb => (
                r.text("rehearse-dry-bulb"),
                r.temperature(n.value),
                state.map_or(dash, |s| r.temperature(s.chamber_c)),
            ),
            Role::AirWetBulb => (
                r.text("rehearse-wet-bulb"),
                r.temperature(n.value),
                state.map_or(dash, |s| r.temperature(s.wet_bulb_c)),
            ),
            Role::RelativeHumidity => (
                r.text("rehearse-humidity"),
                r.percent(n.value),
                state.map_or(dash, |s| r.percent(s.relative_humidity)),
            ),
            Role::CoreProbe { position, .. } => {
                (say!(r, "rehearse-core", place = position.clone()), r.temperature(n.value), dash)
            }
            _ => (r.text("rehearse-display"), r.temperature(n.value), dash),
        }
    }

    fn opening(&self) -> Vec<Block> {
        let (r, o) = (self.r, &self.d.outcome);
        let (sign, headline) = if !o.target_met {
            (Sign::No, say!(r, "rehearse-debrief-wet", moisture = r.moisture(o.wettest_dry_basis)))
        } else if o.given_away_kg > 0.02 * o.finished_kg {
            (Sign::Yes, say!(r, "rehearse-debrief-dry", mass = r.mass(o.given_away_kg, 2)))
        } else {
            (Sign::Yes, r.text("rehearse-debrief-good"))
        };
        let subline = say!(r, "rehearse-debrief-target", target = self.v.target());
        vec![Block::Answer { sign, headline, subline }, Block::Facts(self.outcome_facts(o))]
    }

    fn outcome_facts(&self, o: &Outcome) -> Vec<Fact> {
        let r = self.r;
        let fact = |key: &str, value: String| Fact { label: r.text(key), value, note: None };
        let mut list = vec![
            fact("rehearse-fact-mean", r.moisture(o.mean_dry_basis)),
            fact(
                "rehearse-fact-spread",
                format!("{} – {}", r.moisture_short(o.driest_dry_basis), r.moisture(o.wettest_dry_basis)),
            ),
            fact("rehearse-fact-finished", r.mass(o.finished_kg, 2)),
            fact("rehearse-fact-given", self.given(o)),
            fact("rehearse-fact-energy", format!("{} kWh", fixed(o.energy_kwh, 1))),
            fact("rehearse-fact-off", self.v.clock(o.power_off_s)),
            fact("rehearse-fact-unloaded", self.v.clock(o.unloaded_s)),
            fact("rehearse-fact-core", r.temperature(o.core_highest_c)),
        ];
        if !o.trays_too_wet.is_empty() {
            let trays = o.trays_too_wet.iter().map(u32::to_string).collect::<Vec<_>>().join(", ");
            list.push(fact("rehearse-fact-wet-trays", trays));
        }
        if let Some(minutes) = o.growth_min {
            list.push(fact("rehearse-fact-growth", r.duration((minutes * 60.0).round())));
        }
        list.push(fact("rehearse-fact-loss", self.loss(o.loss)));
        list
    }

    fn given(&self, o: &Outcome) -> String {
        let mass = self.r.mass(o.given_away_kg, 2);
        match self.v.setup.money.product_price_per_kg {
            Some(p) => format!("{mass}, {}", self.r.money(o.given_away_kg * p, self.v.currency())),
            None => mass,
        }
    }

    /// A share of the batch's value, in money where a price is known.
    fn loss(&self, share: f64) -> String {
        let percent = self.r.percent(share);
        match self.value {
            Some(value) => format!("{percent}, {}", self.r.money(share * value, self.v.currency())),
            None => percent,
        }
    }

    fn acts(&self) -> Vec<Block> {
        let r = self.r;
        let late = |a: &fallrate_rehearse::ActCompared| match a.late_s() {
            None => r.text("rehearse-late-never"),
            Some(s) if s.abs() < IN_TIME_S => r.text("rehearse-late-in-time"),
            Some(s) if s > 0.0 => say!(r, "rehearse-late-by", time = r.duration((s / 60.0).round() * 60.0)),
            Some(s) => say!(r, "rehearse-early-by", time = r.duration((-s / 60.0).round() * 60.0)),
        };
        let mut rows: Vec<Vec<String>> = self
            .d
            .acts
            .iter()
            .map(|a| {
                let done = a.done_s.map_or_else(|| "–".to_owned(), |s| self.v.clock(s));
                vec![act_words(r, &a.act), self.v.clock(a.due_s), done, late(a)]
            })
            .collect();
        rows.extend(self.d.unplanned.iter().map(|d| {
            let own = r.text("rehearse-unplanned");
            vec![act_words(r, &d.act), "–".to_owned(), self.v.clock(d.at_s), own]
        }));
        let col = |key: &str| Column::left(&r.text(key));
        let heading = Block::Heading { level: 1, text: r.text("rehearse-debrief-acts") };
        vec![
            heading,
            Block::Table(Table {
                title: String::new(),
                header: vec![
                    col("rehearse-col-act"),
                    col("rehearse-col-due"),
                    col("rehearse-col-done"),
                    col("rehearse-col-late"),
                ],
                rows,
                note: Some(r.text("rehearse-debrief-acts-note")),
            }),
        ]
    }

    fn faults(&self) -> Vec<Block> {
        let r = self.r;
        if self.d.faults.is_empty() {
            return vec![Block::Text(r.text("rehearse-debrief-no-faults"))];
        }
        let line = |f: &FaultSeen| {
            let name = fault_words(r, FaultChoice::of(f.fault.kind));
            let from = self.v.clock(f.fault.from_s);
            match (f.seen_to_s, f.fault.until_s) {
                (Some(s), _) => {
                    let after = r.duration(((s - f.fault.from_s) / 60.0).round() * 60.0);
                    say!(r, "rehearse-fault-seen", fault = name, from = from, after = after)
                }
                (None, Some(until)) => {
                    say!(r, "rehearse-fault-passed", fault = name, from = from, until = self.v.clock(until))
                }
                (None, None) => say!(r, "rehearse-fault-stayed", fault = name, from = from),
            }
        };
        vec![
            Block::Heading { level: 1, text: r.text("rehearse-debrief-faults") },
            Block::List(self.d.faults.iter().map(line).collect()),
        ]
    }

    fn ways(&self) -> Vec<Block> {
        let r = self.r;
        let rows: Vec<Vec<String>> = self
            .d
            .ways
            .iter()
            .take(MOST_WAYS)
            .map(|w| {
                let met = if w.outcome.target_met { "rehearse-met" } else { "rehearse-not-met" };
                let gain = if w.gain.abs() < LEAST_GAIN {
                    r.text("rehearse-gain-none")
                } else if w.gain > 0.0 {
                    say!(r, "rehearse-gain-better", loss = self.loss(w.gain))
                } else {
                    say!(r, "rehearse-gain-worse", loss = self.loss(-w.gain))
                };
                vec![
                    self.change(&w.change),
                    r.text(met),
                    r.mass(w.outcome.given_away_kg, 2),
                    format!("{} kWh", fixed(w.outcome.energy_kwh, 1)),
                    gain,
                ]
            })
            .collect();
        let best = self.d.ways.first().filter(|w| w.gain > LEAST_GAIN);
        let text = match best {
            Some(w) => say!(r, "rehearse-best", way = self.change(&w.change), loss = self.loss(w.gain)),
            None => r.text("rehearse-best-none"),
        };
        let col = |key: &str| Column::left(&r.text(key));
        vec![
            Block::Heading { level: 1, text: r.text("rehearse-debrief-ways") },
            Block::Notice { level: Level::Note, word: r.text("rehearse-best-word"), text },
            Block::Table(Table {
                title: String::new(),
                header: vec![
                    col("rehearse-col-way"),
                    col("rehearse-col-target"),
                    Column::right(&r.text("rehearse-fact-given")),
                    Column::right(&r.text("rehearse-fact-energy")),
                    col("rehearse-col-gain"),
                ],
                rows,
                note: Some(r.text("rehearse-debrief-ways-note")),
            }),
        ]
    }

    fn change(&self, change: &Change) -> String {
        let r = self.r;
        let act = |i: usize| self.d.acts.get(i).map_or_else(String::new, |a| act_words(r, &a.act));
        match change {
            Change::AsPlanned => r.text("rehearse-way-planned"),
            Change::InTime { act: i } => {
                let due = self.d.acts.get(*i).map_or(f64::NAN, |a| a.due_s);
                say!(r, "rehearse-way-in-time", act = act(*i), clock = self.v.clock(due))
            }
            Change::LeftUndone { act: i } => {
                let own = self.d.unplanned.get(*i).map_or_else(String::new, |d| act_words(r, &d.act));
                say!(r, "rehearse-way-undone", act = own)
            }
            Change::DoorShut { .. } => r.text("rehearse-way-door"),
            Change::StoppedAtTarget { at_s } => {
                say!(r, "rehearse-way-stopped", clock = self.v.clock(*at_s))
            }
        }
    }

    fn hidden(&self) -> Vec<Block> {
        let r = self.r;
        let mut far: Vec<_> = self.d.hidden.iter().filter(|(_, z)| z.abs() >= 1.0).collect();
        far.sort_by(|a, b| b.1.abs().total_cmp(&a.1.abs()));
        let line = |(input, z): &(fallrate_plan::spread::Input, f64)| {
            let key = if *z > 0.0 { "rehearse-hidden-more" } else { "rehearse-hidden-less" };
            say!(r, key, input = input_name(r, *input), sd = fixed(z.abs(), 1))
        };
        let list: Vec<String> = far.into_iter().map(line).collect();
        if list.is_empty() {
            return vec![Block::Text(r.text("rehearse-hidden-none"))];
        }
        vec![Block::Heading { level: 1, text: r.text("rehearse-debrief-hidden") }, Block::List(list)]
    }
}

/// A fault in words.
#[must_use]
pub fn fault_words(r: &Reader, fault: FaultChoice) -> String {
    r.text(match fault {
        FaultChoice::BlockedVent => "rehearse-fault-blocked-vent",
        FaultChoice::WeakFan => "rehearse-fault-weak-fan",
        FaultChoice::FailedElement => "rehearse-fault-failed-element",
        FaultChoice::DoorOpen => "rehearse-fault-open-door",
        FaultChoice::DriftingProbe => "rehearse-fault-drifting-probe",
        FaultChoice::PowerCut => "rehearse-fault-power-cut",
        FaultChoice::DrySock => "rehearse-fault-dry-sock",
        FaultChoice::ProbeOut => "rehearse-fault-probe-out",
    })
}
