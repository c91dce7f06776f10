//! How fast is the reader? The first reading and the best of many, in microseconds, for each file named.
#![allow(
    clippy::print_stdout,
    clippy::unwrap_used,
    reason = "an example for the developer's terminal"
)]

use std::hint::black_box;
use std::time::Instant;

fn once(bytes: &[u8], name: &str) -> f64 {
    let start = Instant::now();
    drop(black_box(formats::read(bytes, name)));
    start.elapsed().as_secs_f64() * 1e6
}

fn main() {
    for name in std::env::args().skip(1) {
        let bytes = std::fs::read(&name).unwrap();
        let first = once(&bytes, &name);
        let runs = std::env::var("RUNS")
            .ok()
            .and_then(|n| n.parse().ok())
            .unwrap_or(40);
        let best = (0..runs).map(|_| once(&bytes, &name)).fold(first, f64::min);
        println!("{name}: first {first:.0}, best of {runs} {best:.0}");
    }
}
