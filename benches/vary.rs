//! Points per second of a φ × water map of 10 000 points, on one thread and on two, measured in
//! one run. Prints both and their ratio; asserts nothing about time.
#![allow(clippy::unwrap_used, missing_docs)]

use emberpot::vary::{Axis, Factor, Sweep, sweep, usual_state};
use emberpot::{Batch, Tables};
use std::time::Instant;

const SIDE: usize = 100;
/// Best of so many runs each, taken in turns, so that a busy machine disturbs both alike.
const RUNS: usize = 3;

fn main() {
    let tables = Tables::built_in().unwrap();
    let text = include_str!("../examples/zinc-aluminate-blue.toml");
    let batch = Batch::parse(text, "zinc-aluminate-blue.toml", &tables).unwrap();
    let axis = |name, from: &str, to: &str, steps| {
        let factor = Factor::read(name, &batch, &tables).unwrap();
        let (from, to) = (factor.level(from).unwrap(), factor.level(to).unwrap());
        Axis::evenly(factor, from, to, steps).unwrap()
    };
    let map = |threads: usize, side: usize| -> (Sweep, f64) {
        let axes = vec![
            axis("fuel-ratio", "0.5", "3", side),
            axis("water-left", "0 %", "60 %", side),
        ];
        let state = usual_state(&batch, &axes);
        let pool = rayon::ThreadPoolBuilder::new()
            .num_threads(threads)
            .build()
            .unwrap();
        let start = Instant::now();
        let result = pool.install(|| sweep(&batch, axes, state, &tables, &|| {}).unwrap());
        (result, start.elapsed().as_secs_f64())
    };
    // `cargo test --benches` only wants to see that it runs.
    let side = if std::env::args().any(|argument| argument == "--bench") {
        SIDE
    } else {
        10
    };
    let points = (side * side) as f64;
    let mut best = [f64::INFINITY; 2];
    for _ in 0..RUNS {
        for (threads, best) in [1, 2].into_iter().zip(&mut best) {
            let (result, seconds) = map(threads, side);
            assert_eq!(result.rows.len(), side * side);
            assert!(result.rows.iter().all(|row| row.outcome.is_ok()));
            *best = best.min(seconds);
        }
    }
    let [one, two] = best;
    println!("{points} points of {}", batch.name);
    println!("1 thread:  {:.0} points/s ({one:.2} s)", points / one);
    println!("2 threads: {:.0} points/s ({two:.2} s)", points / two);
    println!("speed-up from 1 to 2 threads: {:.2}", one / two);
}
