//! What does a list correct in the printed part? Each erratum is applied where it can be, and shown with its date.

use super::find::Page;
use super::tempo::Asked;
use super::words::Range;
use chrono::NaiveDate;
use notation::{
    Alter, Anchor, Articulation, ArticulationKind, Direction, DirectionKind, Event, EventKind, Finding,
    HeadNote, Id, IdKind, Metronome, MetronomeValue, NoteValue, Part, PencilMark, PencilSign, Piece, Pitch,
    Place, PrintedAccidental, Rational, Severity, Step,
};

/// One correction.
#[derive(Clone, PartialEq, Debug)]
pub struct Erratum {
    /// When it was announced.
    pub date: Option<NaiveDate>,
    /// Where, as the list says it.
    pub at: Range,
    /// What is corrected.
    pub change: Change,
    /// In the list's own words; may be empty.
    pub says: String,
}

/// What a correction does.
#[derive(Clone, PartialEq, Debug)]
pub enum Change {
    /// A note: what is printed (checked before anything is changed, if said), and what it should be.
    Note {
        /// The printed pitch.
        was: Option<Pitch>,
        /// The right one.
        now: Pitch,
    },
    /// A dynamic is put there, in place of one that stands there.
    Dynamic(String),
    /// A tempo.
    Tempo(Asked),
    /// An articulation is added.
    Add(ArticulationKind),
    /// An articulation is taken away.
    Remove(ArticulationKind),
    /// Only words: nothing of the file is changed.
    Words,
}

impl Erratum {
    /// What it says, a sentence without its end.
    #[must_use]
    pub fn in_words(&self) -> String {
        let at = &self.at.said;
        let done = match &self.change {
            Change::Note { was: Some(was), now } if was.step != now.step => {
                format!("{at}: {}, not {}", now.sign(), was.sign())
            }
            Change::Note { was: Some(was), now } => {
                format!("{at}: {}, not {}", now.sign_natural(), was.sign_natural())
            }
            Change::Note { was: None, now } => format!("{at}: {}", now.sign()),
            Change::Dynamic(mark) => format!("{at}: {mark}"),
            Change::Tempo(tempo) => format!("{at}: {}", tempo.in_words()),
            Change::Add(kind) => format!("{at}: {} added", kind.mark()),
            Change::Remove(kind) => format!("{at}: no {}", kind.mark()),
            Change::Words => at.clone(),
        };
        if self.says.is_empty() {
            done
        } else {
            format!("{done} — {}", self.says)
        }
    }
}

/// A piece with its errata, and what to show on it.
#[derive(Clone, Debug)]
pub struct Corrected {
    /// The piece, corrected. What was imported is not touched: this is another.
    pub piece: Piece,
    /// A pencil mark at each correction.
    pub marks: Vec<PencilMark>,
    /// Those that could not be applied, and why.
    pub findings: Vec<Finding>,
}

/// Applies the errata to the part of a page, in their order.
#[must_use]
pub fn apply(page: &Page, errata: &[Erratum]) -> Corrected {
    let mut corrected = Corrected {
        piece: page.ctx.piece.clone(),
        marks: Vec::new(),
        findings: Vec::new(),
    };
    for erratum in errata {
        if let Err(finding) = one(page, erratum, &mut corrected) {
            corrected.findings.push(*finding);
        }
    }
    corrected
}

fn one(page: &Page, erratum: &Erratum, corrected: &mut Corrected) -> Result<(), Box<Finding>> {
    let found = super::find::find(page, &erratum.at)
        .map_err(|finding| not_applied(erratum, None, &finding.what, &finding.advice))?;
    let place = found.from;
    let refuse = |what: &str, advice: &str| not_applied(erratum, Some((page, place)), what, advice);
    let part_index = page.ctx.part_index;
    let fresh = corrected.piece.ids.give(IdKind::Direction);
    let old = old_reading(page, erratum, place);
    let Some(part) = corrected.piece.parts.get_mut(part_index) else {
        return Err(refuse("the part is not there", "look at the part's name"));
    };
    let element = match &erratum.change {
        Change::Note { was, now } => {
            Some(pitch(part, place, *was, *now).map_err(|(what, advice)| refuse(&what, advice))?)
        }
        Change::Dynamic(mark) => {
            part.directions
                .retain(|old| !(old.place == place && matches!(old.kind, DirectionKind::Dynamic(_))));
            if let Some(event) = event_at(part, place) {
                event.dynamics.clear();
            }
            add_direction(part, fresh, place, DirectionKind::Dynamic(mark.clone()));
            event_at(part, place).map(|event| event.id)
        }
        Change::Tempo(asked) => {
            part.directions
                .retain(|old| !(old.place == place && matches!(old.kind, DirectionKind::Metronome(_))));
            add_direction(part, fresh, place, metronome(asked));
            event_at(part, place).map(|event| event.id)
        }
        Change::Add(kind) => {
            let event = event_at(part, place).ok_or_else(|| no_note(&refuse))?;
            if !event.articulations.iter().any(|known| known.kind == *kind) {
                event.articulations.push(Articulation {
                    kind: kind.clone(),
                    side: None,
                });
            }
            Some(event.id)
        }
        Change::Remove(kind) => {
            let event = event_at(part, place).ok_or_else(|| no_note(&refuse))?;
            let before = event.articulations.len();
            event.articulations.retain(|known| known.kind != *kind);
            if event.articulations.len() == before {
                return Err(refuse(
                    &format!("no {} stands there", kind.mark()),
                    "look at the bar and beat, and whether the file has the correction already",
                ));
            }
            Some(event.id)
        }
        Change::Words => event_at(part, place).map(|event| event.id),
    };
    corrected
        .marks
        .push(mark(erratum, place, element, old.as_deref()));
    Ok(())
}

fn no_note(refuse: &impl Fn(&str, &str) -> Box<Finding>) -> Box<Finding> {
    refuse("no note begins there", "look at the bar and beat in the list")
}

fn not_applied(erratum: &Erratum, at: Option<(&Page, Place)>, what: &str, advice: &str) -> Box<Finding> {
    let mut finding = Finding::new(
        Severity::Problem,
        "call",
        format!("the erratum “{}” is not applied: {what}", erratum.in_words()),
        advice,
    );
    if let Some((page, place)) = at {
        finding = finding
            .at_bar(place.bar, page.ctx.piece.label(place.bar))
            .at_offset(place.offset);
    }
    Box::new(finding)
}

/// What the page has there, where the list does not say it itself.
fn old_reading(page: &Page, erratum: &Erratum, place: Place) -> Option<String> {
    let events = page.ctx.part.bar_events(place.bar);
    let mut here = events
        .iter()
        .filter(|event| event.place == place && event.is_note() && !event.is_grace());
    match &erratum.change {
        Change::Note { was: None, .. } => here.next()?.top_pitch().map(Pitch::sign),
        Change::Dynamic(_) => {
            let of_notes = here.find_map(|event| event.dynamics.first());
            let directions = page.ctx.part.directions.iter();
            let over = directions
                .filter(|direction| direction.place == place)
                .find_map(|direction| match &direction.kind {
                    DirectionKind::Dynamic(mark) => Some(mark),
                    _ => None,
                });
            Some(
                over.or(of_notes)
                    .map_or_else(|| "no dynamic".to_owned(), Clone::clone),
            )
        }
        _ => None,
    }
}

fn mark(erratum: &Erratum, place: Place, element: Option<Id>, old: Option<&str>) -> PencilMark {
    let sign = match erratum.change {
        Change::Note { .. } | Change::Add(_) | Change::Remove(_) if element.is_some() => PencilSign::Circle,
        _ => PencilSign::Words,
    };
    let dated = erratum
        .date
        .map_or_else(String::new, |date| format!(" of {date}"));
    let mut mark = PencilMark::new(sign, Anchor { place, element }, {
        let printed = old.map_or_else(String::new, |old| format!("; printed: {old}"));
        let words = erratum.in_words();
        let (what, says) = words.split_once(" — ").unwrap_or((&words, ""));
        let dash = if says.is_empty() { "" } else { " — " };
        format!(
            "Erratum{dated}: {what}{printed}{dash}{}.",
            says.trim_end_matches('.')
        )
    });
    mark.text = match &erratum.change {
        Change::Note { now, .. } => now.class_sign(),
        Change::Dynamic(mark) => format!("{mark}!"),
        Change::Tempo(tempo) => tempo.in_words(),
        Change::Add(kind) => kind.mark().to_owned(),
        Change::Remove(kind) => format!("no {}", kind.mark()),
        Change::Words => erratum.says.clone(),
    };
    "call".clone_into(&mut mark.question);
    "errata".clone_into(&mut mark.matter);
    mark.worth = 1.0;
    // An erratum left out would be played wrong.
    mark.kept = true;
    mark
}

fn event_at(part: &mut Part, place: Place) -> Option<&mut Event> {
    part.events
        .iter_mut()
        .find(|event| event.place == place && event.is_note() && !event.is_grace() && !event.cue)
}

fn add_direction(part: &mut Part, id: Id, place: Place, kind: DirectionKind) {
    let direction = Direction {
        id,
        place,
        staff: None,
        voice: None,
        side: None,
        printed: true,
        kind,
    };
    let at = part.directions.partition_point(|known| known.place <= place);
    part.directions.insert(at, direction);
}

/// A tempo as it is printed.
#[must_use]
pub fn metronome(asked: &Asked) -> DirectionKind {
    let (beat, dots) = match asked.note.map(|note| (note.num(), note.den())) {
        Some((4, 1)) => (NoteValue::Whole, 0),
        Some((3, 1)) => (NoteValue::Half, 1),
        Some((2, 1)) => (NoteValue::Half, 0),
        Some((3, 2)) => (NoteValue::Quarter, 1),
        Some((3, 4)) => (NoteValue::Eighth, 1),
        Some((1, 2)) => (NoteValue::Eighth, 0),
        Some((1, 4)) => (NoteValue::N16th, 0),
        _ => (NoteValue::Quarter, 0),
    };
    let number = |value: Rational| {
        if value.is_whole() {
            value.num().to_string()
        } else {
            format!("{:.1}", value.to_f64())
        }
    };
    let text = if asked.slowest == asked.fastest {
        number(asked.slowest)
    } else {
        format!("{}-{}", number(asked.slowest), number(asked.fastest))
    };
    DirectionKind::Metronome(Metronome {
        beat,
        dots,
        value: MetronomeValue::PerMinute(text),
        parentheses: false,
    })
}

/// Puts another pitch in place of the one that is printed, with the accidental that the page then needs; the next note on the same
/// line of the bar keeps what it was, by an accidental of its own.
fn pitch(
    part: &mut Part,
    place: Place,
    was: Option<Pitch>,
    now: Pitch,
) -> Result<Id, (String, &'static str)> {
    let signature = |part: &Part, step: Step| {
        part.key_at(1, place)
            .map(|key| key.alter_of(step))
            .unwrap_or_default()
    };
    let usual = signature(part, now.step);
    let Some(event) = event_at(part, place) else {
        return Err((
            "no note begins there".to_owned(),
            "look at the bar and beat in the list",
        ));
    };
    let id = event.id;
    let EventKind::Chord(heads) = &mut event.kind else {
        return Err((
            "a rest stands there".to_owned(),
            "look at the bar and beat in the list",
        ));
    };
    let said = |head: &notation::Head| match head.note {
        HeadNote::Pitch(pitch) => Some(pitch),
        HeadNote::Unpitched(_) => None,
    };
    let names: Vec<String> = heads.iter().filter_map(said).map(Pitch::sign).collect();
    let head = match was {
        Some(was) => heads.iter_mut().find(|head| said(head) == Some(was)),
        None if heads.len() == 1 => heads.first_mut(),
        None => {
            return Err((
                "several notes sound there".to_owned(),
                "say which one is meant: was = \"C5\"",
            ));
        }
    };
    let Some(head) = head else {
        return Err((
            format!("the file has {} there", names.join(" and ")),
            "look whether the list means another bar, or whether the file has the correction already",
        ));
    };
    let old = said(head);
    head.note = HeadNote::Pitch(now);
    head.accidental = Some(now.alter)
        .filter(|alter| *alter != usual || old.is_some_and(|old| old.step == now.step))
        .and_then(printed);
    let tied = (head.tie_start, head.tie_stop);
    (head.tie_start, head.tie_stop) = if old == Some(now) { tied } else { (false, false) };
    // Its accidental would hold for the rest of the bar.
    for step in [Some(now), old].into_iter().flatten() {
        keep_next(part, place, step);
    }
    Ok(id)
}

fn keep_next(part: &mut Part, place: Place, line: Pitch) {
    let later = part
        .events
        .iter_mut()
        .filter(|event| event.place.bar == place.bar && event.place > place);
    for event in later {
        let EventKind::Chord(heads) = &mut event.kind else {
            continue;
        };
        for head in heads {
            let HeadNote::Pitch(pitch) = head.note else {
                continue;
            };
            if pitch.step == line.step && pitch.octave == line.octave {
                if head.accidental.is_none() && !head.tie_stop {
                    head.accidental = printed(pitch.alter);
                }
                return;
            }
        }
    }
}

fn printed(alter: Alter) -> Option<PrintedAccidental> {
    let sign = notation::accidental_name(alter)?;
    Some(PrintedAccidental {
        sign: sign.to_owned(),
        alter: Some(alter),
        cautionary: false,
        editorial: false,
        parentheses: false,
    })
}
