//! What is to be rehearsed.

use fallrate_rehearse::{Act, FaultChoice, Hand, Scenario, VirtualCabinet};
use fallrate_series::Instant;

use super::files::{PracticeFile, RunFacts, run_files};
use crate::AppError;
use crate::plan_case::Planned;

/// A rehearsal before it begins.
#[derive(Clone, Debug, PartialEq)]
pub struct RehearsalAsked {
    /// Seed of everything hidden and drawn.
    pub seed: u64,
    /// Seed of the cabinet alone; none: as everything.
    pub cabinet_seed: Option<u64>,
    /// Faults by name; times and severity come from the seed.
    pub faults: Vec<FaultChoice>,
    /// One or two more faults that the seed chooses.
    pub surprise: bool,
    /// Start of the run on the practice clock.
    pub start: Instant,
    /// Time zone.
    pub zone: String,
    /// Who practises.
    pub trainee: String,
}

impl RehearsalAsked {
    /// The scenario for a plan. Faults that the cabinet cannot have are left out.
    #[must_use]
    pub fn scenario(&self, planned: &Planned) -> Scenario {
        let cabinet = &planned.case.cabinet;
        let mut scenario = Scenario::new(self.seed, self.start, &self.zone);
        scenario.cabinet_seed = self.cabinet_seed;
        scenario.trainee.clone_from(&self.trainee);
        let mut choices = self.faults.clone();
        if self.surprise {
            choices.extend(FaultChoice::surprise(self.seed, cabinet));
        }
        choices.sort();
        choices.dedup();
        let length_s = planned.plan.timer.dial_s;
        let fitting = choices.into_iter().filter(|c| c.fits(cabinet));
        scenario.faults = fitting.map(|c| c.fault(self.seed, cabinet, length_s)).collect();
        scenario
    }
}

/// A cabinet loaded as the plan says, its power off.
///
/// # Errors
/// [`AppError::Rehearse`] where the scenario does not fit the plan.
pub fn virtual_cabinet(planned: &Planned, asked: &RehearsalAsked) -> Result<VirtualCabinet, AppError> {
    Ok(VirtualCabinet::new(&planned.plan, &planned.case.cabinet, asked.scenario(planned))?)
}

/// Runs a rehearsal by itself, every act of the plan the moment it is due on that very cabinet, and hands back its files
/// and the hidden figures.
///
/// # Errors
/// [`AppError::Rehearse`]; [`AppError::Cancelled`] where `progress`, told the time reached in s, says no.
pub fn practised_files(
    planned: &Planned,
    asked: &RehearsalAsked,
    hand: &Hand,
    progress: &mut dyn FnMut(f64) -> bool,
) -> Result<Vec<PracticeFile>, AppError> {
    let mut cabinet = virtual_cabinet(planned, asked)?;
    cabinet.run_as_planned(hand, progress)?;
    let mut files = files_so_far(planned, asked, &cabinet)?;
    let mut hidden = hidden_text(cabinet.truth(), asked.seed, &[]);
    for f in &cabinet.scenario().faults {
        let until = f.until_s.map_or_else(String::new, |u| format!("until_s = {u:.0}\n"));
        let word = FaultChoice::of(f.kind).word();
        hidden.push_str(&format!("[[fault]]\nkind = \"{word}\"\nfrom_s = {:.0}\n{until}", f.from_s));
    }
    files.push(PracticeFile::text("hidden.toml", hidden));
    Ok(files)
}

/// The files of a rehearsal as far as it went.
pub(super) fn files_so_far(
    planned: &Planned,
    asked: &RehearsalAsked,
    cabinet: &VirtualCabinet,
) -> Result<Vec<PracticeFile>, AppError> {
    let mut files = run_files(&cabinet.log()?, &facts(planned, asked, cabinet))?;
    files.push(PracticeFile::text("plan.toml", planned.case.text.clone()));
    Ok(files)
}

/// What the batch file of a rehearsal states.
pub(super) fn facts(planned: &Planned, asked: &RehearsalAsked, cabinet: &VirtualCabinet) -> RunFacts {
    let case = &planned.case;
    // Drying begins as the vent is first moved after the start.
    let vents = cabinet.done().iter().filter(|d| d.at_s > 60.0 && matches!(d.act, Act::Vent(_)));
    let species = case.product.proof_species.and_then(species_word);
    RunFacts {
        establishment: "Virtual cabinet (simulated)".to_owned(),
        product: case.product.name.en.clone(),
        lot: format!("SIM-{}", asked.seed),
        cabinet: format!("{} (virtual)", case.cabinet.name.en),
        quantity_kg: planned.plan.assembled.setup.batch.fresh_kg(),
        species: species.map(str::to_owned),
        altitude_m: case.request.room.altitude.metres(),
        start: asked.start,
        drying_began: vents.map(|d| asked.start.plus_seconds(d.at_s)).next(),
        by: asked.trainee.clone(),
        shut_marks: shut_marks(&case.cabinet),
    }
}

/// Marks at which the vent lets nothing in.
pub(super) fn shut_marks(cabinet: &fallrate_equipment::Cabinet) -> Vec<String> {
    let shut = cabinet.vent.marks.iter().filter(|m| m.opening.value.fraction() <= 0.0);
    shut.map(|m| m.name.clone()).collect()
}

/// A species as a batch file writes it; none where the product file's word has no one table.
const fn species_word(s: fallrate_foods::ProofSpecies) -> Option<&'static str> {
    use fallrate_foods::ProofSpecies as S;
    match s {
        S::Beef => Some("beef"),
        S::Pork => Some("pork"),
        S::Chicken => Some("chicken"),
        S::Turkey => Some("turkey"),
        _ => None,
    }
}

/// The hidden figures as a short file, to be opened once one has tried to find them; `only` those of these names, or all.
pub(super) fn hidden_text(truth: &fallrate_rehearse::Truth, seed: u64, only: &[&str]) -> String {
    let mut text = format!(
        "# What the virtual cabinet of seed {seed} hides. Look here only after you have tried to find it out.\n[figures]\n"
    );
    for (name, value) in truth.figures().into_iter().filter(|(n, _)| only.is_empty() || only.contains(n)) {
        text.push_str(&format!("{name} = {value:e}\n"));
    }
    text.push_str(
        "\n# Each uncertain figure in standard deviations from what the plan takes.\n[deviations]\n",
    );
    for (input, z) in &truth.inputs {
        text.push_str(&format!("{input:?} = {z:.3}\n"));
    }
    text.push_str(
        "\n# Air over each tray relative to its group's mean, and its load relative to the mean tray's.\n",
    );
    for t in &truth.trays {
        text.push_str(&format!(
            "[[tray]]\nnumber = {}\ngroup = {}\nair = {:.4}\nload = {:.4}\n",
            t.number, t.group, t.air, t.load
        ));
    }
    text
}
