//! Heat and moisture through one piece.

use fallrate_units::ZERO_CELSIUS_K;

use crate::physics::grid::Grid;
use crate::physics::surface::{AirPoint, FaceState, face_flux};
use crate::{AirConstants, Batch, Material};

/// Coefficients of one piece's two faces for the stretch at hand, W/(m2 K), and the area that exchanges.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Coefficients {
    /// Bottom and top.
    pub heat: [f64; 2],
    pub mass: [f64; 2],
    /// Factor on heat and mass for the mean along the position.
    pub mean_heat: f64,
    pub mean_mass: f64,
    /// Radiation: conductance factor sigma x emissivity x view of the top face, and the shell's temperature.
    pub radiation: f64,
    pub shell_t: f64,
    /// Size of the piece relative to the load's: its grid is stretched by it.
    pub size: f64,
}

/// What a piece gives to the air, per square metre of initial face.
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct PieceOut {
    /// Vapour, kg/(m2 s).
    pub vapour: f64,
    /// Enthalpy, W/m2.
    pub enthalpy: f64,
    /// Radiation taken from the shell, W/m2.
    pub radiation: f64,
    /// Sorption heat charged at the faces, W/m2.
    pub sorption: f64,
}

/// Slopes of one piece's right-hand side.
#[derive(Clone, Debug, Default)]
pub(crate) struct PieceJacobian {
    /// Node by itself, by the next, and the next by it; rows and columns (X, T), row-major.
    pub diag: Vec<[f64; 4]>,
    pub upper: Vec<[f64; 4]>,
    pub lower: Vec<[f64; 4]>,
    /// Face nodes by the air (T, w): bottom, top.
    pub by_air: [[f64; 4]; 2],
    /// Vapour and enthalpy by the face nodes (X bottom, T bottom, X top, T top).
    pub vapour_by_face: [f64; 4],
    pub enthalpy_by_face: [f64; 4],
    /// And by the air (T, w).
    pub vapour_by_air: [f64; 2],
    pub enthalpy_by_air: [f64; 2],
}

impl PieceJacobian {
    pub fn new(nodes: usize) -> Self {
        Self {
            diag: vec![[0.0; 4]; nodes],
            upper: vec![[0.0; 4]; nodes - 1],
            lower: vec![[0.0; 4]; nodes - 1],
            ..Self::default()
        }
    }
}

/// Constants of the food, drawn together for the inner loop.
#[derive(Clone, Debug)]
pub(crate) struct Food {
    pub material: Material,
    pub grid: Grid,
    pub air: AirConstants,
    over_gap: Vec<f64>,
    over_cell: Vec<f64>,
    over_water_density: f64,
    v_dry: f64,
    v_slope: f64,
    v_start: f64,
    inside: f64,
}

/// Transport at an interface: value and slopes.
struct Transport {
    over_v: f64,
    d: f64,
    dd_dx: f64,
    dd_dt: f64,
    k: f64,
    dk_dx: f64,
}

impl Food {
    pub fn new(batch: &Batch) -> Self {
        let m = batch.material.clone();
        let v_slope = m.shrinkage_share / m.water_density_kg_per_m3;
        let v_start = m.specific_volume_m3_per_kg(m.moisture_initial_dry_basis);
        let grid = Grid::new(&m, batch.load.nodes);
        Self {
            over_gap: grid.gap.iter().map(|g| 1.0 / g).collect(),
            over_cell: grid.cell.iter().map(|c| 1.0 / c).collect(),
            grid,
            air: batch.air,
            over_water_density: 1.0 / m.water_density_kg_per_m3,
            v_dry: m.specific_volume_m3_per_kg(0.0),
            v_slope,
            v_start,
            inside: if m.sorption_heat_inside { 1.0 } else { 0.0 },
            material: m,
        }
    }

    /// Mean moisture of a piece, kg/kg dry basis.
    pub fn mean_moisture(&self, y: &[f64]) -> f64 {
        self.grid.cell.iter().enumerate().map(|(j, m)| m * y[2 * j]).sum::<f64>() / self.grid.solids
    }

    /// Mean temperature of a piece over its solids, degC.
    pub fn mean_temperature(&self, y: &[f64]) -> f64 {
        self.grid.cell.iter().enumerate().map(|(j, m)| m * y[2 * j + 1]).sum::<f64>() / self.grid.solids
    }

    /// Coldest node, or the middle one where the comparison asks for it, degC.
    pub fn core(&self, y: &[f64]) -> f64 {
        if self.material.core_is_middle_node {
            return y[2 * self.grid.middle() + 1];
        }
        (0..self.grid.nodes).map(|j| y[2 * j + 1]).fold(f64::INFINITY, f64::min)
    }

    /// Enthalpy of a piece, J per square metre of initial face.
    pub fn enthalpy(&self, y: &[f64]) -> f64 {
        let m = &self.material;
        self.grid
            .cell
            .iter()
            .enumerate()
            .map(|(j, cell)| {
                let (x, t) = (y[2 * j], y[2 * j + 1]);
                let bound = if self.inside > 0.0 { m.sorption.net_heat_integral_j_per_kg(x) } else { 0.0 };
                cell * ((m.specific_heat_solids_j_per_kg_k + x * m.specific_heat_water_j_per_kg_k) * t
                    - bound)
            })
            .sum()
    }

    #[inline]
    fn volume(&self, x: f64) -> f64 {
        self.v_dry + self.v_slope * x
    }

    /// Face area over its initial value.
    #[inline]
    pub fn area_ratio(&self, y: &[f64]) -> f64 {
        let d = self.grid.dimensions;
        let s = if d > 1.0 { (d - 1.0) / d } else { self.material.lateral_shrinkage_exponent };
        if s == 0.0 || self.v_slope == 0.0 {
            1.0
        } else {
            (self.volume(self.mean_moisture(y)) / self.v_start).powf(s)
        }
    }

    #[inline]
    fn transport(&self, x: f64, t_c: f64) -> Transport {
        let m = &self.material;
        let over_v = 1.0 / self.volume(x);
        let d = m.diffusivity.at(x, t_c + ZERO_CELSIUS_K);
        let spread = m.conductivity_water_w_per_m_k - m.conductivity_solids_w_per_m_k;
        let water = x * self.over_water_density * over_v;
        Transport {
            over_v,
            d: d.d_m2_per_s,
            dd_dx: d.d_dx,
            dd_dt: d.d_dt_k,
            k: m.conductivity_solids_w_per_m_k + spread * water,
            dk_dx: spread * (self.over_water_density - water * self.v_slope) * over_v,
        }
    }

    /// Geometric conductance of each interface times v (slab: (A/A0)^2 / gap, to be divided by v twice).
    /// Round pieces: A / (distance between the nodes), from the volume inside.
    fn round_geometry(&self, y: &[f64], out: &mut Vec<f64>) {
        let g = &self.grid;
        out.clear();
        let whole = g.solids * self.v_start;
        let radius = |volume: f64| g.radius_m * (volume / whole).max(0.0).powf(1.0 / g.dimensions);
        let mut below = 0.0;
        let mut last = 0.0;
        for j in 0..g.nodes {
            let v = self.volume(y[2 * j]);
            let here = radius(below + v * g.to_node[j]);
            if j > 0 {
                let area = (radius(below) / g.radius_m).powf(g.dimensions - 1.0);
                out.push(area / (here - last).max(1e-12));
            }
            last = here;
            below += v * g.cell[j];
        }
    }

    /// Rates of one piece into `dy` and what it gives to the air; slopes into `jacobian` where wanted.
    pub fn rates(
        &self,
        y: &[f64],
        air: &AirPoint,
        c: &Coefficients,
        dy: &mut [f64],
        jacobian: Option<&mut PieceJacobian>,
        scratch: &mut Vec<f64>,
    ) -> PieceOut {
        // Two copies of the inner loop: without slopes nothing of them is computed.
        match jacobian {
            Some(jac) => self.rates_of::<true>(y, air, c, dy, jac, scratch),
            None => self.rates_of::<false>(y, air, c, dy, &mut PieceJacobian::default(), scratch),
        }
    }

    fn rates_of<const SLOPES: bool>(
        &self,
        y: &[f64],
        air: &AirPoint,
        c: &Coefficients,
        dy: &mut [f64],
        jac: &mut PieceJacobian,
        scratch: &mut Vec<f64>,
    ) -> PieceOut {
        let n = self.grid.nodes;
        let m = &self.material;
        let (cs, cw) = (m.specific_heat_solids_j_per_kg_k, m.specific_heat_water_j_per_kg_k);
        let area = self.area_ratio(y);
        let round = self.grid.dimensions > 1.0;
        if round {
            self.round_geometry(y, scratch);
        }
        if SLOPES {
            jac.diag.fill([0.0; 4]);
        }
        let stretch = 1.0 / c.size;
        let square = area * area * stretch;
        let (nodes, _) = y.as_chunks::<2>();
        let (rates, _) = dy.as_chunks_mut::<2>();
        // What comes into a node from the interface below it.
        let mut below = [0.0; 2];
        for j in 0..n - 1 {
            let ([x0, t0], [x1, t1]) = (nodes[j], nodes[j + 1]);
            let p = self.transport(0.5 * (x0 + x1), 0.5 * (t0 + t1));
            let (over_v, log_v) = (p.over_v, self.v_slope * p.over_v);
            // 1/v^2 of the moisture flux is taken as 1/(v0 v1), its exact mean over X since v is linear in X.
            let (v0, v1) = (self.volume(x0), self.volume(x1));
            let over_pair = 1.0 / (v0 * v1);
            // Conductances per square metre of initial face: moisture (of X) and heat (of T).
            let (cx, ct, log_geometry) = if round {
                (stretch * scratch[j] * p.d * over_v, stretch * scratch[j] * p.k, 0.0)
            } else {
                let g = square * self.over_gap[j];
                (g * p.d * over_pair, g * over_v * p.k, log_v)
            };
            let (dx, dt) = (x1 - x0, t1 - t0);
            let flow = -cx * dx;
            let heat = -ct * dt;
            let (s0, s1) = self.bound(x0, x1);
            // Difference of the enthalpy of the moving water between the nodes, halved.
            let de = 0.5 * (cw * dt - (s1.0 - s0.0));
            rates[j] = [below[0] - flow, below[1] - heat - flow * de];
            below = [flow, heat - flow * de];
            if SLOPES {
                let log_d = if p.d > 0.0 { (p.dd_dx / p.d, p.dd_dt / p.d) } else { (0.0, 0.0) };
                let half_x = 0.5 * flow * log_d.0;
                let half_t = 0.5 * flow * log_d.1;
                let (shrunk0, shrunk1) = if round {
                    (0.5 * flow * log_v, 0.5 * flow * log_v)
                } else {
                    (flow * v1 * over_pair * self.v_slope, flow * v0 * over_pair * self.v_slope)
                };
                let df = [half_x + cx - shrunk0, half_t, half_x - cx - shrunk1, half_t];
                let half_k = 0.5 * heat * (p.dk_dx / p.k - log_geometry);
                let dq = [half_k, ct, half_k, -ct];
                let dde = [0.5 * s0.1, -0.5 * cw, -0.5 * s1.1, 0.5 * cw];
                let mut low = [0.0; 4];
                let mut high = [0.0; 4];
                for i in 0..4 {
                    let mixed = df[i] * de + flow * dde[i];
                    low[i] = dq[i] + mixed;
                    high[i] = dq[i] - mixed;
                }
                let d0 = &mut jac.diag[j];
                d0[0] -= df[0];
                d0[1] -= df[1];
                d0[2] -= low[0];
                d0[3] -= low[1];
                jac.upper[j] = [-df[2], -df[3], -low[2], -low[3]];
                jac.lower[j] = [df[0], df[1], high[0], high[1]];
                let d1 = &mut jac.diag[j + 1];
                d1[0] += df[2];
                d1[1] += df[3];
                d1[2] += high[2];
                d1[3] += high[3];
            }
        }
        rates[n - 1] = below;
        let out = self.faces::<SLOPES>(y, air, c, area, dy, jac);
        for j in 0..n {
            let cell = self.over_cell[j] * stretch;
            let capacity = cs + y[2 * j] * cw;
            let thermal = cell / capacity;
            dy[2 * j] *= cell;
            dy[2 * j + 1] *= thermal;
            if SLOPES {
                let scale = |b: &mut [f64; 4]| {
                    b[0] *= cell;
                    b[1] *= cell;
                    b[2] *= thermal;
                    b[3] *= thermal;
                };
                scale(&mut jac.diag[j]);
                jac.diag[j][2] -= dy[2 * j + 1] * cw / capacity;
                if j + 1 < n {
                    scale(&mut jac.upper[j]);
                }
                if j > 0 {
                    scale(&mut jac.lower[j - 1]);
                }
                if j == 0 {
                    scale(&mut jac.by_air[0]);
                }
                if j == n - 1 {
                    scale(&mut jac.by_air[1]);
                }
            }
        }
        out
    }

    /// Sorption heat and slope at two nodes, where it is carried inside.
    #[inline]
    fn bound(&self, x0: f64, x1: f64) -> ((f64, f64), (f64, f64)) {
        if self.inside == 0.0 {
            return ((0.0, 0.0), (0.0, 0.0));
        }
        (self.material.sorption.net_heat_j_per_kg(x0), self.material.sorption.net_heat_j_per_kg(x1))
    }

    fn faces<const SLOPES: bool>(
        &self,
        y: &[f64],
        air: &AirPoint,
        c: &Coefficients,
        area: f64,
        dy: &mut [f64],
        jac: &mut PieceJacobian,
    ) -> PieceOut {
        let n = self.grid.nodes;
        let mut out = PieceOut::default();
        if SLOPES {
            jac.by_air = [[0.0; 4]; 2];
            jac.vapour_by_face = [0.0; 4];
            jac.enthalpy_by_face = [0.0; 4];
            jac.vapour_by_air = [0.0; 2];
            jac.enthalpy_by_air = [0.0; 2];
        }
        let first = usize::from(self.grid.dimensions > 1.0);
        for face in first..2 {
            let j = if face == 0 { 0 } else { n - 1 };
            let state = FaceState::new(y[2 * j], y[2 * j + 1], self.material.sorption.as_ref(), &self.air);
            let (heat, mass) = if first == 1 {
                (0.5 * (c.heat[0] + c.heat[1]), 0.5 * (c.mass[0] + c.mass[1]))
            } else {
                (c.heat[face], c.mass[face])
            };
            let f = face_flux(&state, air, heat * c.mean_heat, mass * c.mean_mass, &self.air);
            dy[2 * j] -= area * f.n;
            dy[2 * j + 1] += area * f.q;
            out.vapour += area * f.n;
            out.enthalpy += area * f.h;
            if self.inside == 0.0 {
                out.sorption += area * f.n * state.sorption_heat;
            }
            let mut radiation_slope = 0.0;
            if face == 1 && c.radiation > 0.0 {
                let (ts, tw) = (state.t_c + ZERO_CELSIUS_K, c.shell_t + ZERO_CELSIUS_K);
                let taken = c.radiation * (tw.powi(4) - ts.powi(4));
                radiation_slope = -4.0 * c.radiation * ts.powi(3);
                dy[2 * j + 1] += area * taken;
                out.radiation += area * taken;
            }
            if SLOPES {
                let b = &mut jac.diag[j];
                b[0] -= area * f.dn[0];
                b[1] -= area * f.dn[1];
                b[2] += area * f.dq[0];
                b[3] += area * (f.dq[1] + radiation_slope);
                jac.by_air[face] = [-area * f.dn[2], -area * f.dn[3], area * f.dq[2], area * f.dq[3]];
                for i in 0..2 {
                    jac.vapour_by_face[2 * face + i] = area * f.dn[i];
                    jac.enthalpy_by_face[2 * face + i] = area * f.dh[i];
                    jac.vapour_by_air[i] += area * f.dn[2 + i];
                    jac.enthalpy_by_air[i] += area * f.dh[2 + i];
                }
            }
        }
        out
    }
}
