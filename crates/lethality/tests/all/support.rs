//! Builds small logs and cases.

use fallrate_lethality::Answer;
use fallrate_lethality::*;
use fallrate_series::*;
use fallrate_units::{Duration, Pressure};

/// An arbitrary instant: 2024-03-01T06:40:00Z.
pub const T0_S: i64 = 1_709_275_200;

pub fn at_s(s: f64) -> Instant {
    Instant::from_unix_nanoseconds(T0_S * 1_000_000_000).plus_seconds(s)
}

pub fn at_min(min: f64) -> Instant {
    at_s(min * 60.0)
}

pub fn span_min(from: f64, to: f64) -> Span {
    Span::new(at_min(from), at_min(to)).unwrap()
}

pub fn c(f: f64) -> f64 {
    celsius_from_fahrenheit(f)
}

pub fn instrument(tolerance: f64) -> Instrument {
    Instrument {
        id: "T-01".into(),
        tolerance: Some(tolerance),
        calibrated_on: Some(CalendarDate::parse("2024-01-05").unwrap()),
        calibration_due: Some(CalendarDate::parse("2024-07-05").unwrap()),
        ..Instrument::default()
    }
}

pub fn core(position: &str) -> Role {
    Role::CoreProbe { number: 1, position: position.into() }
}

/// A channel from (seconds since the product met heat, value).
pub fn channel(role: Role, tolerance: f64, points: &[(f64, f64)]) -> Channel<Proof> {
    let mut b = ChannelBuilder::<Proof>::new(&format!("{role:?}"), role, ProofProvenance::Measured)
        .instrument(instrument(tolerance));
    for (s, v) in points {
        b.push(Reading::valid(at_s(*s), *v), 0).unwrap();
    }
    b.finish().0
}

/// Values on the straight lines between (minute, value), every `step_s`.
pub fn sampled(points: &[(f64, f64)], step_s: f64) -> Vec<(f64, f64)> {
    let end = points.last().unwrap().0 * 60.0;
    let mut out = Vec::new();
    let mut s = points[0].0 * 60.0;
    while s <= end + 1e-9 {
        let i = points.partition_point(|p| p.0 * 60.0 <= s + 1e-9).clamp(1, points.len() - 1);
        let (a, b) = (points[i - 1], points[i]);
        let share = ((s / 60.0 - a.0) / (b.0 - a.0)).clamp(0.0, 1.0);
        out.push((s, a.1 + (b.1 - a.1) * share));
        s += step_s;
    }
    out
}

/// A log and a case that is complete but for the record itself: beef, 6.5 log, one position "coldest".
#[derive(Clone)]
pub struct Lab {
    pub log: Log<Proof>,
    pub case: Case,
}

impl Lab {
    pub fn new(options: &[OptionId]) -> Self {
        let jerky = options.iter().any(|o| o.id().starts_with('J'));
        let document =
            if jerky { ClaimedDocument::JerkyGuideline2014 } else { ClaimedDocument::CookingGuideline2021 };
        let claim = Claim {
            document: Some(document),
            options: options.to_vec(),
            target: LogTarget::SixPointFive,
            endpoint: Endpoint::Tables,
            claimed_at: Some(at_min(-600.0)),
        };
        let paper = || Some("form 12".to_owned());
        let facts = BatchFacts {
            species: Some(Species::Beef),
            product_met_heat: Some(at_s(0.0)),
            cabinet: Some(CabinetKind::Commercial),
            cold_spot_evidence: Some("mapping of 2024-01-20".into()),
            required_positions: vec!["coldest".into()],
            air_pressure: Some(Pressure::from_pascals(101_325.0)),
            steam_source: Some(SteamSource::Injection),
            opening_that_cannot_shut: Some(false),
            door_kept_shut: Some("A. Person".into()),
            sealed_papers: SealedPapers {
                temperature: paper(),
                damper_shut: paper(),
                humidity_held: paper(),
                seal_upkeep: paper(),
            },
            ..BatchFacts::new(Duration::from_seconds(60.0))
        };
        Self { log: Log::new("UTC"), case: Case { claim, facts } }
    }

    pub fn with(mut self, role: Role, tolerance: f64, points: &[(f64, f64)]) -> Self {
        self.log.add(channel(role, tolerance, points), Vec::new()).unwrap();
        self
    }

    /// Core at the position "coldest", (minute, degF) with straight lines, every 10 s, no tolerance.
    pub fn core_f(self, points: &[(f64, f64)]) -> Self {
        let points_c: Vec<_> = points.iter().map(|(m, f)| (*m, c(*f))).collect();
        self.with(core("coldest"), 0.0, &sampled(&points_c, 10.0))
    }

    /// The core sits below every row (129 degF) until the last `dwell_s` of the cook, then at the endpoint.
    pub fn cook(self, total_min: f64, endpoint_f: f64, dwell_s: f64) -> Self {
        let from = total_min * 60.0 - dwell_s;
        let mut points = sampled(&[(0.0, c(129.0)), (total_min, c(129.0))], 10.0);
        points.retain(|p| p.0 < from - 1e-9);
        let mut s = from;
        while s < total_min * 60.0 - 1e-9 {
            points.push((s, c(endpoint_f)));
            s += 10.0;
        }
        points.push((total_min * 60.0, c(endpoint_f)));
        let mut lab = self.with(core("coldest"), 0.0, &points);
        lab.case.facts.record_ends = Some(at_min(total_min));
        lab
    }

    pub fn event(mut self, kind: EventKind, from_min: f64, to_min: f64) -> Self {
        self.log.events.push(Event {
            at: at_min(from_min),
            until: Some(at_min(to_min)),
            kind,
            provenance: ProofProvenance::Entered,
            by: "A. Person".into(),
            note: String::new(),
            source: None,
        });
        self
    }

    /// RH 92 % from one minute to another, 50 % otherwise, every minute; dry bulb 150 degF.
    pub fn rh90(self, from_min: f64, to_min: f64, end_min: f64) -> Self {
        self.rh90_at(150.0, from_min, to_min, end_min)
    }

    pub fn rh90_at(self, dry_bulb_f: f64, from_min: f64, to_min: f64, end_min: f64) -> Self {
        let minutes: Vec<f64> = (0..=end_min as i64).map(|m| m as f64).collect();
        let rh: Vec<_> = minutes
            .iter()
            .map(|m| (m * 60.0, if *m >= from_min && *m <= to_min { 0.92 } else { 0.50 }))
            .collect();
        let db: Vec<_> = minutes.iter().map(|m| (m * 60.0, c(dry_bulb_f))).collect();
        self.with(Role::RelativeHumidity, 0.0, &rh).with(Role::AirDryBulb, 0.0, &db)
    }

    pub fn judge(&self) -> Judgement {
        let j = judge(&self.log, &self.case).unwrap().judgement().clone();
        let options = j.positions.iter().flat_map(|p| &p.options);
        for part in j.gate.iter().chain(options.flat_map(|o| &o.parts)) {
            for id in &part.requirements {
                assert!(j.limits.iter().any(|l| l.id == *id), "{id} of {:?} is no requirement", part.item);
            }
        }
        j
    }

    pub fn answer(&self) -> Answer {
        self.judge().answer
    }

    /// A part of the only option claimed at the only position.
    pub fn part(&self, item: Item) -> Part {
        let j = self.judge();
        j.positions[0].options[0].parts.iter().find(|p| p.item == item).expect("part").clone()
    }
}
