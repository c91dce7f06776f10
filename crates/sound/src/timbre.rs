//! What makes an instrument's tone its own? How strong each partial is, by family, register and loudness; how it begins and ends.
//!
//! A clear practice tone, not an imitation: enough of each family that a player hears her own kind of instrument, with
//! every partial in tune. All numbers are judgement; the places of the formants follow J. Meyer, Acoustics and the
//! Performance of Music (from memory: oboe about 1,100 Hz, bassoon 500, English horn 950, trumpet 1,200, trombone 550, horn
//! 400, tuba 250, violin's bridge hill 2,500), the clarinet's missing even partials in the low register A. Benade (from
//! memory).

use instruments::{Family, Instrument};

/// The tone of a kind of instrument.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Timbre {
    /// By how much partials weaken, in decibels an octave, at the bottom of the compass.
    slope: f64,
    /// And how many more decibels an octave for each octave above middle C.
    steeper: f64,
    /// Centre (hertz), height (decibels) and width (octaves) of the band that is always strong.
    formant: (f64, f64, f64),
    /// By how much even partials are weaker below written-register changes (clarinet), in decibels.
    even: f64,
    /// Above this fundamental (hertz) the even partials come back.
    even_until: f64,
    /// Decibels an octave that loudness adds to or takes from the slope, for each 10 dB.
    brightens: f64,
    /// Seconds that a plain attack takes.
    pub(crate) attack: f64,
    /// Seconds to die away once let go.
    pub(crate) release: f64,
    /// Seconds in which a struck or plucked tone falls by 20 dB; `None` for one that is held.
    pub(crate) decay: Option<f64>,
}

const fn held(slope: f64, steeper: f64, formant: (f64, f64, f64), brightens: f64, attack: f64) -> Timbre {
    Timbre {
        slope,
        steeper,
        formant,
        even: 0.0,
        even_until: 0.0,
        brightens,
        attack,
        release: 0.045,
        decay: None,
    }
}

const FLUTE: Timbre = held(-11.0, -3.0, (800.0, 4.0, 1.0), 2.0, 0.040);
const RECORDER: Timbre = held(-13.0, -3.0, (700.0, 3.0, 1.0), 1.0, 0.025);
const OBOE: Timbre = held(-7.0, -2.0, (1_100.0, 9.0, 0.8), 2.0, 0.022);
const ENGLISH_HORN: Timbre = held(-7.0, -2.0, (950.0, 9.0, 0.8), 2.0, 0.024);
const BASSOON: Timbre = held(-8.0, -2.0, (500.0, 9.0, 0.8), 2.0, 0.024);
const CLARINET: Timbre = Timbre {
    even: -22.0,
    even_until: 400.0,
    ..held(-7.5, -2.5, (1_500.0, 3.0, 1.0), 2.5, 0.028)
};
const BASS_CLARINET: Timbre = Timbre {
    even_until: 200.0,
    ..CLARINET
};
const SAXOPHONE: Timbre = held(-7.0, -2.0, (900.0, 5.0, 1.2), 2.5, 0.024);
const TRUMPET: Timbre = held(-6.0, -1.5, (1_200.0, 7.0, 1.0), 4.0, 0.022);
const HORN: Timbre = held(-11.0, -2.0, (400.0, 7.0, 1.0), 4.0, 0.032);
const TROMBONE: Timbre = held(-7.5, -1.5, (550.0, 7.0, 1.0), 4.0, 0.028);
const TUBA: Timbre = held(-12.0, -1.5, (250.0, 6.0, 1.0), 3.0, 0.036);
const STRING: Timbre = held(-6.5, -1.5, (2_500.0, 4.0, 1.0), 1.5, 0.055);
const LOW_STRING: Timbre = held(-7.0, -1.5, (1_200.0, 4.0, 1.2), 1.5, 0.060);
const VOICE: Timbre = held(-9.0, -2.0, (700.0, 8.0, 0.8), 1.5, 0.050);
const PLUCKED: Timbre = Timbre {
    decay: Some(0.9),
    ..held(-8.0, -2.0, (400.0, 3.0, 1.2), 2.0, 0.004)
};
const KEYBOARD: Timbre = Timbre {
    decay: Some(1.6),
    ..held(-9.0, -2.5, (500.0, 2.0, 1.5), 3.0, 0.004)
};

/// Decibels an octave by which everything weakens above this frequency (hertz), whatever the instrument.
const DULLS: f64 = -10.0;
const DULL_FROM: f64 = 4_000.0;

/// A calm tone for a drone: soft, with enough partials to tune thirds and fifths by.
pub(crate) const DRONE: Timbre = Timbre {
    release: 0.080,
    ..held(-8.0, -1.0, (600.0, 3.0, 1.5), 0.0, 0.120)
};

impl Timbre {
    /// The tone for an instrument; a clear flute-like one where none is known.
    #[must_use]
    pub fn of(instrument: Option<&Instrument>) -> Self {
        let Some(instrument) = instrument else {
            return FLUTE;
        };
        let id = instrument.id;
        let starts = |name: &str| id.starts_with(name);
        match instrument.family {
            Family::Flute if starts("recorder") => RECORDER,
            Family::Flute => FLUTE,
            Family::Reed if starts("oboe") => OBOE,
            Family::Reed if starts("english-horn") => ENGLISH_HORN,
            Family::Reed if starts("bassoon") || starts("contrabassoon") => BASSOON,
            Family::Reed if starts("bass-clarinet") => BASS_CLARINET,
            Family::Reed if starts("clarinet") => CLARINET,
            Family::Reed => SAXOPHONE,
            Family::Brass if starts("horn") => HORN,
            Family::Brass if starts("trombone") => TROMBONE,
            Family::Brass if starts("tuba") || starts("euphonium") => TUBA,
            Family::Brass => TRUMPET,
            Family::String if starts("cello") || starts("double-bass") => LOW_STRING,
            Family::String => STRING,
            Family::Voice => VOICE,
            Family::Plucked => PLUCKED,
            Family::Keyboard | Family::Percussion => KEYBOARD,
        }
    }

    /// The amplitude of each partial from the fundamental up, all below `limit` hertz, for a tone at a loudness (decibels
    /// from mf). Scaled so that every tone has the same power.
    pub(crate) fn partials(&self, hertz: f64, loudness: f64, limit: f64) -> Vec<f64> {
        const MOST: u32 = 80;
        let octaves = (hertz / 261.6).log2();
        let slope = self.slope
            + self.steeper * octaves.max(0.0)
            + self.brightens * (loudness / 10.0).clamp(-2.0, 1.5);
        let mut partials: Vec<f64> = (1..=MOST)
            .take_while(|number| f64::from(*number) * hertz < limit)
            .map(|number| {
                let octave = f64::from(number).log2();
                let mut level = slope.min(-4.5) * octave;
                // Ears tire of what is strong up here.
                level += DULLS * (f64::from(number) * hertz / DULL_FROM).log2().max(0.0);
                let (centre, height, width) = self.formant;
                let away = (f64::from(number) * hertz / centre).log2() / width;
                level += height * (-away * away).exp();
                if number % 2 == 0 && hertz < self.even_until {
                    level += self.even * (1.0 - hertz / self.even_until).min(0.5) * 2.0;
                }
                crate::numbers::factor(level)
            })
            .collect();
        // What nobody hears costs time.
        let loudest = partials.iter().copied().fold(0.0, f64::max);
        while partials.last().is_some_and(|last| *last < loudest * 1e-4) {
            partials.pop();
        }
        let power: f64 = partials.iter().map(|partial| partial * partial / 2.0).sum();
        if power > 0.0 {
            // An effective value of 0.1, −20 dB of full scale, leaves room above.
            let scale = 0.1 / power.sqrt();
            partials.iter_mut().for_each(|partial| *partial *= scale);
        }
        partials
    }
}
