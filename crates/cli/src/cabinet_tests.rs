//! The verbs `commission` and `drift`.

use std::path::Path;

use fallrate_app::cabinet_tests::{
    Change, Commissioning, Evaluated, TestFolder, advice_document, commission_document, commission_json,
    drift_document, drift_json, evaluate, weigh_drift,
};
use fallrate_app::ports::Files;

use crate::cabinet_args::{CommissionArgs, DriftArgs};
use crate::disk::{Disk, Pending};
use crate::work::{Desk, Fault};

/// Most bytes of a file of tests.
const MOST_TEXT: usize = 4 << 20;
/// Nothing could be measured, or nothing is sure.
const OPEN: u8 = 2;

fn tests_file(name: &str) -> Result<Commissioning, Fault> {
    let bytes = Disk.read(Path::new(name), MOST_TEXT)?;
    Ok(Commissioning::parse(name, &bytes).map_err(fallrate_app::AppError::from)?)
}

impl Desk<'_> {
    fn evaluated(&self, name: &str) -> Result<Evaluated, Fault> {
        let file = tests_file(name)?;
        let logs = TestFolder { files: &Disk, beside: name };
        Ok(evaluate(file, &self.library, &Disk, &logs, &self.reader)?)
    }

    /// Evaluates the tests of a cabinet, or says which to do.
    pub fn commission(&self, a: &CommissionArgs) -> Result<u8, Fault> {
        if let Some(cabinet) = &a.advise {
            self.document(
                &advice_document(&self.library, &Disk, cabinet, None, &self.reader)?,
                &a.files_out,
            )?;
            return Ok(0);
        }
        let name = a.file.as_deref().unwrap_or_default();
        let found = self.evaluated(name)?;
        let mut pending = Pending::default();
        if let Some(path) = &a.cabinet {
            pending.add(path, found.cabinet_toml.as_bytes())?;
        }
        if let Some(path) = &a.json {
            pending.add(path, commission_json(&found)?.as_bytes())?;
        }
        pending.commit()?;
        let document = if a.next {
            advice_document(&self.library, &Disk, "", Some(&found), &self.reader)?
        } else {
            commission_document(&found, &self.reader)
        };
        self.document(&document, &a.files_out)?;
        Ok(if found.measured() == 0 { OPEN } else { 0 })
    }

    /// Weighs what has changed since a commissioning.
    pub fn drift(&self, a: &DriftArgs) -> Result<u8, Fault> {
        let before = self.evaluated(&a.earlier)?;
        let later = tests_file(&a.later)?;
        let logs = TestFolder { files: &Disk, beside: &a.later };
        let found = weigh_drift(&before, later, &logs, &self.reader)?;
        if let Some(path) = &a.json {
            let mut pending = Pending::default();
            pending.add(path, drift_json(&found)?.as_bytes())?;
            pending.commit()?;
        }
        self.document(&drift_document(&found, &self.reader), &a.files_out)?;
        Ok(match found.change() {
            Change::None => 0,
            Change::Some => 1,
            Change::NotSure => OPEN,
        })
    }
}
