//! Which numbers does a metronome have?

/// The traditional series of metronome marks, in beats per minute: by 2 from 40, by 3 from 60, by 4 from 72, by 6 from
/// 120, by 8 from 144. Source: common practice (the steps of clockwork metronomes), from memory.
pub const METRONOME_MARKS: [u16; 39] = [
    40, 42, 44, 46, 48, 50, 52, 54, 56, 58, 60, 63, 66, 69, 72, 76, 80, 84, 88, 92, 96, 100, 104, 108, 112,
    116, 120, 126, 132, 138, 144, 152, 160, 168, 176, 184, 192, 200, 208,
];

/// The mark nearest to a speed in beats per minute; the slower of two equally near; the ends of the series beyond them.
///
/// ```
/// assert_eq!(terms::tempo::nearest(61.0), 60);
/// assert_eq!(terms::tempo::nearest(130.0), 132);
/// ```
pub fn nearest(bpm: f64) -> u16 {
    let mut best = METRONOME_MARKS[0];
    for mark in METRONOME_MARKS {
        if (f64::from(mark) - bpm).abs() < (f64::from(best) - bpm).abs() {
            best = mark;
        }
    }
    best
}

/// The fastest mark that is no faster than a speed in beats per minute; the slowest mark when there is none.
pub fn floor(bpm: f64) -> u16 {
    METRONOME_MARKS
        .iter()
        .rev()
        .copied()
        .find(|mark| f64::from(*mark) <= bpm)
        .unwrap_or(METRONOME_MARKS[0])
}

/// The mark so many clicks slower than the one nearest to a speed.
pub fn steps_down(bpm: f64, clicks: usize) -> u16 {
    let at = METRONOME_MARKS
        .iter()
        .position(|mark| *mark == nearest(bpm))
        .unwrap_or(0);
    METRONOME_MARKS
        .get(at.saturating_sub(clicks))
        .copied()
        .unwrap_or(METRONOME_MARKS[0])
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_series_rises_by_its_steps() {
        let step = |low: u16| match low {
            ..60 => 2,
            60..72 => 3,
            72..120 => 4,
            120..144 => 6,
            _ => 8,
        };
        assert!(
            METRONOME_MARKS
                .windows(2)
                .all(|pair| pair[1] - pair[0] == step(pair[0]))
        );
        assert_eq!(METRONOME_MARKS.last(), Some(&208));
    }

    #[test]
    fn nearest_and_floor() {
        assert_eq!((nearest(0.0), nearest(1000.0), nearest(f64::NAN)), (40, 208, 40));
        assert_eq!((nearest(61.5), nearest(61.6)), (60, 63));
        assert_eq!(
            (floor(62.9), floor(63.0), floor(12.0), floor(500.0)),
            (60, 63, 40, 208)
        );
        assert_eq!((steps_down(120.0, 3), steps_down(42.0, 9)), (108, 40));
    }
}
