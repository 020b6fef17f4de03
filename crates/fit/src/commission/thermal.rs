//! The empty cabinet as bodies that exchange heat: element, air, shell, racks, and the two thermometers. With settings that
//! stand still it is linear, and a step of any length is exact by the matrix exponential.

use nalgebra::{SMatrix, SVector};

use fallrate_units::{
    DRY_AIR_GAS_CONSTANT_J_PER_KG_K as R_AIR, MOLAR_MASS_RATIO_WATER_TO_AIR as EPSILON, ZERO_CELSIUS_K,
};

use super::figures::Figures;
use super::record::RoomAir;

/// Element, air, shell, racks, logger, controller's sensor, and a 1 that carries what is constant.
pub(crate) type State = SVector<f64, 7>;
type Matrix = SMatrix<f64, 7, 7>;

pub(crate) const ELEMENT: usize = 0;
pub(crate) const AIR: usize = 1;
pub(crate) const SHELL: usize = 2;
pub(crate) const RACKS: usize = 3;
pub(crate) const LOGGER: usize = 4;
pub(crate) const SENSOR: usize = 5;
const ONE: usize = 6;

/// Specific heat of dry air and of vapour, J/(kg K).
const CP_AIR: f64 = 1006.0;
const CP_VAPOUR: f64 = 1860.0;

/// Humidity ratio of the room, kg/kg.
pub(crate) fn room_w(room: &RoomAir) -> f64 {
    fallrate_air::humidity_ratio_from_relative_humidity(
        room.temperature_c,
        room.relative_humidity.clamp(0.0, 1.0),
        room.pressure_pa,
    )
}

/// Dry air in a volume, kg.
pub(crate) fn dry_air_kg(volume_m3: f64, t_c: f64, w: f64, pressure_pa: f64) -> f64 {
    pressure_pa * volume_m3 * EPSILON / (R_AIR * (t_c + ZERO_CELSIUS_K) * (EPSILON + w))
}

/// The network at one setting.
#[derive(Clone, Debug)]
pub(crate) struct Network {
    rates: Matrix,
    step: Option<(f64, Matrix)>,
}

impl Network {
    /// `around_c` is the temperature the air's mass is taken at.
    pub fn new(f: &Figures, mark: usize, room: &RoomAir, around_c: f64, heater_on: bool) -> Self {
        let w = room_w(room);
        let cp = CP_AIR + w * CP_VAPOUR;
        let air_c = dry_air_kg(f.volume_m3, around_c, w, room.pressure_pa) * cp;
        let fresh = f.fresh_kg_per_s(mark) * cp;
        let (ge, gs, gr, es) = (
            f.element_exchange_w_per_k,
            f.shell_exchange_w_per_k,
            f.racks_exchange_w_per_k,
            f.element_to_shell_w_per_k,
        );
        let mut a = Matrix::zeros();
        let mut exchange = |i: usize, ci: f64, j: usize, g: f64| {
            a[(i, i)] -= g / ci;
            a[(i, j)] += g / ci;
        };
        exchange(ELEMENT, f.element_j_per_k, AIR, ge);
        exchange(ELEMENT, f.element_j_per_k, SHELL, es);
        exchange(AIR, air_c, ELEMENT, ge);
        exchange(AIR, air_c, SHELL, gs);
        exchange(AIR, air_c, RACKS, gr);
        exchange(SHELL, f.shell_j_per_k, AIR, gs);
        exchange(SHELL, f.shell_j_per_k, ELEMENT, es);
        exchange(RACKS, f.racks_j_per_k, AIR, gr);
        exchange(LOGGER, f.logger_lag_s.max(0.5), AIR, 1.0);
        exchange(SENSOR, f.sensor_lag_s.max(0.5), AIR, 1.0);
        a[(AIR, AIR)] -= fresh / air_c;
        a[(AIR, ONE)] += (fresh * room.temperature_c + f.fan_w) / air_c;
        a[(SHELL, SHELL)] -= f.loss_w_per_k / f.shell_j_per_k;
        a[(SHELL, ONE)] += f.loss_w_per_k * room.temperature_c / f.shell_j_per_k;
        if heater_on {
            a[(ELEMENT, ONE)] += f.heater_w / f.element_j_per_k;
        }
        Self { rates: a, step: None }
    }

    /// The state a while later, s.
    pub fn after(&mut self, state: &State, seconds: f64) -> State {
        if seconds <= 0.0 {
            return *state;
        }
        match &self.step {
            Some((s, m)) if (s - seconds).abs() < 1e-6 => m * state,
            _ => {
                let m = (self.rates * seconds).exp();
                self.step = Some((seconds, m));
                m * state
            }
        }
    }
    /// Steps of a length and of its halves, quarters and so on.
    pub fn halves(&self, seconds: f64) -> Halves {
        let mut least = (self.rates * (seconds / f64::from(1 << LEVELS))).exp();
        let mut list = Vec::with_capacity(LEVELS + 1);
        for _ in 0..=LEVELS {
            list.push(least);
            least *= least;
        }
        list.reverse();
        Halves { seconds, list }
    }
}

/// How often a step is halved.
const LEVELS: usize = 12;

/// Steps of a length and its halves, longest first.
#[derive(Clone, Debug)]
pub(crate) struct Halves {
    seconds: f64,
    list: Vec<Matrix>,
}

impl Halves {
    /// The whole step.
    pub fn whole(&self, state: &State) -> State {
        self.list.first().map_or(*state, |m| m * state)
    }
    /// The state just before `passed` holds within a step at whose end it does, and how long that took, s.
    pub fn until(&self, state: &State, passed: &impl Fn(&State) -> bool) -> (State, f64) {
        let (mut s, mut taken, mut part) = (*state, 0.0, self.seconds);
        for m in self.list.iter().skip(1) {
            part *= 0.5;
            let next = m * s;
            if !passed(&next) {
                (s, taken) = (next, taken + part);
            }
        }
        (s, taken)
    }
}

/// Everything at one temperature.
pub(crate) fn at_rest(t_c: f64) -> State {
    let mut s = State::from_element(t_c);
    s[ONE] = 1.0;
    s
}

/// Mean power the heater gives while the chamber is held at a temperature, W.
pub(crate) fn holding_power_w(f: &Figures, mark: usize, room: &RoomAir, held_c: f64) -> f64 {
    let cp = CP_AIR + room_w(room) * CP_VAPOUR;
    let fresh = f.fresh_kg_per_s(mark) * cp;
    let (ge, gs, es, loss) =
        (f.element_exchange_w_per_k, f.shell_exchange_w_per_k, f.element_to_shell_w_per_k, f.loss_w_per_k);
    // Above the room: shell s and element e with the air at a. Air: ge (e-a) = gs (a-s) + fresh a - fan.
    // Shell: gs (a-s) + es (e-s) = loss s.
    let a = held_c - room.temperature_c;
    // e = a + (gs (a-s) + fresh a - fan)/ge, put into the shell's balance, linear in s.
    let e0 = a + (gs * a + fresh * a - f.fan_w) / ge;
    let e1 = -gs / ge;
    let s = (gs * a + es * e0) / (gs + loss + es - es * e1);
    let e = e0 + e1 * s;
    ge * (e - a) + es * (e - s)
}
