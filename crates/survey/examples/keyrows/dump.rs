//! What does a dump hold? Reads the plain lines that `fit/dump.py` writes into pieces with labels.

use notation::{
    Bar, BarIndex, BarSide, Barline, Change, Clef, ClefSign, Event, EventKind, Fermata, Head, HeadNote,
    IdKind, KeySignature, Metre, Part, Piece, Pitch, Place, Rational, Repeat, Step, Transposition,
};
use survey::key::Tonality;

/// What is known of one part.
pub struct Label {
    /// The part.
    pub part: usize,
    /// Its key as written, if known.
    pub key: Option<Tonality>,
    /// Its mode proper.
    pub scale: String,
    /// Who says so.
    pub source: String,
}

/// One labelled score.
pub struct Unit {
    /// Its path.
    pub name: String,
    /// What kind of music.
    pub tier: String,
    /// True for a work of the test table, never fitted.
    pub test: bool,
    /// The score.
    pub piece: Piece,
    /// Its labels.
    pub labels: Vec<Label>,
}

/// Reads a dump.
///
/// # Errors
/// The line that is not understood.
pub fn read(text: &str) -> Result<Vec<Unit>, String> {
    let mut units: Vec<Unit> = Vec::new();
    let mut bar = BarIndex(0);
    for (number, line) in text.lines().enumerate() {
        let fields: Vec<&str> = line.split('\t').collect();
        let unit = match (fields.as_slice(), units.last_mut()) {
            (["S", name, tier, kind], _) => {
                finish(units.last_mut());
                units.push(Unit {
                    name: (*name).to_owned(),
                    tier: (*tier).to_owned(),
                    test: *kind == "test",
                    piece: Piece::default(),
                    labels: Vec::new(),
                });
                continue;
            }
            (_, Some(unit)) => unit,
            _ => return Err(format!("line {}: no score begun", number + 1)),
        };
        add(unit, &fields, &mut bar)
            .ok_or_else(|| format!("line {} is not understood: {line}", number + 1))?;
    }
    finish(units.last_mut());
    Ok(units)
}

fn finish(unit: Option<&mut Unit>) {
    if let Some(unit) = unit {
        let bars = unit.piece.bars.len();
        unit.piece.parts.iter_mut().for_each(|part| part.index_bars(bars));
    }
}

fn amount(text: &str) -> Option<Rational> {
    Rational::parse(text)
}

fn add(unit: &mut Unit, fields: &[&str], bar: &mut BarIndex) -> Option<()> {
    match fields {
        ["P", _, name, diatonic, chromatic, tonic, mode, scale, source] => {
            let piece = &mut unit.piece;
            let mut part = Part::new(piece.ids.give(IdKind::Part), *name);
            part.voices.push("1".to_owned());
            let chromatic = amount(chromatic)?;
            if !chromatic.is_zero() {
                let value = Transposition {
                    diatonic: diatonic.parse().ok()?,
                    chromatic,
                    octaves: 0,
                    doubled: false,
                };
                let change = at(piece, Place::default(), value);
                part.transpositions.push(change);
            }
            let key = tonic.parse().ok().map(|fifths| Tonality {
                fifths,
                minor: *mode == "minor",
            });
            let (scale, source) = ((*scale).to_owned(), (*source).to_owned());
            unit.labels.push(Label {
                part: piece.parts.len(),
                key,
                scale,
                source,
            });
            piece.parts.push(part);
        }
        ["B", index, length, flags] => {
            *bar = BarIndex(index.parse().ok()?);
            add_bar(&mut unit.piece, *bar, amount(length)?);
            for flag in flags.split(',').filter(|flag| !flag.is_empty()) {
                add_barline(&mut unit.piece, *bar, flag);
            }
        }
        ["C", offset, sign, line, octave] => {
            let sign = match *sign {
                "G" => ClefSign::G,
                "F" => ClefSign::F,
                _ => ClefSign::C,
            };
            let value = Clef {
                sign,
                line: line.parse().ok()?,
                octave_change: octave.parse().unwrap_or(0),
            };
            let change = at(
                &mut unit.piece,
                Place {
                    bar: *bar,
                    offset: amount(offset)?,
                },
                value,
            );
            unit.piece.parts.last_mut()?.clefs.push(change);
        }
        ["K", offset, count] => {
            let value = KeySignature::of_fifths(count.parse().unwrap_or(0));
            let change = at(
                &mut unit.piece,
                Place {
                    bar: *bar,
                    offset: amount(offset)?,
                },
                value,
            );
            unit.piece.parts.last_mut()?.keys.push(change);
        }
        ["M", offset, beats, beat_type] => {
            let value = Metre::new(beats.parse().ok()?, beat_type.parse().ok()?);
            let change = at(
                &mut unit.piece,
                Place {
                    bar: *bar,
                    offset: amount(offset)?,
                },
                value,
            );
            unit.piece.parts.last_mut()?.metres.push(change);
        }
        ["R", offset, duration, voice, flags] => {
            let place = Place {
                bar: *bar,
                offset: amount(offset)?,
            };
            let kind = EventKind::Rest { whole_bar: false };
            add_event(
                &mut unit.piece,
                place,
                kind,
                amount(duration)?,
                voice.parse().ok()?,
                flags,
            )?;
        }
        ["N", offset, duration, voice, flags, pitches] => {
            let place = Place {
                bar: *bar,
                offset: amount(offset)?,
            };
            let heads: Option<Vec<Head>> = pitches
                .split('+')
                .map(|pitch| head(&mut unit.piece, pitch, flags))
                .collect();
            let kind = EventKind::Chord(heads?);
            add_event(
                &mut unit.piece,
                place,
                kind,
                amount(duration)?,
                voice.parse().ok()?,
                flags,
            )?;
        }
        _ => return None,
    }
    Some(())
}

fn at<T>(piece: &mut Piece, place: Place, value: T) -> Change<T> {
    Change {
        id: piece.ids.give(IdKind::Change),
        place,
        staff: None,
        value,
        printed: true,
    }
}

fn add_bar(piece: &mut Piece, index: BarIndex, length: Rational) {
    while piece.bars.len() <= index.get() {
        piece.bars.push(Bar {
            id: piece.ids.give(IdKind::Bar),
            label: (piece.bars.len() + 1).to_string(),
            implicit: false,
            length: Rational::ZERO,
            new_system: false,
            new_page: false,
        });
    }
    if let Some(bar) = piece.bars.get_mut(index.get()) {
        bar.length = bar.length.max(length);
    }
}

fn add_barline(piece: &mut Piece, bar: BarIndex, flag: &str) {
    let (side, forward, style) = match flag {
        "rs" => (BarSide::Left, Some(true), "heavy-light"),
        "re" => (BarSide::Right, Some(false), "light-heavy"),
        _ => (BarSide::Right, None, "light-light"),
    };
    piece.barlines.push(Barline {
        id: piece.ids.give(IdKind::Barline),
        part: piece.parts.len().saturating_sub(1),
        place: Place::start_of(bar),
        side,
        style: Some(style.to_owned()),
        repeat: forward.map(|forward| Repeat {
            forward,
            times: None,
            after_jump: None,
        }),
        ending: None,
        fermatas: Vec::new(),
        segno: None,
        coda: None,
    });
}

/// A head from letter, alteration and octave: `F1o4`.
fn head(piece: &mut Piece, text: &str, flags: &str) -> Option<Head> {
    let (name, octave) = text.split_once('o')?;
    let step = Step::from_letter(name.chars().next()?)?;
    let pitch = Pitch::new(step, name.get(1..)?.parse().ok()?, octave.parse().ok()?);
    Some(Head {
        id: piece.ids.give(IdKind::Head),
        note: HeadNote::Pitch(pitch),
        staff: 1,
        accidental: None,
        tie_start: flags.contains('s'),
        tie_stop: flags.contains('e'),
        let_ring: false,
        technical: Vec::new(),
        shape: None,
        parentheses: false,
    })
}

fn add_event(
    piece: &mut Piece,
    place: Place,
    kind: EventKind,
    duration: Rational,
    voice: u16,
    flags: &str,
) -> Option<()> {
    let held = flags.contains('f');
    let fermata = Fermata {
        shape: String::new(),
        inverted: false,
    };
    let event = Event {
        id: piece.ids.give(IdKind::Event),
        place,
        kind,
        duration,
        written: None,
        grace: None,
        cue: false,
        voice,
        staff: 1,
        printed: true,
        beams: Vec::new(),
        articulations: Vec::new(),
        ornaments: Vec::new(),
        technical: Vec::new(),
        fermatas: if held { vec![fermata] } else { Vec::new() },
        dynamics: Vec::new(),
        arpeggio: None,
        lyrics: Vec::new(),
    };
    piece.parts.last_mut()?.events.push(event);
    Some(())
}
