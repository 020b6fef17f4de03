//! What was entered, as the address of the page carries it.

use std::collections::BTreeMap;

use fallrate_app::{Asked, Units};

use super::fields::{CHOSEN, FIELDS, MOST_STAGES, PER_MASS, STAGE_ENDS, STAGE_FIELDS};

/// kg in a pound.
pub(super) const POUND_KG: f64 = 0.453_592_37;

/// Entries of the form by key, as typed.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Entries {
    values: BTreeMap<String, String>,
    /// In which units numbers without a unit were typed.
    pub units: Units,
}

fn is_known(key: &str) -> bool {
    let stage = || {
        let (number, rest) = key.strip_prefix("stage.")?.split_once('.')?;
        let number: usize = number.parse().ok()?;
        let typed = STAGE_FIELDS.iter().any(|(k, ..)| *k == rest) || rest == "fan" || rest == "until";
        Some((1..=MOST_STAGES).contains(&number) && typed)
    };
    FIELDS.iter().any(|f| f.key == key) || CHOSEN.contains(&key) || stage().unwrap_or(false)
}

impl Entries {
    /// From the pairs of a query or form; what is not known is left out.
    pub(crate) fn new(pairs: Vec<(String, String)>, units: Units) -> Self {
        let typed_in = match pairs.iter().find(|(k, _)| k == "units").map(|(_, v)| v.as_str()) {
            Some("us") => Units::Us,
            Some("si") => Units::Si,
            _ => units,
        };
        let clean = |text: &str| -> String {
            text.chars().filter(|c| !c.is_control()).take(200).collect::<String>().trim().to_owned()
        };
        let known = pairs.iter().filter(|(k, _)| is_known(k));
        let values = known.map(|(k, v)| (k.clone(), clean(v))).filter(|(_, v)| !v.is_empty());
        Self { values: values.collect(), units: typed_in }.settled()
    }

    /// Product and cabinet are always chosen.
    fn settled(mut self) -> Self {
        for (key, first) in [("product", "apple"), ("cabinet", "north")] {
            self.values.entry(key.to_owned()).or_insert_with(|| first.to_owned());
        }
        self
    }

    pub(crate) fn get(&self, key: &str) -> &str {
        self.values.get(key).map_or("", String::as_str)
    }
    pub(crate) fn set(&mut self, key: &str, value: &str) {
        if value.is_empty() {
            self.values.remove(key);
        } else {
            self.values.insert(key.to_owned(), value.to_owned());
        }
    }
    /// Number of stages written by hand.
    pub(crate) fn stages(&self) -> usize {
        self.get("stages").parse().unwrap_or(0).min(MOST_STAGES)
    }

    /// What an entry asks for.
    pub(crate) fn asked(&self, key: &str) -> Asked {
        if let Some(f) = FIELDS.iter().find(|f| f.key == key) {
            return f.asked;
        }
        let Some((number, rest)) = key.strip_prefix("stage.").and_then(|k| k.split_once('.')) else {
            return Asked::Words;
        };
        if rest == "until_value" {
            let until = self.get(&format!("stage.{number}.until"));
            return STAGE_ENDS.iter().find(|(k, ..)| *k == until).map_or(Asked::Words, |e| e.2);
        }
        STAGE_FIELDS.iter().find(|(k, ..)| *k == rest).map_or(Asked::Words, |f| f.2)
    }

    /// The same entries for a reader of other units: numbers typed without a unit get the one they were typed in.
    pub(crate) fn seen_in(mut self, units: Units) -> Self {
        if units == self.units {
            return self;
        }
        let keys: Vec<String> = self.values.keys().cloned().collect();
        for key in keys {
            let asked = self.asked(&key);
            let Ok(Some(typed)) = asked.read(self.get(&key), self.units) else { continue };
            let value = if PER_MASS.contains(&key.as_str()) {
                let factor = if units == Units::Us { POUND_KG } else { 1.0 / POUND_KG };
                typed.value.parse::<f64>().map_or(typed.value, |v| format!("{:.2}", v * factor))
            } else {
                typed.value
            };
            self.values.insert(key, value);
        }
        self.units = units;
        self
    }

    /// As a query, without its question mark.
    pub(crate) fn query(&self) -> String {
        let units = if self.units == Units::Us { "us" } else { "si" };
        let pairs = self.values.iter().map(|(k, v)| format!("{}={}", encode(k), encode(v)));
        pairs.chain([format!("units={units}")]).collect::<Vec<_>>().join("&")
    }
}

/// A text as part of a query.
pub(crate) fn encode(text: &str) -> String {
    let mut out = String::new();
    for b in text.bytes() {
        if b.is_ascii_alphanumeric() || matches!(b, b'-' | b'.' | b'_' | b'~') {
            out.push(char::from(b));
        } else {
            out.push_str(&format!("%{b:02X}"));
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    fn entries(pairs: &[(&str, &str)], units: Units) -> Entries {
        Entries::new(pairs.iter().map(|(k, v)| ((*k).to_owned(), (*v).to_owned())).collect(), units)
    }

    #[test]
    fn identity_other_units_change_no_meaning() {
        let e = entries(&[("load.amount", "22"), ("piece.thickness", "7 mm")], Units::Si).seen_in(Units::Us);
        assert_eq!((e.get("load.amount"), e.get("piece.thickness")), ("22 kg", "7 mm"));
        let e = entries(&[("money.raw_price_per_kg", "10")], Units::Si).seen_in(Units::Us);
        assert_eq!(e.get("money.raw_price_per_kg"), "4.54");
    }

    #[test]
    fn refuse_keys_that_nobody_asked_for() {
        let e = entries(&[("product", "kale"), ("evil", "1"), ("stage.10.name", "x")], Units::Si);
        assert_eq!((e.get("product"), e.get("evil"), e.get("stage.10.name")), ("kale", "", ""));
        assert_eq!(encode("a b&c=ñ"), "a%20b%26c%3D%C3%B1");
    }
}
