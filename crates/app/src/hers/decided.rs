//! What did she decide where we propose? Her choices of key, breath and fingering, as they are kept and as the desk takes them.

use crate::error::AppError;
use crate::state::App;
use desk::{Decided, Opened};
use load::breath::{Own, OwnBreath};
use notation::{BarIndex, Piece, Pitch, Step};
use serde::{Deserialize, Serialize};
use store::{ChoiceRow, PieceRow, PlayerId};
use survey::key::{Scale, ToldKey};
use survey::metre::MetreAnswer;

/// What a choice is about: the key of the whole, the key of some bars, a breath, a fingering.
pub(crate) const KEY: &str = "key";
pub(crate) const KEY_OF_BARS: &str = "key-of-bars";
pub(crate) const BREATH: &str = "breath";
pub(crate) const FINGERING: &str = "fingering";

/// A key as it is kept: `{"tonic":"Bb","scale":"dorian"}`.
#[derive(Clone, PartialEq, Eq, Debug, Serialize, Deserialize)]
pub(crate) struct KeyChosen {
    /// Letter and accidental.
    pub tonic: String,
    /// Major, minor or a mode by its name.
    pub scale: String,
}

/// Scales in the order in which they are offered.
pub(crate) const SCALES: [Scale; 7] = [
    Scale::Major,
    Scale::Minor,
    Scale::Dorian,
    Scale::Mixolydian,
    Scale::Aeolian,
    Scale::Phrygian,
    Scale::Lydian,
];

impl KeyChosen {
    /// The key named, as it is kept.
    pub fn of((step, alter): (Step, i8), scale: &str) -> Self {
        let alter = notation::alter_ascii(notation::Rational::whole(i64::from(alter)));
        Self {
            tonic: format!("{}{alter}", step.letter()),
            scale: scale.to_owned(),
        }
    }

    /// Tonic and scale; `None` if it is no key that a page is written in.
    pub fn read(&self) -> Option<((Step, i8), Scale)> {
        let pitch = Pitch::parse(&format!("{}4", self.tonic.trim()))?;
        let alter = [-1, 0, 1]
            .into_iter()
            .find(|alter| notation::Rational::whole(i64::from(*alter)) == pitch.alter)?;
        let scale = SCALES
            .into_iter()
            .find(|scale| scale.word() == self.scale.trim())?;
        Some(((pitch.step, alter), scale))
    }

    /// `B♭ dorian`.
    pub fn says(&self) -> String {
        let sign = self.tonic.replace('b', "♭").replace('#', "♯");
        format!("{sign} {}", self.scale)
    }
}

/// What is done at a place.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub(crate) enum BreathIs {
    /// Breathe, at any tempo.
    AtTempo,
    /// Breathe while it is slow.
    WhileSlow,
    /// Don't.
    Not,
}

impl BreathIs {
    /// As it is said of a place.
    pub const fn says(self) -> &'static str {
        match self {
            Self::AtTempo => "at any tempo",
            Self::WhileSlow => "only while it is slow",
            Self::Not => "struck out",
        }
    }
}

/// A breath as it is kept, with what we proposed there when it was chosen: `{"breath":"not","proposed":"at-tempo"}`.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Serialize, Deserialize)]
pub(crate) struct BreathChosen {
    /// What she chose.
    pub breath: BreathIs,
    /// What we proposed; nothing where the place is her own.
    #[serde(default)]
    pub proposed: Option<BreathIs>,
}

/// A choice's value; `None` if it is not of this kind.
pub(crate) fn value<T: serde::de::DeserializeOwned>(choice: &ChoiceRow) -> Option<T> {
    serde_json::from_str(&choice.value).ok()
}

/// Her choices in a piece as the desk takes them; `piece` is the part alone.
pub(crate) fn decided(choices: &[ChoiceRow], piece: &Piece) -> Decided {
    let placed = || choices.iter().filter(|choice| choice.placed);
    let metre = placed()
        .any(|choice| choice.about == FINGERING)
        .then(|| super::apply::metre(piece))
        .flatten();
    Decided {
        keys: placed().filter_map(key).collect(),
        breaths: placed().filter_map(breath).collect(),
        fingerings: placed()
            .filter_map(|choice| fingering(choice, piece, metre.as_ref()?))
            .collect(),
    }
}

/// The keys alone, which need no piece.
pub(crate) fn keys(choices: &[ChoiceRow]) -> Vec<ToldKey> {
    choices
        .iter()
        .filter(|choice| choice.placed)
        .filter_map(key)
        .collect()
}

/// What she decided in a piece that is opened for a player, or for anybody.
///
/// # Errors
/// If what is kept can't be reached, or there is no such part.
pub(crate) fn in_piece(
    app: &App,
    row: &PieceRow,
    player: Option<PlayerId>,
    opened: &Opened,
) -> Result<Decided, AppError> {
    let choices = app.store.choices(row.id, player)?;
    if choices.is_empty() {
        return Ok(Decided::default());
    }
    // A part that a call corrected is alone already.
    let part = row.part.as_deref().filter(|_| opened.piece.parts.len() > 1);
    let index = desk::choose_part(opened, part)?.index;
    let alone = desk::part_of(&opened.piece, index);
    Ok(alone.map_or_else(Decided::default, |alone| decided(&choices, &alone)))
}

fn key(choice: &ChoiceRow) -> Option<ToldKey> {
    let bars = match choice.about.as_str() {
        KEY => None,
        KEY_OF_BARS => Some((
            BarIndex(choice.from.bar),
            BarIndex(choice.to.as_ref().unwrap_or(&choice.from).bar),
        )),
        _ => return None,
    };
    let (tonic, scale) = value::<KeyChosen>(choice)?.read()?;
    Some(ToldKey { bars, tonic, scale })
}

fn breath(choice: &ChoiceRow) -> Option<OwnBreath> {
    let chosen: BreathChosen = (choice.about == BREATH).then(|| value(choice)).flatten()?;
    Some(OwnBreath {
        place: choice.from.place(),
        own: match chosen.breath {
            BreathIs::AtTempo => Own::Breathe,
            BreathIs::WhileSlow => Own::WhileSlow,
            BreathIs::Not => Own::Not,
        },
    })
}

/// `12:3=side`, as the desk takes it.
fn fingering(choice: &ChoiceRow, piece: &Piece, metre: &MetreAnswer) -> Option<String> {
    let name: String = (choice.about == FINGERING).then(|| value(choice)).flatten()?;
    let place = choice.from.place();
    let beat = metre.grid(place.bar).map_or_else(
        || place.offset.to_f64() + 1.0,
        |grid| grid.said_beat(place.offset),
    );
    Some(format!("{}:{beat}={name}", piece.label(place.bar)))
}

#[cfg(test)]
mod tests {
    use super::KeyChosen;
    use notation::Step;
    use survey::key::Scale;

    #[test]
    fn a_key_is_kept_as_it_is_named() {
        let kept = KeyChosen::of((Step::B, -1), "dorian");
        assert_eq!((kept.tonic.as_str(), kept.says().as_str()), ("Bb", "B♭ dorian"));
        assert_eq!(kept.read(), Some(((Step::B, -1), Scale::Dorian)));
        let no = |tonic: &str, scale: &str| KeyChosen {
            tonic: tonic.to_owned(),
            scale: scale.to_owned(),
        };
        for wrong in [
            no("H", "major"),
            no("C##", "major"),
            no("C", "locrian"),
            no("", ""),
        ] {
            assert_eq!(wrong.read(), None, "{wrong:?}");
        }
    }
}
