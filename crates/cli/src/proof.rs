//! The verbs `readings` and `judge`.

use std::path::{Path, PathBuf};

use fallrate_app::ports::Files;
use fallrate_app::proof::{
    Answer, Batch, BatchDocument, Gathered, Guidance, LogTarget, OptionId, ReadingsFile, StudyQuery,
    answer_questions, gather, guidance_document, judge_batch, judged_json, mapping_to_keep, question_lines,
    readings_document, species_from_word, species_words,
};
use fallrate_app::{Document, document_page, document_pdf, document_text};

use crate::disk::{Disk, Pending};
use crate::proof_args::{CriteriaArgs, CriteriaTopic, DocumentFiles, JudgeArgs, LethalityArg, ReadingsArgs};
use crate::work::{Desk, Fault, print};

/// Most bytes of a logger file that is read whole.
const MOST_BYTES: usize = 1 << 30;
/// Most bytes of a mapping or batch file.
const MOST_TEXT: usize = 4 << 20;

/// Exit code of an answer.
pub fn code(answer: Answer) -> u8 {
    match answer {
        Answer::Met => 0,
        Answer::NotMet => 1,
        Answer::CannotBeJudged => 2,
    }
}

/// A logger file with its mapping: the one named for it, else the one beside it.
pub fn readings_file(path: &Path, mappings: &[String]) -> Result<ReadingsFile, Fault> {
    let bytes = Disk.read(path, MOST_BYTES)?;
    let name = path.file_name().map_or_else(String::new, |n| n.to_string_lossy().into_owned());
    let named = mappings
        .iter()
        .filter_map(|m| m.split_once('='))
        .find(|(log, _)| Path::new(log) == path || *log == name);
    let beside = path.with_extension("mapping.toml");
    let mapping = match named {
        Some((_, file)) => Some(PathBuf::from(file)),
        None => beside.is_file().then_some(beside),
    };
    let mapping = mapping.map(|m| text(&m)).transpose()?;
    Ok(ReadingsFile { name, bytes, mapping })
}

/// Name and text of a small file.
fn text(path: &Path) -> Result<(String, String), Fault> {
    let bytes = Disk.read(path, MOST_TEXT)?;
    let text = String::from_utf8(bytes)
        .map_err(|_| Fault::App(format!("{}: not text; allowed: UTF-8", path.display())))?;
    Ok((path.display().to_string(), text))
}

/// Every mapping must be of one of the files.
pub fn check_mappings(files: &[PathBuf], mappings: &[String]) -> Result<(), Fault> {
    for m in mappings {
        let log = m.split_once('=').map(|(log, _)| log);
        let known = |log: &str| {
            files
                .iter()
                .any(|f| f == Path::new(log) || f.file_name().is_some_and(|n| n.to_string_lossy() == log))
        };
        if !log.is_some_and(known) {
            let list: Vec<String> = files.iter().map(|f| f.display().to_string()).collect();
            return Err(Fault::App(format!(
                "--mapping '{m}'; allowed: LOG=FILE, LOG being one of {}",
                list.join(", ")
            )));
        }
    }
    Ok(())
}

/// A batch file.
pub fn batch_file(path: &Path) -> Result<(Batch, Vec<u8>), Fault> {
    let bytes = Disk.read(path, MOST_TEXT)?;
    let batch = Batch::parse(&path.display().to_string(), &bytes).map_err(fallrate_app::AppError::from)?;
    Ok((batch, bytes))
}

impl Desk<'_> {
    /// Shows a document and writes it where asked.
    pub fn document(&self, document: &Document, files: &DocumentFiles) -> Result<(), Fault> {
        let mut pending = Pending::default();
        if let Some(path) = &files.pdf {
            pending.add(path, &document_pdf(document)?)?;
        }
        if let Some(path) = &files.html {
            pending.add(path, document_page(document).as_bytes())?;
        }
        pending.commit()?;
        self.show_document(document)
    }
    /// Shows a document in the terminal.
    pub fn show_document(&self, document: &Document) -> Result<(), Fault> {
        print(&document_text(document, self.columns(), Self::styled()))
    }

    /// Looks at a logger file.
    pub fn readings(&self, a: &ReadingsArgs) -> Result<u8, Fault> {
        let mut file = readings_file(&a.file, &[])?;
        if let Some(mapping) = &a.mapping {
            file.mapping = Some(text(mapping)?);
        }
        let open = answer_questions(&file, a.zone.as_deref(), &a.answers)?;
        if let Some(path) = &a.keep {
            let mut pending = Pending::default();
            pending.add(path, mapping_to_keep(&open)?.as_bytes())?;
            pending.commit()?;
        }
        self.show_document(&readings_document(&open, &self.reader))?;
        Ok(if open.asked.questions.is_empty() { 0 } else { code(Answer::CannotBeJudged) })
    }

    /// Published limits, studies and advice.
    pub fn criteria(&self, a: &CriteriaArgs) -> Result<u8, Fault> {
        let animal = a.animal.as_deref().unwrap_or("beef");
        let species = species_from_word(animal).ok_or_else(|| {
            Fault::App(format!("--animal: '{animal}'; allowed: {}", species_words().join(", ")))
        })?;
        let what = match a.topic {
            CriteriaTopic::Options => Guidance::Options,
            CriteriaTopic::Routes => Guidance::Routes,
            CriteriaTopic::Moisture => Guidance::Moisture,
            CriteriaTopic::Produce => Guidance::Produce,
            CriteriaTopic::Exposure => Guidance::Exposure,
            CriteriaTopic::Rows => Guidance::Rows {
                species,
                fat_percent: a.fat,
                target: match a.lethality {
                    LethalityArg::Five => LogTarget::Five,
                    LethalityArg::SixPointFive => LogTarget::SixPointFive,
                    LethalityArg::Seven => LogTarget::Seven,
                },
            },
            CriteriaTopic::Studies => Guidance::Studies(StudyQuery {
                species: a.animal.clone().unwrap_or_default(),
                form: a.form.clone(),
                marinated: a.marinated,
                thickness_mm: None,
                wet_bulb_c: a.wet_bulb.map(fallrate_app::quantities::Temperature::celsius),
                wet_bulb_minutes: a.minutes,
            }),
        };
        let document = guidance_document(&what, &self.reader)?;
        self.document(&document, &DocumentFiles { pdf: None, html: a.html.clone() })?;
        Ok(0)
    }

    /// Judges logger files by a batch file.
    pub fn judge(&self, a: &JudgeArgs) -> Result<u8, Fault> {
        check_mappings(&a.files, &a.mappings)?;
        let (mut batch, _) = batch_file(&a.batch)?;
        for (n, id) in a.criteria.iter().enumerate() {
            if n == 0 {
                batch.claim.options.clear();
                batch.claim.claimed_at = None;
            }
            let option = OptionId::parse(id).map_err(fallrate_app::AppError::from)?;
            batch.claim.options.push(option);
            batch.claim.document = fallrate_app::proof::document_of(option);
        }
        let files: Vec<ReadingsFile> =
            a.files.iter().map(|f| readings_file(f, &a.mappings)).collect::<Result<_, _>>()?;
        fallrate_app::practice::refuse_simulated(&files, batch.identity.invented)?;
        let log = match gather(&files, batch.clock.name(), "")? {
            Gathered::Ready(log) => *log,
            Gathered::Open(open) => {
                let mut text = String::new();
                for file in &open {
                    text.push_str(&format!("{}\n", file.name));
                    text.extend(question_lines(file, &self.reader).into_iter().map(|l| l + "\n"));
                }
                return Err(Fault::App(format!(
                    "files that can be read in two ways; allowed: an answer to each, by 'fallrate readings FILE \
                     --answer N=K --keep FILE.mapping.toml'\n{text}"
                )));
            }
        };
        let judged = judge_batch(&batch, log)?;
        let document = BatchDocument { file: &batch, judged: &judged, record: None }.document(&self.reader);
        if let Some(path) = &a.json {
            let mut pending = Pending::default();
            pending.add(path, judged_json(&judged)?.as_bytes())?;
            pending.commit()?;
        }
        self.document(&document, &a.files_out)?;
        Ok(code(judged.lot()))
    }
}
