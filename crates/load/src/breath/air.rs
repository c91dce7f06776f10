//! How fast does this note empty the breath? Rates by instrument, register and loudness, against the middle register at mf.
//!
//! Source of the span: air flow while playing is 0.1 to 1 litre a second, an oboe softly a little less, a tuba fortissimo
//! a little more, so that five litres last 50 seconds or 5 (J. Wolfe, UNSW, phys.unsw.edu.au/jw/air-speed.html); flute
//! and tuba both take large quantities of air (A. Jacobs, The Instrumentalist). No table by register or loudness is
//! published that we know; the steps below are judgement within that span, marked `judgement`.

use crate::keys::key_of;
use instruments::{Experience, Family, Instrument};
use notation::Pitch;
use terms::dynamics::Loudness;

/// How an instrument takes air, all against its own middle register at mf. `Judgement`.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Appetite {
    /// How much longer or shorter the usual breath lasts on it than on a middling wind instrument.
    pub lasts: f64,
    /// Rate in its lowest register.
    pub low: f64,
    /// Rate in its highest register.
    pub high: f64,
    /// By how much the rate grows with each dynamic step (mp to mf, mf to f).
    pub step: f64,
    /// Used-up air has to go out before fresh comes in.
    pub breathes_out: bool,
}

const MIDDLING: Appetite = Appetite {
    lasts: 1.0,
    low: 1.15,
    high: 0.95,
    step: 1.12,
    breathes_out: false,
};

/// The appetite of an instrument.
#[must_use]
pub fn appetite(instrument: Option<&Instrument>) -> Appetite {
    let Some(instrument) = instrument else {
        return MIDDLING;
    };
    let of = |lasts, low, high, step| Appetite {
        lasts,
        low,
        high,
        step,
        breathes_out: false,
    };
    match (instrument.id, instrument.family) {
        // Oboists run out of oxygen, not of air: breathe out first (walkerd2014.blogspot.com; from memory).
        ("oboe" | "english-horn", _) => Appetite {
            breathes_out: true,
            ..of(1.5, 1.1, 0.95, 1.08)
        },
        ("tuba", _) => of(0.6, 1.5, 0.85, 1.25),
        ("trombone-bass", _) => of(0.7, 1.4, 0.85, 1.22),
        ("trombone-tenor" | "euphonium", _) => of(0.85, 1.3, 0.85, 1.18),
        ("flute", _) => of(0.9, 1.35, 0.95, 1.18),
        ("piccolo", _) => of(1.1, 1.2, 1.0, 1.12),
        (id, _) if id.starts_with("recorder") => of(1.0, 0.85, 1.2, 1.0),
        (id, _) if id.contains("clarinet") => of(1.2, 1.05, 1.0, 1.1),
        ("contrabassoon", _) => of(0.8, 1.3, 0.95, 1.15),
        ("bassoon", _) => of(1.1, 1.15, 0.95, 1.1),
        ("baritone-sax", _) => of(0.8, 1.3, 0.95, 1.15),
        (_, Family::Brass) => of(1.05, 1.2, 0.85, 1.15),
        (_, Family::Voice) => of(1.1, 1.1, 1.0, 1.08),
        _ => MIDDLING,
    }
}

/// Seconds of a usual comfortable breath: 8, 12 and 16 by experience (common practice), longer or shorter by instrument.
#[must_use]
pub fn usual_seconds(instrument: Option<&Instrument>, experience: Experience) -> f64 {
    let middling = match experience {
        Experience::Student => 8.0,
        Experience::Intermediate => 12.0,
        Experience::Professional => 16.0,
    };
    middling * appetite(instrument).lasts
}

/// How many seconds of breath a second of this note takes.
#[must_use]
pub fn rate(
    appetite: &Appetite,
    compass: Option<(Pitch, Pitch)>,
    pitch: Pitch,
    loudness: Option<Loudness>,
) -> f64 {
    let register = compass.map_or(1.0, |(low, high)| {
        let (low, high) = (f64::from(key_of(low)), f64::from(key_of(high)));
        let height = ((f64::from(key_of(pitch)) - low) / (high - low).max(1.0)).clamp(0.0, 1.0);
        // The outer thirds of the compass are low and high; towards the middle it evens out.
        if height < 1.0 / 3.0 {
            appetite.low + (1.0 - appetite.low) * height * 3.0
        } else if height > 2.0 / 3.0 {
            1.0 + (appetite.high - 1.0) * (height * 3.0 - 2.0)
        } else {
            1.0
        }
    });
    // mf is 16, each p or f two places away.
    let steps = loudness.map_or(0.0, |level| ((f64::from(level.0) - 16.0) / 2.0).clamp(-4.0, 4.0));
    register * appetite.step.powf(steps)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn of(id: &str, pitch: &str, loudness: u8) -> f64 {
        let instrument = instruments::by_id(id);
        let compass = instrument.and_then(|i| i.ranges.of(Experience::Professional));
        let pitch = Pitch::parse(pitch).expect("a pitch");
        rate(&appetite(instrument), compass, pitch, Some(Loudness(loudness)))
    }

    /// Source: practice facts of the issue: the low loud flute and the tuba empty fastest.
    #[test]
    fn a_low_loud_flute_empties_fast() {
        assert!(of("flute", "C4", 20) > 1.7 * of("flute", "A5", 16));
        assert!(of("tuba", "F1", 20) > of("flute", "C4", 20));
        assert!(of("oboe", "C4", 20) < 1.4);
        assert!((of("clarinet-bb", "C5", 16) - 1.0).abs() < 0.1);
        let usual = |id| usual_seconds(instruments::by_id(id), Experience::Intermediate);
        assert!(usual("tuba") < usual("flute") && usual("flute") < usual("oboe"));
    }
}
