//! The verbs that learn from measurements.

use std::path::{Path, PathBuf};
use std::time::{SystemTime, UNIX_EPOCH};

use fallrate_app::Document;
use fallrate_app::batches::Stamp;
use fallrate_app::learning::{
    Day, Decision, IsothermAsked, MoveAsked, PlanAsked, ProductText, ThinAsked, TrialFile, decide,
    fit_trial_file, isotherm, isotherm_document, isotherm_json, isotherm_product, learned, learned_cabinet,
    learned_document, learned_json, learned_product, move_document, move_plan, plan_trial, thin_document,
    thin_json, thin_layer, trial_document, trial_json, trial_plan_document, trial_plan_json, trial_product,
};
use fallrate_app::ports::Files;
use fallrate_app::proof::Instant;
use fallrate_app::quantities::WaterActivity;

use crate::disk::{Disk, Pending};
use crate::learning_args::{
    IsothermArgs, LearnArgs, MoveArgs, ThinArgs, TrialFitArgs, TrialPlanArgs, TrialVerb,
};
use crate::progress::Watch;
use crate::proof_args::DocumentFiles;
use crate::work::{Desk, Fault};

/// Most bytes of a table.
const MOST_TABLE: usize = 4 << 20;

/// Today, for the head of a document and the source of a figure.
pub(crate) fn today() -> Day {
    let since = SystemTime::now().duration_since(UNIX_EPOCH).unwrap_or_default();
    Day(Instant::from_unix_seconds(since.as_secs_f64()).utc_date().to_string())
}

/// Name without folders, and bytes.
fn small_file(path: &Path) -> Result<(String, Vec<u8>), Fault> {
    let bytes = Disk.read(path, MOST_TABLE)?;
    let name = path.file_name().map_or_else(String::new, |n| n.to_string_lossy().into_owned());
    Ok((name, bytes))
}

impl Desk<'_> {
    /// Shows a document and writes it and other files, all or none.
    pub(crate) fn deliver(
        &self,
        document: &Document,
        files: &DocumentFiles,
        others: Vec<(&PathBuf, String)>,
    ) -> Result<(), Fault> {
        let mut pending = Pending::default();
        for (path, text) in others {
            pending.add(path, text.as_bytes())?;
        }
        if let Some(path) = &files.pdf {
            pending.add(path, &fallrate_app::document_pdf(document)?)?;
        }
        if let Some(path) = &files.html {
            pending.add(path, fallrate_app::document_page(document).as_bytes())?;
        }
        pending.commit()?;
        self.show_document(document)
    }

    /// Fits isotherms.
    pub(crate) fn isotherm(&self, a: &IsothermArgs) -> Result<(), Fault> {
        let (name, bytes) = small_file(&a.file)?;
        let product = a.product.as_ref().map(|p| ProductText::read(&self.library, &Disk, p)).transpose()?;
        let asked = IsothermAsked {
            temperature: a.temperature,
            target: a.target.map(WaterActivity::fraction),
            at: a.at,
            product,
        };
        let run = isotherm(&name, &bytes, asked)?;
        let day = today();
        let mut others = Vec::new();
        if let Some(path) = &a.keep {
            let text = isotherm_product(&run, &self.library, &path.to_string_lossy(), &day)?;
            others.push((path, text));
        }
        others.extend(a.json.as_ref().map(|path| (path, isotherm_json(&run))));
        self.deliver(&isotherm_document(&run, &self.reader, &day), &a.files_out, others)
    }

    /// Fits thin-layer equations.
    pub(crate) fn thin_layer(&self, a: &ThinArgs) -> Result<(), Fault> {
        let (name, bytes) = small_file(&a.file)?;
        let product = a.product.as_ref().map(|p| self.library.product(&Disk, p)).transpose()?;
        let asked = ThinAsked {
            air: a.air,
            humidity: a.rh,
            speed: a.speed,
            thickness: a.thickness,
            equilibrium: a.equilibrium,
            product,
        };
        let run = thin_layer(&name, &bytes, &asked)?;
        let others = a.json.as_ref().map(|path| (path, thin_json(&run))).into_iter().collect();
        self.deliver(&thin_document(&run, &self.reader, &today()), &a.files_out, others)
    }

    /// Plans or fits product trials.
    pub(crate) fn trial(&self, verb: &TrialVerb) -> Result<(), Fault> {
        match verb {
            TrialVerb::Plan(a) => self.plan_trial(a),
            TrialVerb::Fit(a) => self.fit_trial(a),
        }
    }

    fn plan_trial(&self, a: &TrialPlanArgs) -> Result<(), Fault> {
        let file = TrialFile::read_before(&self.library, &Disk, &a.file)?;
        let asked =
            PlanAsked { count: a.weighings.map(usize::from), until: a.until, every: a.every, load: a.load };
        let plan = plan_trial(file, &asked)?;
        let others = a.json.as_ref().map(|path| (path, trial_plan_json(&plan))).into_iter().collect();
        self.deliver(&trial_plan_document(&plan, &self.reader, &today()), &a.files_out, others)
    }

    fn fit_trial(&self, a: &TrialFitArgs) -> Result<(), Fault> {
        let file = TrialFile::read(&self.library, &Disk, &a.file)?;
        let watch = Watch::new();
        let run = fit_trial_file(file, &|p| watch.tell_runs(p.searching, p.runs))?;
        watch.clear();
        let day = today();
        let mut others = Vec::new();
        if let Some(path) = &a.keep {
            let text = trial_product(&run, &self.library, &path.to_string_lossy(), &day)?;
            others.push((path, text));
        }
        others.extend(a.json.as_ref().map(|path| (path, trial_json(&run))));
        self.deliver(&trial_document(&run, &self.reader, &day), &a.files_out, others)
    }

    /// Moves a recipe.
    pub(crate) fn move_plan(&self, a: &MoveArgs) -> Result<(), Fault> {
        let watch = Watch::new();
        let asked = MoveAsked { cabinet: a.to.clone(), changes: a.with.clone(), draws: usize::from(a.draws) };
        let run = move_plan(&self.library, &Disk, &a.file, &asked, &|p| watch.tell(p))?;
        watch.clear();
        let others = match (&a.keep, &run.text) {
            (Some(path), Some(text)) => vec![(path, text.clone())],
            (Some(path), None) => {
                return Err(Fault::App(format!(
                    "{}: not written; allowed: a plan whose stages are written in its file",
                    path.display()
                )));
            }
            _ => Vec::new(),
        };
        self.deliver(&move_document(&run, &self.library, &self.reader, &today()), &a.files_out, others)
    }

    /// What closed batches taught.
    pub(crate) fn learn(&self, a: &LearnArgs) -> Result<(), Fault> {
        let mut records = crate::serve::open_data(a.data.as_ref())?;
        let watch = Watch::new();
        let go_on = || !watch.is_stopped();
        let mut found = learned(&self.library, &mut records, &go_on)?;
        if let Some(decision) = decision(a) {
            let by = a.by.clone().unwrap_or_default();
            let stamp = Stamp { at: crate::record::now(), zone: "UTC".to_owned(), by, client_id: None };
            decide(&found, &mut records, &stamp, &decision)?;
            found = learned(&self.library, &mut records, &go_on)?;
        }
        let day = today();
        let mut others = Vec::new();
        if let Some(path) = &a.keep {
            let name = path.to_string_lossy();
            let text = match (&a.product, &a.cabinet) {
                (Some(p), _) => learned_product(&found, &self.library, (p, &name), &day)?,
                (None, Some(c)) => learned_cabinet(&found, &self.library, (c, &name), &day)?,
                (None, None) => {
                    return Err(Fault::App("--keep; allowed: with --product or --cabinet".to_owned()));
                }
            };
            others.push((path, text));
        }
        others.extend(a.json.as_ref().map(|path| (path, learned_json(&found))));
        self.deliver(&learned_document(&found, &self.library, &self.reader, &day), &a.files_out, others)
    }
}

/// The decision on the command line, if any.
fn decision(a: &LearnArgs) -> Option<Decision> {
    let reason = || a.reason.clone().unwrap_or_default();
    a.approve
        .map(|lesson| Decision::Approve { lesson })
        .or_else(|| a.turn_down.map(|lesson| Decision::TurnDown { lesson, reason: reason() }))
        .or_else(|| a.take_back.map(|entry| Decision::TakeBack { entry, reason: reason() }))
}
