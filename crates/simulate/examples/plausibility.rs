//! Common practice on a loaded cabinet against the model, as Markdown. Nothing here is tuned to.
//! `cargo run -p fallrate-simulate --example plausibility`
use fallrate_simulate::{
    Batch, EndCondition, Options, Piece, Run, StageInput, reference_case, run, run_from,
};

const RISE_20_F: f64 = 20.0 / 1.8;

fn load(thickness_mm: f64, kg_per_kw: f64) -> Batch {
    let mut b = reference_case::standard_batch();
    b.material.size_m = thickness_mm / 1000.0;
    b.load.fresh_kg_per_tray = kg_per_kw * b.chamber.heater_w / 1000.0 / 20.0;
    b
}

fn go(batch: &Batch, stages: &[StageInput]) -> Option<Run> {
    let options = Options { sample_every_s: Some(30.0), enforce_balances: false, ..Options::default() };
    run(batch, stages, &options, &mut |_| true).ok()
}

fn minutes_to_rise(batch: &Batch, opening: f64) -> f64 {
    let stage = reference_case::powered("warm", opening, EndCondition::CoreRise { kelvin: RISE_20_F });
    go(batch, &[stage]).map_or(f64::NAN, |r| r.end.elapsed_s / 60.0)
}

fn core_after_an_hour(batch: &Batch, opening: f64) -> f64 {
    let stage = reference_case::powered("warm", opening, EndCondition::Elapsed { seconds: 3600.0 });
    go(batch, &[stage]).and_then(|r| r.stage_ends.last().map(|e| e.sample.core_coldest_c)).unwrap_or(f64::NAN)
}

fn main() {
    println!(
        "All of these are common practice, no source. The cabinet is that of the standard batch (6 kW); the load and the thickness vary.\n"
    );
    warm_up();
    overshoot();
    demand();
    vent_full();
    coast();
    last_to_warm();
    constant_moisture();
}

fn warm_up() {
    println!(
        "## With the vent shut the core is up 20 degF in 15 to 20 minutes, clearly later with the vent open\n"
    );
    println!(
        "| thickness, mm | kg per kW | shut, min | sixth open, min | full open, min | core after 1 h: shut, degC | full open, degC |\n| --- | --- | --- | --- | --- | --- | --- |"
    );
    for thickness in [3.0, 6.0, 12.0, 20.0] {
        for kg in [2.0, 6.0, 12.0] {
            let b = load(thickness, kg);
            println!(
                "| {thickness:.0} | {kg:.0} | {:.1} | {:.1} | {:.1} | {:.1} | {:.1} |",
                minutes_to_rise(&b, 0.0),
                minutes_to_rise(&b, 1.0 / 6.0),
                minutes_to_rise(&b, 1.0),
                core_after_an_hour(&b, 0.0),
                core_after_an_hour(&b, 1.0)
            );
        }
    }
    println!(
        "\nToo long for this cabinet: even 20 mm pieces at 12 kg per kW are up in a little under 15 minutes, 6 mm strips in 4 to 10. The heater gives all its power to air and food with nothing lost to a vent; a slower heater, colder food or thicker pieces would take the 15 to 20 minutes. The vent changes little of the first minutes and much of where the core ends up: the wet bulb.\n"
    );
}

fn overshoot() {
    println!("## A warm-up overshoots by 2 to 5 degF and settles\n");
    println!("| kg per kW | highest chamber, degC | over the set point, degF |\n| --- | --- | --- |");
    for kg in [0.5, 2.0, 6.0] {
        let stage = reference_case::powered("warm", 0.0, EndCondition::Elapsed { seconds: 3.0 * 3600.0 });
        let Some(r) = go(&load(6.0, kg), &[stage]) else { continue };
        let high = r.samples.iter().map(|s| s.chamber_temperature_c).fold(f64::NEG_INFINITY, f64::max);
        println!("| {kg:.1} | {high:.2} | {:.1} |", (high - 71.0) * 1.8);
    }
    println!(
        "\nHolds here for every load with this controller; the size is the controller's (gain and integral time), not the load's.\n"
    );
}

fn demand() {
    println!("## Heater demand falls from 100 % to 15 to 30 % once hot with little left to evaporate\n");
    println!(
        "| kg per kW | demand at the start, % | at 0.15 kg/kg mean, % | at 0.06, % |\n| --- | --- | --- | --- |"
    );
    for kg in [2.0, 6.0] {
        let until = |x: f64| {
            let end = EndCondition::Moisture { piece: Piece::Mean, dry_basis: x };
            reference_case::powered("dry", 1.0 / 24.0, end)
        };
        let Some(r) = go(&load(6.0, kg), &[until(0.15), until(0.06)]) else { continue };
        let start = r.samples.first().map_or(f64::NAN, |s| 100.0 * s.heater_demand);
        let ends: Vec<String> =
            r.stage_ends.iter().map(|e| format!("{:.0}", 100.0 * e.sample.heater_demand)).collect();
        println!("| {kg:.0} | {start:.0} | {} |", ends.join(" | "));
    }
    println!(
        "\nWith the vent a twenty-fourth open: holds near the end of the drying; a wider vent keeps the heater busy with room air.\n"
    );
}

fn vent_full() {
    println!(
        "## A vent fully open flushes heat and humidity so that the set point is lost; a sixth open keeps some humidity\n"
    );
    println!("| opening | chamber after 2 h, degC | RH, % | demand, % |\n| --- | --- | --- | --- |");
    for (name, opening) in [("shut", 0.0), ("a sixth", 1.0 / 6.0), ("half", 0.5), ("full", 1.0)] {
        let stage = reference_case::powered("dry", opening, EndCondition::Elapsed { seconds: 7200.0 });
        let Some(r) = go(&load(6.0, 6.0), &[stage]) else { continue };
        if let Some(e) = r.stage_ends.last() {
            let s = &e.sample;
            println!(
                "| {name} | {:.1} | {:.0} | {:.0} |",
                s.chamber_temperature_c,
                100.0 * s.relative_humidity,
                100.0 * s.heater_demand
            );
        }
    }
    println!(
        "\nHolds for this heater and vent: 0.18 kg/s of room air takes more than 6 kW to heat by 51 K.\n"
    );
}

fn coast() {
    println!("## The coast of a warm cabinet is worth about a quarter of an hour of a 3.5 h run\n");
    println!(
        "| kg per kW | run, h | moisture at power-off | after 2 h | worth, min |\n| --- | --- | --- | --- | --- |"
    );
    for kg in [1.5, 3.0] {
        let batch = load(4.0, kg);
        let end = EndCondition::Moisture { piece: Piece::Mean, dry_basis: 0.40 };
        let Some(r) = go(&batch, &[reference_case::powered("dry", 1.0 / 6.0, end)]) else { continue };
        let options = Options { sample_every_s: Some(60.0), enforce_balances: false, ..Options::default() };
        let stand = run_from(
            &batch,
            &r.end,
            &[reference_case::unpowered("coast", 1.0 / 6.0, 7200.0)],
            &options,
            &mut |_| true,
        );
        let on = run_from(
            &batch,
            &r.end,
            &[reference_case::powered("on", 1.0 / 6.0, EndCondition::Elapsed { seconds: 5400.0 })],
            &options,
            &mut |_| true,
        );
        let (Ok(stand), Ok(on)) = (stand, on) else { continue };
        let after = stand.samples.last().map_or(f64::NAN, |s| s.moisture_mean_dry_basis);
        let same =
            on.samples.iter().find(|s| s.moisture_mean_dry_basis <= after).map_or(f64::NAN, |s| s.elapsed_s);
        println!(
            "| {kg:.1} | {:.1} | 0.400 | {after:.3} | {:.0} |",
            r.end.elapsed_s / 3600.0,
            (same - r.end.elapsed_s) / 60.0
        );
    }
    println!(
        "\nNot so here: a few minutes, since with the fan off only 2 % of this cabinet's air goes on circulating and the strips are thin. In the 20-tray cabinet of the library (more air by itself, 7 mm fruit) a stand of one to two hours is worth 15 to 20 minutes.\n"
    );
}

fn last_to_warm() {
    let stage = reference_case::powered("warm", 0.0, EndCondition::CoreRise { kelvin: RISE_20_F });
    let Some(r) = go(&load(6.0, 6.0), &[stage]) else { return };
    let Some(e) = r.stage_ends.last() else { return };
    let coldest = e.sample.pieces.iter().min_by(|a, b| a.core_c.total_cmp(&b.core_c));
    println!("## The air-leaving end of the tray is the last to warm\n");
    println!(
        "At the end of the shut warm-up of 36 kg the coldest core is at position {} of 5 along the air, in tray group {} of 3 (air shares 0.85, 1.00, 1.15).\n",
        coldest.map_or(0, |p| p.position + 1),
        coldest.map_or(0, |p| p.group + 1)
    );
}

fn constant_moisture() {
    println!(
        "## Air heated at constant moisture from 134 degF at 11 to 12 % RH reads 6 to 7 % at 156 degF\n"
    );
    let (cool, hot) = ((134.0 - 32.0) / 1.8, (156.0 - 32.0) / 1.8);
    for rh in [0.11, 0.12] {
        let w = fallrate_air::humidity_ratio_from_relative_humidity(cool, rh, 101_325.0);
        println!(
            "- {:.0} % becomes {:.1} %",
            100.0 * rh,
            100.0 * fallrate_air::relative_humidity(hot, w, 101_325.0)
        );
    }
}
