//! A virtual cabinet with hidden figures, on which the tests of commissioning are done: the whole drying model, empty or with
//! wet cloths, read by instruments that lag, err, scatter and round.

use std::sync::Arc;

use fallrate_equipment::{Cabinet, ControllerKind as Control};
use fallrate_fit::commission::{AirReading, CabinetTest, MeterReading, RoomAir, TestKind, Wetted};
use fallrate_fit::stats::Draws;
use fallrate_simulate as sim;
use sim::reference_case::{powered, standard_batch};
use sim::{EndCondition, Sample};

/// A logger, a meter and a scale.
#[derive(Clone, Copy, Debug)]
pub struct Instruments {
    pub logger_lag_s: f64,
    pub offset_k: f64,
    pub noise_k: f64,
    pub humidity_offset: f64,
    pub humidity_gain: f64,
    pub humidity_noise: f64,
    pub humidity_lag_s: f64,
    pub meter_gain: f64,
    pub meter_step_kwh: f64,
    pub scale_step_kg: f64,
    /// Unevenness of cloths and handling, as a share.
    pub handling: f64,
}

/// The hidden cabinet.
#[derive(Clone, Debug)]
pub struct Truth {
    pub chamber: sim::Chamber,
    pub fan_w: f64,
    /// Vent by mark, kg/s.
    pub vents: Vec<f64>,
    pub wall_kg: f64,
    pub exchange: f64,
    pub exponent: f64,
    pub underside: f64,
    pub shares: Vec<f64>,
    pub tray_area_m2: f64,
    pub room: RoomAir,
    pub instruments: Instruments,
    /// Exchange and flow of the fan left.
    pub fan_left: (f64, f64),
}

pub fn bench() -> Cabinet {
    Cabinet::parse("bench_unit.toml", include_str!("../../../../data/cabinets/bench_unit.toml")).unwrap()
}

pub fn north() -> Cabinet {
    Cabinet::parse("north.toml", include_str!("../../../../data/cabinets/north.toml")).unwrap()
}

impl Truth {
    /// As the draft says in all it says.
    pub fn of(c: &Cabinet) -> Self {
        let full = c.full_fan().unwrap();
        let n = c.heat_transfer.exponent.value;
        let shares =
            c.groups.iter().flat_map(|g| std::iter::repeat_n(g.air_share.value, g.trays as usize)).collect();
        Self {
            chamber: sim::Chamber {
                volume_m3: c.air.plenum_volume.value.cubic_metres(),
                air_flow_m3_per_s: c.full_air_flow_m3_per_s(),
                fan_off_flow_share: 0.02,
                fan_off_exchange_share: 0.15,
                heater_w: c.heater.measured.value.watts(),
                heater_delay: sim::HeaterDelay::Element {
                    heat_capacity_j_per_k: c.heater.element_heat_capacity.value.j_per_k(),
                    conductance_w_per_k: c.heater.element_conductance.value.w_per_k(),
                    fan_off_share: c.heater.fan_off_share.value.fraction(),
                    to_shell_w_per_k: c.heater.to_shell.value.w_per_k(),
                },
                shell_heat_capacity_j_per_k: c.shell.heat_capacity.value.j_per_k(),
                shell_exchange_w_per_k: c.shell.exchange.value.w_per_k(),
                shell_fan_off_share: 0.2,
                shell_loss_w_per_k: c.shell.loss.value.w_per_k(),
                racks_heat_capacity_j_per_k: c.racks.heat_capacity.value.j_per_k(),
                racks_exchange_w_per_k: c.racks.exchange.value.w_per_k(),
                shell_condensation: true,
                leakage_kg_per_s: c.leakage.dry_air.value.kg_per_s(),
                leakage_fan_off_share: 0.5,
                vent_fan_off_share: 0.1,
                vent_full_kg_per_s: c.vent.marks.last().unwrap().dry_air.value.kg_per_s(),
                door_kg_per_s: c.door.open_dry_air.value.kg_per_s(),
                controller: sim::Controller {
                    kind: match &c.controller.kind {
                        Control::Pi { kp_per_k, ti } => sim::ControllerKind::ProportionalIntegral {
                            kp_per_k: kp_per_k.value,
                            ti_s: ti.value.seconds(),
                        },
                        Control::OnOff { hysteresis } => {
                            sim::ControllerKind::OnOff { hysteresis_k: hysteresis.value.kelvin() }
                        }
                    },
                    sensor_lag_s: c.controller.sensor_lag.value.seconds(),
                    displayed_offset_k: c.controller.displayed_offset.value.kelvin(),
                },
                air_held: false,
            },
            fan_w: full.power.value.watts(),
            vents: c.vent.marks.iter().map(|m| m.dry_air.value.kg_per_s()).collect(),
            wall_kg: 1.5e-3 * c.shell.inner_area.value.square_metres(),
            exchange: c.heat_transfer_w_per_m2_k(c.air_speed_m_per_s(full)),
            exponent: n,
            underside: c.liners[0].underside_mass.value,
            shares,
            tray_area_m2: c.tray_area_m2(),
            room: RoomAir { temperature_c: 21.0, relative_humidity: 0.45, pressure_pa: 101_325.0 },
            instruments: Instruments {
                logger_lag_s: 40.0,
                offset_k: 0.1,
                noise_k: 0.06,
                humidity_offset: 0.006,
                humidity_gain: -0.01,
                humidity_noise: 0.003,
                humidity_lag_s: 30.0,
                meter_gain: 0.004,
                meter_step_kwh: 0.001,
                scale_step_kg: 0.001,
                handling: 0.01,
            },
            fan_left: (1.0, 1.0),
        }
    }

    /// Another cabinet of the same make: what a test is to find up to 30 % away, the rest within its ranges.
    pub fn drawn(c: &Cabinet, seed: u64, stream: u64) -> Self {
        let mut d = Draws::new(seed, stream);
        let mut t = Self::of(c);
        let mut by = |sd: f64| (sd * d.normal().clamp(-2.0, 2.0)).exp();
        let k = &mut t.chamber;
        k.heater_w *= by(0.12);
        k.shell_heat_capacity_j_per_k *= by(0.15);
        k.racks_heat_capacity_j_per_k *= by(0.08);
        k.shell_exchange_w_per_k *= by(0.12);
        k.racks_exchange_w_per_k *= by(0.15);
        k.shell_loss_w_per_k *= by(0.2);
        k.leakage_kg_per_s *= by(0.25);
        k.volume_m3 *= by(0.04);
        k.air_flow_m3_per_s *= by(0.06);
        k.controller.displayed_offset_k += 1.5 * by(1.0).ln();
        k.controller.sensor_lag_s *= by(0.2);
        if let sim::HeaterDelay::Element { heat_capacity_j_per_k, conductance_w_per_k, .. } =
            &mut k.heater_delay
        {
            *heat_capacity_j_per_k *= by(0.1);
            *conductance_w_per_k *= by(0.08);
        }
        t.fan_w *= by(0.1);
        let wider = by(0.2);
        for v in &mut t.vents {
            *v *= wider;
        }
        t.wall_kg *= by(0.5);
        t.exchange *= by(0.15);
        t.underside *= by(0.15);
        for s in &mut t.shares {
            *s *= by(0.12);
        }
        let mean = t.shares.iter().sum::<f64>() / t.shares.len() as f64;
        for s in &mut t.shares {
            *s /= mean;
        }
        let i = &mut t.instruments;
        i.logger_lag_s *= by(0.4);
        i.offset_k = 0.2 * by(1.0).ln();
        i.humidity_offset = 0.01 * by(1.0).ln();
        i.humidity_gain = 0.015 * by(1.0).ln();
        i.humidity_lag_s *= by(0.4);
        i.meter_gain = 0.007 * by(1.0).ln();
        t.room.temperature_c += 2.0 * by(1.0).ln();
        t.room.relative_humidity *= by(0.15);
        t
    }

    fn batch(&self, mark: usize) -> sim::Batch {
        let mut b = standard_batch();
        b.chamber = self.chamber;
        b.chamber.vent_full_kg_per_s = self.vents[mark];
        b.room = sim::Room {
            temperature_c: self.room.temperature_c,
            relative_humidity: self.room.relative_humidity,
            pressure_pa: self.room.pressure_pa,
        };
        // What the walls hold, as a thin film that takes up water in proportion to the humidity.
        b.load.groups = vec![sim::TrayGroup {
            loaded_trays: 1.0,
            air_share: 1.0,
            heat_transfer_share: 1.0,
            shell_view: 0.0,
        }];
        b.load.positions = 1;
        b.load.nodes = 3;
        b.material.size_m = 1.5e-5;
        b.material.solids_density_kg_per_m3 = 1000.0;
        b.material.shrinkage_share = 0.0;
        b.material.diffusivity = sim::Diffusivity::Arrhenius {
            at_60c_m2_per_s: 1e-8,
            activation_energy_j_per_mol: 0.0,
            moisture_term: sim::MoistureTerm::None,
        };
        let x_at_one = 0.1;
        b.material.sorption = Arc::new(sim::LinearSorption { saturation_kg_per_kg: x_at_one });
        b.material.moisture_initial_dry_basis = x_at_one * self.room.relative_humidity;
        b.material.temperature_initial_c = self.room.temperature_c;
        b.load.fresh_kg_per_tray = self.wall_kg / x_at_one * (1.0 + b.material.moisture_initial_dry_basis);
        b.exchange.heat_transfer_w_per_m2_k = self.exchange;
        b.exchange.lewis_factor = 0.885;
        b.air = sim::AirConstants::consistent(4186.0);
        b
    }

    fn stage(&self, set_point_c: Option<f64>, seconds: f64) -> sim::StageInput {
        let mut s = powered("s", 1.0, EndCondition::Elapsed { seconds });
        s.set_point_c = set_point_c;
        s.fan = Some(sim::FanSetting {
            flow_share: self.fan_left.0,
            exchange_share: self.fan_left.1,
            power_w: self.fan_w,
        });
        s
    }

    fn run(&self, batch: &sim::Batch, stages: &[sim::StageInput], every_s: f64) -> Vec<Sample> {
        let total: f64 = stages
            .iter()
            .map(|s| match s.ends[0] {
                EndCondition::Elapsed { seconds } => seconds,
                _ => 0.0,
            })
            .sum();
        let count = (total / every_s).floor() as usize;
        let times: Vec<f64> = (1..=count).map(|i| i as f64 * every_s).collect();
        let options = sim::Options {
            sample_every_s: None,
            samples_at_s: times,
            enforce_balances: false,
            relative_tolerance: 1e-6,
            ..sim::Options::default()
        };
        let run = sim::run(batch, stages, &options, &mut |_| true).unwrap();
        let mut out: Vec<Sample> = Vec::new();
        for s in run.samples {
            if out.last().is_none_or(|l| s.elapsed_s > l.elapsed_s + 0.5 * every_s) || out.is_empty() {
                out.push(s);
            }
        }
        out
    }

    /// What the logger writes of a run.
    fn logged(&self, samples: &[Sample], d: &mut Draws) -> Vec<AirReading> {
        let i = &self.instruments;
        // From cold where the record begins with the heater, else as the chamber is.
        let cold = samples[0].elapsed_s < 5.0 && samples[0].chamber_temperature_c < 40.0;
        let (mut t, mut rh) = match cold {
            true => (self.room.temperature_c, self.room.relative_humidity),
            false => (samples[0].chamber_temperature_c, samples[0].relative_humidity),
        };
        let mut last: Option<&Sample> = None;
        let mut out = Vec::new();
        for s in samples {
            if let Some(l) = last {
                // Between two samples the chamber goes along a straight line.
                let n = ((s.elapsed_s - l.elapsed_s) / 2.0).ceil().max(1.0) as usize;
                let dt = (s.elapsed_s - l.elapsed_s) / n as f64;
                for k in 1..=n {
                    let share = (k as f64 - 0.5) / n as f64;
                    let at = |a: f64, b: f64| a + (b - a) * share;
                    let tt = at(l.chamber_temperature_c, s.chamber_temperature_c);
                    let w = at(l.humidity_ratio_kg_per_kg, s.humidity_ratio_kg_per_kg);
                    t = tt + (t - tt) * (-dt / i.logger_lag_s).exp();
                    // The humidity sensor sits in the logger and has its temperature.
                    let rr = fallrate_air::relative_humidity(t, w, self.room.pressure_pa).min(1.0);
                    rh = rr + (rh - rr) * (-dt / i.humidity_lag_s).exp();
                }
            }
            last = Some(s);
            let read = t + i.offset_k + i.noise_k * d.normal();
            let humid = rh * (1.0 + i.humidity_gain) + i.humidity_offset + i.humidity_noise * d.normal();
            out.push(AirReading {
                at_s: s.elapsed_s,
                temperature_c: (read * 10.0).round() / 10.0,
                relative_humidity: Some((humid.clamp(0.0, 1.0) * 1000.0).round() / 1000.0),
            });
        }
        out
    }

    /// The room by the same logger, ten minutes before.
    fn room_read(&self) -> RoomAir {
        let i = &self.instruments;
        RoomAir {
            temperature_c: ((self.room.temperature_c + i.offset_k) * 10.0).round() / 10.0,
            relative_humidity: self.room.relative_humidity * (1.0 + i.humidity_gain) + i.humidity_offset,
            pressure_pa: self.room.pressure_pa,
        }
    }

    fn metered(&self, samples: &[Sample], at: &[f64]) -> Vec<MeterReading> {
        let i = &self.instruments;
        let start = 1234.567;
        at.iter()
            .map(|&at_s| {
                let s = samples
                    .iter()
                    .min_by(|a, b| (a.elapsed_s - at_s).abs().total_cmp(&(b.elapsed_s - at_s).abs()))
                    .unwrap();
                let kwh = start + (s.heater_j + s.fan_j) / 3.6e6 * (1.0 + i.meter_gain);
                MeterReading { at_s: s.elapsed_s, kwh: (kwh / i.meter_step_kwh).floor() * i.meter_step_kwh }
            })
            .collect()
    }

    fn test(
        &self,
        name: &str,
        kind: TestKind,
        vent: usize,
        air: Vec<AirReading>,
        meter: Vec<MeterReading>,
    ) -> CabinetTest {
        CabinetTest {
            name: name.to_owned(),
            kind,
            vent,
            room: self.room_read(),
            air,
            meter,
            meter_step_kwh: self.instruments.meter_step_kwh,
            temperature_step_k: 0.1,
        }
    }

    /// Heater full on from cold, then off.
    pub fn heat_cool(&self, mark: usize, on_s: f64, cool_s: f64, meter: bool, seed: u64) -> CabinetTest {
        let mut d = Draws::new(seed, 1);
        let every = if on_s < 1500.0 { 20.0 } else { 60.0 };
        let samples =
            self.run(&self.batch(mark), &[self.stage(Some(200.0), on_s), self.stage(None, cool_s)], 2.5);
        let mut air = self.logged(&samples, &mut d);
        air.retain(|r| r.at_s % every == 0.0);
        air.insert(0, AirReading { at_s: 0.0, ..self.room_as_reading() });
        let readings = if meter { self.metered(&samples, &[on_s, on_s + cool_s]) } else { Vec::new() };
        let mut meters = Vec::new();
        if meter {
            meters.push(MeterReading { at_s: 0.0, kwh: 1234.567 });
        }
        meters.extend(readings);
        self.test("heat-up and cool-down", TestKind::HeatCool { on_s: 0.0, off_s: on_s }, mark, air, meters)
    }

    fn room_as_reading(&self) -> AirReading {
        let r = self.room_read();
        AirReading { at_s: 0.0, temperature_c: r.temperature_c, relative_humidity: Some(r.relative_humidity) }
    }

    /// Held at a set point; what is recorded begins after the warm-up.
    pub fn hold(&self, mark: usize, set_point_c: f64, warm_s: f64, hold_s: f64, seed: u64) -> CabinetTest {
        let mut d = Draws::new(seed, 2);
        let samples = self.run(&self.batch(mark), &[self.stage(Some(set_point_c), warm_s + hold_s)], 2.5);
        let air: Vec<AirReading> = self
            .logged(&samples, &mut d)
            .into_iter()
            .filter(|r| r.at_s >= warm_s && r.at_s % 10.0 == 0.0)
            .collect();
        // What the display showed at its lowest and highest over the last cycles.
        let shown: Vec<f64> = samples
            .iter()
            .filter(|s| s.elapsed_s > warm_s + 0.5 * hold_s)
            .map(|s| s.displayed_temperature_c)
            .collect();
        let ends = shown.iter().fold((f64::INFINITY, f64::NEG_INFINITY), |e, v| (e.0.min(*v), e.1.max(*v)));
        let display_c = Some(((ends.0 * 2.0).round() / 2.0, (ends.1 * 2.0).round() / 2.0));
        let meter = self.metered(&samples, &[warm_s, warm_s + hold_s]);
        self.test("hold", TestKind::Hold { set_point_c, display_c }, mark, air, meter)
    }

    /// Water sprayed in for some minutes, all of it taken up, then the humidity dies away.
    pub fn decay(&self, mark: usize, set_point_c: f64, grams: f64, last_s: f64, seed: u64) -> CabinetTest {
        let mut d = Draws::new(seed, 3);
        let warm = 3600.0;
        let wetting = 420.0;
        let mut wet = self.stage(Some(set_point_c), wetting);
        wet.added_water = Some(sim::AddedWater { kg_per_s: 1e-3 * grams / wetting, enthalpy_j_per_kg: 84e3 });
        let stages = [self.stage(Some(set_point_c), warm), wet, self.stage(Some(set_point_c), last_s)];
        // The vent stays at its mark throughout, so that nobody has to reach in.
        let samples = self.run(&self.batch(mark), &stages, 10.0);
        let air: Vec<AirReading> =
            self.logged(&samples, &mut d).into_iter().filter(|r| r.at_s >= warm + wetting + 30.0).collect();
        self.test(&format!("decay at mark {mark}"), TestKind::Decay, mark, air, Vec::new())
    }

    /// A pan that gives off water evenly.
    pub fn pan(&self, mark: usize, set_point_c: f64, kg_per_h: f64, hours: f64, seed: u64) -> CabinetTest {
        let mut d = Draws::new(seed, 4);
        let warm = 3600.0;
        let mut wet = self.stage(Some(set_point_c), hours * 3600.0);
        wet.added_water = Some(sim::AddedWater { kg_per_s: kg_per_h / 3600.0, enthalpy_j_per_kg: 84e3 });
        let samples = self.run(&self.batch(mark), &[self.stage(Some(set_point_c), warm), wet], 30.0);
        let air: Vec<AirReading> =
            self.logged(&samples, &mut d).into_iter().filter(|r| r.at_s >= warm).collect();
        let lost = kg_per_h * hours * (1.0 + self.instruments.handling * d.normal());
        let step = self.instruments.scale_step_kg;
        let round = |kg: f64| (kg / step).round() * step;
        let before = 1.2 + 0.8 + kg_per_h * hours;
        let pans =
            vec![Wetted { tray: 1, before_kg: round(before), after_kg: round(before - lost), dry_kg: 0.8 }];
        let kind = TestKind::Pan { in_s: warm, out_s: warm + hours * 3600.0, pans, scale_step_kg: step };
        self.test(&format!("pan at mark {mark}"), kind, mark, air, Vec::new())
    }

    /// A wet cloth on every tray.
    pub fn cloths(&self, mark: usize, set_point_c: f64, minutes: f64, seed: u64) -> CabinetTest {
        let mut d = Draws::new(seed, 5);
        let mut b = self.batch(mark);
        let (cloth_kg_per_m2, held) = (0.35, 3.2);
        b.load.groups = self
            .shares
            .iter()
            .map(|s| sim::TrayGroup {
                loaded_trays: 1.0,
                air_share: *s,
                heat_transfer_share: s.powf(self.exponent),
                shell_view: 0.05,
            })
            .collect();
        b.load.positions = 4;
        b.load.nodes = 5;
        b.material.size_m = 1.5e-3;
        b.material.moisture_initial_dry_basis = held;
        b.material.solids_density_kg_per_m3 = 1500.0;
        let v0 = b.material.specific_volume_m3_per_kg(held);
        b.material.size_m = cloth_kg_per_m2 * v0;
        b.material.sorption = Arc::new(sim::GabSorption {
            monolayer_kg_per_kg: 0.05,
            c: 8.0,
            k: 0.985,
            net_heat_at_zero_j_per_kg: 0.0,
        });
        b.material.diffusivity = sim::Diffusivity::Arrhenius {
            at_60c_m2_per_s: 3e-8,
            activation_energy_j_per_mol: 0.0,
            moisture_term: sim::MoistureTerm::None,
        };
        b.load.fresh_kg_per_tray = self.tray_area_m2 * cloth_kg_per_m2 * (1.0 + held);
        b.exchange.underside = sim::FaceFactors { heat: self.underside, mass: self.underside };
        b.exchange.along_position = sim::AlongPosition::Mean;
        b.exchange.emissivity = 0.9;
        b.chamber_start_c = Some(set_point_c);
        let seconds = minutes * 60.0;
        let samples = self.run(&b, &[self.stage(Some(set_point_c), seconds)], 30.0);
        let air = self.logged(&samples, &mut d);
        let last = samples.last().unwrap();
        let step = self.instruments.scale_step_kg;
        let round = |kg: f64| (kg / step).round() * step;
        let solids = self.tray_area_m2 * cloth_kg_per_m2;
        let cloths = (0..self.shares.len())
            .map(|tray| {
                let own: Vec<_> =
                    last.pieces.iter().filter(|p| p.group == tray && p.load_share > 0.0).collect();
                let x = own.iter().map(|p| p.moisture_dry_basis).sum::<f64>() / own.len() as f64;
                let lost = solids * (held - x) * (1.0 + self.instruments.handling * d.normal());
                Wetted {
                    tray: tray as u32 + 1,
                    before_kg: round(solids * (1.0 + held)),
                    after_kg: round(solids * (1.0 + held) - lost),
                    dry_kg: solids,
                }
            })
            .collect();
        let kind = TestKind::Cloths {
            in_s: samples[0].elapsed_s,
            out_s: last.elapsed_s,
            area_m2: self.tray_area_m2,
            cloths,
            scale_step_kg: step,
        };
        self.test("wet cloths", kind, mark, air, Vec::new())
    }

    /// Heat loss of the shell, air to room, W/K.
    pub fn shell_loss(&self) -> f64 {
        let (g, l) = (self.chamber.shell_exchange_w_per_k, self.chamber.shell_loss_w_per_k);
        g * l / (g + l)
    }
    /// Shell, racks and element, J/K.
    pub fn heat_capacity(&self) -> f64 {
        let element = match self.chamber.heater_delay {
            sim::HeaterDelay::Element { heat_capacity_j_per_k, .. } => heat_capacity_j_per_k,
            sim::HeaterDelay::Lag { .. } => 0.0,
        };
        self.chamber.shell_heat_capacity_j_per_k + self.chamber.racks_heat_capacity_j_per_k + element
    }
}
