//! Judges a day at 1 Hz in twelve channels and prints the seconds it took.
//!
//! `cargo run --release -p fallrate-lethality --example day`

use std::error::Error;
use std::time::Instant as Watch;

use fallrate_lethality::{
    BatchFacts, CabinetKind, Case, Claim, ClaimedDocument, Endpoint, LogTarget, OptionId, Species,
    SteamSource, judge,
};
use fallrate_series::{
    CalendarDate, Channel, ChannelBuilder, Clock, ClockEvidence, Instant, Instrument, Log, Proof,
    ProofProvenance, Reading, Role, Source,
};
use fallrate_units::{Duration, Pressure};

const DAY_S: u32 = 86_400;
const T0_S: i64 = 1_709_275_200;

fn at(s: f64) -> Instant {
    Instant::from_unix_nanoseconds(T0_S * 1_000_000_000).plus_seconds(s)
}

fn channel(
    role: Role,
    tolerance: f64,
    source: usize,
    value: impl Fn(f64) -> f64,
) -> Result<Channel<Proof>, Box<dyn Error>> {
    let instrument = Instrument {
        id: "T-01".into(),
        tolerance: Some(tolerance),
        calibrated_on: Some(CalendarDate::parse("2024-01-05")?),
        calibration_due: Some(CalendarDate::parse("2024-07-05")?),
        ..Instrument::default()
    };
    let mut b = ChannelBuilder::<Proof>::new(&format!("{role:?}"), role, ProofProvenance::Measured)
        .instrument(instrument)
        .source(source);
    for s in (0..DAY_S).map(f64::from) {
        b.push(Reading::valid(at(s), value(s)), 0)?;
    }
    Ok(b.finish().0)
}

/// Eight core probes in one file; dry bulb, wet bulb, humidity and steam in another.
fn record(uncertainty_s: f64) -> Result<(Log<Proof>, Case), Box<dyn Error>> {
    let mut log = Log::new("UTC");
    for name in ["core.csv", "air.csv"] {
        log.sources.push(Source {
            file_name: name.into(),
            sha256: "0".repeat(64),
            bytes: 0,
            clock: Clock {
                zone: String::new(),
                offset_s: 0.0,
                uncertainty_s: Some(uncertainty_s),
                evidence: ClockEvidence::InFile,
            },
        });
    }
    let mut facts = BatchFacts {
        species: Some(Species::Beef),
        stated_clock: Some(fallrate_lethality::StatedClock::Own { uncertainty_s: 0.0 }),
        product_met_heat: Some(at(0.0)),
        cabinet: Some(CabinetKind::Commercial),
        cold_spot_evidence: Some("mapping".into()),
        air_pressure: Some(Pressure::from_pascals(101_325.0)),
        steam_source: Some(SteamSource::Injection),
        ..BatchFacts::new(Duration::from_seconds(60.0))
    };
    for k in 0..8_u16 {
        let position = format!("p{k}");
        let role = Role::CoreProbe { number: k + 1, position: position.clone() };
        let wobble = move |s: f64| (s * f64::from(k + 3) / 97.0).sin();
        log.add(channel(role, 0.3, 0, |s| 60.0 - 55.0 * (-s / 4000.0).exp() + 2.0 * wobble(s))?, Vec::new())?;
        facts.required_positions.push(position);
    }
    for (role, base, swing) in [
        (Role::AirDryBulb, 70.0, 2.0),
        (Role::AirWetBulb, 62.0, 1.0),
        (Role::RelativeHumidity, 0.9, 0.03),
        (Role::SteamOn, 0.5, 0.6),
    ] {
        log.add(channel(role, 0.001, 1, |s| base + swing * (s / 31.0).sin())?, Vec::new())?;
    }
    let claim = Claim {
        document: Some(ClaimedDocument::CookingGuideline2021),
        options: vec![OptionId::Rh90Share2021, OptionId::Steam2021],
        target: LogTarget::SixPointFive,
        endpoint: Endpoint::Tables,
        claimed_at: None,
    };
    Ok((log, Case { claim, facts }))
}

fn main() -> Result<(), Box<dyn Error>> {
    for uncertainty_s in [0.0, 30.0] {
        let (log, case) = record(uncertainty_s)?;
        let readings: usize = log.channels.iter().map(|c| c.readings().len()).sum();
        let mut seconds = Vec::new();
        let mut answer = None;
        for _ in 0..5 {
            let watch = Watch::now();
            answer = Some(judge(&log, &case)?.answer());
            seconds.push(watch.elapsed().as_secs_f64());
        }
        seconds.sort_by(f64::total_cmp);
        let answer = answer.map_or_else(String::new, |a| a.to_string());
        println!(
            "{readings} readings, clocks within {uncertainty_s} s: {:.3} s (median of 5), {answer}",
            seconds[2]
        );
    }
    Ok(())
}
