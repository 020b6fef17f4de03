//! One change to a plan file, made in its text so that messages keep their lines.

use fallrate_datafile::nearest;
use toml_edit::{DocumentMut, Item, Table, Value};

/// A change: `load.total=20 kg`, `stage.vent=half` (every stage), `stage.dry.vent=half` or `stage.3.vent=half` (one).
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Change {
    /// Path of the key.
    pub path: Vec<String>,
    /// New value as written.
    pub value: String,
}

/// A change that cannot be made.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum ChangeError {
    /// Not of the form.
    #[error("change '{text}': no '='; allowed: KEY=VALUE, as 'load.total=20 kg' or 'stage.dry.vent=half'")]
    NoEquals {
        /// As written.
        text: String,
    },
    /// The key is no key.
    #[error("change '{text}': '{key}' is no key; allowed: names with dots between, as 'room.temperature'")]
    NoKey {
        /// As written.
        text: String,
        /// The key.
        key: String,
    },
    /// The stage does not exist.
    #[error("change '{text}': no stage '{name}'; allowed: {allowed}{}", near.as_ref().map_or(String::new(), |n| format!("; did you mean '{n}'?")))]
    NoStage {
        /// As written.
        text: String,
        /// The name.
        name: String,
        /// Stages there are.
        allowed: String,
        /// A name near it.
        near: Option<String>,
    },
    /// The path meets a value that is no section.
    #[error("change '{text}': '{key}' is a value; allowed: a key within a section of the plan file")]
    NoSection {
        /// As written.
        text: String,
        /// The key.
        key: String,
    },
}

impl Change {
    /// Reads `KEY=VALUE`.
    ///
    /// # Errors
    /// [`ChangeError`].
    pub fn parse(text: &str) -> Result<Self, ChangeError> {
        let (key, value) =
            text.split_once('=').ok_or_else(|| ChangeError::NoEquals { text: text.to_owned() })?;
        let path: Vec<String> = key.trim().split('.').map(|p| p.trim().to_owned()).collect();
        if path.iter().any(String::is_empty) || path.len() > 6 {
            return Err(ChangeError::NoKey { text: text.to_owned(), key: key.trim().to_owned() });
        }
        Ok(Self { path, value: value.trim().to_owned() })
    }

    /// As the user would write it.
    #[must_use]
    pub fn text(&self) -> String {
        format!("{}={}", self.path.join("."), self.value)
    }

    /// The text of a plan file with the change made. A text that is no TOML is given back as it is: its reader names
    /// what is wrong.
    ///
    /// # Errors
    /// [`ChangeError`].
    pub fn apply(&self, text: &str) -> Result<String, ChangeError> {
        let Ok(mut document) = text.parse::<DocumentMut>() else { return Ok(text.to_owned()) };
        let value = self.toml_value();
        if self.path.first().is_some_and(|k| k == "stage") && self.path.len() > 1 {
            self.stages(&mut document, &value)?;
        } else {
            self.set(document.as_table_mut(), &self.path, &value)?;
        }
        Ok(document.to_string())
    }

    /// A number, true, false or a list as such; anything else as a text.
    fn toml_value(&self) -> Value {
        self.value.parse::<Value>().unwrap_or_else(|_| Value::from(self.value.as_str()))
    }

    fn set(&self, table: &mut Table, path: &[String], value: &Value) -> Result<(), ChangeError> {
        let Some((key, rest)) = path.split_first() else { return Ok(()) };
        if rest.is_empty() {
            if let Some(old) = table.get_mut(key).and_then(Item::as_value_mut) {
                let decor = old.decor().clone();
                *old = value.clone();
                *old.decor_mut() = decor;
            } else {
                table.insert(key, Item::Value(value.clone()));
            }
            return Ok(());
        }
        let item = table.entry(key).or_insert_with(|| Item::Table(Table::new()));
        if let (Some(inline), [last]) = (item.as_inline_table_mut(), rest) {
            inline.insert(last, value.clone());
            return Ok(());
        }
        let no_section = || ChangeError::NoSection { text: self.text(), key: key.clone() };
        self.set(item.as_table_mut().ok_or_else(no_section)?, rest, value)
    }

    fn stages(&self, document: &mut DocumentMut, value: &Value) -> Result<(), ChangeError> {
        let (all, rest): (bool, &[String]) = match &self.path[1..] {
            [_] => (true, &self.path[1..]),
            longer => (false, longer.get(1..).unwrap_or_default()),
        };
        let wanted = self.path.get(1).cloned().unwrap_or_default();
        let list = document.get_mut("stage").and_then(Item::as_array_of_tables_mut);
        let mut names = Vec::new();
        let mut done = false;
        for (i, table) in list.into_iter().flat_map(|l| l.iter_mut()).enumerate() {
            let name = table.get("name").and_then(Item::as_str).unwrap_or_default().to_owned();
            if all || name == wanted || wanted == (i + 1).to_string() {
                self.set(table, rest, value)?;
                done = true;
            }
            names.push(name);
        }
        if done {
            return Ok(());
        }
        let near = nearest(&wanted, names.iter().map(String::as_str)).map(str::to_owned);
        let allowed = if names.is_empty() {
            "none: the file leaves the stages to be proposed".to_owned()
        } else {
            names.join(", ")
        };
        Err(ChangeError::NoStage { text: self.text(), name: wanted, allowed, near })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn after(change: &str, text: &str) -> Result<String, ChangeError> {
        Change::parse(change)?.apply(text)
    }

    #[test]
    fn identity_a_change_keeps_the_lines_of_the_rest() {
        let text =
            "a = 1 # one\n[room]\nhumidity = \"40 %\" # damp\n\n[[stage]]\nname = \"dry\"\nvent = \"half\"\n";
        let changed = after("room.humidity=55 %", text).expect("a change");
        assert_eq!(changed, text.replace("\"40 %\"", "\"55 %\""));
        assert_eq!(after("stage.dry.vent=full", text).expect("a change"), text.replace("half", "full"));
        assert_eq!(after("stage.1.vent=0.25", text).expect("a change"), text.replace("\"half\"", "0.25"));
    }

    #[test]
    fn identity_bad_changes_say_what_is_allowed() {
        let text = "[[stage]]\nname = \"dry\"\n";
        assert!(
            after("stage.dri.vent=half", text)
                .expect_err("no such stage")
                .to_string()
                .contains("did you mean 'dry'")
        );
        assert!(after("novalue", text).expect_err("no value").to_string().contains("KEY=VALUE"));
        assert!(after("x=1\n", "x = [").is_ok());
    }
}
