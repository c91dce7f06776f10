//! Who plays, as JSON? What the loads are measured against.

use crate::say::pitch_name;
use load::Player;
use notation::Pitch;
use schemars::JsonSchema;
use serde::Serialize;

/// The player: her own values, or what is usual on the instrument at her level.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct PlayerSaid {
    /// The instrument's fixed name (`clarinet-bb`); null if neither she nor the part says.
    pub instrument: Option<String>,
    /// The instrument's name.
    pub instrument_name: Option<String>,
    /// `student`, `intermediate` or `professional`.
    pub level: String,
    /// Comfortable written range; null where nothing is known.
    pub range: Option<PlayerRange>,
    /// Seconds of a comfortable full breath in the middle register at mezzo forte.
    pub breath_seconds: f64,
    /// How fast the tongue is.
    pub tongue: TongueSaid,
    /// Fingerings she prefers.
    pub prefers: Vec<NamedFingering>,
    /// Fingerings she can't reach.
    pub out_of_reach: Vec<NamedFingering>,
}

/// A written range.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct PlayerRange {
    /// Lowest written note.
    pub low: String,
    /// Highest written note.
    pub high: String,
    /// True if it is her own, false for the usual one at her level.
    pub own: bool,
}

/// How fast the tongue is.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct TongueSaid {
    /// Single tongue for about a beat, in notes a second.
    pub burst: f64,
    /// Single tongue kept up through several bars, in notes a second.
    pub sustained: f64,
    /// True if she double or triple tongues where it gets too fast.
    pub multiple: bool,
}

/// A fingering of a note by its name.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct NamedFingering {
    /// Written pitch.
    pub written: String,
    /// The fingering's name, or the fingering written out.
    pub fingering: String,
}

pub(super) fn player(player: &Player) -> PlayerSaid {
    let named = |list: &[(Pitch, String)]| {
        list.iter()
            .map(|(pitch, name)| NamedFingering {
                written: pitch_name(*pitch),
                fingering: name.clone(),
            })
            .collect()
    };
    PlayerSaid {
        instrument: player.instrument.map(|instrument| instrument.id.to_owned()),
        instrument_name: player.instrument.map(|instrument| instrument.name.to_owned()),
        level: player.experience.word().to_owned(),
        range: player.written_range().map(|(low, high)| PlayerRange {
            low: pitch_name(low),
            high: pitch_name(high),
            own: player.range.is_some(),
        }),
        breath_seconds: player.breath.seconds,
        tongue: TongueSaid {
            burst: player.tongue.burst,
            sustained: player.tongue.sustained,
            multiple: player.tongue.multiple,
        },
        prefers: named(&player.prefers),
        out_of_reach: named(&player.out_of_reach),
    }
}
