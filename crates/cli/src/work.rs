//! The verbs.

use std::io::{self, IsTerminal, Write};
use std::path::{Path, PathBuf};

use fallrate_app::ports::FileFault;
use fallrate_app::{
    AirQuestion, AppError, Detail, Language, Library, Page, PlanCase, Reader, air_page, cabinet_page,
    cabinets_page, chart_files, check, compare, compare_page, compare_ways, curves_csv, html_page, plan_page,
    plan_report, plan_schema, product_page, products_page, terminal_page,
};

use crate::args::{AirArgs, Cli, CompareArgs, Look, Output, PlanArgs, Verb};
use crate::disk::{Disk, Pending};
use crate::progress::Watch;

/// Why the work was not done.
#[derive(Debug)]
pub enum Fault {
    /// Ctrl-C.
    Stopped,
    /// Nobody reads the output any more.
    PipeClosed,
    /// Anything else, in words.
    App(String),
}

impl From<AppError> for Fault {
    fn from(e: AppError) -> Self {
        match e {
            AppError::Cancelled => Self::Stopped,
            AppError::Problems(p) => {
                let count = p.list().len();
                let head = if count > 1 { format!("{count} problems\n") } else { String::new() };
                Self::App(format!("{head}{p}"))
            }
            e => Self::App(e.to_string()),
        }
    }
}

impl From<FileFault> for Fault {
    fn from(e: FileFault) -> Self {
        Self::App(e.to_string())
    }
}

/// Who reads, how, and what is known.
pub(crate) struct Desk<'a> {
    look: &'a Look,
    language: Language,
    pub(crate) reader: Reader,
    pub(crate) library: Library,
}

/// Does what the command line asks.
///
/// # Errors
/// [`Fault`].
pub fn run(cli: &Cli) -> Result<u8, Fault> {
    let language = cli.look.lang.into();
    let desk = Desk {
        look: &cli.look,
        language,
        reader: Reader::new(language, cli.look.units.into()),
        library: Library::embedded()?,
    };
    match &cli.verb {
        Verb::Readings(a) => return desk.readings(a),
        Verb::Judge(a) => return desk.judge(a),
        Verb::Record(a) => return desk.record(&a.verb),
        Verb::Criteria(a) => return desk.criteria(a),
        Verb::Commission(a) => return desk.commission(a),
        Verb::Drift(a) => return desk.drift(a),
        Verb::Plan(a) => desk.plan(a),
        Verb::Compare(a) => desk.compare(a),
        Verb::Products(a) => match &a.name {
            None => desk.show(&products_page(&desk.library, &desk.reader)),
            Some(name) => {
                desk.show(&product_page(&desk.library.product(&Disk, name)?, &desk.library, &desk.reader))
            }
        },
        Verb::Cabinets(a) => match &a.name {
            None => desk.show(&cabinets_page(&desk.library, &desk.reader)),
            Some(name) => {
                desk.show(&cabinet_page(&desk.library.cabinet(&Disk, name)?, &desk.library, &desk.reader))
            }
        },
        Verb::Air(a) => desk.show(&air_page(&question(a), &desk.reader)?),
        Verb::Trial(a) => desk.trial(&a.verb),
        Verb::Learn(a) => desk.learn(a),
        Verb::Move(a) => desk.move_plan(a),
        Verb::ThinLayer(a) => desk.thin_layer(a),
        Verb::Isotherm(a) => desk.isotherm(a),
        Verb::Check(a) => desk.check(&a.files),
        Verb::Rehearse(a) => crate::rehearse::rehearse(&desk.library, a),
        Verb::Serve(a) => crate::serve::serve(a),
        Verb::Data(a) => crate::data::data(a),
        Verb::Schema => print(&plan_schema()),
    }
    .map(|()| 0)
}

/// Writes to standard output.
pub(crate) fn print(text: &str) -> Result<(), Fault> {
    print_bytes(text.as_bytes())
}

fn print_bytes(bytes: &[u8]) -> Result<(), Fault> {
    let mut out = io::stdout().lock();
    match out.write_all(bytes).and_then(|()| out.flush()) {
        Ok(()) => Ok(()),
        Err(e) if e.kind() == io::ErrorKind::BrokenPipe => Err(Fault::PipeClosed),
        Err(e) => Err(Fault::App(format!("standard output: cannot be written: {e}"))),
    }
}

fn is_stdout(path: &Path) -> bool {
    path.as_os_str() == "-"
}

fn question(a: &AirArgs) -> AirQuestion {
    AirQuestion {
        dry_bulb: a.dry_bulb,
        wet_bulb: a.wet_bulb,
        dew_point: a.dew_point,
        relative_humidity: a.rh,
        humidity_ratio: a.humidity_ratio,
        altitude: a.altitude,
        pressure: a.pressure,
        want_wet_bulb: a.want_wet_bulb,
        want_relative_humidity: a.want_rh,
        volume: a.volume,
    }
}

impl Desk<'_> {
    fn show(&self, page: &Page) -> Result<(), Fault> {
        print(&self.terminal(page))
    }

    fn terminal(&self, page: &Page) -> String {
        terminal_page(page, self.language, self.columns(), Self::styled())
    }
    /// Columns of the terminal.
    pub(crate) fn columns(&self) -> usize {
        self.look.width.map(usize::from).or_else(terminal_columns).unwrap_or(100)
    }
    /// Whether bold and dim are shown.
    pub(crate) fn styled() -> bool {
        io::stdout().is_terminal() && std::env::var_os("NO_COLOR").is_none()
    }

    fn detail(&self) -> Detail {
        if self.look.full { Detail::Full } else { Detail::Brief }
    }

    fn plan(&self, a: &PlanArgs) -> Result<(), Fault> {
        let to_stdout = [&a.json, &a.csv].into_iter().flatten().filter(|p| is_stdout(p)).count();
        if to_stdout > 1 {
            return Err(Fault::App(
                "'-' given for both --json and --csv; allowed: for one of them".to_owned(),
            ));
        }
        let watch = Watch::new();
        let case = PlanCase::read(&self.library, &Disk, &a.file, &a.with)?;
        let planned = case.plan(usize::from(a.draws), &|p| watch.tell(p))?;
        let mut files: Vec<(PathBuf, Vec<u8>)> = Vec::new();
        if let Some(path) = &a.json {
            files.push((path.clone(), plan_report(&planned, &self.library, &self.reader).into_bytes()));
        }
        if let Some(path) = &a.csv {
            files.push((path.clone(), curves_csv(&planned, &self.library, &self.reader)?));
        }
        let full = plan_page(&planned, &self.library, &self.reader, Detail::Full);
        let piped: Vec<Vec<u8>> =
            files.iter().filter(|(p, _)| is_stdout(p)).map(|(_, bytes)| bytes.clone()).collect();
        files.retain(|(p, _)| !is_stdout(p));
        self.write(&full, &a.output, files, &watch)?;
        watch.clear();
        match piped.first() {
            Some(bytes) => print_bytes(bytes),
            None => self.show(&plan_page(&planned, &self.library, &self.reader, self.detail())),
        }
    }

    /// Writes every file asked for, or none.
    fn write(
        &self,
        page: &Page,
        output: &Output,
        files: Vec<(PathBuf, Vec<u8>)>,
        watch: &Watch,
    ) -> Result<(), Fault> {
        let mut pending = Pending::default();
        for (path, bytes) in files {
            pending.add(&path, &bytes)?;
        }
        if let Some(path) = &output.html {
            pending.add(path, html_page(page, self.language).as_bytes())?;
        }
        if let Some(folder) = &output.charts {
            pending.folder(folder)?;
            for chart in chart_files(page)? {
                pending.add(&folder.join(chart.name), &chart.bytes)?;
            }
        }
        if watch.is_stopped() {
            return Err(Fault::Stopped);
        }
        Ok(pending.commit()?)
    }

    fn compare(&self, a: &CompareArgs) -> Result<(), Fault> {
        let watch = Watch::new();
        let read =
            |file: &String, with: &[fallrate_app::Change]| PlanCase::read(&self.library, &Disk, file, with);
        let tell = |p| watch.tell(p);
        let compared = match (&a.files[..], a.ways, a.with.is_empty()) {
            ([file], true, _) => compare_ways(read(file, &[])?, &tell)?,
            ([file], false, false) => {
                compare(vec![read(file, &[])?, read(file, &a.with)?], usize::from(a.draws), &tell)?
            }
            (files, false, true) => {
                let cases = files.iter().map(|f| read(f, &[])).collect::<Result<Vec<_>, _>>()?;
                compare(cases, usize::from(a.draws), &tell)?
            }
            _ => {
                return Err(Fault::App(
                    "--with and --ways take one plan file; allowed: one file with either, or files alone"
                        .to_owned(),
                ));
            }
        };
        let page = compare_page(&compared, &self.library, &self.reader);
        self.write(&page, &a.output, Vec::new(), &watch)?;
        watch.clear();
        self.show(&page)
    }

    /// Checks every file and names every problem before it fails.
    fn check(&self, files: &[String]) -> Result<(), Fault> {
        let mut bad = Vec::new();
        for file in files {
            match check(&self.library, &Disk, file, &self.reader) {
                Ok(checked) => print(&format!("{}\n", checked.line))?,
                Err(e) => bad.push(e.to_string()),
            }
        }
        if bad.is_empty() { Ok(()) } else { Err(Fault::App(bad.join("\n"))) }
    }
}

/// Width of the terminal.
fn terminal_columns() -> Option<usize> {
    terminal_size::terminal_size().map(|(width, _)| usize::from(width.0))
}
