//! Who plays? What the load is measured against: instrument, experience, range, breath, tongue, fingers.

use instruments::{Experience, Instrument};
use notation::Pitch;

/// How fast the tongue is, in notes a second.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Tongue {
    /// Single tongue in a short burst of about a beat.
    pub burst: f64,
    /// Single tongue kept up through several bars.
    pub sustained: f64,
    /// True if she double or triple tongues where it gets too fast.
    pub multiple: bool,
}

/// How long one breath lasts.
#[derive(Clone, Copy, PartialEq, Debug)]
pub struct Breath {
    /// Seconds of a comfortable full breath in the middle register at mezzo forte.
    pub seconds: f64,
}

/// The player as a plain value: her profile, or what is usual on the instrument at her level.
#[derive(Clone, PartialEq, Debug)]
pub struct Player {
    /// The instrument; `None` if neither she nor the part says.
    pub instrument: Option<&'static Instrument>,
    /// How experienced she is.
    pub experience: Experience,
    /// Her own comfortable range, written pitches; `None` for the usual one at her level.
    pub range: Option<(Pitch, Pitch)>,
    /// Her breath.
    pub breath: Breath,
    /// Her tongue.
    pub tongue: Tongue,
    /// Fingerings she prefers, by written pitch and name.
    pub prefers: Vec<(Pitch, String)>,
    /// Fingerings she can't reach, by written pitch and name.
    pub out_of_reach: Vec<(Pitch, String)>,
}

impl Player {
    /// A player of an instrument at a level, with what is usual there.
    ///
    /// Tongue: 5, 7.5 and 9 notes a second for student, intermediate and professional, judgement anchored on players'
    /// own statements (bassoon: four at ♩ = 138 "fairly fast", 9.2; clarinet: 144–152 in sixteenths out of most players'
    /// range, 9.6–10.1; students ♩ = 100, 6.7); kept up for long, four fifths of that: `common practice`.
    /// Breath: 8, 12 and 16 seconds, longer or shorter by instrument ([`crate::breath::air`]): `common practice`.
    #[must_use]
    pub fn usual(instrument: Option<&'static Instrument>, experience: Experience) -> Self {
        let burst = match experience {
            Experience::Student => 5.0,
            Experience::Intermediate => 7.5,
            Experience::Professional => 9.0,
        };
        let seconds = crate::breath::air::usual_seconds(instrument, experience);
        Self {
            instrument,
            experience,
            range: None,
            breath: Breath { seconds },
            tongue: Tongue {
                burst,
                sustained: burst * 0.8,
                multiple: false,
            },
            prefers: Vec::new(),
            out_of_reach: Vec::new(),
        }
    }

    /// Her written range: her own, else the usual one at her level; `None` where nothing is known.
    #[must_use]
    pub fn written_range(&self) -> Option<(Pitch, Pitch)> {
        self.range.or_else(|| {
            self.instrument
                .and_then(|instrument| instrument.ranges.of(self.experience))
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn her_own_range_comes_before_the_usual_one() {
        let bassoon = instruments::by_id("bassoon");
        let mut player = Player::usual(bassoon, Experience::Professional);
        assert_eq!(
            player.written_range().map(|(low, _)| low.to_string()),
            Some("Bb1".to_owned())
        );
        player.range = Pitch::parse("C2").zip(Pitch::parse("G4"));
        assert_eq!(
            player.written_range().map(|(low, _)| low.to_string()),
            Some("C2".to_owned())
        );
        assert!(player.tongue.sustained < player.tongue.burst);
    }
}
