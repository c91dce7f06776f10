//! Which notes are attacked and which are slurred to? Voice by voice, from slurs and ties.

use crate::Context;
use notation::{ArticulationKind, Event, Id, Place, Quarters, Rational, Span, SpanKind};

/// Fewer notes than this are no long run.
const LONG_RUN: usize = 8;
/// How many runs are named.
const RUNS_SHOWN: usize = 5;

/// How a note begins.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub(super) enum Attack {
    /// With the tongue, the bow, a new touch.
    Separate,
    /// Slurred from the note before.
    Slurred,
    /// Not at all: tied.
    Tied,
}

/// A note of a voice.
#[derive(Clone, Copy)]
pub(super) struct Sounded<'a> {
    pub(super) event: &'a Event,
    pub(super) onset: Quarters,
    pub(super) attack: Attack,
    /// Under a slur, its first note included.
    under_slur: bool,
}

/// Slurs of the part.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub struct SlurFacts {
    /// How many slurs are drawn (those with an open end too).
    pub count: usize,
    /// Slurs that reach over a bar line: from, to.
    pub over_bar_lines: Vec<((Place, Id), (Place, Id))>,
    /// The slur over the most notes.
    pub longest: Option<LongSlur>,
    /// Slurs that hold other slurs: phrase marks, left out of the rest.
    pub phrase_marks: usize,
    /// Notes slurred to (no attack of their own).
    pub slurred: usize,
    /// Notes attacked (the first under a slur included).
    pub separate: usize,
}

/// A slur by its notes.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct LongSlur {
    /// How many notes it joins.
    pub notes: usize,
    /// The first.
    pub from: (Place, Id),
    /// The last.
    pub to: (Place, Id),
}

/// Notes in a row, each attacked, none longer than an eighth, without a rest between.
#[derive(Clone, Copy, PartialEq, Eq, Debug)]
pub struct TonguedRun {
    /// How many.
    pub notes: usize,
    /// The shortest of them, in quarter notes.
    pub shortest: Quarters,
    /// The first.
    pub from: (Place, Id),
    /// The last.
    pub to: (Place, Id),
}

/// The part voice by voice, with its slurs.
pub(super) struct Voices<'a> {
    /// The notes of each voice in order, grace notes, cues and hidden notes left out.
    pub(super) notes: Vec<Vec<Sounded<'a>>>,
    reaches: Vec<Reach>,
}

/// Where elements stand, by the number of their id: voice, position in it, whether a grace note.
/// A grace note stands at the next main note of its voice.
#[derive(Default)]
struct Stands(Vec<Option<(usize, usize, bool)>>);

impl Stands {
    fn put(&mut self, id: Id, stands: (usize, usize, bool)) {
        let index = id.number() as usize;
        if self.0.len() <= index {
            self.0.resize(index + 1, None);
        }
        if let Some(slot) = self.0.get_mut(index) {
            *slot = Some(stands);
        }
    }

    fn of(&self, id: Id) -> Option<(usize, usize, bool)> {
        self.0.get(id.number() as usize).copied().flatten()
    }
}

/// Reads slurs and ties of a part.
pub(super) fn voices<'a>(ctx: &Context<'a>) -> Voices<'a> {
    let part = ctx.part;
    let mut voices: Vec<Vec<Sounded>> = vec![Vec::new(); part.voices.len().max(1)];
    let mut stands = Stands::default();
    for event in &part.events {
        let voice = usize::from(event.voice);
        let Some(notes) = voices.get_mut(voice) else {
            continue;
        };
        if event.is_note() {
            stands.put(event.id, (voice, notes.len(), event.is_grace()));
            for head in event.heads() {
                stands.put(head.id, (voice, notes.len(), event.is_grace()));
            }
        }
        if !event.is_note() || event.is_grace() || event.cue || !event.printed {
            continue;
        }
        let tied = event.heads().iter().all(|head| head.tie_stop);
        notes.push(Sounded {
            event,
            onset: ctx.onset(event.place),
            attack: if tied { Attack::Tied } else { Attack::Separate },
            under_slur: false,
        });
    }
    let reaches = reaches(&part.spans, &stands);
    for (voice, notes) in voices.iter_mut().enumerate() {
        // Counts of slurs by differences: under one from its first note, slurred to from its second.
        let mut under = vec![0i64; notes.len() + 2];
        let mut joined = vec![0i64; notes.len() + 2];
        for reach in reaches.iter().filter(|r| r.voice == voice && !r.phrase) {
            add(&mut under, reach.from, 1);
            add(&mut under, reach.to + 1, -1);
            add(&mut joined, reach.from + 1, 1);
            add(&mut joined, reach.to + 1, -1);
        }
        let (mut under_now, mut joined_now) = (0, 0);
        for (note, (under, joined)) in notes.iter_mut().zip(under.iter().zip(&joined)) {
            under_now += under;
            joined_now += joined;
            note.under_slur = under_now > 0;
            if joined_now > 0 && note.attack == Attack::Separate {
                note.attack = Attack::Slurred;
            }
        }
    }
    Voices {
        notes: voices,
        reaches,
    }
}

fn add(differences: &mut [i64], at: usize, by: i64) {
    if let Some(slot) = differences.get_mut(at) {
        *slot += by;
    }
}

/// A slur over main notes of one voice.
struct Reach {
    voice: usize,
    from: usize,
    to: usize,
    phrase: bool,
    from_at: (Place, Id),
    to_at: (Place, Id),
}

fn reaches(spans: &[Span], stands: &Stands) -> Vec<Reach> {
    let mut reaches: Vec<Reach> = spans
        .iter()
        .filter(|span| span.kind == SpanKind::Slur)
        .filter_map(|span| {
            let (start, end) = (span.start?, span.end?);
            let (voice, from, from_grace) = stands.of(start.element?)?;
            let (end_voice, to, to_grace) = stands.of(end.element?)?;
            // A slur that ends on a grace note reaches the main note before it.
            let to = if to_grace { to.checked_sub(1)? } else { to };
            // A slur from a grace note to its main note joins nothing else.
            let one_note = from == to && from_grace;
            (from <= to && voice == end_voice && !one_note).then_some(Reach {
                voice,
                from,
                to,
                phrase: false,
                from_at: (start.place, start.element?),
                to_at: (end.place, end.element?),
            })
        })
        .collect();
    reaches.sort_by_key(|reach| (reach.voice, reach.from, std::cmp::Reverse(reach.to)));
    // A slur that holds a later, smaller one is a phrase mark. With starts in order it is enough to look at the next.
    for index in 0..reaches.len().saturating_sub(1) {
        let holds = match (reaches.get(index), reaches.get(index + 1)) {
            (Some(a), Some(b)) => {
                a.voice == b.voice && b.to <= a.to && b.from < a.to && (a.from, a.to) != (b.from, b.to)
            }
            _ => false,
        };
        if holds && let Some(reach) = reaches.get_mut(index) {
            reach.phrase = true;
        }
    }
    reaches
}

pub(super) fn slur_facts(ctx: &Context, voices: &Voices) -> SlurFacts {
    let spans = &ctx.part.spans;
    let mut facts = SlurFacts {
        count: spans.iter().filter(|span| span.kind == SpanKind::Slur).count(),
        ..SlurFacts::default()
    };
    for note in voices.notes.iter().flatten() {
        match note.attack {
            Attack::Separate => facts.separate += 1,
            Attack::Slurred => facts.slurred += 1,
            Attack::Tied => {}
        }
    }
    facts.phrase_marks = voices.reaches.iter().filter(|reach| reach.phrase).count();
    let joining = || voices.reaches.iter().filter(|reach| !reach.phrase);
    for reach in joining() {
        let notes = reach.to - reach.from + 1;
        if facts.longest.is_none_or(|longest| notes > longest.notes) {
            facts.longest = Some(LongSlur {
                notes,
                from: reach.from_at,
                to: reach.to_at,
            });
        }
    }
    facts.over_bar_lines = joining()
        .filter(|reach| reach.from_at.0.bar != reach.to_at.0.bar)
        .map(|reach| (reach.from_at, reach.to_at))
        .collect();
    facts.over_bar_lines.sort_by_key(|(from, _)| from.0);
    facts
}

pub(super) fn tongued_runs(voices: &Voices) -> Vec<TonguedRun> {
    let eighth = Rational::new(1, 2);
    let mut runs = Vec::new();
    for notes in &voices.notes {
        let mut run: Option<(TonguedRun, Quarters)> = None;
        for (index, note) in notes.iter().enumerate() {
            let starts_slur = notes
                .get(index + 1)
                .is_some_and(|next| next.attack == Attack::Slurred);
            let counts = note.attack == Attack::Separate
                && !starts_slur
                && note.event.duration.is_positive()
                && note.event.duration <= eighth;
            let here = (note.event.place, note.event.id);
            let end = note.onset + note.event.duration;
            run = match run.take() {
                Some((mut so_far, until)) if counts && until == note.onset => {
                    so_far.notes += 1;
                    so_far.to = here;
                    so_far.shortest = so_far.shortest.min(note.event.duration);
                    Some((so_far, end))
                }
                ended => {
                    runs.extend(ended.map(|(run, _)| run).filter(|run| run.notes >= LONG_RUN));
                    counts.then_some((
                        TonguedRun {
                            notes: 1,
                            shortest: note.event.duration,
                            from: here,
                            to: here,
                        },
                        end,
                    ))
                }
            };
        }
        runs.extend(run.map(|(run, _)| run).filter(|run| run.notes >= LONG_RUN));
    }
    runs.sort_by_key(|run| (std::cmp::Reverse(run.notes), run.from.0));
    runs.truncate(RUNS_SHOWN);
    runs
}

/// Notes pulsed under a slur, and those with the combined sign.
pub(super) fn portato(voices: &Voices) -> Vec<(Place, Id)> {
    let mut found: Vec<(Place, Id)> = voices
        .notes
        .iter()
        .flatten()
        .filter(|note| {
            note.event
                .articulations
                .iter()
                .any(|articulation| match articulation.kind {
                    ArticulationKind::Portato => true,
                    ArticulationKind::Staccato | ArticulationKind::Tenuto => note.under_slur,
                    _ => false,
                })
        })
        .map(|note| (note.event.place, note.event.id))
        .collect();
    found.sort_by_key(|(place, _)| *place);
    found
}

#[cfg(test)]
mod tests {
    use super::*;
    use notation::sketch;
    use proptest::prelude::*;

    fn letters(text: &str) -> String {
        let piece = sketch(text).expect("a sketch");
        let ctx = Context::new(&piece, 0).expect("a part");
        voices(&ctx).notes[0]
            .iter()
            .map(|note| match note.attack {
                Attack::Separate => 't',
                Attack::Slurred => 's',
                Attack::Tied => '-',
            })
            .collect()
    }

    #[test]
    fn the_first_under_a_slur_is_attacked_the_others_are_not() {
        assert_eq!(letters("( C4/e D4/e ) E4/e F4/e"), "tstt");
        assert_eq!(letters("( C4/e D4/e ) ( E4/e F4/e )"), "tsts");
        assert_eq!(letters("C4/e ( D4/e E4/e F4/e ) G4/q~ G4/q"), "ttsst-");
    }

    /// A slur that begins where another ends joins on: the note is slurred to, then slurs on.
    #[test]
    fn slurs_that_meet_on_one_note() {
        let piece = sketch("( C4/e D4/e ) E4/e").expect("a sketch");
        let mut piece = piece;
        let mut second = piece.parts[0].spans[0].clone();
        second.start = piece.parts[0].spans[0].end;
        second.end = Some(notation::Anchor {
            place: piece.parts[0].events[2].place,
            element: Some(piece.parts[0].events[2].id),
        });
        piece.parts[0].spans.push(second);
        let ctx = Context::new(&piece, 0).expect("a part");
        let attacks: Vec<Attack> = voices(&ctx).notes[0].iter().map(|n| n.attack).collect();
        assert_eq!(attacks, [Attack::Separate, Attack::Slurred, Attack::Slurred]);
    }

    #[test]
    fn a_phrase_mark_over_slurs_joins_nothing() {
        assert_eq!(letters("( ( C4/e D4/e ) ( E4/e F4/e ) G4/q )"), "tstst");
    }

    #[test]
    fn a_long_tongued_run_ends_at_a_rest_or_slur() {
        let text = "C4/s D4/s E4/s F4/s G4/s F4/s E4/s D4/s C4/s r/q C4/s D4/s ( E4/s F4/s )";
        let piece = sketch(text).expect("a sketch");
        let ctx = Context::new(&piece, 0).expect("a part");
        let runs = tongued_runs(&voices(&ctx));
        assert_eq!(runs.len(), 1);
        assert_eq!((runs[0].notes, runs[0].shortest), (9, Rational::new(1, 4)));
    }

    proptest! {
        /// Slow twin: a note is slurred to if some slur that is no phrase mark began before it and reaches it.
        #[test]
        fn attacks_agree_with_asking_every_slur(groups in prop::collection::vec((1usize..5, prop::bool::ANY), 1..12)) {
            let mut text = String::new();
            for (notes, slurred) in &groups {
                let notes = vec!["C4/e"; *notes].join(" ");
                text.push_str(&if *slurred { format!("( {notes} ) ") } else { format!("{notes} ") });
            }
            let piece = sketch(&text).expect("a sketch");
            let ctx = Context::new(&piece, 0).expect("a part");
            for note in &voices(&ctx).notes[0] {
                let reached = ctx.part.spans.iter().any(|span| {
                    let (start, end) = (span.start.expect("a start"), span.end.expect("an end"));
                    start.place < note.event.place && note.event.place <= end.place
                });
                prop_assert_eq!(note.attack == Attack::Slurred, reached, "{}", &text);
            }
        }
    }
}
