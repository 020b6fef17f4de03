//! What chance allows of a counted share.

use fallrate_fit::stats::share_interval;

/// The least and the greatest count out of `count` whose exact interval at a confidence holds the nominal share.
pub fn allowed(count: usize, nominal: f64, confidence: f64) -> (usize, usize) {
    let fits = |held: usize| {
        let s = share_interval(held, count, confidence).unwrap();
        s.low <= nominal && s.high >= nominal
    };
    let all: Vec<usize> = (0..=count).filter(|&h| fits(h)).collect();
    (all[0], all[all.len() - 1])
}

/// Of 10, the exact 95 % limits hold one half for 2 (0.025 to 0.556) to 8 and not for 1 (0.003 to 0.445): any table of them.
#[test]
fn table_allowed_counts() {
    assert_eq!(allowed(10, 0.5, 0.95), (2, 8));
}
