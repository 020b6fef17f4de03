//! Proposing what a column measures, from its heading and unit.
//!
//! Words are the trade's, in English, Spanish and German. A confidence is our own judgement between 0 and 1.

use fallrate_series::Role;

use crate::units_seen::Kind;

/// One thing a column may be.
#[derive(Clone, Debug, PartialEq)]
pub struct Proposal {
    /// The role; `None` to leave the column out.
    pub role: Option<Role>,
    /// From 0 (a guess) to 1 (said so).
    pub confidence: f64,
    /// The words that speak for it.
    pub because: String,
}

/// The kind of quantity a role holds.
#[must_use]
pub fn kind_of(role: &Role) -> Kind {
    use fallrate_series::BaseUnit;
    match role.base_unit() {
        BaseUnit::Celsius => Kind::Temperature,
        BaseUnit::Fraction => Kind::Share,
        BaseUnit::Kilograms => Kind::Mass,
        BaseUnit::Watts => Kind::Power,
        BaseUnit::Pascals => Kind::Pressure,
        BaseUnit::State => Kind::State,
        BaseUnit::AsWritten => Kind::Other,
    }
}

/// Words of a heading: lower case, accents removed, letters and digits parted.
#[must_use]
pub fn words(heading: &str) -> Vec<String> {
    let mut words: Vec<String> = Vec::new();
    let mut last = 0u8;
    for c in heading.chars().flat_map(char::to_lowercase) {
        let c = match c {
            'á' | 'à' | 'â' => 'a',
            'ä' => 'a',
            'é' | 'è' | 'ê' => 'e',
            'í' => 'i',
            'ó' | 'ö' | 'ô' => 'o',
            'ú' | 'ü' => 'u',
            'ñ' => 'n',
            'ß' => 's',
            other => other,
        };
        let class = if c.is_ascii_digit() {
            1
        } else if c.is_alphabetic() {
            2
        } else {
            0
        };
        if class != 0 {
            match words.last_mut() {
                Some(word) if class == last => word.push(c),
                _ => words.push(c.to_string()),
            }
        }
        last = class;
    }
    words
}

const WET: &[&str] =
    &["wet", "wetbulb", "wb", "twb", "wbt", "humedo", "feuchtkugel", "feuchttemperatur", "wick", "sock"];
const DRY: &[&str] = &["dry", "drybulb", "db", "tdb", "dbt", "seco", "trockenkugel", "trockentemperatur"];
const AIR: &[&str] = &[
    "air",
    "chamber",
    "cabinet",
    "oven",
    "smokehouse",
    "dryer",
    "drier",
    "exhaust",
    "supply",
    "inlet",
    "outlet",
    "return",
    "aire",
    "camara",
    "horno",
    "secador",
    "luft",
    "kammer",
    "zuluft",
    "abluft",
    "trockner",
];
const RH: &[&str] = &[
    "rh",
    "hr",
    "rf",
    "humidity",
    "hum",
    "humedad",
    "feuchte",
    "luftfeuchte",
    "luftfeuchtigkeit",
    "relhum",
    "hygro",
];
const CORE: &[&str] = &[
    "core",
    "internal",
    "product",
    "meat",
    "centre",
    "center",
    "nucleo",
    "interno",
    "interna",
    "producto",
    "carne",
    "kern",
    "kerntemperatur",
    "produkt",
    "fleisch",
    "jerky",
    "beef",
    "turkey",
    "chicken",
];
const SURFACE: &[&str] = &["surface", "skin", "superficie", "oberflache", "oberflaeche"];
const WEIGHT: &[&str] =
    &["weight", "wt", "scale", "load", "loadcell", "mass", "peso", "balanza", "gewicht", "waage", "masse"];
const TRAY: &[&str] = &["tray", "bandeja", "blech", "horde", "screen", "rack"];
const VENT: &[&str] = &["vent", "damper", "flap", "compuerta", "klappe", "louver", "louvre", "ventilacion"];
const DOOR: &[&str] = &["door", "puerta", "tur", "tuer"];
const FAN: &[&str] = &["fan", "blower", "ventilador", "lufter", "luefter"];
const STEAM: &[&str] = &["steam", "vapor", "dampf", "mist", "injection"];
const HEATER: &[&str] = &["heater", "heat", "element", "calefactor", "resistencia", "heizung"];
const POWER: &[&str] = &["power", "potencia", "leistung", "watt", "watts", "kw"];
const PRESSURE: &[&str] = &["pressure", "baro", "barometer", "barometric", "presion", "luftdruck", "druck"];
const ROOM: &[&str] = &["room", "outside", "outdoor", "sala", "exterior", "raum", "aussen", "workshop"];
/// Words that say the column is no measurement of the batch.
const NOT_MEASURED: &[&str] = &[
    "set",
    "setpoint",
    "setpt",
    "sp",
    "target",
    "consigna",
    "soll",
    "sollwert",
    "battery",
    "batt",
    "vbat",
    "bateria",
    "batterie",
    "rssi",
    "signal",
    "lqi",
    "alarm",
    "alarma",
    "status",
    "estado",
    "record",
    "rec",
    "no",
    "nr",
    "num",
    "id",
    "serial",
    "comment",
    "comments",
    "note",
    "notes",
    "nota",
    "notas",
    "bemerkung",
    "index",
    "idx",
    "sample",
    "scan",
    "stopped",
    "connected",
    "host",
    "file",
    "end",
    "button",
    "coupler",
    "bad",
    "dew",
    "dewpoint",
    "rocio",
    "taupunkt",
    "enthalpy",
    "volt",
    "voltage",
    "lot",
    "batch",
    "lote",
    "charge",
    "operator",
    "user",
    "name",
    "step",
    "program",
    "average",
    "avg",
    "mean",
    "min",
    "max",
    "setting",
    "internal_temp",
    "coldjunction",
    "cj",
    "cjc",
    "reserved",
    "spare",
    "checksum",
    "crc",
];
/// Words that name a sensor but not what it is in.
const VAGUE: &[&str] = &[
    "probe",
    "temp",
    "temperature",
    "t",
    "tc",
    "ch",
    "chan",
    "channel",
    "sensor",
    "sonda",
    "temperatura",
    "canal",
    "kanal",
    "fuhler",
    "fuehler",
    "thermocouple",
    "termopar",
    "input",
    "value",
    "valor",
    "wert",
    "rtd",
    "pt",
    "analog",
    "ai",
    "data",
    "reading",
    "messwert",
];

fn hit<'a>(words: &'a [String], list: &[&str]) -> Option<&'a str> {
    words.iter().find(|w| list.contains(&w.as_str())).map(String::as_str)
}

fn first_number(words: &[String]) -> Option<u16> {
    words.iter().find_map(|w| w.parse().ok()).filter(|n| *n > 0)
}

/// The words of a heading that say where a probe is.
fn position(words: &[String]) -> String {
    let known = |w: &str| {
        CORE.contains(&w)
            || SURFACE.contains(&w)
            || VAGUE.contains(&w)
            || w.bytes().all(|b| b.is_ascii_digit())
    };
    // "tray 3 left": the number belongs to the position
    if let Some(at) = words.iter().position(|w| TRAY.contains(&w.as_str()) || w == "shelf" || w == "piece") {
        return words.get(at..).unwrap_or(&[]).join(" ");
    }
    words
        .iter()
        .map(String::as_str)
        .filter(|w| !known(w) && w.chars().count() > 1)
        .collect::<Vec<_>>()
        .join(" ")
}

/// What a column may be, best first. `kind` is the kind of its unit, where it has one.
#[must_use]
pub fn propose(heading: &str, kind: Option<Kind>) -> Vec<Proposal> {
    let words = words(heading);
    let mut list = Vec::new();
    if let Some(word) = hit(&words, NOT_MEASURED) {
        let sure = kind.is_none()
            || !matches!(
                word,
                "no" | "sp"
                    | "set"
                    | "target"
                    | "end"
                    | "min"
                    | "max"
                    | "bad"
                    | "charge"
                    | "sample"
                    | "batch"
                    | "lot"
            );
        let confidence =
            if sure || matches!(word, "sp" | "set" | "target" | "min" | "max") { 0.9 } else { 0.6 };
        list.push(Proposal { role: None, confidence, because: word.to_owned() });
        return list;
    }
    strong(&words, kind, &mut list);
    list.retain(|p| p.role.as_ref().is_some_and(|r| kind.is_none_or(|k| kind_of(r) == k)));
    if list.is_empty() {
        weak(&words, kind, &mut list);
    }
    list.sort_by(|a, b| b.confidence.total_cmp(&a.confidence));
    list
}

fn strong(words: &[String], kind: Option<Kind>, list: &mut Vec<Proposal>) {
    let mut add = |role: Role, confidence: f64, because: &str| {
        list.push(Proposal { role: Some(role), confidence, because: because.to_owned() });
    };
    let number = first_number(words).unwrap_or(0);
    let room = hit(words, ROOM);
    if let Some(w) = hit(words, RH) {
        let role = if room.is_some() { Role::RoomRelativeHumidity } else { Role::RelativeHumidity };
        add(role, 0.95, w);
    }
    if let Some(w) = hit(words, WET) {
        add(Role::AirWetBulb, 0.95, w);
    } else if let Some(w) = hit(words, CORE) {
        add(Role::CoreProbe { number, position: position(words) }, 0.9, w);
    } else if let Some(w) = hit(words, SURFACE) {
        add(Role::SurfaceProbe { number, position: position(words) }, 0.9, w);
    } else if let Some(w) = room {
        add(Role::RoomDryBulb, 0.9, w);
    } else if let Some(w) = hit(words, DRY) {
        add(Role::AirDryBulb, 0.95, w);
    } else if let Some(w) =
        hit(words, AIR).filter(|_| hit(words, VENT).is_none() || kind == Some(Kind::Temperature))
    {
        add(Role::AirDryBulb, 0.9, w);
    }
    match (hit(words, WEIGHT), hit(words, TRAY)) {
        (Some(w), _) if kind.is_none_or(|k| k == Kind::Mass) => {
            let sure = if kind == Some(Kind::Mass) || hit(words, TRAY).is_some() { 0.9 } else { 0.7 };
            add(Role::TrayWeight { tray: number }, sure, w);
        }
        (None, Some(w)) if kind == Some(Kind::Mass) => add(Role::TrayWeight { tray: number }, 0.9, w),
        _ => {}
    }
    for (table, role, confidence) in [
        (VENT, Role::VentOpening, 0.9),
        (DOOR, Role::DoorOpen, 0.9),
        (FAN, Role::FanOn, 0.85),
        (STEAM, Role::SteamOn, 0.9),
        (POWER, Role::Power, 0.9),
        (PRESSURE, Role::AirPressure, 0.9),
        (HEATER, Role::HeaterOn, 0.8),
    ] {
        if let Some(w) = hit(words, table) {
            add(role, confidence, w);
        }
    }
}

fn weak(words: &[String], kind: Option<Kind>, list: &mut Vec<Proposal>) {
    let number = first_number(words).unwrap_or(0);
    let vague = hit(words, VAGUE).unwrap_or("unit only");
    let mut add = |role: Role, confidence: f64| {
        list.push(Proposal { role: Some(role), confidence, because: vague.to_owned() });
    };
    match kind {
        Some(Kind::Temperature) => {
            add(Role::CoreProbe { number, position: position(words) }, 0.4);
            add(Role::AirDryBulb, 0.4);
            add(Role::AirWetBulb, 0.3);
            add(Role::SurfaceProbe { number, position: position(words) }, 0.2);
        }
        Some(Kind::Share) => {
            add(Role::RelativeHumidity, 0.6);
            add(Role::VentOpening, 0.3);
        }
        Some(Kind::Mass) => add(Role::TrayWeight { tray: number }, 0.6),
        Some(Kind::Power) => add(Role::Power, 0.9),
        Some(Kind::Pressure) => add(Role::AirPressure, 0.9),
        None if hit(words, VAGUE).is_some() => {
            add(Role::CoreProbe { number, position: position(words) }, 0.3);
            add(Role::AirDryBulb, 0.3);
            add(Role::AirWetBulb, 0.2);
        }
        _ => {}
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn best(heading: &str, kind: Option<Kind>) -> (Option<Role>, f64) {
        let p = propose(heading, kind);
        p.first().map_or((None, 0.0), |p| (p.role.clone(), p.confidence))
    }

    #[test]
    fn headings_of_many_makes() {
        let t = Some(Kind::Temperature);
        for (heading, kind, role) in [
            ("Air", t, Role::AirDryBulb),
            ("Dry Bulb", t, Role::AirDryBulb),
            ("DB", None, Role::AirDryBulb),
            ("Wet bulb", t, Role::AirWetBulb),
            ("Bulbo húmedo", t, Role::AirWetBulb),
            ("Humedad relativa", Some(Kind::Share), Role::RelativeHumidity),
            ("Core 2 rear right", t, Role::CoreProbe { number: 2, position: "rear right".into() }),
            ("Kerntemperatur 1", t, Role::CoreProbe { number: 1, position: String::new() }),
            ("Surface 1", t, Role::SurfaceProbe { number: 1, position: String::new() }),
            ("Tray 8 weight", Some(Kind::Mass), Role::TrayWeight { tray: 8 }),
            ("Vent", Some(Kind::Share), Role::VentOpening),
            ("Room RH", Some(Kind::Share), Role::RoomRelativeHumidity),
            ("Room", t, Role::RoomDryBulb),
            ("Power", Some(Kind::Power), Role::Power),
            ("Exhaust air", t, Role::AirDryBulb),
        ] {
            let (found, confidence) = best(heading, kind);
            assert_eq!(found, Some(role), "{heading}");
            assert!(confidence >= 0.8, "{heading} {confidence}");
        }
    }

    #[test]
    fn vague_headings_are_not_trusted_and_set_values_are_left_out() {
        for heading in ["T1", "Probe 3", "Channel 2", "Temp"] {
            assert!(best(heading, Some(Kind::Temperature)).1 < 0.8, "{heading}");
        }
        assert_eq!(best("Air setpoint", Some(Kind::Temperature)), (None, 0.9));
        assert_eq!(best("Battery", None), (None, 0.9));
    }
}
