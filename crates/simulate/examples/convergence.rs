//! Prints how the two reference batches converge with the grid, the tolerance and the positions, as Markdown.
//! `cargo run --release -p fallrate-simulate --example convergence`

use fallrate_simulate::{
    AlongPosition, Batch, Options, Run, StageInput,
    reference_case::{diffusion_limited_batch, diffusion_limited_stages, standard_batch, standard_stages},
    run,
};

fn compute(batch: &Batch, stages: &[StageInput], relative_tolerance: f64) -> Option<Run> {
    let o =
        Options { relative_tolerance, sample_every_s: None, enforce_balances: false, ..Options::default() };
    match run(batch, stages, &o, &mut |_| true) {
        Ok(run) => Some(run),
        Err(error) => {
            println!("{error}");
            None
        }
    }
}

/// End of the powered time (the last stage but one) and what the run looks like there.
fn row(label: &str, batch: &Batch, stages: &[StageInput], relative_tolerance: f64, best: &Run) {
    let Some(run) = compute(batch, stages, relative_tolerance) else { return };
    let at = run.stage_ends.len() - 2;
    let (s, b) = (&run.stage_ends[at].sample, &best.stage_ends[at].sample);
    let core = run.stage_ends.iter().zip(&best.stage_ends).fold(0.0_f64, |worst, (a, c)| {
        let d = (a.sample.core_coldest_c - c.sample.core_coldest_c).abs();
        worst.max(d).max((a.sample.core_warmest_c - c.sample.core_warmest_c).abs())
    });
    println!(
        "| {label} | {:.1} | {:+.3} | {:.3} | {:.4} | {:.4} | {:.1e} | {:.1e} | {} | {} |",
        s.elapsed_s,
        100.0 * (s.elapsed_s / b.elapsed_s - 1.0),
        core,
        s.moisture_slowest_dry_basis,
        s.moisture_fastest_dry_basis,
        run.balance.water_residual_share,
        run.balance.energy_residual_share,
        run.counts.steps,
        run.counts.slopes,
    );
}

fn head(title: &str) {
    println!("\n### {title}\n");
    println!(
        "| case | powered time, s | off the finest, % | worst core, K | slowest X | fastest X | water residual | energy residual | steps | Jacobians |"
    );
    println!("|---|---|---|---|---|---|---|---|---|---|");
}

fn tables(name: &str, batch: &Batch, stages: &[StageInput]) {
    let with = |change: &dyn Fn(&mut Batch)| {
        let mut b = batch.clone();
        change(&mut b);
        b
    };
    head(&format!("{name}: nodes through a piece, relative tolerance 1e-8"));
    let Some(best) = compute(&with(&|b| b.load.nodes = 97), stages, 1e-8) else { return };
    for nodes in [7, 9, 13, 25, 49, 97] {
        row(&format!("{nodes} nodes"), &with(&|b| b.load.nodes = nodes), stages, 1e-8, &best);
    }
    head(&format!("{name}: relative tolerance, 13 nodes"));
    let Some(best) = compute(batch, stages, 1e-9) else { return };
    for rtol in [1e-3, 1e-4, 3e-5, 1e-5, 3e-6, 1e-6, 1e-7, 1e-8] {
        row(&format!("{rtol:e}"), batch, stages, rtol, &best);
    }
    for (mode, text) in
        [(AlongPosition::Entering, "entering air"), (AlongPosition::Mean, "mean air and ends")]
    {
        head(&format!("{name}: positions along the air, {text}, 13 nodes, relative tolerance 1e-6"));
        let of = |n: usize| {
            with(&|b| {
                b.load.positions = n;
                b.exchange.along_position = mode;
            })
        };
        let Some(best) = compute(&of(80), stages, 1e-6) else { return };
        for n in [3, 4, 5, 6, 8, 10, 20, 40, 80] {
            row(&format!("{n} positions"), &of(n), stages, 1e-6, &best);
        }
    }
}

fn main() {
    tables("Standard batch", &standard_batch(), &standard_stages());
    tables("Diffusion-limited batch", &diffusion_limited_batch(), &diffusion_limited_stages());
}
