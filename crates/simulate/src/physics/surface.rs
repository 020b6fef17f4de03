//! Exchange of one face with the air that passes it.

use fallrate_air::{saturation_pressure_pa, saturation_pressure_slope_pa_per_k};
use fallrate_units::{
    DRY_AIR_GAS_CONSTANT_J_PER_KG_K as R_AIR, MOLAR_MASS_RATIO_WATER_TO_AIR as EPSILON,
    WATER_VAPOUR_GAS_CONSTANT_J_PER_KG_K as R_VAPOUR, ZERO_CELSIUS_K,
};

use crate::{AirConstants, Sorption};

/// The air at a place, with what the faces need of it.
#[derive(Clone, Copy, Debug)]
pub(crate) struct AirPoint {
    pub t_c: f64,
    pub w: f64,
    /// Vapour pressure, Pa, and its slope by humidity ratio.
    pub pv: f64,
    pub dpv_dw: f64,
    /// 1/(rho c_p x Lewis factor): mass transfer coefficient per heat transfer coefficient.
    pub mass_per_heat: f64,
    /// Logarithmic slopes of that by temperature and humidity ratio.
    pub slope_t: f64,
    pub slope_w: f64,
}

impl AirPoint {
    pub fn new(t_c: f64, w: f64, pressure: f64, lewis_factor: f64, k: &AirConstants) -> Self {
        let t_k = t_c + ZERO_CELSIUS_K;
        let moist = EPSILON + w;
        let pv = pressure * w / moist;
        let cp = k.cp_dry_air_j_per_kg_k + w * k.cp_vapour_j_per_kg_k;
        let rho_cp = pressure * EPSILON / (R_AIR * t_k * moist) * cp;
        Self {
            t_c,
            w,
            pv,
            dpv_dw: pressure * EPSILON / (moist * moist),
            mass_per_heat: 1.0 / (rho_cp * lewis_factor),
            slope_t: 1.0 / t_k,
            slope_w: 1.0 / moist - k.cp_vapour_j_per_kg_k / cp,
        }
    }
    /// Specific heat per kg dry air.
    pub fn cp(&self, k: &AirConstants) -> f64 {
        k.cp_dry_air_j_per_kg_k + self.w * k.cp_vapour_j_per_kg_k
    }
    pub fn enthalpy(&self, k: &AirConstants) -> f64 {
        enthalpy(self.t_c, self.w, k)
    }
}

/// Enthalpy of moist air, J per kg dry air.
pub(crate) fn enthalpy(t_c: f64, w: f64, k: &AirConstants) -> f64 {
    k.cp_dry_air_j_per_kg_k * t_c + w * vapour_enthalpy(t_c, k)
}

/// Enthalpy of water vapour, J/kg above liquid water at 0 degC.
pub(crate) fn vapour_enthalpy(t_c: f64, k: &AirConstants) -> f64 {
    k.latent_heat_at_0c_j_per_kg + k.cp_vapour_j_per_kg_k * t_c
}

/// Temperature of moist air from its enthalpy, degC.
pub(crate) fn temperature_from_enthalpy(h: f64, w: f64, k: &AirConstants) -> f64 {
    (h - w * k.latent_heat_at_0c_j_per_kg) / (k.cp_dry_air_j_per_kg_k + w * k.cp_vapour_j_per_kg_k)
}

/// A face's own state, independent of the air.
#[derive(Clone, Copy, Debug)]
pub(crate) struct FaceState {
    pub t_c: f64,
    /// Vapour pressure at the face, Pa, with slopes by X and T.
    pub pv: f64,
    pub dpv_dx: f64,
    pub dpv_dt: f64,
    /// Latent plus sorption heat, J/kg, with slopes.
    pub heat: f64,
    pub dheat_dx: f64,
    pub dheat_dt: f64,
    /// The sorption part alone.
    pub sorption_heat: f64,
}

impl FaceState {
    pub fn new(x: f64, t_c: f64, sorption: &dyn Sorption, k: &AirConstants) -> Self {
        let a = sorption.activity(x, t_c + ZERO_CELSIUS_K);
        let (ps, slope) = (saturation_pressure_pa(t_c), saturation_pressure_slope_pa_per_k(t_c));
        let (s, ds) = sorption.net_heat_j_per_kg(x);
        Self {
            t_c,
            pv: a.aw * ps,
            dpv_dx: a.d_dx * ps,
            dpv_dt: a.d_dt_k * ps + a.aw * slope,
            heat: k.latent_heat_at_0c_j_per_kg - k.latent_heat_slope_j_per_kg_k * t_c + s,
            dheat_dx: ds,
            dheat_dt: -k.latent_heat_slope_j_per_kg_k,
            sorption_heat: s,
        }
    }
}

/// What leaves a face, per square metre of it, with slopes by (X, T, air T, air w).
#[derive(Clone, Copy, Debug, Default)]
pub(crate) struct FaceFlux {
    /// Vapour, kg/(m2 s).
    pub n: f64,
    pub dn: [f64; 4],
    /// Heat into the node, W/m2.
    pub q: f64,
    pub dq: [f64; 4],
    /// Enthalpy to the air, W/m2.
    pub h: f64,
    pub dh: [f64; 4],
}

/// Flux between a face and the air. `heat` and `mass` are the heat transfer coefficient times the factors of the face, W/(m2 K).
/// The driving force is the difference of vapour density at the film temperature, the mean of air and face.
#[inline]
pub(crate) fn face_flux(
    face: &FaceState,
    air: &AirPoint,
    heat: f64,
    mass: f64,
    k: &AirConstants,
) -> FaceFlux {
    let film = 0.5 * (face.t_c + air.t_c) + ZERO_CELSIUS_K;
    let per_pressure = mass * air.mass_per_heat / (R_VAPOUR * film);
    let n = per_pressure * (face.pv - air.pv);
    let half = 0.5 / film;
    let dn = [
        per_pressure * face.dpv_dx,
        per_pressure * face.dpv_dt - n * half,
        n * (air.slope_t - half),
        n * air.slope_w - per_pressure * air.dpv_dw,
    ];
    let convected = heat * (air.t_c - face.t_c);
    let hv = vapour_enthalpy(face.t_c, k);
    FaceFlux {
        n,
        dn,
        q: convected - n * face.heat,
        dq: [
            -dn[0] * face.heat - n * face.dheat_dx,
            -heat - dn[1] * face.heat - n * face.dheat_dt,
            heat - dn[2] * face.heat,
            -dn[3] * face.heat,
        ],
        h: n * hv - convected,
        dh: [dn[0] * hv, heat + dn[1] * hv + n * k.cp_vapour_j_per_kg_k, dn[2] * hv - heat, dn[3] * hv],
    }
}
