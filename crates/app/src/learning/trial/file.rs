//! The trial file: what was dried where, and the files of its readings.

use std::path::Path;

use fallrate_datafile::{Document, Section};
use fallrate_fit::trial::{Trial, Unknown};
use fallrate_foods::Product;
use fallrate_series::CalendarDate;
use fallrate_units::{Length, Mass, MoistureWetBasis, Quantity, TimeOfDay};

use super::log::read_log;
use super::place::{Place, place};
use crate::error::AppError;
use crate::learning::ProductText;
use crate::library::{Library, is_path, read_text};
use crate::plan_case::PlanCase;
use crate::ports::Files;
use crate::proof::LocalClock;

/// Names of unknowns in trial files.
pub(super) const UNKNOWNS: [&str; 6] = [
    "diffusivity",
    "activation energy",
    "moisture dependence",
    "exchange",
    "water held",
    "sideways shrinkage",
];

/// A trial file with everything it names.
#[derive(Clone, Debug)]
pub struct TrialFile {
    /// Name of the file.
    pub file_name: String,
    /// Title.
    pub title: String,
    /// Whether the readings are made up.
    pub invented: bool,
    /// Product with its text.
    pub product: ProductText,
    /// What is fitted.
    pub unknowns: Vec<Unknown>,
    /// Whether what the product file says counts beside the trials.
    pub count_beliefs: bool,
    /// Trials.
    pub cases: Vec<TrialCase>,
}

/// One trial with what is shown beside it.
#[derive(Clone, Debug)]
pub struct TrialCase {
    /// As it is fitted.
    pub trial: Trial,
    /// Day.
    pub date: CalendarDate,
    /// Clock at the start.
    pub start: TimeOfDay,
    /// Key of the cabinet; none in a tunnel.
    pub cabinet: Option<String>,
    /// Fresh product on a tray, kg, where the plan says it.
    pub load_kg: Option<f64>,
}

/// What every trial states.
pub(super) struct Stated {
    pub name: String,
    pub date: CalendarDate,
    pub start: TimeOfDay,
    pub zone: LocalClock,
    pub files: Vec<String>,
    pub plan: Option<String>,
    pub air: Option<usize>,
    pub raw_moisture: Option<MoistureWetBasis>,
    pub raw_moisture_error: Option<MoistureWetBasis>,
    pub thickness: Option<Length>,
    pub thickness_error: Option<f64>,
    pub scale_error: Mass,
    pub core_error_k: f64,
    pub trays: Vec<TrayStated>,
    pub cores: Vec<CoreStated>,
    pub tunnel: Option<super::place::TunnelStated>,
}

/// A weighed tray.
#[derive(Clone, Debug)]
pub(super) struct TrayStated {
    pub number: u16,
    pub group: Option<String>,
    pub tare: Mass,
}

/// A core probe.
#[derive(Clone, Debug)]
pub(super) struct CoreStated {
    pub number: u16,
    pub group: Option<String>,
}

/// The trial file as written, before the files it names are opened.
struct Written {
    title: String,
    invented: bool,
    product: String,
    unknowns: Vec<Unknown>,
    count_beliefs: bool,
    trials: Vec<Stated>,
}

impl TrialFile {
    /// Reads a trial file and everything it names; paths are taken from its folder.
    ///
    /// # Errors
    /// Every problem of the file with its place; [`AppError`] for the files it names.
    pub fn read(library: &Library, files: &dyn Files, path: &str) -> Result<Self, AppError> {
        Self::of(library, files, path, true)
    }

    /// Reads a trial file for planning: its weighings need not be there yet.
    ///
    /// # Errors
    /// As [`TrialFile::read`].
    pub fn read_before(library: &Library, files: &dyn Files, path: &str) -> Result<Self, AppError> {
        Self::of(library, files, path, false)
    }

    fn of(library: &Library, files: &dyn Files, path: &str, weighed: bool) -> Result<Self, AppError> {
        let (file_name, text) = read_text(files, Path::new(path))?;
        let doc = Document::parse(&file_name, &text)?;
        let written = written(&doc.root(), weighed);
        let written = doc.finish_with(written)?;
        let product = ProductText::read(library, files, &beside(path, &written.product))?;
        let mut cases = Vec::new();
        for stated in &written.trials {
            cases.push(case(library, files, (path, weighed), stated, &product.product)?);
        }
        Ok(Self {
            file_name,
            title: written.title,
            invented: written.invented,
            product,
            unknowns: written.unknowns,
            count_beliefs: written.count_beliefs,
            cases,
        })
    }

    /// The trials as they are fitted.
    #[must_use]
    pub fn trials(&self) -> Vec<Trial> {
        self.cases.iter().map(|c| c.trial.clone()).collect()
    }
}

/// A key as it is; a path from the folder of the trial file.
fn beside(path: &str, name: &str) -> String {
    if is_path(name) { in_folder(path, name) } else { name.to_owned() }
}

pub(super) fn in_folder(path: &str, name: &str) -> String {
    let joined = Path::new(path).parent().map_or_else(|| name.into(), |p| p.join(name));
    let joined = joined.to_string_lossy().into_owned();
    if joined.contains('/') { joined } else { format!("./{joined}") }
}

fn case(
    library: &Library,
    files: &dyn Files,
    (path, weighed): (&str, bool),
    stated: &Stated,
    product: &Product,
) -> Result<TrialCase, AppError> {
    let plan =
        stated.plan.as_ref().map(|p| PlanCase::read(library, files, &in_folder(path, p), &[])).transpose()?;
    let Place { mut trial, load_kg, groups } = place(stated, plan.as_ref(), product, path)?;
    if weighed {
        read_log(files, path, stated, &mut trial, &groups)?;
    } else {
        trial.trays = super::log::empty_trays(stated, &groups, path)?;
    }
    Ok(TrialCase {
        trial,
        date: stated.date,
        start: stated.start,
        cabinet: plan.map(|p| p.cabinet.key),
        load_kg,
    })
}

fn written(root: &Section<'_>, weighed: bool) -> Option<Written> {
    let title = root.required_text("title");
    let invented = root.flag("invented").unwrap_or(false);
    let product = root.required_text("product");
    let zone = zone(root);
    let listed = root.texts("unknowns");
    let mut unknowns = Vec::new();
    for name in listed.iter().flatten() {
        match UNKNOWNS.iter().position(|u| u == name) {
            Some(i) => unknowns.push(Unknown::OF_PRODUCT[i]),
            None => root.report("unknowns", &format!("'{name}'"), &UNKNOWNS.join(", ")),
        }
    }
    if listed.is_none() {
        unknowns = Unknown::OF_PRODUCT.to_vec();
    }
    let count_beliefs = root.choice("product_file", &["count", "leave out"]).unwrap_or(0) == 0;
    let sections = root.sections("trial");
    if sections.is_empty() {
        root.report("trial", "none", "one section [[trial]] for each trial");
    }
    let zone = zone?;
    let trials: Vec<Option<Stated>> = sections.iter().map(|s| stated(s, &zone, weighed)).collect();
    Some(Written {
        title: title?,
        invented,
        product: product?,
        unknowns,
        count_beliefs,
        trials: trials.into_iter().collect::<Option<_>>()?,
    })
}

fn zone(root: &Section<'_>) -> Option<LocalClock> {
    const ALLOWED: &str = "a zone of the zone database as 'America/Denver', 'UTC', or an offset as '-07:00'";
    if !root.has("zone") {
        root.report("zone", "missing", ALLOWED);
        return None;
    }
    root.parsed("zone", ALLOWED, LocalClock::named)
}

fn stated(s: &Section<'_>, zone: &LocalClock, weighed: bool) -> Option<Stated> {
    let name = s.required_text("name");
    if !s.has("date") {
        s.report("date", "missing", "a day as '2026-03-13'");
    }
    let date = s.parsed("date", "a day as '2026-03-13'", |t| CalendarDate::parse(t).ok());
    let start = s.required_clock("start");
    let listed = s.texts("files").unwrap_or_default();
    if listed.is_empty() && weighed {
        s.report("files", "none", "the files of weighings, and of the air where it was recorded");
    }
    let plan = s.text("plan");
    let tunnel = s.section("tunnel").map(|t| super::place::tunnel(&t));
    if plan.is_some() == tunnel.is_some() {
        s.report_here("plan and tunnel", "one of the two: 'plan', a plan file, or a section [trial.tunnel]");
    }
    let wet = |key: &str, low: f64, high: f64| {
        s.quantity(key, MoistureWetBasis::from_base(low)..=MoistureWetBasis::from_base(high))
    };
    let (raw_moisture, raw_moisture_error) =
        (wet("raw_moisture", 0.02, 0.985), wet("raw_moisture_error", 1e-4, 0.2));
    let mm = Length::from_millimetres;
    let thickness = s.quantity("thickness", mm(0.1)..=mm(100.0));
    let share = |f: f64| fallrate_units::Fraction::from_base(f);
    let thickness_error = s.quantity("thickness_error", share(0.001)..=share(0.5));
    let kg = |v: f64| Mass::from_kilograms(v);
    let scale_error = s.quantity("scale_error", kg(1e-5)..=kg(0.5));
    let kelvin = fallrate_units::TemperatureDifference::from_kelvin;
    let core_error = s.quantity("core_error", kelvin(0.05)..=kelvin(10.0));
    let air = s.choice("air", &["recorded", "computed"]);
    let trays: Vec<Option<TrayStated>> = s
        .sections("tray")
        .iter()
        .map(|t| {
            let number = t.required_integer("number", 1..=999).and_then(|n| u16::try_from(n).ok());
            let (group, tare) = (t.text("group"), t.required("tare", kg(0.0)..=kg(50.0)));
            Some(TrayStated { number: number?, group, tare: tare? })
        })
        .collect();
    if trays.is_empty() {
        s.report(
            "tray",
            "none",
            "one section [[trial.tray]] for each weighed tray, with its number and tare",
        );
    }
    let cores: Vec<Option<CoreStated>> = s
        .sections("core")
        .iter()
        .map(|c| {
            let number = c.required_integer("number", 1..=999).and_then(|n| u16::try_from(n).ok());
            Some(CoreStated { number: number?, group: c.text("group") })
        })
        .collect();
    Some(Stated {
        name: name?,
        date: date?,
        start: start?,
        zone: zone.clone(),
        files: listed,
        plan,
        air,
        raw_moisture,
        raw_moisture_error,
        thickness,
        thickness_error: thickness_error.map(fallrate_units::Fraction::fraction),
        scale_error: scale_error.unwrap_or(kg(0.002)),
        core_error_k: core_error.map_or(1.0, fallrate_units::TemperatureDifference::kelvin),
        trays: trays.into_iter().collect::<Option<_>>()?,
        cores: cores.into_iter().collect::<Option<_>>()?,
        tunnel: match tunnel {
            Some(found) => Some(found?),
            None => None,
        },
    })
}
