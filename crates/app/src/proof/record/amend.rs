//! Corrections: a changed copy of what an entry says.

use fallrate_store::{Body, Corrected};
use serde_json::Value;

use super::Record;
use crate::AppError;

/// One field of an entry set anew: "value=0.79", "sample=six pieces".
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Amend {
    /// The field, by the name it has in the record; parts joined by points.
    pub path: String,
    /// The new value: JSON where it is that, else text.
    pub value: String,
}

impl std::str::FromStr for Amend {
    type Err = String;
    fn from_str(text: &str) -> Result<Self, String> {
        match text.split_once('=') {
            Some((path, value)) if !path.trim().is_empty() => {
                Ok(Self { path: path.trim().to_owned(), value: value.trim().to_owned() })
            }
            _ => Err(format!("'{text}'; allowed: FIELD=VALUE, as 'value=0.79'")),
        }
    }
}

/// The correction of an entry: what it says, with some fields set anew.
///
/// # Errors
/// [`AppError::NoSuchEntry`], [`AppError::NoSuchField`] with the fields there are, [`AppError::NotAValue`].
pub fn amended_body(record: &Record, entry: u64, sets: &[Amend]) -> Result<Body, AppError> {
    let entries = record.chain.entries();
    let found = entries.iter().find(|e| e.n == entry);
    let body =
        found.map(|e| e.body.clone()).ok_or(AppError::NoSuchEntry { entry, entries: entries.len() })?;
    let body = match body {
        Body::Corrected(c) => *c.new,
        body => body,
    };
    let unreadable = |why: String| AppError::NotAValue { field: "entry".to_owned(), why };
    let mut json = serde_json::to_value(&body).map_err(|e| unreadable(e.to_string()))?;
    for set in sets {
        let field = json.get_mut("body").and_then(|b| at(b, &set.path));
        let Some(field) = field else {
            let known = json
                .get("body")
                .and_then(Value::as_object)
                .map_or_else(Vec::new, |o| o.keys().cloned().collect());
            return Err(AppError::NoSuchField { field: set.path.clone(), allowed: known.join(", ") });
        };
        let text = || Value::String(set.value.clone());
        // A word stays a word, also where it looks like a number ("4" as the version of a plan).
        *field = if field.is_string() {
            text()
        } else {
            serde_json::from_str(&set.value).unwrap_or_else(|_| text())
        };
    }
    let new: Body = serde_json::from_value(json).map_err(|e| {
        let field = sets.iter().map(|s| s.path.as_str()).collect::<Vec<_>>().join(", ");
        AppError::NotAValue { field, why: e.to_string() }
    })?;
    Ok(Body::Corrected(Corrected { entry, new: Box::new(new) }))
}

fn at<'a>(value: &'a mut Value, path: &str) -> Option<&'a mut Value> {
    path.split('.').try_fold(value, |v, key| match v {
        Value::Object(o) => o.get_mut(key),
        Value::Array(a) => key.parse::<usize>().ok().and_then(|i| a.get_mut(i)),
        _ => None,
    })
}
