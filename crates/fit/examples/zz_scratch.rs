#![allow(warnings)]
#[path = "../tests/all/apple_case.rs"]
mod apple_case;
use apple_case::*;
use fallrate_fit::*;
fn main() {
    let product = product();
    let all = runs();
    for (s, rh40, rh50, vlow, eahigh) in [
        (0.3, 0.425, 0.425, -1.0, 90.0),
        (0.3, 0.425, 0.425, -4.0, 300.0),
        (0.0, 0.425, 0.425, -4.0, 300.0),
        (0.15, 0.425, 0.425, -4.0, 300.0),
        (0.5, 0.425, 0.425, -4.0, 300.0),
        (0.3, 0.45, 0.40, -4.0, 300.0),
        (0.0, 0.45, 0.40, -4.0, 300.0),
        (0.0, 0.60, 0.425, -4.0, 300.0),
    ] {
        let mut runs = all.clone();
        for r in &mut runs {
            if r.rh > 0.4 {
                r.rh = if r.temperature_c < 45.0 { rh40 } else { rh50 }
            }
        }
        let six = six_mm(&runs);
        let mut ps = parameters();
        ps[1].bounds = Some((2.0, eahigh));
        ps[4].bounds = Some((vlow, 6.0));
        let comp = |run: &RunData, p: &[f64]| -> Result<DryingCurve, FitError> {
            let mut m = material(&product, run, p);
            m.lateral_shrinkage_exponent = s;
            Tunnel {
                air: TunnelAir {
                    temperature_c: run.temperature_c,
                    relative_humidity: run.rh,
                    pressure_pa: 82000.0,
                    heat_transfer_w_per_m2_k: p[2] * (run.speed / 1.1f64).powf(p[3]),
                    lewis_factor: 0.9113,
                },
                material: m,
                nodes: 15,
                relative_tolerance: 1e-5,
                both_faces: true,
            }
            .dry(&run.id, 1.6 * run.curve.duration_s(), 1e-3)
        };
        let res = |p: &[f64]| -> Result<Vec<f64>, FitError> {
            let mut all = vec![];
            for run in &six {
                let c = comp(run, p)?;
                for r in run.curve.readings().iter().skip(1) {
                    let x = r.moisture_dry_basis;
                    all.push((c.moisture_at(r.elapsed_s) - x) / (0.03 + 0.03 * x));
                }
            }
            Ok(all)
        };
        let o =
            FitOptions { starts: spread_starts(&ps, 3), tolerance: 1e-6, patience: 20, ..Default::default() };
        let f = fit(&ps, &res, &o).unwrap();
        print!("s {s} rh40 {rh40} rh50 {rh50}: rss {:.1} ", f.sum_of_squares);
        for p in &f.parameters {
            print!(
                "{}={:.3e}({}) ",
                p.name,
                p.value,
                p.standard_error.map_or("-".into(), |e| format!("{:.0e}", e))
            );
        }
        println!(
            "starts {:?}",
            f.starts.iter().map(|s| (s.sum_of_squares as i64, s.evaluations)).collect::<Vec<_>>()
        );
        let v = f.values();
        for run in &six {
            let c = comp(run, &v).unwrap();
            print!("   {} ", &run.id[16..]);
            for (l, _) in LEVELS {
                print!("{:+.1} ", 100.0 * time_error(run, &c, l).unwrap());
            }
        }
        println!();
    }
}
