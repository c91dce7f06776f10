//! What is listened for? The range of the instrument and the tuning, if they are known.

/// What is listened for in a recording.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Ear {
    /// The lowest key number (MIDI, A4 = 69, sounding) that can come, a margin for mistakes and tuning included.
    pub lowest: f64,
    /// The highest key number that can come, a margin included.
    pub highest: f64,
    /// Hertz of A4 if it is known; else it is estimated from the take.
    pub a4: Option<f64>,
}

impl Ear {
    /// What is ever listened for: from a contrabassoon's A0 to a piccolo's C8, with half a semitone of room.
    const LOWEST: f64 = 20.5;
    const HIGHEST: f64 = 108.7;
    /// Semitones by which wrong notes may lie outside a part's or an instrument's range.
    const MARGIN: f64 = 3.0;

    /// An ear for sounding notes from one key number to another, with a margin of three semitones on both sides.
    #[must_use]
    pub fn between(lowest: f64, highest: f64) -> Self {
        Self {
            lowest: lowest.min(highest) - Self::MARGIN,
            highest: highest.max(lowest) + Self::MARGIN,
            a4: None,
        }
        .bounded()
    }

    /// The same with a range that can be listened for: at least an octave between A♭0 and C8.
    pub(crate) fn bounded(self) -> Self {
        let sane = |value: f64, or: f64| {
            if value.is_finite() {
                value.clamp(Self::LOWEST, Self::HIGHEST)
            } else {
                or
            }
        };
        let lowest = sane(self.lowest, Self::LOWEST).min(Self::HIGHEST - 12.0);
        Self {
            lowest,
            highest: sane(self.highest, Self::HIGHEST).max(lowest + 12.0),
            a4: self.a4.filter(|a4| (390.0..=490.0).contains(a4)),
        }
    }
}

impl Default for Ear {
    /// Anything from E1 (double bass) to C8 (piccolo). A known instrument is followed more surely.
    fn default() -> Self {
        Self::between(31.0, 105.5)
    }
}
