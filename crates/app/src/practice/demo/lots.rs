//! The invented lots: what was planned, what happened, who did what. Times are days from the first start.

use fallrate_rehearse::{FaultKind, Hand};

/// One invented batch.
pub(super) struct Lot {
    /// Days from the first start, 0 or less.
    pub day: i32,
    /// Number among the batches of its day.
    pub number: u32,
    /// Lot code.
    pub lot: &'static str,
    /// Product as the workshop calls it: English, Spanish.
    pub product: (&'static str, &'static str),
    /// The plan file.
    pub plan: &'static str,
    /// Seed of what is hidden.
    pub seed: u64,
    /// A fault with its begin and end, minutes from the start.
    pub fault: Option<(FaultKind, f64, Option<f64>)>,
    /// Trays that were weighed, every so many minutes.
    pub weigh: (&'static [u32], f64),
    /// The countdown was dialled so many minutes beside the plan's advice.
    pub dial_more_min: f64,
    /// Who ran it.
    pub by: &'static str,
    /// What is done with its record.
    pub proof: Proof,
    /// Notes: minutes from the start, words.
    pub notes: &'static [(f64, &'static str)],
    /// A tray weight that was corrected: minutes from the start, tray, kg as entered, kg as corrected, why.
    pub corrected: Option<(f64, u16, f64, f64, &'static str)>,
}

/// What is done with a lot's record.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Proof {
    /// No kill step, and said so.
    None,
    /// Judged; with water activity where it is known, then reviewed and released.
    Meat {
        /// Water activity of the finished lot; none: waiting for it.
        water_activity: Option<f64>,
        /// A limit was missed: held, corrective action in four parts, released.
        held: bool,
        /// The air-leaving probe was silent from this minute for so many.
        silent: Option<(f64, f64)>,
    },
}

pub(super) const OWNER: &str = "Owner (invented)";
pub(super) const EVENING: &str = "Evening operator (invented)";
pub(super) const RELIEF: &str = "Relief operator (invented)";
pub(super) const REVIEWER: &str = "Outside reviewer (invented)";

/// Room and money of every plan of the workshop.
pub(super) const PLACE: &str = r#"
[room]
temperature = "21 degC"
relative_humidity = "50 %"
altitude = "640 m"
night_temperature = "18 degC"
night_relative_humidity = "65 %"
night_hours = "22:00-05:45"
[staff]
hours = ["05:45-22:00"]
[money.EXTRA]
"#;

/// Placeholder of [`PLACE`] that a lot's prices replace.
pub(super) const MONEY: &str = "[money.EXTRA]\n";

const BEEF: &str = include_str!("beef.toml");
const APPLE: &str = include_str!("apple.toml");
const APPLE_NIGHT: &str = include_str!("apple_night.toml");
const KALE: &str = include_str!("kale.toml");
const TURKEY: &str = include_str!("turkey.toml");
const MANGO: &str = include_str!("mango.toml");

const PLAIN: Lot = Lot {
    day: 0,
    number: 1,
    lot: "",
    product: ("", ""),
    plan: APPLE,
    seed: 1,
    fault: None,
    weigh: (&[3, 8, 18], 150.0),
    dial_more_min: 0.0,
    by: OWNER,
    proof: Proof::None,
    notes: &[],
    corrected: None,
};
/// The door stays shut until the kill is over.
const DOOR_SHUT: (&[u32], f64) = (&[3, 8, 14], 240.0);
const APPLES: (&str, &str) = ("Apple rings, 7 mm", "Aros de manzana, 7 mm");
const STRIPS: (&str, &str) = ("Beef strips, 6 mm", "Tiras de res, 6 mm");

/// Every batch of the workshop, by time. The last one is running.
pub(super) const LOTS: [Lot; 9] = [
    Lot { day: -6, lot: "A-61", product: APPLES, seed: 61, by: EVENING, ..PLAIN },
    Lot {
        day: -6,
        number: 2,
        lot: "K-62",
        product: ("Kale crisps", "Chips de kale"),
        plan: KALE,
        seed: 62,
        weigh: (&[2, 4], 60.0),
        by: EVENING,
        ..PLAIN
    },
    Lot {
        day: -5,
        lot: "B-51",
        product: STRIPS,
        plan: BEEF,
        weigh: DOOR_SHUT,
        seed: 51,
        proof: Proof::Meat { water_activity: Some(0.78), held: false, silent: None },
        ..PLAIN
    },
    Lot {
        day: -4,
        lot: "T-41",
        product: ("Turkey strips, 5 mm", "Tiras de pavo, 5 mm"),
        plan: TURKEY,
        seed: 41,
        notes: &[(
            -20.0,
            "Killed in the hot marinade first: pot at 161 °F for 90 s, read with the pot probe.",
        )],
        ..PLAIN
    },
    Lot {
        day: -3,
        lot: "B-31",
        product: STRIPS,
        plan: BEEF,
        weigh: DOOR_SHUT,
        seed: 31,
        fault: Some((FaultKind::PowerCut, 25.0, Some(63.0))),
        proof: Proof::Meat { water_activity: Some(0.79), held: true, silent: None },
        ..PLAIN
    },
    Lot {
        day: -3,
        number: 2,
        lot: "A-32",
        product: APPLES,
        plan: APPLE_NIGHT,
        seed: 32,
        dial_more_min: 120.0,
        by: EVENING,
        notes: &[(5.0, "Dialled two hours more than advised, to be on the safe side.")],
        ..PLAIN
    },
    Lot {
        day: -2,
        lot: "M-21",
        product: ("Mango leather, 5 mm", "Ate de mango en lámina, 5 mm"),
        plan: MANGO,
        seed: 21,
        by: RELIEF,
        corrected: Some((120.0, 6, 3.420, 3.240, "Digits swapped on reading the scale")),
        ..PLAIN
    },
    Lot {
        day: -1,
        lot: "B-11",
        product: STRIPS,
        plan: BEEF,
        weigh: DOOR_SHUT,
        seed: 11,
        proof: Proof::Meat { water_activity: None, held: false, silent: Some((70.0, 9.0)) },
        ..PLAIN
    },
    Lot { day: 0, lot: "A-01", product: APPLES, seed: 1, ..PLAIN },
];

impl Lot {
    /// The whole plan file.
    pub fn plan_text(&self) -> String {
        let price = match self.plan {
            BEEF => (66.0, "energy_price_per_kwh = 0.24\n"),
            TURKEY => (70.0, "energy_price_per_kwh = 0.24\n"),
            KALE => (85.0, "energy_price_per_kwh = 0.24\n"),
            _ => (30.0, "energy_price_per_kwh = 0.24\n"),
        };
        let money =
            format!("[money]\ncurrency = \"EUR\"\n{}product_price_per_kg = {:.1}\n", price.1, price.0);
        let tariff = "[[money.tariff]]\nfrom = \"22:00\"\nto = \"05:45\"\nprice_per_kwh = 0.13\n";
        format!("{}{}{tariff}", self.plan, PLACE.replace(MONEY, &money))
    }
    /// The trainee's hand: weighings and a dial beside the advice.
    pub fn hand(&self, dial_s: f64) -> Hand {
        Hand {
            weigh_trays: self.weigh.0.to_vec(),
            weigh_every_s: self.weigh.1 * 60.0,
            core_trays: Vec::new(),
            dial_s: (self.dial_more_min != 0.0).then_some(dial_s + self.dial_more_min * 60.0),
            ..Hand::default()
        }
    }
}
