//! How do we write a short piece in a test or an example? A line of text a musician can read, made into a [`Piece`].
//!
//! Not a file format: no person writes it, no command reads it. Errors panic in tests by way of the message returned.
//!
//! Tokens, separated by spaces:
//! - notes `C4/q`, `Bb3/e.`, chords `C4+E4/h`, rests `r/q`, whole-bar rest `R`, values `b w h q e s t x` (breve … 64th),
//!   dots `.`, tuplets `C4/e:3` (3 in the time of 2) or `C4/s:5:4`; a tie to the next note `C4/q~`;
//!   grace notes `g:D5/e` (slashed) and `a:D5/e` (unslashed); a cautionary accidental `F4/q?`;
//!   signs after `!`: `C4/q!staccato`, `G4/h!trill`, `G4/h!fermata`, `B4/q!trill^sharp` (accidental above);
//! - slurs `(` before the first and `)` after the last note, beams `[` and `]`, hairpins `<` `>` … `.` closes one;
//! - `"Allegro"` words (underscores are spaces), `@p` a dynamic, `mm:q.=60` a metronome mark, `reh:A`, `segno`, `coda`;
//! - `key:-3`, `metre:6/8` (`C` and `¢` too), `clef:F4`, `trans:-1,-2` (diatonic, chromatic), `8va` … `8va.`;
//! - bar lines `|`, `||`, `|.`, `|:`, `:|`, `:|:`, `[1`, `[2`, `]1` (end of the bracket).

use crate::{
    Anchor, Articulation, ArticulationKind, Bar, BarIndex, BarSide, Barline, Beam, Change, Clef, ClefSign,
    Direction, DirectionKind, Ending, EndingKind, Event, EventKind, Fermata, Grace, Head, HeadNote, IdKind,
    KeySignature, Metre, MetreSymbol, Metronome, MetronomeValue, NoteValue, Ornament, OrnamentKind, Part,
    Piece, Pitch, Place, PrintedAccidental, Quarters, Rational, Repeat, Side, SoundHint, Span, SpanKind,
    Transposition, TupletRatio, Written,
};
use std::collections::BTreeMap;

/// Makes a one-part piece from a sketch.
///
/// # Errors
/// The token that is not understood, with its number.
///
/// ```
/// let piece = notation::sketch("key:1 metre:3/4 D5/q G4/e A4/e B4/e C5/e | D5/q G4/q!staccato G4/q |").unwrap();
/// assert_eq!(piece.bars.len(), 2);
/// ```
pub fn sketch(text: &str) -> Result<Piece, String> {
    let mut writer = Writer::new();
    for (number, token) in text.split_whitespace().enumerate() {
        writer
            .token(token)
            .ok_or_else(|| format!("sketch token {} is not understood: {token}", number + 1))?;
    }
    Ok(writer.finish())
}

struct Writer {
    piece: Piece,
    part: Part,
    place: Place,
    slurs: Vec<usize>,
    hairpin: Option<usize>,
    ottava: Option<usize>,
    slur_opens: u32,
    beam: Option<bool>,
    tied: Vec<Pitch>,
    live: BTreeMap<(i32, char), Rational>,
    grace_order: u16,
}

impl Writer {
    fn new() -> Self {
        let mut piece = Piece::default();
        let part = Part::new(piece.ids.give(IdKind::Part), "Sketch");
        let mut writer = Self {
            piece,
            part,
            place: Place::default(),
            slurs: Vec::new(),
            hairpin: None,
            ottava: None,
            slur_opens: 0,
            beam: None,
            tied: Vec::new(),
            live: BTreeMap::new(),
            grace_order: 0,
        };
        writer.part.voices.push("1".to_owned());
        writer.open_bar();
        writer
    }

    fn open_bar(&mut self) {
        let id = self.piece.ids.give(IdKind::Bar);
        self.place = Place::start_of(BarIndex::from_usize(self.piece.bars.len()));
        self.live.clear();
        self.piece.bars.push(Bar {
            id,
            label: String::new(),
            implicit: false,
            length: Quarters::ZERO,
            new_system: false,
            new_page: false,
        });
    }

    fn close_bar(&mut self) {
        let offset = self.place.offset;
        if let Some(bar) = self.piece.bars.last_mut() {
            bar.length = offset;
        }
    }

    fn here(&self) -> Place {
        self.place
    }

    fn bar_line(&mut self, token: &str) -> Option<()> {
        let (style, backward, forward) = match token {
            "|" => (None, false, false),
            "||" => (Some("light-light"), false, false),
            "|." => (Some("light-heavy"), false, false),
            "|:" => (Some("heavy-light"), false, true),
            ":|" => (Some("light-heavy"), true, false),
            ":|:" => (Some("light-heavy"), true, true),
            _ => return None,
        };
        let empty = self.place.offset.is_zero();
        if !empty {
            if style.is_some() && token != "|:" {
                self.push_barline(BarSide::Right, style, backward.then_some(false), None);
            }
            self.close_bar();
            self.open_bar();
        }
        if forward {
            self.push_barline(BarSide::Left, Some("heavy-light"), Some(true), None);
        }
        Some(())
    }

    fn push_barline(
        &mut self,
        side: BarSide,
        style: Option<&str>,
        forward: Option<bool>,
        ending: Option<Ending>,
    ) {
        let id = self.piece.ids.give(IdKind::Barline);
        let place = if side == BarSide::Left {
            Place::start_of(self.place.bar)
        } else {
            self.place
        };
        self.piece.barlines.push(Barline {
            id,
            part: 0,
            place,
            side,
            style: style.map(str::to_owned),
            repeat: forward.map(|forward| Repeat {
                forward,
                times: None,
                after_jump: None,
            }),
            ending,
            fermatas: Vec::new(),
            segno: None,
            coda: None,
        });
    }

    fn token(&mut self, token: &str) -> Option<()> {
        if token.starts_with('|') || token.starts_with(':') {
            return self.bar_line(token);
        }
        match token {
            "(" => self.slur_opens += 1,
            ")" => {
                let open = self.slurs.pop()?;
                self.end_span(open);
            }
            "[" => self.beam = Some(true),
            "]" => {
                if let Some(beam) = self.part.events.last_mut().and_then(|e| e.beams.first_mut()) {
                    *beam = Beam::End;
                }
                self.beam = None;
            }
            "<" => self.hairpin = Some(self.start_span(SpanKind::Crescendo { niente: false })),
            ">" => self.hairpin = Some(self.start_span(SpanKind::Diminuendo { niente: false })),
            "." => {
                let open = self.hairpin.take()?;
                self.end_at_place(open);
            }
            "8va" => self.ottava = Some(self.start_span(SpanKind::Ottava { octaves: 1 })),
            "8va." => {
                let open = self.ottava.take()?;
                self.end_at_place(open);
            }
            "segno" => self.direction(DirectionKind::Segno),
            "coda" => self.direction(DirectionKind::Coda),
            _ => return self.longer(token),
        }
        Some(())
    }

    fn longer(&mut self, token: &str) -> Option<()> {
        if let Some(words) = token.strip_prefix('"') {
            self.direction(DirectionKind::Words(words.strip_suffix('"')?.replace('_', " ")));
            return Some(());
        }
        if let Some(mark) = token.strip_prefix('@') {
            self.direction(DirectionKind::Dynamic(mark.to_owned()));
            return Some(());
        }
        if let Some(number) = token.strip_prefix('[') {
            self.ending(number, EndingKind::Start, BarSide::Left);
            return Some(());
        }
        if let Some(number) = token.strip_prefix(']') {
            self.ending(number, EndingKind::Stop, BarSide::Right);
            return Some(());
        }
        match token.split_once(':') {
            Some(("key", value)) => self.key(value.parse().ok()?),
            Some(("metre", value)) => self.metre(value)?,
            Some(("clef", value)) => self.clef(value)?,
            Some(("trans", value)) => self.transposition(value)?,
            Some(("reh", value)) => self.direction(DirectionKind::Rehearsal(value.to_owned())),
            Some(("mm", value)) => self.metronome(value)?,
            Some(("sound", value)) => self.sound(value)?,
            Some(("g", rest)) if rest.contains('/') => return self.note(rest, Some(true)),
            Some(("a", rest)) if rest.contains('/') => return self.note(rest, Some(false)),
            _ => return self.note(token, None),
        }
        Some(())
    }

    fn sound(&mut self, value: &str) -> Option<()> {
        let (name, value) = value.split_once('=')?;
        let attributes = vec![(name.to_owned(), value.to_owned())];
        self.piece.sound_hints.push(SoundHint {
            place: self.place,
            part: 0,
            attributes,
        });
        Some(())
    }

    fn ending(&mut self, number: &str, kind: EndingKind, side: BarSide) {
        let ending = Ending {
            number: number.to_owned(),
            text: String::new(),
            kind,
        };
        // A bracket closes at the end of the bar just closed if nothing has been written in the new one.
        let back = side == BarSide::Right && self.place.offset.is_zero() && self.place.bar.0 > 0;
        let place = self.place;
        if back {
            self.place = Place {
                bar: BarIndex(place.bar.0 - 1),
                offset: Quarters::ZERO,
            };
            let length = self
                .piece
                .bars
                .get(self.place.bar.get())
                .map_or(Quarters::ZERO, |bar| bar.length);
            self.place.offset = length;
        }
        self.push_barline(side, None, None, Some(ending));
        self.place = place;
    }

    fn direction(&mut self, kind: DirectionKind) {
        let id = self.piece.ids.give(IdKind::Direction);
        self.part.directions.push(Direction {
            id,
            place: self.place,
            staff: None,
            voice: None,
            side: Some(Side::Above),
            printed: true,
            kind,
        });
    }

    fn metronome(&mut self, value: &str) -> Option<()> {
        let (beat, number) = value.split_once('=')?;
        let dots = u8::try_from(beat.matches('.').count()).ok()?;
        let value = MetronomeValue::PerMinute(number.to_owned());
        let beat = note_value(beat.trim_end_matches('.'))?;
        self.direction(DirectionKind::Metronome(Metronome {
            beat,
            dots,
            value,
            parentheses: false,
        }));
        Some(())
    }

    fn change<T>(&mut self, value: T) -> Change<T> {
        let id = self.piece.ids.give(IdKind::Change);
        Change {
            id,
            place: self.place,
            staff: None,
            value,
            printed: true,
        }
    }

    fn key(&mut self, fifths: i8) {
        let change = self.change(KeySignature::of_fifths(fifths));
        self.live.clear();
        self.part.keys.push(change);
    }

    fn metre(&mut self, value: &str) -> Option<()> {
        let metre = match value {
            "C" => Metre {
                symbol: MetreSymbol::Common,
                ..Metre::new(4, 4)
            },
            "¢" => Metre {
                symbol: MetreSymbol::Cut,
                ..Metre::new(2, 2)
            },
            _ => {
                let (beats, beat_type) = value.split_once('/')?;
                let mut metre = Metre::new(0, beat_type.parse().ok()?);
                metre.parts.first_mut()?.groups =
                    beats.split('+').map(str::parse).collect::<Result<_, _>>().ok()?;
                metre
            }
        };
        let change = self.change(metre);
        self.part.metres.push(change);
        Some(())
    }

    fn clef(&mut self, value: &str) -> Option<()> {
        let sign = match value.get(..1)? {
            "G" => ClefSign::G,
            "F" => ClefSign::F,
            "C" => ClefSign::C,
            _ => return None,
        };
        let change = self.change(Clef {
            sign,
            line: value.get(1..)?.parse().ok()?,
            octave_change: 0,
        });
        self.part.clefs.push(change);
        Some(())
    }

    fn transposition(&mut self, value: &str) -> Option<()> {
        let (diatonic, chromatic) = value.split_once(',')?;
        let change = self.change(Transposition {
            diatonic: diatonic.parse().ok()?,
            chromatic: Rational::parse(chromatic)?,
            octaves: 0,
            doubled: false,
        });
        self.part.transpositions.push(change);
        Some(())
    }

    fn start_span(&mut self, kind: SpanKind) -> usize {
        let id = self.piece.ids.give(IdKind::Span);
        let start = Some(Anchor {
            place: self.place,
            element: None,
        });
        self.part.spans.push(Span {
            id,
            kind,
            start,
            end: None,
            staff: Some(1),
            side: None,
        });
        self.part.spans.len() - 1
    }

    fn end_at_place(&mut self, index: usize) {
        let end = Some(Anchor {
            place: self.here(),
            element: None,
        });
        if let Some(span) = self.part.spans.get_mut(index) {
            span.end = end;
        }
    }

    fn end_span(&mut self, index: usize) {
        let last = self.part.events.last().map(|event| (event.place, event.id));
        if let (Some(span), Some((place, id))) = (self.part.spans.get_mut(index), last) {
            span.end = Some(Anchor {
                place,
                element: Some(id),
            });
        }
    }

    fn note(&mut self, token: &str, grace: Option<bool>) -> Option<()> {
        let (token, signs) = token.split_once('!').unwrap_or((token, ""));
        if token == "R" {
            return self.whole_bar_rest();
        }
        let cautionary = token.ends_with('?');
        let token = token.trim_end_matches('?');
        let tie = token.ends_with('~');
        let (pitches, value) = token.trim_end_matches('~').split_once('/')?;
        let written = written(value)?;
        let duration = if grace.is_some() {
            Quarters::ZERO
        } else {
            written.quarters()
        };
        let id = self.piece.ids.give(IdKind::Event);
        let kind = if pitches == "r" {
            EventKind::Rest { whole_bar: false }
        } else {
            let heads: Option<Vec<Head>> = pitches
                .split('+')
                .map(|name| self.head(Pitch::parse(name)?, tie, cautionary))
                .collect();
            EventKind::Chord(heads?)
        };
        let grace = grace.map(|slash| Grace {
            slash,
            order: self.grace_order,
            after: false,
        });
        self.grace_order = if grace.is_some() { self.grace_order + 1 } else { 0 };
        let mut event = self.event(id, kind, duration, Some(written));
        event.grace = grace;
        if let Some(first) = self.beam {
            event.beams.push(if first { Beam::Begin } else { Beam::Continue });
            self.beam = Some(false);
        }
        for sign in signs.split(',').filter(|sign| !sign.is_empty()) {
            add_sign(&mut event, sign)?;
        }
        self.tied = if tie {
            event.pitches().collect()
        } else {
            Vec::new()
        };
        self.part.events.push(event);
        for _ in 0..std::mem::take(&mut self.slur_opens) {
            let open = self.start_span(SpanKind::Slur);
            self.slurs.push(open);
            if let Some(start) = self.part.spans.get_mut(open).and_then(|span| span.start.as_mut()) {
                start.element = Some(id);
            }
        }
        self.place.offset += duration;
        Some(())
    }

    fn whole_bar_rest(&mut self) -> Option<()> {
        let length = self.part.metres.last()?.value.length()?;
        let id = self.piece.ids.give(IdKind::Event);
        let event = self.event(id, EventKind::Rest { whole_bar: true }, length, None);
        self.part.events.push(event);
        self.place.offset += length;
        Some(())
    }

    fn event(&self, id: crate::Id, kind: EventKind, duration: Quarters, written: Option<Written>) -> Event {
        Event {
            id,
            place: self.place,
            kind,
            duration,
            written,
            grace: None,
            cue: false,
            voice: 0,
            staff: 1,
            printed: true,
            beams: Vec::new(),
            articulations: Vec::new(),
            ornaments: Vec::new(),
            technical: Vec::new(),
            fermatas: Vec::new(),
            dynamics: Vec::new(),
            arpeggio: None,
            lyrics: Vec::new(),
        }
    }

    /// A head with its printed accidental by the usual rule: in its own octave and bar, a tie carries on.
    fn head(&mut self, pitch: Pitch, tie: bool, cautionary: bool) -> Option<Head> {
        let tied = self.tied.contains(&pitch);
        let signature = self
            .part
            .keys
            .last()
            .map_or(Rational::ZERO, |change| change.value.alter_of(pitch.step));
        let slot = (i32::from(pitch.octave), pitch.step.letter());
        let live = self.live.get(&slot).copied().unwrap_or(signature);
        let print = cautionary || (live != pitch.alter && !tied);
        if !tied {
            self.live.insert(slot, pitch.alter);
        }
        let sign = match pitch.whole_alter()? {
            0 => "natural",
            1 => "sharp",
            -1 => "flat",
            2 => "double-sharp",
            _ => "flat-flat",
        };
        Some(Head {
            id: self.piece.ids.give(IdKind::Head),
            note: HeadNote::Pitch(pitch),
            staff: 1,
            accidental: print.then(|| PrintedAccidental {
                sign: sign.to_owned(),
                alter: Some(pitch.alter),
                cautionary,
                editorial: false,
                parentheses: cautionary,
            }),
            tie_start: tie,
            tie_stop: tied,
            let_ring: false,
            technical: Vec::new(),
            shape: None,
            parentheses: false,
        })
    }

    fn finish(mut self) -> Piece {
        self.close_bar();
        if self.place.offset.is_zero() && self.piece.bars.len() > 1 {
            self.piece.bars.pop();
        }
        let full = self.part.metres.first().and_then(|change| change.value.length());
        let pickup = self
            .piece
            .bars
            .first()
            .is_some_and(|bar| full.is_some_and(|full| bar.length < full));
        for (index, bar) in self.piece.bars.iter_mut().enumerate() {
            bar.label = (index + usize::from(!pickup)).to_string();
        }
        if let Some(first) = self.piece.bars.first_mut() {
            first.implicit = pickup;
        }
        if self.part.clefs.is_empty() {
            let id = self.piece.ids.give(IdKind::Change);
            let place = Place::default();
            self.part.clefs.push(Change {
                id,
                place,
                staff: None,
                value: Clef::TREBLE,
                printed: true,
            });
        }
        self.part.index_bars(self.piece.bars.len());
        self.piece.parts.push(self.part);
        self.piece
    }
}

fn note_value(letter: &str) -> Option<NoteValue> {
    Some(match letter {
        "b" => NoteValue::Breve,
        "w" => NoteValue::Whole,
        "h" => NoteValue::Half,
        "q" => NoteValue::Quarter,
        "e" => NoteValue::Eighth,
        "s" => NoteValue::N16th,
        "t" => NoteValue::N32nd,
        "x" => NoteValue::N64th,
        _ => return None,
    })
}

fn written(text: &str) -> Option<Written> {
    let mut fields = text.split(':');
    let value = fields.next()?;
    let dots = u8::try_from(value.matches('.').count()).ok()?;
    let tuplets = match (fields.next(), fields.next()) {
        (None, _) => vec![],
        (Some(actual), normal) => {
            let actual: u16 = actual.parse().ok()?;
            let usual = if actual < 4 {
                2
            } else if actual < 8 {
                4
            } else {
                8
            };
            vec![TupletRatio {
                actual,
                normal: normal.map_or(Ok(usual), str::parse).ok()?,
            }]
        }
    };
    Some(Written {
        value: note_value(value.trim_end_matches('.'))?,
        dots,
        tuplets,
    })
}

fn add_sign(event: &mut Event, sign: &str) -> Option<()> {
    let (sign, accidental) = sign.split_once('^').map_or((sign, None), |(s, a)| (s, Some(a)));
    let articulation = match sign {
        "accent" => Some(ArticulationKind::Accent),
        "marcato" => Some(ArticulationKind::Marcato),
        "staccato" => Some(ArticulationKind::Staccato),
        "staccatissimo" => Some(ArticulationKind::Staccatissimo),
        "tenuto" => Some(ArticulationKind::Tenuto),
        "portato" => Some(ArticulationKind::Portato),
        "breath" => Some(ArticulationKind::BreathMark("comma".to_owned())),
        "caesura" => Some(ArticulationKind::Caesura(String::new())),
        _ => None,
    };
    if let Some(kind) = articulation {
        event.articulations.push(Articulation { kind, side: None });
        return Some(());
    }
    if sign == "fermata" {
        event.fermatas.push(Fermata {
            shape: String::new(),
            inverted: false,
        });
        return Some(());
    }
    let kind = match sign {
        "trill" => OrnamentKind::Trill,
        "turn" => OrnamentKind::Turn,
        "delayed-turn" => OrnamentKind::DelayedTurn,
        "inverted-turn" => OrnamentKind::InvertedTurn,
        "mordent" => OrnamentKind::Mordent { long: false },
        "inverted-mordent" => OrnamentKind::InvertedMordent { long: false },
        "tremolo" => OrnamentKind::Tremolo {
            strokes: 3,
            between: false,
        },
        _ => return None,
    };
    let accidentals = accidental
        .map(|name| (name.to_owned(), Side::Above))
        .into_iter()
        .collect();
    event.ornaments.push(Ornament {
        kind,
        side: Some(Side::Above),
        accidentals,
    });
    Some(())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::line;

    #[test]
    fn a_pickup_a_tie_and_a_carried_accidental() {
        let piece =
            sketch("key:-1 metre:3/4 C5/q | ( F#4/q F#4/q ) F#4/q~ | F#4/h F4/q |.").expect("a sketch");
        assert_eq!(
            piece.bars.iter().map(|b| b.label.as_str()).collect::<Vec<_>>(),
            ["0", "1", "2"]
        );
        let part = &piece.parts[0];
        let printed: Vec<Option<&str>> = part
            .events
            .iter()
            .map(|e| e.heads()[0].accidental.as_ref().map(|a| a.sign.as_str()))
            .collect();
        assert_eq!(printed, [None, Some("sharp"), None, None, None, None]);
        let notes = line(&piece, part);
        assert_eq!(notes.len(), 5);
        assert_eq!((notes[3].duration, notes[3].joined), (Rational::whole(3), 2));
        assert_eq!(part.spans.len(), 1);
    }

    #[test]
    fn a_token_that_is_not_understood_is_named() {
        assert_eq!(
            sketch("C4/q nonsense").unwrap_err(),
            "sketch token 2 is not understood: nonsense"
        );
    }
}
