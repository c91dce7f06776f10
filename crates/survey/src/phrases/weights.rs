//! How much does each piece of evidence weigh? Numbers written by `fit/phrases.py`; see `FIT.md` beside this file.

use super::features::{CELLS, WIDTH};

/// A beginning at least this certain is told.
pub(super) const THRESHOLD: f64 = 0.44;
/// By number of the row.
pub(super) const ROW: [f64; WIDTH] = [
    -2.8233, 2.1055, 0.2144, 2.0912, 2.1347, 2.2504, 0.2331, -0.3902, -0.1752, -0.0238, 1.8309, 0.0323,
    0.4761, 0.9109, 0.2845, 0.3733, 0.1981, 0.3786, 0.1695, 0.0893, 0.3398, 0.3343, -0.6262, 0.7537, 0.2234,
    -0.0759, 0.3631, 0.6844, -0.1418, 0.3951, 0.9093, 1.0206, 1.0282, 0.5921, -0.4929, -0.6017, 0.4595,
    0.2638, -0.1254, 0.0873,
];
/// By cell.
pub(super) const BY_BARS: [f64; CELLS[0]] = [
    -1.8895, -2.3513, -1.8132, 0.8259, 1.4305, 0.6396, 0.3310, 0.4385, 1.0250, 0.5399, -0.1887, -0.1263,
    -0.3863, -0.8972, -1.3972, -1.8972,
];
/// By cell.
pub(super) const BY_NOTES: [f64; CELLS[1]] = [
    -2.7327, -2.8455, -1.6584, -1.1876, -0.5524, 0.4404, 1.0666, 1.5170, 1.3846, 1.3084, 0.8805, 0.0620,
    -0.4380, -0.9380,
];
/// By cell.
pub(super) const BY_PHASE: [f64; CELLS[2]] = [-0.3933, -1.2804, -1.1496, -0.0000];
/// By cell.
pub(super) const BY_RHYTHM: [f64; CELLS[3]] = [-0.4561, -0.6325, -0.4383, -0.3721, -0.3653, -0.2816, -0.2774];
