//! The whole right-hand side: groups of trays marched along their air, and the chamber that feeds them.

use fallrate_units::STEFAN_BOLTZMANN_W_PER_M2_K4;

use crate::physics::chamber::{self, COUNTERS, STATES, Totals};
use crate::physics::piece::{Coefficients, Food, PieceJacobian, PieceOut};
use crate::physics::setting::Setting;
use crate::physics::surface::{AirPoint, temperature_from_enthalpy, vapour_enthalpy};
use crate::{AlongPosition, Batch};

/// Where a piece stands.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Place {
    pub group: usize,
    /// Initial face area it stands for, m2; 0 for a piece carried at an end of the path.
    pub area: f64,
    /// Size of the piece relative to the load's.
    pub size: f64,
}

/// Air from one piece to the next: slopes of (T, w) leaving by (T, w) entering and by the face nodes.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct AirStep {
    pub by_air: [f64; 4],
    pub by_face: [f64; 8],
    /// Slopes of the totals (vapour, enthalpy) by the face nodes and by the air, times the area.
    pub total_by_face: [f64; 8],
    pub total_by_air: [f64; 4],
}

/// Slopes of the whole system in its structure.
#[derive(Clone, Debug)]
pub(crate) struct SystemJacobian {
    pub pieces: Vec<PieceJacobian>,
    pub steps: Vec<AirStep>,
    /// Chamber's states and counters by its states and by the totals (vapour, enthalpy).
    pub chamber: [[f64; STATES]; STATES + COUNTERS],
    pub chamber_by_totals: [[f64; 2]; STATES + COUNTERS],
}

/// Batch, setting and layout together.
#[derive(Clone, Debug)]
pub(crate) struct System {
    pub batch: Batch,
    pub food: Food,
    pub places: Vec<Place>,
    pub setting: Setting,
    scratch: Vec<f64>,
}

impl System {
    pub fn new(batch: &Batch, setting: Setting) -> Self {
        let food = Food::new(batch);
        let places = places(batch, food.grid.solids);
        Self { batch: batch.clone(), food, places, setting, scratch: Vec::new() }
    }

    /// States of one piece in the vector.
    pub fn piece_len(&self) -> usize {
        2 * self.food.grid.nodes
    }
    /// Where the chamber's states begin.
    pub fn chamber_at(&self) -> usize {
        self.places.len() * self.piece_len()
    }
    /// Length of the state vector.
    pub fn len(&self) -> usize {
        self.chamber_at() + STATES + COUNTERS
    }
    pub fn piece<'a>(&self, y: &'a [f64], i: usize) -> &'a [f64] {
        &y[i * self.piece_len()..(i + 1) * self.piece_len()]
    }
    pub fn empty_jacobian(&self) -> SystemJacobian {
        SystemJacobian {
            pieces: vec![PieceJacobian::new(self.food.grid.nodes); self.places.len()],
            steps: vec![AirStep::default(); self.places.len()],
            chamber: [[0.0; STATES]; STATES + COUNTERS],
            chamber_by_totals: [[0.0; 2]; STATES + COUNTERS],
        }
    }

    /// Dry-air flow through a group, kg/s.
    fn group_flow(&self, group: usize, t: f64, w: f64, shares: f64) -> f64 {
        let density = self.batch.room.pressure_pa * chamber::dry_density_per_pressure(t, w);
        self.setting.air_flow * density * self.batch.load.groups[group].air_share / shares
    }

    fn coefficients(&self, group: usize) -> Coefficients {
        let (e, g) = (&self.batch.exchange, &self.batch.load.groups[group]);
        let h = self.setting.heat_transfer * g.heat_transfer_share;
        Coefficients {
            heat: [h * e.underside.heat, h * e.top.heat],
            mass: [h * e.underside.mass, h * e.top.mass],
            mean_heat: 1.0,
            mean_mass: 1.0,
            radiation: STEFAN_BOLTZMANN_W_PER_M2_K4 * e.emissivity * g.shell_view,
            shell_t: 0.0,
            size: 1.0,
        }
    }

    /// Right-hand side, and its slopes where wanted.
    pub fn rates(&mut self, y: &[f64], dy: &mut [f64], mut jacobian: Option<&mut SystemJacobian>) {
        let at = self.chamber_at();
        let (len, b) = (self.piece_len(), &y[at..]);
        let shares: f64 = self.batch.load.groups.iter().map(|g| g.air_share).sum();
        let mut totals = Totals::default();
        let mut air = self.air_point(b[chamber::T], b[chamber::W]);
        let mut group = usize::MAX;
        let (mut flow, mut base) = (1.0, self.coefficients(0));
        let mut scratch = std::mem::take(&mut self.scratch);
        for i in 0..self.places.len() {
            let place = self.places[i];
            if place.group != group {
                group = place.group;
                air = self.air_point(b[chamber::T], b[chamber::W]);
                flow = self.group_flow(group, air.t_c, air.w, shares);
                base = Coefficients { shell_t: b[chamber::SHELL], ..self.coefficients(group) };
            }
            let piece = &y[i * len..(i + 1) * len];
            let c =
                Coefficients { size: place.size, ..self.mean_along(&base, piece, &air, place.area, flow) };
            let slot = jacobian.as_deref_mut().map(|j| &mut j.pieces[i]);
            let out = self.food.rates(piece, &air, &c, &mut dy[i * len..(i + 1) * len], slot, &mut scratch);
            totals.vapour += place.area * out.vapour;
            totals.enthalpy += place.area * out.enthalpy;
            totals.radiation += place.area * out.radiation;
            totals.sorption += place.area * out.sorption;
            let leaving = self.leaving(&air, &out, place.area / flow);
            if let Some(j) = jacobian.as_deref_mut() {
                j.steps[i] = air_step(&j.pieces[i], &air, &leaving, place.area, flow, &self.batch.air);
            }
            air = leaving;
        }
        self.scratch = scratch;
        chamber::rates(&self.batch, &self.setting, b, &totals, &mut dy[at..]);
        if let Some(j) = jacobian {
            self.chamber_slopes(b, &totals, j);
        }
    }

    fn air_point(&self, t: f64, w: f64) -> AirPoint {
        AirPoint::new(t, w, self.batch.room.pressure_pa, self.batch.exchange.lewis_factor, &self.batch.air)
    }

    fn leaving(&self, air: &AirPoint, out: &PieceOut, area_per_flow: f64) -> AirPoint {
        if area_per_flow == 0.0 {
            return *air;
        }
        let w = air.w + out.vapour * area_per_flow;
        let h = air.enthalpy(&self.batch.air) + out.enthalpy * area_per_flow;
        self.air_point(temperature_from_enthalpy(h, w, &self.batch.air), w)
    }

    /// The mean of an exponential approach along the position, as a factor on the entering difference.
    fn mean_along(
        &self,
        base: &Coefficients,
        piece: &[f64],
        air: &AirPoint,
        area: f64,
        flow: f64,
    ) -> Coefficients {
        let mut c = *base;
        if area == 0.0 || self.batch.exchange.along_position == AlongPosition::Entering {
            return c;
        }
        let faces = if self.food.grid.dimensions > 1.0 { 0.5 } else { 1.0 };
        let scale = faces * self.food.area_ratio(piece) * area / (flow * air.cp(&self.batch.air));
        let mean = |units: f64| if units < 1e-8 { 1.0 } else { -(-units).exp_m1() / units };
        c.mean_heat = mean((c.heat[0] + c.heat[1]) * scale);
        c.mean_mass = mean((c.mass[0] + c.mass[1]) * scale / self.batch.exchange.lewis_factor);
        c
    }

    /// Slopes of the chamber by one-sided differences: a pure function of ten numbers.
    fn chamber_slopes(&self, b: &[f64], totals: &Totals, j: &mut SystemJacobian) {
        let mut local = [0.0; STATES + COUNTERS];
        local.copy_from_slice(b);
        let mut base = [0.0; STATES + COUNTERS];
        let mut moved = base;
        chamber::rates(&self.batch, &self.setting, &local, totals, &mut base);
        for col in 0..STATES {
            let step = 1e-7 * local[col].abs().max(STEP_FLOOR[col]);
            let kept = local[col];
            local[col] += step;
            chamber::rates(&self.batch, &self.setting, &local, totals, &mut moved);
            local[col] = kept;
            for row in 0..STATES + COUNTERS {
                j.chamber[row][col] = (moved[row] - base[row]) / step;
            }
        }
        for col in 0..2 {
            let mut t = *totals;
            let step = if col == 0 { 1e-4 } else { 100.0 };
            if col == 0 {
                t.vapour += step
            } else {
                t.enthalpy += step
            }
            chamber::rates(&self.batch, &self.setting, &local, &t, &mut moved);
            for row in 0..STATES + COUNTERS {
                j.chamber_by_totals[row][col] = (moved[row] - base[row]) / step;
            }
        }
    }
}

/// Smallest magnitude taken for a difference step in each chamber state.
const STEP_FLOOR: [f64; STATES] = [10.0, 1e-3, 10.0, 10.0, 10.0, 0.1, 10.0, 1e-3];

fn places(batch: &Batch, solids_per_m2: f64) -> Vec<Place> {
    let solids_per_tray = batch.load.fresh_kg_per_tray / (1.0 + batch.material.moisture_initial_dry_basis);
    let ends = batch.exchange.along_position == AlongPosition::Mean;
    let mut list = Vec::new();
    for (group, g) in batch.load.groups.iter().enumerate() {
        #[allow(clippy::cast_precision_loss)]
        let area = g.loaded_trays * solids_per_tray / solids_per_m2 / batch.load.positions as f64;
        if ends {
            list.push(Place { group, area: 0.0, size: batch.load.ends.entering });
        }
        list.extend((0..batch.load.positions).map(|_| Place { group, area, size: 1.0 }));
        if ends {
            list.push(Place { group, area: 0.0, size: batch.load.ends.leaving });
        }
    }
    list
}

fn air_step(
    piece: &PieceJacobian,
    entering: &AirPoint,
    leaving: &AirPoint,
    area: f64,
    flow: f64,
    k: &crate::AirConstants,
) -> AirStep {
    let mut s = AirStep { by_air: [1.0, 0.0, 0.0, 1.0], ..AirStep::default() };
    if area == 0.0 {
        return s;
    }
    let r = area / flow;
    let (cp, hv) = (1.0 / leaving.cp(k), vapour_enthalpy(leaving.t_c, k));
    let row = |dh: f64, dw: f64| ((dh - hv * dw) * cp, dw);
    for i in 0..4 {
        let (e, h) = (piece.vapour_by_face[i], piece.enthalpy_by_face[i]);
        (s.by_face[i], s.by_face[4 + i]) = row(r * h, r * e);
        s.total_by_face[i] = area * e;
        s.total_by_face[4 + i] = area * h;
    }
    let own = [(entering.cp(k), 0.0), (vapour_enthalpy(entering.t_c, k), 1.0)];
    for i in 0..2 {
        let (e, h) = (piece.vapour_by_air[i], piece.enthalpy_by_air[i]);
        (s.by_air[i], s.by_air[2 + i]) = row(own[i].0 + r * h, own[i].1 + r * e);
        s.total_by_air[i] = area * e;
        s.total_by_air[2 + i] = area * h;
    }
    s
}
