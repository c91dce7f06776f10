//! What does a person want to hear? Her words become a performance and a request for sound; sound becomes a file or goes to
//! the sound card.

mod card;
mod file;
mod voice;
pub(crate) mod words;

pub use card::to_card;
pub use file::{SoundForm, to_bytes, to_file};
pub use voice::Voice;
pub(crate) use words::bars;

use crate::ornaments::OrnamentsAsked;
use crate::print::{For, alone_for};
use crate::{Asked, DeskError, Opened, choose_part};
use notation::{BarIndex, Finding, Piece, Pitch, Rational, Step};
use performance::play::{
    BarBeats, Beat, Performance, PlayOptions, Repeats, lesson, lookalikes, perform, rhythm,
};
use performance::road::{RepeatsAfterJump, RoadOptions};
use sound::{Click, ConcertPitch, Drone, DroneTonic, SoundRequest, Sounder, Subdivision, Timbre, Tuning};
use survey::{Context, Question, Survey};

/// What was asked to be heard.
#[derive(Clone, Debug)]
pub struct ListenAsked {
    /// The part.
    pub asked: Asked,
    /// At concert pitch as it sounds, or as another instrument would sound it.
    pub written_for: For,
    /// `60` felt beats a minute, or `80%` of what is marked.
    pub tempo: Option<String>,
    /// `5-12` or `5`, by the printed numbers.
    pub bars: Option<String>,
    /// The same by their place in the piece, for whoever points at them; goes before the numbers.
    pub bars_at: Option<(BarIndex, BarIndex)>,
    /// How often the bars are played.
    pub times: u32,
    /// Bars of count-in; before a pickup the missing beats come on top.
    pub count_in: u32,
    /// Each bar once, last endings only.
    pub straight: bool,
    /// Take the repeats again after a D.C. or D.S.
    pub repeats_after_jump: bool,
    /// Semitones higher (+) or lower.
    pub transpose: i32,
    /// How ornaments are played.
    pub ornaments: OrnamentsAsked,
    /// What alone is to be heard.
    pub only: Only,
    /// A click on the beats.
    pub click: Option<ClickAsked>,
    /// The click without the part.
    pub click_only: bool,
    /// A drone: `tonic`, `follow`, or a note (`Bb`).
    pub drone: Option<String>,
    /// With the fifth above it.
    pub drone_fifth: bool,
    /// Pitch of A4, in hertz.
    pub a4: f64,
    /// Pure intervals over the drone or the tonic, instead of equal ones.
    pub just: bool,
    /// By what it sounds.
    pub voice: Voice,
}

/// How the click is.
#[derive(Clone, Copy, Debug, Default)]
pub struct ClickAsked {
    /// Into how many each beat is divided; 0 not at all.
    pub subdivision: u8,
    /// Bars with click and bars without, in turn.
    pub drop_out: Option<(u32, u32)>,
}

/// What alone is to be heard.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub enum Only {
    /// The music.
    #[default]
    Music,
    /// One ornament or one note's articulation, plain and then as it is played, at `BAR:BEAT`.
    Ornament(String),
    /// The rhythm of the bars asked for, on one note.
    Rhythm,
    /// The bars asked for and then the bars that they resemble (`41-42`).
    Beside(String),
}

/// What will be heard, one after the other.
#[derive(Debug)]
pub struct Heard {
    /// The performances.
    pub performances: Vec<Performance>,
    /// How they sound.
    pub request: SoundRequest,
    /// By what they sound.
    pub sounder: Sounder,
    /// What to call it.
    pub title: String,
    /// MIDI program from 0, for a MIDI file.
    pub program: u8,
    /// What the player should know or decide.
    pub findings: Vec<Finding>,
}

impl Default for ListenAsked {
    fn default() -> Self {
        Self {
            asked: Asked::default(),
            written_for: For::Itself,
            tempo: None,
            bars: None,
            bars_at: None,
            times: 1,
            count_in: 0,
            straight: false,
            repeats_after_jump: false,
            transpose: 0,
            ornaments: OrnamentsAsked::default(),
            only: Only::Music,
            click: None,
            click_only: false,
            drone: None,
            drone_fifth: false,
            a4: 440.0,
            just: false,
            voice: Voice::default(),
        }
    }
}

/// Makes what was asked for ready to be heard.
///
/// # Errors
/// If there is no such part, bar, tempo or tonic, or the SoundFont can't be read.
pub fn listen(opened: &Opened, asked: &ListenAsked) -> Result<Heard, DeskError> {
    let choice = choose_part(opened, asked.asked.part.as_deref())?;
    let alone = alone_for(opened, asked.asked.part.as_deref(), &asked.written_for)?;
    let piece = &alone.piece;
    let none = || DeskError::NoParts {
        path: opened.path.clone(),
    };
    let survey = survey_for(piece, asked).ok_or_else(none)?;
    let ctx = Context::new(piece, 0).ok_or_else(none)?;
    let settled = asked.ornaments.settled()?;
    let options = PlayOptions {
        period: settled.period,
        choices: words::choices(piece, &ctx, &survey, &settled.choices)?,
        ..options(piece, &survey, asked)?
    };
    settled.keep()?;
    let performances = performances(piece, &ctx, &survey, &options, asked)?;
    if performances.is_empty() {
        return Err(words::wrong(
            "nothing of these bars is ever played",
            "name bars with --bars that the road map reaches",
        ));
    }
    let mut findings: Vec<Finding> = choice.finding.into_iter().collect();
    findings.extend(alone.findings.iter().cloned());
    for finding in performances.iter().flat_map(|performance| &performance.findings) {
        if !findings.contains(finding) {
            findings.push(finding.clone());
        }
    }
    let instrument = instruments::identify(ctx.part).map(|found| found.instrument);
    let program = ctx.part.midi_program.unwrap_or(0).min(127);
    let name = || {
        opened
            .path
            .file_stem()
            .map(|name| name.to_string_lossy().into_owned())
            .unwrap_or_default()
    };
    Ok(Heard {
        performances,
        request: request(asked)?,
        sounder: voice::sounder(&asked.voice, Timbre::of(instrument), program, &mut findings)?,
        title: piece.credits.name().unwrap_or_else(name),
        program,
        findings,
    })
}

pub(crate) fn options(piece: &Piece, survey: &Survey, asked: &ListenAsked) -> Result<PlayOptions, DeskError> {
    let beats = beats(survey);
    Ok(PlayOptions {
        keys: survey
            .key
            .as_ref()
            .map(|key| key.regions.clone())
            .unwrap_or_default(),
        tempo: words::tempo(asked.tempo.as_deref(), beats.first().map(BarBeats::unit))?,
        beats,
        bars: match asked.bars_at {
            Some(bars) => Some(bars),
            None => asked
                .bars
                .as_deref()
                .map(|bars| words::bars(piece, bars))
                .transpose()?,
        },
        repeats: if asked.straight {
            Repeats::StraightThrough
        } else {
            Repeats::Taken
        },
        road: RoadOptions {
            repeats_after_jump: if asked.repeats_after_jump {
                RepeatsAfterJump::Yes
            } else {
                RepeatsAfterJump::No
            },
        },
        times: asked.times.clamp(1, 1000),
        count_in: asked.count_in.min(8),
        count_in_again: asked.count_in > 0,
        transpose: Rational::whole(i64::from(asked.transpose.clamp(-36, 36))),
        ..PlayOptions::default()
    })
}

/// What must be known of a piece before it can be played.
pub(crate) fn survey_for(piece: &Piece, asked: &ListenAsked) -> Option<Survey> {
    survey::survey(piece, 0, &[Question::Key, Question::Metre], &asked.asked.options)
}

/// The beats as the survey feels them.
pub(crate) fn beats(survey: &Survey) -> Vec<BarBeats> {
    let grids = survey.metre.as_ref().map_or(&[][..], |metre| &metre.grids);
    let beat = |beat: &survey::metre::Beat| Beat {
        start: beat.start,
        length: beat.length,
        division: beat.division,
        accent: beat.accent,
    };
    grids
        .iter()
        .filter(|grid| grid.counted)
        .map(|grid| BarBeats {
            bar: grid.bar,
            lead: grid.lead,
            full: grid.full,
            beats: grid.felt.iter().map(beat).collect(),
        })
        .collect()
}

fn performances(
    piece: &Piece,
    ctx: &Context,
    survey: &Survey,
    options: &PlayOptions,
    asked: &ListenAsked,
) -> Result<Vec<Performance>, DeskError> {
    let bars = options.bars;
    let named = || {
        bars.ok_or_else(|| {
            words::wrong(
                "no bars are named",
                "name them with --bars, for example --bars 5-8",
            )
        })
    };
    Ok(match &asked.only {
        Only::Music => perform(piece, 0, options).into_iter().collect(),
        Only::Ornament(at) => {
            let event = words::event_at(piece, ctx, survey, at)?;
            let alone = PlayOptions {
                bars: None,
                ..options.clone()
            };
            lesson(piece, 0, event, &alone).into_iter().collect()
        }
        Only::Rhythm => {
            let bars = named()?;
            rhythm(piece, 0, bars, on(ctx, bars), options)
                .into_iter()
                .collect()
        }
        Only::Beside(other) => {
            let pair = lookalikes(piece, 0, named()?, words::bars(piece, other)?, options);
            pair.into_iter().flat_map(|(one, two)| [one, two]).collect()
        }
    })
}

/// The note on which a rhythm is played: the first of its bars; A4 if there is none.
fn on(ctx: &Context, (from, to): (BarIndex, BarIndex)) -> Pitch {
    let inside = |event: &&notation::Event| event.place.bar >= from && event.place.bar <= to;
    let first = ctx
        .line
        .iter()
        .filter_map(|note| ctx.event(note))
        .filter(inside)
        .find_map(|event| event.top_pitch());
    first.unwrap_or_else(|| Pitch::new(Step::A, 0, 4))
}

/// Who asks for a count-in alone hears the click in it and nowhere else.
fn only_counted_in(asked: &ListenAsked) -> Option<ClickAsked> {
    (asked.count_in > 0).then_some(ClickAsked {
        subdivision: 0,
        drop_out: Some((0, 1)),
    })
}

fn request(asked: &ListenAsked) -> Result<SoundRequest, DeskError> {
    let a4 = ConcertPitch::new(asked.a4).ok_or_else(|| {
        words::wrong(
            &format!("A = {} is no pitch that is played at", asked.a4),
            "give hertz from 415 to 445, as usual 440",
        )
    })?;
    let drone = asked.drone.as_deref().map(words::tonic).transpose()?;
    Ok(SoundRequest {
        a4,
        tuning: if asked.just { Tuning::Just } else { Tuning::Equal },
        part: !asked.click_only,
        click: asked
            .click
            .or(asked.click_only.then(ClickAsked::default))
            .or_else(|| only_counted_in(asked))
            .map(|click| Click {
                subdivision: match click.subdivision {
                    0 | 1 => Subdivision::None,
                    into => Subdivision::Into(into.min(8)),
                },
                drop_out: click.drop_out,
                ..Click::default()
            }),
        drone: drone.map(|tonic: DroneTonic| Drone {
            tonic,
            fifth: asked.drone_fifth,
            level: 0.0,
        }),
        ..SoundRequest::default()
    })
}

/// Silence between performances that are heard one after the other, in quarter notes.
const BETWEEN: i64 = 2;

/// The performances as one, with a little silence between them.
fn joined(performances: &[Performance]) -> Performance {
    let mut all = performances.iter().cloned();
    let first = all.next().unwrap_or_default();
    all.fold(first, |before, next| before.then(Rational::whole(BETWEEN), next))
}

impl Heard {
    /// How long it lasts, in seconds.
    #[must_use]
    pub fn seconds(&self) -> f64 {
        joined(&self.performances).seconds()
    }
}
