//! The parsed file as an owned tree whose nodes know their place and whose keys know whether they were asked for.

use std::cell::{Cell, RefCell};

use toml::Spanned;
use toml::de::{DeTable, DeValue};

/// Deepest nesting of tables and lists; no file of ours needs more than five.
pub(crate) const DEEPEST: usize = 24;

#[derive(Debug)]
pub(crate) struct Node {
    /// Byte offset in the file.
    pub at: usize,
    pub value: Value,
}

#[derive(Debug)]
pub(crate) enum Value {
    Text(String),
    /// An integer as written, without underscores; `None` where it does not fit.
    Integer(Option<i64>, String),
    /// Not always finite: TOML has `nan` and `inf`.
    Number(f64, String),
    Flag(bool),
    /// A TOML date or time, unquoted.
    Date(String),
    List(Vec<Node>),
    Table(Table),
}

impl Value {
    /// The value as it is named in a message.
    pub fn describe(&self) -> String {
        match self {
            Self::Text(text) => crate::problem::excerpt(text),
            Self::Integer(_, text) | Self::Number(_, text) => {
                let shown = crate::problem::excerpt(text);
                shown.trim_matches('\'').to_owned()
            }
            Self::Flag(flag) => flag.to_string(),
            Self::Date(text) => format!("the date or time {text}"),
            Self::List(items) => format!("a list of {}", items.len()),
            Self::Table(_) => "a section".to_owned(),
        }
    }
}

#[derive(Debug)]
pub(crate) struct Entry {
    pub key: String,
    pub key_at: usize,
    pub node: Node,
    pub used: Cell<bool>,
}

#[derive(Debug, Default)]
pub(crate) struct Table {
    pub entries: Vec<Entry>,
    /// Keys asked for, whether present or not, in the order asked.
    pub asked: RefCell<Vec<String>>,
}

impl Table {
    /// Finds an entry and notes that it was asked for.
    pub fn ask(&self, key: &str) -> Option<&Entry> {
        let mut asked = self.asked.borrow_mut();
        if !asked.iter().any(|k| k == key) {
            asked.push(key.to_owned());
        }
        let entry = self.find(key)?;
        entry.used.set(true);
        Some(entry)
    }
    /// Finds an entry without noting anything.
    pub fn find(&self, key: &str) -> Option<&Entry> {
        self.entries.iter().find(|e| e.key == key)
    }
}

/// The tree, or the offset at which it nests too deeply.
pub(crate) fn table_from(source: &DeTable<'_>, depth: usize) -> Result<Table, usize> {
    let mut entries = Vec::with_capacity(source.len());
    for (key, value) in source.iter() {
        let key_at = key.span().start;
        if depth >= DEEPEST {
            return Err(key_at);
        }
        let node = node_from(value, depth + 1)?;
        entries.push(Entry { key: key.get_ref().to_string(), key_at, node, used: Cell::new(false) });
    }
    entries.sort_by_key(|e| e.key_at);
    Ok(Table { entries, asked: RefCell::default() })
}

fn node_from(source: &Spanned<DeValue<'_>>, depth: usize) -> Result<Node, usize> {
    let at = source.span().start;
    if depth > DEEPEST {
        return Err(at);
    }
    let value = match source.get_ref() {
        DeValue::String(text) => Value::Text(text.to_string()),
        DeValue::Integer(i) => {
            let number = i64::from_str_radix(i.as_str(), i.radix()).ok();
            Value::Integer(number, number.map_or_else(|| i.as_str().to_owned(), |n| n.to_string()))
        }
        DeValue::Float(x) => Value::Number(x.as_str().parse().unwrap_or(f64::NAN), x.as_str().to_owned()),
        DeValue::Boolean(flag) => Value::Flag(*flag),
        DeValue::Datetime(date) => Value::Date(date.to_string()),
        DeValue::Array(items) => {
            Value::List(items.iter().map(|i| node_from(i, depth + 1)).collect::<Result<_, _>>()?)
        }
        DeValue::Table(table) => Value::Table(table_from(table, depth)?),
    };
    Ok(Node { at, value })
}
