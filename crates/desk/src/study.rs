//! What does a person want studied for a player? Her wishes in words become a [`Study`].

use crate::player::{self, PlayerAsked};
use crate::{DeskError, Opened};
use instruments::Instrument;
use load::breath::OwnBreath;
use load::ladder::Scheme;
use load::{Player, Study, Wishes};
use notation::{BarIndex, Finding, Id, Piece, Severity};
use survey::key::ToldKey;
use survey::{Context, Options, Question, Survey};

/// What was wished for beside the player.
#[derive(Clone, Debug, Default)]
pub struct StudyAsked {
    /// By which scheme to climb, by its name.
    pub scheme: Option<String>,
    /// Tempo to climb from, in felt beats a minute.
    pub from: Option<f64>,
    /// Tempo to climb to, in felt beats a minute.
    pub to: Option<f64>,
    /// The teacher's fingerings at single notes: `BAR:BEAT=NAME`.
    pub fingerings: Vec<String>,
    /// The same, kept with the piece from another time: one that does not fit this instrument or this file is left out, and said.
    pub kept_fingerings: Vec<String>,
    /// Where she decided about breaths.
    pub breaths: Vec<OwnBreath>,
    /// Study it even if no player is named, for a usual one of the part's instrument.
    pub for_anybody: bool,
}

/// What the teacher decided where we propose: it stands in everything that is made of the piece.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub struct Decided {
    /// Keys, of the whole part or of some bars.
    pub keys: Vec<ToldKey>,
    /// Breaths, and places that are none.
    pub breaths: Vec<OwnBreath>,
    /// Fingerings at single notes: `BAR:BEAT=NAME`.
    pub fingerings: Vec<String>,
}

impl Decided {
    /// Has a request go by it.
    pub fn put(&self, asked: &mut crate::Asked) {
        asked.options.keys.extend(self.keys.iter().copied());
        asked.study.breaths.extend(self.breaths.iter().copied());
        asked
            .study
            .kept_fingerings
            .extend(self.fingerings.iter().cloned());
    }
}

/// The whole survey of a part for a player, and the study.
#[derive(Debug)]
pub(crate) struct Studied {
    pub survey: Survey,
    pub study: Study,
    /// What is to be said of the choice of the instrument.
    pub findings: Vec<Finding>,
}

/// Studies a part of a piece for the player asked for.
///
/// # Errors
/// If the player's file or a wish can't be understood, or there is no such part.
pub(crate) fn study_part(
    opened: &Opened,
    index: usize,
    who: &PlayerAsked,
    asked: &StudyAsked,
    options: &Options,
) -> Result<Studied, DeskError> {
    let none = || DeskError::NoParts {
        path: opened.path.clone(),
    };
    let ctx = Context::new(&opened.piece, index).ok_or_else(none)?;
    let part = instruments::identify(ctx.part).map(|found| found.instrument);
    let player = who.player(part)?;
    let options = Options {
        tongue: Some(player.tongue.burst),
        ..options.clone()
    };
    let survey = survey::survey(&opened.piece, index, &Question::ALL, &options).ok_or_else(none)?;
    let mut findings: Vec<Finding> = other_instrument(part, &player).into_iter().collect();
    let mut fingered = fingerings(&opened.piece, &ctx, &survey, &player, &asked.fingerings)?;
    for text in &asked.kept_fingerings {
        match fingering(&opened.piece, &ctx, &survey, &player, text) {
            Ok(found) => fingered.push(found),
            Err(error) => findings.push(Finding::new(
                Severity::Note,
                "kept-fingering",
                format!("the teacher's fingering {text} is left out: {error}"),
                "it stays with the piece, for players whom it fits",
            )),
        }
    }
    let wishes = Wishes {
        scheme: asked.scheme.as_deref().map(scheme).transpose()?,
        from: tempo("--from", asked.from)?,
        to: tempo("--to", asked.to)?,
        fingerings: fingered,
        breaths: asked.breaths.clone(),
    };
    let study = load::study(&ctx, &survey, &player, &wishes);
    Ok(Studied {
        survey,
        study,
        findings,
    })
}

fn other_instrument(part: Option<&'static Instrument>, player: &Player) -> Option<Finding> {
    let (part, hers) = (part?, player.instrument?);
    (part.id != hers.id).then(|| {
        Finding::new(
            Severity::Caution,
            "another-instrument",
            format!("the part is for {}, the player plays {}", part.name, hers.name),
            "it is studied as it is written; transpose it first if it is to sound the same",
        )
    })
}

fn scheme(name: &str) -> Result<Scheme, DeskError> {
    Scheme::from_id(name).ok_or_else(|| {
        let known: Vec<String> = Scheme::ALL
            .iter()
            .map(|scheme| format!("{} ({})", scheme.id(), scheme.words()))
            .collect();
        DeskError::Player {
            what: format!("no way to climb is called “{name}”"),
            advice: format!("there are {}", known.join("; ")),
        }
    })
}

fn tempo(option: &str, bpm: Option<f64>) -> Result<Option<f64>, DeskError> {
    match bpm {
        Some(bpm) if !(10.0..=500.0).contains(&bpm) => Err(DeskError::Player {
            what: format!("{option} {bpm} is no tempo"),
            advice: "give felt beats a minute, from 10 to 500".to_owned(),
        }),
        bpm => Ok(bpm),
    }
}

/// `12:3=one-and-four`: the note that starts at beat 3 of bar 12 is fingered so.
fn fingerings(
    piece: &Piece,
    ctx: &Context,
    survey: &Survey,
    player: &Player,
    asked: &[String],
) -> Result<Vec<(Id, String)>, DeskError> {
    asked
        .iter()
        .map(|text| fingering(piece, ctx, survey, player, text))
        .collect()
}

fn fingering(
    piece: &Piece,
    ctx: &Context,
    survey: &Survey,
    player: &Player,
    text: &str,
) -> Result<(Id, String), DeskError> {
    let wrong = |what: String, advice: &str| DeskError::Player {
        what,
        advice: advice.to_owned(),
    };
    let form = "write BAR:BEAT=FINGERING, for example 12:3=side";
    let parts = text
        .split_once('=')
        .and_then(|(place, name)| Some((place.split_once(':')?, name.trim())))
        .filter(|(_, name)| !name.is_empty());
    let Some(((label, beat), name)) = parts else {
        return Err(wrong(format!("“{text}” names no fingering at a note"), form));
    };
    let (label, beat) = (label.trim(), beat.trim());
    let bar = (0..piece.bars.len())
        .map(BarIndex::from_usize)
        .find(|bar| piece.label(*bar) == label)
        .ok_or_else(|| {
            wrong(
                format!("there is no bar {label}"),
                "look at the bar numbers of the page",
            )
        })?;
    let number: f64 = beat
        .parse()
        .ok()
        .filter(|beat: &f64| beat.is_finite() && *beat >= 1.0)
        .ok_or_else(|| wrong(format!("“{beat}” is no beat"), form))?;
    let grids = survey.metre.as_ref().map_or(&[][..], |metre| &metre.grids);
    let beat_of = |offset| grids.get(bar.get()).map_or(0.0, |grid| grid.said_beat(offset));
    let event = ctx
        .line
        .iter()
        .filter_map(|note| ctx.event(note))
        .filter(|event| event.place.bar == bar)
        .find(|event| (beat_of(event.place.offset) - number).abs() < 0.01)
        .ok_or_else(|| {
            wrong(
                format!("no note begins at beat {beat} of bar {label}"),
                "give the beat as the survey counts it, for example 2.5 for the second half of beat 2",
            )
        })?;
    if let Some(pitch) = event.top_pitch() {
        player::known_fingering(player.instrument, pitch, name)
            .map_err(|(what, advice)| wrong(what, advice))?;
    }
    Ok((event.id, name.to_owned()))
}
