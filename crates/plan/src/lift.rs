//! Light pieces leave the tray when the air lifts them: the moisture below which a piece flies.

use fallrate_foods::Product;

use crate::assemble::Assembled;

/// Moisture (kg/kg dry basis) below which an air speed lifts a piece from the tray; none where it never does, or where the
/// product file gives no figure.
#[must_use]
pub fn lift_off_moisture(product: &Product, assembled: &Assembled, air_speed_m_per_s: f64) -> Option<f64> {
    let lift = product.lift_off.as_ref()?;
    let batch = &assembled.setup.batch;
    let x0 = batch.material.moisture_initial_dry_basis;
    let density = fallrate_air::density_kg_per_m3(55.0, 0.02, batch.room.pressure_pa);
    let volume = product.volume_law(&assembled.prepared);
    let flies = |x: f64| lift.speed_m_per_s(x, x0, volume.area_ratio(x).0, density) < air_speed_m_per_s;
    if !flies(0.0) {
        return None;
    }
    if flies(x0) {
        return Some(x0);
    }
    let (mut low, mut high) = (0.0, x0);
    for _ in 0..60 {
        let mid = 0.5 * (low + high);
        if flies(mid) { low = mid } else { high = mid }
    }
    Some(low)
}
