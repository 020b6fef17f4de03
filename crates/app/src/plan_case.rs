//! From a plan file to a plan.

use std::path::Path;

use fallrate_datafile::nearest;
use fallrate_equipment::Cabinet;
use fallrate_foods::Product;
use fallrate_plan::request::PlanRequest;
use fallrate_plan::{Effort, Plan, PlanError};

use crate::edit::Change;
use crate::error::{AppError, NoPlan, plan_place};
use crate::library::{Library, read_text};
use crate::ports::Files;

pub use fallrate_plan::Progress;

/// A plan file read, with its product and cabinet.
#[derive(Clone, Debug)]
pub struct PlanCase {
    /// Name for messages and pages.
    pub name: String,
    /// Text of the plan file, changes made.
    pub text: String,
    /// Request.
    pub request: PlanRequest,
    /// Product.
    pub product: Product,
    /// Cabinet.
    pub cabinet: Cabinet,
}

/// A plan with what it was made from.
#[derive(Debug)]
pub struct Planned {
    /// What was asked.
    pub case: PlanCase,
    /// The plan.
    pub plan: Plan,
}

impl Planned {
    /// Clock time of the start, "06:40".
    #[must_use]
    pub fn start_clock(&self) -> String {
        self.plan.assembled.setup.start.hm()
    }
    /// Trays that are loaded.
    #[must_use]
    pub const fn loaded_trays(&self) -> u32 {
        self.plan.assembled.loaded_trays
    }
}

impl PlanCase {
    /// Reads a plan file, makes the changes, and finds product and cabinet.
    ///
    /// # Errors
    /// [`AppError`].
    pub fn read(
        library: &Library,
        files: &dyn Files,
        path: &str,
        changes: &[Change],
    ) -> Result<Self, AppError> {
        let (file, mut text) = read_text(files, Path::new(path))?;
        let mut name = file.clone();
        for change in changes {
            text = change.apply(&text)?;
            name = format!("{name} with {}", change.text());
        }
        Self::of_text(library, files, &file, name, text)
    }

    /// A plan from the text of a plan file that names products and cabinets of the library; no file is read.
    ///
    /// # Errors
    /// [`AppError`].
    pub fn of_library(library: &Library, name: &str, text: &str) -> Result<Self, AppError> {
        let none = crate::ports::MemoryFiles::default();
        Self::of_text(library, &none, name, name.to_owned(), text.to_owned())
    }

    pub(crate) fn of_text(
        library: &Library,
        files: &dyn Files,
        file: &str,
        name: String,
        text: String,
    ) -> Result<Self, AppError> {
        let request = PlanRequest::parse(&name, &text)?;
        let product = library.product_of(files, &request.product, (file, &text))?;
        let cabinet = library.cabinet_of(files, &request.cabinet, (file, &text))?;
        Ok(Self { name, text, request, product, cabinet })
    }

    /// Computes the plan. `progress` cancels by returning false.
    ///
    /// # Errors
    /// [`AppError::Plan`], [`AppError::Cancelled`].
    pub fn plan(
        self,
        draws: usize,
        progress: &(dyn Fn(Progress) -> bool + Sync),
    ) -> Result<Planned, AppError> {
        let plan =
            fallrate_plan::plan(&self.request, &self.product, &self.cabinet, Effort { draws }, progress)
                .map_err(|e| self.error(e))?;
        Ok(Planned { case: self, plan })
    }

    /// An error of planning with its place in the file.
    pub(crate) fn error(&self, error: PlanError) -> AppError {
        if error == PlanError::Cancelled {
            return AppError::Cancelled;
        }
        if matches!(error, PlanError::Simulate(fallrate_simulate::SimulateError::Cancelled { .. })) {
            return AppError::Cancelled;
        }
        let near = match &error {
            PlanError::Unknown { name, allowed, .. } => nearest(name, allowed.split(", ")).map(str::to_owned),
            _ => None,
        };
        AppError::Plan(Box::new(NoPlan { place: plan_place(&self.name, &self.text, &error), error, near }))
    }
}
