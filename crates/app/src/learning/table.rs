//! Small tables as spreadsheets write them: a row of headings with units, then rows of numbers.

use fallrate_units::UnitError;

use super::LearningFault;

/// One column that is looked for.
pub(super) struct Wanted {
    /// Name in messages.
    pub name: &'static str,
    /// Words of headings, in English and Spanish, lower case.
    pub words: &'static [&'static str],
}

/// A cell with its heading's unit.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Value {
    pub line: u64,
    /// The number with its unit, a point as decimal mark.
    pub text: String,
    pub number: Option<f64>,
    pub unit: String,
}

/// A table of the columns that were found.
pub(super) struct Table {
    file: String,
    headings: Vec<String>,
    rows: Vec<(u64, Vec<String>)>,
    comma: bool,
}

impl Table {
    /// Reads bytes: `#` begins a comment line; comma, semicolon or tab divide cells; with the last two a comma is a decimal
    /// mark.
    pub fn read(file: &str, bytes: &[u8]) -> Result<Self, LearningFault> {
        let text =
            std::str::from_utf8(bytes).map_err(|_| LearningFault::NotText { file: file.to_owned() })?;
        let text = text.trim_start_matches('\u{feff}');
        let first = text.lines().find(|l| !l.trim().is_empty() && !l.starts_with('#')).unwrap_or_default();
        let divider = [b'\t', b';'].into_iter().find(|d| first.as_bytes().contains(d)).unwrap_or(b',');
        let mut reader = csv::ReaderBuilder::new()
            .delimiter(divider)
            .comment(Some(b'#'))
            .trim(csv::Trim::All)
            .flexible(true)
            .from_reader(text.as_bytes());
        let broken = |e: csv::Error| LearningFault::Cell {
            what: "row",
            fault: format!("{e}; allowed: cells with one divider between"),
            file: file.to_owned(),
            line: e.position().map_or(1, csv::Position::line),
        };
        let headings: Vec<String> = reader.headers().map_err(broken)?.iter().map(str::to_owned).collect();
        let mut rows = Vec::new();
        for record in reader.records() {
            let record = record.map_err(broken)?;
            if record.iter().any(|c| !c.is_empty()) {
                let line = record.position().map_or(0, csv::Position::line);
                rows.push((line, record.iter().map(str::to_owned).collect()));
            }
        }
        if rows.is_empty() {
            return Err(LearningFault::NoRow { file: file.to_owned() });
        }
        Ok(Self { file: file.to_owned(), headings, rows, comma: divider != b',' })
    }

    fn shown_headings(&self) -> String {
        self.headings.iter().map(|h| format!("'{h}'")).collect::<Vec<_>>().join(", ")
    }

    /// The column of a thing; none where there is none.
    pub fn column(&self, wanted: &Wanted) -> Result<Option<usize>, LearningFault> {
        let is = |h: &String| {
            let (name, _) = name_and_unit(h);
            wanted.words.contains(&name.as_str())
        };
        let mut found = self.headings.iter().enumerate().filter(|(_, h)| is(h)).map(|(i, _)| i);
        let (one, other) = (found.next(), found.next());
        if other.is_some() {
            let (column, file, headings) = (wanted.name, self.file.clone(), self.shown_headings());
            return Err(LearningFault::ColumnTwice { column, file, headings });
        }
        Ok(one)
    }

    /// The column of a thing that must be there.
    pub fn needed(&self, wanted: &Wanted, allowed: &'static str) -> Result<usize, LearningFault> {
        self.column(wanted)?.ok_or_else(|| LearningFault::NoColumn {
            column: wanted.name,
            allowed,
            file: self.file.clone(),
            headings: self.shown_headings(),
        })
    }

    /// The cells of a column, row by row.
    pub fn cells(&self, column: usize) -> impl Iterator<Item = Value> + '_ {
        let (_, unit) = name_and_unit(&self.headings[column]);
        self.rows.iter().map(move |(line, cells)| {
            let cell = cells.get(column).map_or("", String::as_str);
            let cell = if self.comma { cell.replace(',', ".") } else { cell.to_owned() };
            let number = cell.parse::<f64>().ok().filter(|n| n.is_finite());
            let text = if number.is_some() { format!("{cell} {unit}") } else { cell };
            Value { line: *line, text, number, unit: unit.clone() }
        })
    }

    /// The texts of a column as they stand.
    pub fn texts(&self, column: usize) -> Vec<String> {
        self.rows.iter().map(|(_, cells)| cells.get(column).cloned().unwrap_or_default()).collect()
    }

    /// A cell read by a parser of quantities.
    pub fn quantity<Q>(
        &self,
        what: &'static str,
        cell: &Value,
        parse: impl Fn(&str) -> Result<Q, UnitError>,
    ) -> Result<Q, LearningFault> {
        parse(&cell.text).map_err(|e| LearningFault::cell(what, &e, &self.file, cell.line))
    }

    /// A cell that is a plain number.
    pub fn number(&self, what: &'static str, cell: &Value) -> Result<f64, LearningFault> {
        let fault = || format!("'{}'; allowed: a number", cell.text);
        let (file, line) = (self.file.clone(), cell.line);
        cell.number.ok_or_else(|| LearningFault::Cell { what, fault: fault(), file, line })
    }
}

/// "Moisture (% db)" as "moisture" and "% db".
fn name_and_unit(heading: &str) -> (String, String) {
    let heading = heading.trim();
    let cut = heading.find(['(', '[', ',']);
    let (name, unit) = cut.map_or((heading, ""), |at| heading.split_at(at));
    let unit = unit.trim_start_matches(['(', '[', ',']).trim_end_matches([')', ']']).trim();
    (name.trim().to_lowercase(), unit.to_owned())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn table_comma_decimals_and_units_in_headings() {
        let text = "# invented\nactividad de agua;humedad (% bs);temperatura [°C]\n0,33;8,1;25\n";
        let table = Table::read("a.csv", text.as_bytes()).unwrap();
        let wanted = Wanted { name: "moisture", words: &["humedad"] };
        let at = table.needed(&wanted, "").unwrap();
        let cell = table.cells(at).next().unwrap();
        assert_eq!((cell.text.as_str(), cell.number, cell.line), ("8.1 % bs", Some(8.1), 3));
        let none = Wanted { name: "weight", words: &["weight"] };
        let fault = table.needed(&none, "'weight (g)'").unwrap_err().to_string();
        assert!(fault.starts_with("column 'weight': missing; allowed: 'weight (g)'; a.csv"), "{fault}");
    }
}
