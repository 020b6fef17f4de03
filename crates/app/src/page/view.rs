//! A plan seen by a reader: names, clock times and conditions in words.

use fallrate_plan::request::{Dialled, StagesRequest, Target as AskedTarget};
use fallrate_plan::{Plan, Setup};
use fallrate_schedule::{EndCondition, Piece};
use fallrate_simulate::{PieceSample, Sample, StopReason};

use crate::library::Library;
use crate::plan_case::{PlanCase, Planned};
use crate::words::{Reader, say};

/// A plan with its reader.
pub(crate) struct View<'a> {
    pub case: &'a PlanCase,
    pub plan: &'a Plan,
    pub setup: &'a Setup,
    pub library: &'a Library,
    pub r: &'a Reader,
    /// Names of the loaded tray groups, in the model's order.
    pub groups: Vec<&'a str>,
}

impl<'a> View<'a> {
    pub(crate) fn new(planned: &'a Planned, library: &'a Library, r: &'a Reader) -> Self {
        let (case, plan) = (&planned.case, &planned.plan);
        let loaded = case.cabinet.groups.iter().zip(&plan.assembled.trays_by_group);
        let groups = loaded.filter(|(_, n)| **n > 0).map(|(g, _)| g.name.as_str()).collect();
        Self { case, plan, setup: &plan.assembled.setup, library, r, groups }
    }

    pub(crate) fn subject(&self) -> String {
        let a = &self.plan.assembled;
        let product = self.r.words.pick(&self.case.product.name.en, &self.case.product.name.es);
        let cabinet = self.r.words.pick(&self.case.cabinet.name.en, &self.case.cabinet.name.es);
        let line = say!(
            self.r,
            "subject",
            product = product,
            size = self.r.thickness(self.setup.batch.material.size_m),
            load = self.r.mass(self.setup.batch.fresh_kg(), 1),
            trays = a.loaded_trays,
            cabinet = cabinet
        );
        match &self.case.request.title {
            Some(title) => format!("{title} · {line}"),
            None => line,
        }
    }
    pub(crate) fn dialled_once(&self) -> bool {
        self.case.request.timer.dialled == Dialled::Once
    }
    pub(crate) fn clock(&self, elapsed_s: f64) -> String {
        self.r.clock(self.setup.start, elapsed_s)
    }
    pub(crate) fn currency(&self) -> &str {
        self.case.request.money.currency.as_deref().unwrap_or("")
    }
    pub(crate) fn product_name(&self) -> &str {
        self.r.words.pick(&self.case.product.name.en, &self.case.product.name.es)
    }

    /// "the wettest piece at 25.0 % wb".
    pub(crate) fn target(&self) -> String {
        let t = &self.setup.target;
        let piece = self.piece(t.piece);
        let moisture = self.r.moisture(t.moisture_dry_basis);
        match (t.water_activity, self.case.request.target.target) {
            (Some(aw), _) => {
                say!(self.r, "target-activity", piece = piece, aw = self.r.activity(aw), moisture = moisture)
            }
            (None, AskedTarget::LoadWeight(m)) => {
                say!(self.r, "target-load", mass = self.r.mass(m.kilograms(), 2), moisture = moisture)
            }
            (None, AskedTarget::TrayWeight(m)) => {
                say!(self.r, "target-tray", mass = self.r.mass(m.kilograms(), 2), moisture = moisture)
            }
            _ => say!(self.r, "target-moisture", piece = piece, moisture = moisture),
        }
    }
    pub(crate) fn piece(&self, piece: Piece) -> String {
        self.r.text(match piece {
            Piece::Mean => "piece-mean",
            Piece::Slowest => "piece-wettest",
            Piece::Fastest => "piece-driest",
        })
    }
    /// Gross weight of a tray whose product is at a moisture, kg.
    pub(crate) fn tray_gross_kg(&self, dry_basis: f64) -> f64 {
        let x0 = self.setup.batch.material.moisture_initial_dry_basis;
        let solids = self.setup.batch.load.fresh_kg_per_tray / (1.0 + x0);
        self.plan.assembled.tare_kg + solids * (1.0 + dry_basis)
    }

    /// Name of a stage: the user's, or the reader's word for one that was proposed.
    pub(crate) fn stage(&self, name: &str) -> String {
        let proposed = matches!(self.case.request.stages, StagesRequest::Propose { .. });
        let key = match name {
            "stand" => "stage-stand",
            "warm up" if proposed => "stage-warm-up",
            "cook" if proposed => "stage-cook",
            "stay shut" if proposed => "stage-stay-shut",
            "dry" if proposed => "stage-dry",
            "finish" if proposed => "stage-finish",
            _ => return name.to_owned(),
        };
        self.r.text(key)
    }

    /// Decimals of a tray's weight: light loads are weighed to the gram.
    pub(crate) fn tray_digits(&self) -> usize {
        if self.plan.tray.net_kg < 0.5 { 3 } else { 2 }
    }

    /// A condition in words.
    pub(crate) fn condition(&self, condition: &EndCondition, at_s: f64) -> String {
        let r = self.r;
        match *condition {
            EndCondition::Elapsed { seconds } => say!(r, "until-elapsed", dur = r.duration(seconds)),
            EndCondition::CoreRise { kelvin } => {
                say!(r, "until-core-rise", rise = r.difference(kelvin), place = self.coldest_place(at_s))
            }
            EndCondition::CoreReaches { celsius, hold_s } => {
                let key = if hold_s > 0.0 { "until-core-hold" } else { "until-core" };
                let (core, place) = (r.temperature(celsius), self.coldest_place(at_s));
                say!(r, key, core = core, place = place, hold = r.duration(hold_s))
            }
            EndCondition::Moisture { piece, dry_basis } => say!(
                r,
                "until-moisture",
                piece = self.piece(piece),
                moisture = r.moisture(dry_basis),
                gross = r.mass(self.tray_gross_kg(dry_basis), self.tray_digits())
            ),
            EndCondition::WaterActivity { piece, aw } => {
                say!(r, "until-activity", piece = self.piece(piece), aw = r.activity(aw))
            }
            EndCondition::LoadWeight { kilograms } => {
                say!(r, "until-load-weight", mass = r.mass(kilograms, 2))
            }
            EndCondition::ChamberRhBelow { fraction } => {
                say!(r, "until-humidity-below", rh = r.percent(fraction))
            }
            EndCondition::ChamberRhAbove { fraction } => {
                say!(r, "until-humidity-above", rh = r.percent(fraction))
            }
        }
    }

    /// The first stage that runs to its longest time without getting to its end, and that end in words.
    pub(crate) fn unreached_stage(&self) -> Option<(String, String)> {
        let ends = self.plan.run.stage_ends.iter().zip(&self.plan.assembled.stages);
        let (end, stage) = ends.into_iter().find(|(e, _)| e.reason == StopReason::AtMost)?;
        let condition = stage.ends.first()?;
        Some((self.stage(&stage.name), self.condition(condition, end.sample.elapsed_s)))
    }

    /// The sample nearest to an instant.
    pub(crate) fn sample(&self, at_s: f64) -> Option<&Sample> {
        let near = |s: &Sample| (s.elapsed_s - at_s).abs();
        self.plan.run.samples.iter().min_by(|a, b| near(a).total_cmp(&near(b)))
    }
    /// The sample as the power goes off.
    pub(crate) fn power_off(&self) -> Option<&Sample> {
        self.sample(self.plan.timer.dial_s)
    }
    /// Where the coldest core is at an instant: "air-leaving end, lower trays".
    fn coldest_place(&self, at_s: f64) -> String {
        let Some(sample) = self.sample(at_s) else { return String::new() };
        let coldest = sample.pieces.iter().min_by(|a, b| a.core_c.total_cmp(&b.core_c));
        coldest.map_or(String::new(), |p| self.place(sample, p))
    }
    fn place(&self, sample: &Sample, piece: &PieceSample) -> String {
        let last = sample.pieces.iter().map(|p| p.position).max().unwrap_or(0);
        let key = match piece.position {
            0 => "place-entering",
            p if p == last => "place-leaving",
            _ => "place-middle",
        };
        let group = self.groups.get(piece.group).copied().unwrap_or("");
        if self.groups.len() < 2 {
            say!(self.r, key)
        } else {
            say!(self.r, "place-group", end = say!(self.r, key), group = group)
        }
    }
    /// Groups with the wettest and the driest mean as the power goes off.
    pub(crate) fn worst_and_best_group(&self) -> (usize, usize) {
        let Some(sample) = self.power_off() else { return (0, 0) };
        let means: Vec<f64> = (0..self.groups.len()).map(|g| group_mean(sample, g)).collect();
        let pick = |sign: f64| {
            (0..means.len()).max_by(|&a, &b| (sign * means[a]).total_cmp(&(sign * means[b]))).unwrap_or(0)
        };
        (pick(1.0), pick(-1.0))
    }

    /// "At unloading: 22.1 % wb in the mean, 20.0 to 24.3 ...".
    pub(crate) fn moisture_at_unloading_words(&self) -> String {
        let Some(last) = self.plan.run.samples.last() else { return String::new() };
        say!(
            self.r,
            "subline-moisture",
            mean = self.r.moisture(last.moisture_mean_dry_basis),
            driest = self.r.moisture_short(last.moisture_fastest_dry_basis),
            wettest = self.r.moisture(last.moisture_slowest_dry_basis)
        )
    }
}

/// Mean moisture of a group, kg/kg dry basis.
pub(crate) fn group_mean(sample: &Sample, group: usize) -> f64 {
    let own = sample.pieces.iter().filter(|p| p.group == group);
    let (x, w) =
        own.fold((0.0, 0.0), |(x, w), p| (x + p.load_share * p.moisture_dry_basis, w + p.load_share));
    x / w
}

/// Core of the first or last piece in the air of a group, degC.
pub(crate) fn end_core(sample: &Sample, group: usize, last: bool) -> f64 {
    let own = sample.pieces.iter().filter(|p| p.group == group);
    let piece = if last { own.max_by_key(|p| p.position) } else { own.min_by_key(|p| p.position) };
    piece.map_or(f64::NAN, |p| p.core_c)
}
