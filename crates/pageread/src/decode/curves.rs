//! Which notes does each curve join? A slur that begins ends; a curve between two neighbours of one pitch is a tie, between two of different
//! pitches none.
//!
//! The reader answers note by note whether a slur begins or ends there. Of all ways to answer, the likeliest is taken in which beginnings and
//! ends follow one another; prices are judgement, in natural logarithms, held against generated pages in fonts of the training. That a curve
//! between two notes of one pitch is a tie is common practice; dots or dashes under it make it a slur (portato), so there it stays what it
//! was read as.

use crate::vocabulary::{Flag, Main};

/// A slur within a slur.
const WITHIN: f32 = 3.0;
/// An end that nothing began.
const NEVER_BEGUN: f32 = 5.0;
/// One that began in the system before.
const BEGUN_BEFORE: f32 = 0.7;
/// A slur that goes on into the next system, and two of them.
const GOES_ON: [f32; 3] = [0.0, 0.7, 4.0];
/// A slur over two neighbours of one pitch, without marks on both: in the 654 MusicXML files that music21 10.5.1 brings along there are 163,
/// and 13,999 ties; the logarithm of how many ties there are for one such slur.
const ON_ONE_PITCH: f32 = 4.45;
/// Surely, where a rule says so.
const SURELY: f32 = 6.0;

/// A note, chord or rest of one voice.
#[derive(Clone, Debug)]
pub(super) struct At {
    /// Its signs: a rest's or a head's, and the other heads of its chord.
    pub signs: Vec<usize>,
    /// A clef or bar line stands before it.
    pub after_clef: bool,
    pub after_bar: bool,
}

/// What the reader said of a sign: what it is, its accidental (0 for none), and of each flag the logarithm of yes to no.
pub(super) struct Said {
    pub main: Main,
    pub accidental: usize,
    pub flags: [f32; 23],
}

impl Said {
    const fn says(&self, flag: Flag) -> f32 {
        self.flags[flag as usize]
    }

    const fn set(&mut self, flag: Flag, to: f32) {
        self.flags[flag as usize] = to;
    }

    const fn is(&self, flag: Flag) -> bool {
        self.says(flag) > 0.0
    }
}

/// Puts the curves of a system right; what the flags say afterwards is what they are taken for.
pub(super) fn curves(said: &mut [Said]) {
    for voice in [false, true] {
        let row = voice_of(said, voice);
        ties_between_pitches(said, &row);
        slurs(said, &row);
        slurs_on_one_pitch(said, &row);
    }
}

/// The notes and rests of a voice.
fn voice_of(said: &[Said], second: bool) -> Vec<At> {
    let mut out: Vec<At> = Vec::new();
    let (mut clef, mut bar) = (false, false);
    for (n, sign) in said.iter().enumerate() {
        match sign.main {
            Main::Clef(_) => clef = true,
            Main::Bar(_) => bar = true,
            Main::Note(_) | Main::Rest if sign.is(Flag::SecondVoice) == second => {
                if sign.is(Flag::Chord)
                    && !matches!(sign.main, Main::Rest)
                    && let Some(last) = out.last_mut()
                {
                    last.signs.push(n);
                } else {
                    out.push(At {
                        signs: vec![n],
                        after_clef: clef,
                        after_bar: bar,
                    });
                    (clef, bar) = (false, false);
                }
            }
            _ => {}
        }
    }
    out
}

/// Whether two neighbours have a head of one pitch, as far as is printed.
#[derive(Clone, Copy, PartialEq, Debug)]
enum Pitches {
    Same,
    Different,
    /// Two clefs, an accidental that may be a courtesy.
    Unsure,
}

fn pitches(said: &[Said], one: &At, two: &At) -> Pitches {
    if two.after_clef {
        return Pitches::Unsure;
    }
    for a in &one.signs {
        let other = two.signs.iter().find(|b| said[**b].main == said[*a].main);
        if let Some(b) = other {
            let carried = said[*b].accidental == 0 && !(two.after_bar && said[*a].accidental > 0);
            return if carried { Pitches::Same } else { Pitches::Unsure };
        }
    }
    Pitches::Different
}

const fn is_note(said: &Said) -> bool {
    matches!(said.main, Main::Note(_))
}

/// A curve that was taken for a tie and joins two pitches is a slur.
fn ties_between_pitches(said: &mut [Said], row: &[At]) {
    for pair in row.windows(2) {
        let [one, two] = pair else { continue };
        let (first, next) = (one.signs[0], two.signs[0]);
        if !is_note(&said[first])
            || !is_note(&said[next])
            || said[first].is(Flag::Grace)
            || said[next].is(Flag::Grace)
        {
            continue;
        }
        let tied = one
            .signs
            .iter()
            .map(|n| said[*n].says(Flag::Tie))
            .fold(f32::MIN, f32::max);
        if tied <= 0.0 || pitches(said, one, two) != Pitches::Different {
            continue;
        }
        for n in &one.signs {
            said[*n].set(Flag::Tie, -SURELY);
        }
        let begins = said[first].says(Flag::SlurStart).max(tied);
        said[first].set(Flag::SlurStart, begins);
        let ends = said[next].says(Flag::SlurEnd).max(tied);
        said[next].set(Flag::SlurEnd, ends);
    }
}

/// Two notes of one pitch and nothing else under a slur are tied.
fn slurs_on_one_pitch(said: &mut [Said], row: &[At]) {
    for pair in row.windows(2) {
        let [one, two] = pair else { continue };
        let (first, next) = (one.signs[0], two.signs[0]);
        let dotted = |n: usize| said[n].is(Flag::Staccato) || said[n].is(Flag::Tenuto);
        if one.signs.len() + two.signs.len() > 2
            || !is_note(&said[first])
            || said[first].is(Flag::Grace)
            || said[next].is(Flag::Grace)
            || !(said[first].is(Flag::SlurStart) && said[next].is(Flag::SlurEnd))
            || dotted(first) && dotted(next)
            || pitches(said, one, two) != Pitches::Same
        {
            continue;
        }
        let slurred = said[first].says(Flag::SlurStart) + said[next].says(Flag::SlurEnd);
        let tied = said[first].says(Flag::Tie) + ON_ONE_PITCH - slurred;
        if tied <= 0.0 {
            continue;
        }
        said[first].set(Flag::Tie, tied);
        said[first].set(Flag::SlurStart, -SURELY);
        said[next].set(Flag::SlurEnd, -SURELY);
    }
}

/// Log-probability of an answer.
fn log(says: f32, yes: bool) -> f32 {
    let says = if yes { says } else { -says };
    if says > 0.0 {
        -(-says).exp().ln_1p()
    } else {
        says - says.exp().ln_1p()
    }
}

/// The likeliest beginnings and ends that follow one another.
fn slurs(said: &mut [Said], row: &[At]) {
    const DEPTHS: usize = 3;
    let mut best = [0.0, -BEGUN_BEFORE, f32::NEG_INFINITY];
    let mut back: Vec<[(usize, bool, bool); DEPTHS]> = Vec::with_capacity(row.len());
    for at in row {
        let sign = &said[at.signs[0]];
        let (begin, end) = (sign.says(Flag::SlurStart), sign.says(Flag::SlurEnd));
        let mut now = [f32::NEG_INFINITY; DEPTHS];
        let mut from = [(0, false, false); DEPTHS];
        for (depth, so_far) in best.iter().enumerate() {
            for ends in [false, true] {
                let (after, price) = match (ends, depth) {
                    (true, 0) => (0, NEVER_BEGUN),
                    (true, _) => (depth - 1, 0.0),
                    (false, _) => (depth, 0.0),
                };
                for begins in [false, true] {
                    let to = after + usize::from(begins);
                    if to >= DEPTHS {
                        continue;
                    }
                    let within = if begins && to == 2 { WITHIN } else { 0.0 };
                    let worth = so_far + log(end, ends) + log(begin, begins) - price - within;
                    if worth > now[to] {
                        now[to] = worth;
                        from[to] = (depth, ends, begins);
                    }
                }
            }
        }
        best = now;
        back.push(from);
    }
    let last = (0..DEPTHS).max_by(|a, b| (best[*a] - GOES_ON[*a]).total_cmp(&(best[*b] - GOES_ON[*b])));
    let mut depth = last.unwrap_or(0);
    for (at, from) in row.iter().zip(&back).rev() {
        let (before, ends, begins) = from[depth];
        let sign = &mut said[at.signs[0]];
        for (flag, yes) in [(Flag::SlurStart, begins), (Flag::SlurEnd, ends)] {
            let says = sign.says(flag);
            if (says > 0.0) != yes {
                // Taken though unlikely: as doubtful as can be.
                sign.set(flag, if yes { 0.01 } else { -0.01 });
            }
        }
        depth = before;
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const CLEARLY: f32 = 8.0;

    fn note(position: i32, says: &[(Flag, f32)]) -> Said {
        let mut flags = [-CLEARLY; 23];
        for (flag, how) in says {
            flags[*flag as usize] = *how;
        }
        Said {
            main: Main::Note(position),
            accidental: 0,
            flags,
        }
    }

    fn slurs_of(said: &[Said]) -> Vec<(bool, bool, bool)> {
        let of = |said: &Said| {
            (
                said.is(Flag::SlurStart),
                said.is(Flag::SlurEnd),
                said.is(Flag::Tie),
            )
        };
        said.iter().map(of).collect()
    }

    const NONE: (bool, bool, bool) = (false, false, false);
    const BEGINS: (bool, bool, bool) = (true, false, false);
    const ENDS: (bool, bool, bool) = (false, true, false);
    const TIED: (bool, bool, bool) = (false, false, true);

    #[test]
    fn an_end_that_was_nearly_seen_is_taken_between_two_beginnings() {
        let mut said = [
            note(0, &[(Flag::SlurStart, CLEARLY)]),
            note(1, &[(Flag::SlurEnd, -1.0)]),
            note(2, &[(Flag::SlurStart, CLEARLY)]),
            note(3, &[(Flag::SlurEnd, CLEARLY)]),
        ];
        curves(&mut said);
        assert_eq!(slurs_of(&said), [BEGINS, ENDS, BEGINS, ENDS]);
        // It is doubtful, though taken.
        assert!(said[1].says(Flag::SlurEnd) < 0.1);
    }

    #[test]
    fn a_weak_end_that_nothing_began_is_none() {
        let mut said = [
            note(0, &[(Flag::SlurStart, CLEARLY)]),
            note(1, &[(Flag::SlurEnd, CLEARLY)]),
            note(2, &[(Flag::SlurEnd, 0.5)]),
        ];
        curves(&mut said);
        assert_eq!(slurs_of(&said), [BEGINS, ENDS, NONE]);
        // One that is clear stays, and is told of later as a slur without its other end.
        let mut said = [note(0, &[]), note(1, &[(Flag::SlurEnd, CLEARLY)])];
        curves(&mut said);
        assert_eq!(slurs_of(&said), [NONE, ENDS]);
    }

    #[test]
    fn a_tie_between_two_pitches_is_a_slur() {
        let mut said = [note(0, &[(Flag::Tie, 2.0)]), note(3, &[])];
        curves(&mut said);
        assert_eq!(slurs_of(&said), [BEGINS, ENDS]);
        // A clef between them, or a rest: it stays what it was read as.
        let clef = Said {
            main: Main::Clef(4),
            accidental: 0,
            flags: [-CLEARLY; 23],
        };
        let mut said = [note(0, &[(Flag::Tie, 2.0)]), clef, note(3, &[])];
        curves(&mut said);
        assert_eq!(slurs_of(&said), [TIED, NONE, NONE]);
    }

    #[test]
    fn a_slur_on_one_pitch_is_a_tie_unless_dots_stand_under_it_or_its_shape_is_clear() {
        let slurred = |marks: &[(Flag, f32)], how: f32| {
            let with = |flag| {
                let mut says = marks.to_vec();
                says.push((flag, how));
                note(2, &says)
            };
            [with(Flag::SlurStart), with(Flag::SlurEnd)]
        };
        let mut doubtful = slurred(&[(Flag::Tie, -1.0)], 1.0);
        curves(&mut doubtful);
        assert_eq!(slurs_of(&doubtful), [TIED, NONE]);
        let mut portato = slurred(&[(Flag::Tie, -1.0), (Flag::Staccato, CLEARLY)], 1.0);
        curves(&mut portato);
        assert_eq!(slurs_of(&portato), [BEGINS, ENDS]);
        let mut clear = slurred(&[], CLEARLY);
        curves(&mut clear);
        assert_eq!(slurs_of(&clear), [BEGINS, ENDS]);
    }
}
