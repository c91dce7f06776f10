//! How much does each piece of evidence weigh? Three fitted tables, one number per column of the evidence.
//!
//! Fitted, not chosen: by maximum likelihood with a quadratic penalty (20 on columns scaled to unit spread) on scores
//! that ship with music21 10.5.1, none of them a row of the test table `key-truth.csv`: 1490 chorale parts, 111 quartet
//! parts, 54 others, 970 fiddle tunes, 684 folk songs, 239 madrigal parts, 728 Palestrina parts. `FIT.md` tells how the
//! labels were made and how well the weights do in cross-validation by work.

use super::features::{ALONE, WIDTH};

/// For a part by itself.
#[rustfmt::skip]
pub const ALONE_WEIGHTS: [f64; ALONE] = [
    // MODE
    -0.004,
    // SIGNATURE_FIRST
    1.739, -0.111, -0.558, -0.341, 1.366, -0.170, 0.402, -0.522, -0.392,
    // SIGNATURE_LONGEST
    0.544, 0.707, 0.193, -0.461, 0.610, -0.257, 0.529, -0.290, -0.234,
    // SHARES
    -10.947, 2.291, 0.971, 4.241, -0.921, 0.718, 0.282, -0.019, 0.945, 0.668, -3.359, -2.232, -2.172, -2.802, -1.043, -1.146, -1.558, 2.521, -0.162, 0.735, 0.680, 0.594, 1.247, -2.378, 5.912, 2.728, -13.678, -5.133,
    // FIT
    0.994, 0.660, 1.126, 0.731, 0.872,
    // FIT_OPENING
    0.579,
    // FIT_CLOSING
    0.503,
    // LOCAL
    -1.186, 1.214, 0.880,
    // LAST
    0.754, -0.093, 0.423, -0.217, 0.052, 0.148, -0.377, -0.474, -0.327, 0.875, 0.061, -0.630, -0.172, -0.198, -0.364, -0.835, 2.185, 0.020,
    // LAST_LEAPING
    -1.767, 2.328, -0.772, -0.050, -1.585, 0.901, -1.587, 0.090, 0.836,
    // LAST_UPPER
    0.294, 0.216, -0.091, -0.469, -0.074, -0.114, 0.357, 0.832, -0.120,
    // LAST_INNER
    -0.555, -0.810, 1.055, -0.608, 1.821, -0.684, 1.005, 1.405, -0.585,
    // LAST_BASS
    0.599, -1.075, 0.286, 0.192, -0.267, -0.035, 0.292, -0.206, 0.085,
    // LAST_PLAYER
    -0.018, -0.667, 0.768, -0.687, 1.250, -0.442, 0.445, 1.281, -0.368,
    // OFF_BY_ROLE
    0.005, 0.034, -0.133, -0.097, -0.386, -0.481, -0.320, -0.323, -0.350, -0.226,
    // OFF_ONE
    0.087, -0.117, -1.511, 4.811, 0.488,
    // LAST_LOW
    0.631, -0.594, -0.004,
    // APPROACH
    1.049, 1.035, 0.947, -0.136, 0.489, 0.451, 0.492, 0.532, -0.801, -0.258, 0.124, -0.008, -0.109, -0.331,
    // FIRST
    0.322, 0.754, 0.354, 0.053, 0.395, 0.368,
    // FIRST_DOWN
    0.385, 0.176, 0.311,
    // PHRASES
    -0.007, 0.177, 0.071, -0.438, 0.015, -0.074, 0.944, -0.654, 0.086,
    // PHRASE_APPROACH
    0.189, -0.478, -0.068, 0.239,
    // SECTIONS
    1.284, 0.007, -0.150,
    // MOTIONS
    0.134, 0.294, -0.175, 0.314,
    // DOWNBEATS
    0.060, -0.056, 0.590,
];

/// For a part whose signature is not to be believed: the same fit without the signature columns.
#[rustfmt::skip]
pub const UNSIGNED_WEIGHTS: [f64; ALONE] = [
    // MODE
    0.028,
    // SIGNATURE_FIRST
    0.000, 0.000, 0.000, 0.000, 0.000, 0.000, 0.000, 0.000, 0.000,
    // SIGNATURE_LONGEST
    0.000, 0.000, 0.000, 0.000, 0.000, 0.000, 0.000, 0.000, 0.000,
    // SHARES
    -17.129, -2.833, -3.823, 2.255, -0.785, -0.314, 0.344, 0.451, 4.099, 1.430, -1.348, -6.870, -2.935, -1.115, -2.439, 0.730, -0.511, 8.207, 0.905, -0.490, 0.069, 0.973, -1.339, -7.059, -0.081, -1.576, -22.795, -14.705,
    // FIT
    1.198, 1.045, 1.397, 0.885, 1.503,
    // FIT_OPENING
    0.703,
    // FIT_CLOSING
    0.803,
    // LOCAL
    -1.238, 2.216, 1.034,
    // LAST
    0.638, -0.190, 0.308, -0.148, 0.114, 0.150, -0.355, -0.451, -0.312, 0.982, 0.126, -0.636, -0.215, -0.252, -0.301, -1.355, 2.317, -0.002,
    // LAST_LEAPING
    -1.092, 1.974, -0.845, 0.408, -2.403, 1.045, -3.183, -1.246, 1.374,
    // LAST_UPPER
    -0.093, 0.382, -0.004, -0.402, -0.009, -0.171, 0.561, 0.887, -0.083,
    // LAST_INNER
    -0.752, -0.534, 0.996, -0.787, 1.824, -0.851, 1.595, 1.701, -0.608,
    // LAST_BASS
    0.445, -1.163, -0.062, 0.415, 0.010, 0.080, 0.016, -0.438, 0.101,
    // LAST_PLAYER
    -0.297, -0.337, 0.747, -0.644, 1.309, -0.527, 0.891, 1.345, -0.474,
    // OFF_BY_ROLE
    0.000, 0.000, 0.000, 0.000, 0.000, 0.000, 0.000, 0.000, 0.000, 0.000,
    // OFF_ONE
    0.000, 0.000, 0.000, 0.000, 0.000,
    // LAST_LOW
    0.701, -0.788, 0.015,
    // APPROACH
    1.112, 1.051, 0.959, -0.173, 0.308, 0.279, 0.518, 0.521, -0.879, -0.412, 0.126, 0.123, -0.132, -0.303,
    // FIRST
    0.585, 0.861, 0.634, 0.091, 0.255, 0.450,
    // FIRST_DOWN
    0.321, 0.330, 0.197,
    // PHRASES
    -0.024, 0.325, 0.189, -0.389, 0.175, 0.279, 1.214, -1.386, -0.363,
    // PHRASE_APPROACH
    0.602, -0.463, -0.488, 0.146,
    // SECTIONS
    1.428, 0.152, 0.155,
    // MOTIONS
    0.412, 0.057, 0.026, 0.597,
    // DOWNBEATS
    0.033, 0.489, 0.930,
];

/// How much the score of the part by itself counts beside the evidence of the whole score.
pub const PART_IN_SCORE: f64 = 0.401;

/// For the evidence of the whole score, added to the part's.
#[rustfmt::skip]
pub const SCORE_WEIGHTS: [f64; WIDTH - ALONE] = [
    // SCORE_LAST
    0.033, 1.094, -0.432, 0.105, -0.481, -0.410, 0.398, -0.031,
    // SCORE_THIRD
    0.150, -1.122, 0.015, 0.489,
    // SCORE_FIT
    4.866,
    // SCORE_SECTIONS
    1.075, 1.297,
    // SCORE_FIRST
    1.899, 0.937,
    // SCORE_HOME
    2.841, 1.330,
];
