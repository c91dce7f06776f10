//! Down or up? A plan of bows for strings: signs only where the direction has to be said, each with its reason.
//!
//! Rules, all `common practice`: the bow changes with every note or slur; down on the downbeat, up on the pickup; after
//! a rest the bow may be set anew (retake) so that the next downbeat comes down; the short note of a long–short pair is
//! hooked into the same bow where that keeps the downbeats down; chords of three and more down. Printed bowings are kept.
//! What is not known: the part of the bow, and how a section agrees. A proposal: the teacher or the leader decides.

use notation::{LineNote, Place, Quarters};
use survey::Context;
use survey::phrases::{Notes, PhrasesAnswer};

/// Which way.
#[derive(Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Debug)]
pub enum Stroke {
    /// From the frog.
    Down,
    /// From the tip.
    Up,
}

impl Stroke {
    /// The word on screen and in JSON.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Down => "down",
            Self::Up => "up",
        }
    }

    const fn other(self) -> Self {
        match self {
            Self::Down => Self::Up,
            Self::Up => Self::Down,
        }
    }
}

/// A bowing sign to pencil in.
#[derive(Clone, PartialEq, Eq, Debug)]
pub struct BowSign {
    /// The note under it, as an index into the line of the context.
    pub note: usize,
    /// Where it stands.
    pub place: Place,
    /// Which way.
    pub stroke: Stroke,
    /// True if the note goes on in the bow of the note before, stopped between them.
    pub hooked: bool,
    /// Why, a clause.
    pub why: &'static str,
}

/// A plan of bows.
#[derive(Clone, PartialEq, Eq, Debug, Default)]
pub struct BowingAnswer {
    /// The signs worth pencilling, in order.
    pub signs: Vec<BowSign>,
    /// For each note of the line the stroke it lies in.
    pub strokes: Vec<Stroke>,
    /// Where it comes from.
    pub source: &'static str,
}

/// One bow: a note, or the notes under a slur.
struct Bow {
    first: usize,
    last: usize,
    downbeat: bool,
    pickup: bool,
    chord: bool,
    /// A rest before it, or the beginning: the bow may be set anew.
    after_rest: bool,
    /// The short note after a longer one that it follows without rest.
    short_of_pair: bool,
    printed: Option<Stroke>,
}

const UP_ON_DOWNBEAT: f64 = 1.0;
const DOWN_ON_PICKUP: f64 = 0.6;
const UP_ON_CHORD: f64 = 1.5;
const RETAKE_AT_REST: f64 = 0.1;
const HOOK: f64 = 0.4;
const SAME_AGAIN: f64 = 4.0;
const AGAINST_PRINT: f64 = 100.0;

/// The plan for a part's line.
#[must_use]
pub fn bowing_answer(ctx: &Context, phrases: &PhrasesAnswer) -> BowingAnswer {
    let notes = Notes::of(ctx);
    let bows = bows(ctx, &notes, phrases);
    let strokes = cheapest(&bows);
    let mut of_notes = vec![Stroke::Down; ctx.line.len()];
    for (bow, stroke) in bows.iter().zip(&strokes) {
        for slot in of_notes.iter_mut().take(bow.last + 1).skip(bow.first) {
            *slot = *stroke;
        }
    }
    BowingAnswer {
        signs: signs(ctx, &bows, &strokes),
        strokes: of_notes,
        source: "common practice",
    }
}

fn bows(ctx: &Context, notes: &Notes, phrases: &PhrasesAnswer) -> Vec<Bow> {
    let mut bows: Vec<Bow> = Vec::new();
    for (at, note) in ctx.line.iter().enumerate() {
        let slurred = phrases.signs.get(at).is_some_and(|signs| signs.inside_slur);
        match bows.last_mut() {
            Some(bow) if slurred => bow.last = at,
            _ => bows.push(bow(ctx, notes, at, note, phrases.begins(at))),
        }
    }
    bows
}

fn bow(ctx: &Context, notes: &Notes, at: usize, note: &LineNote, begins: bool) -> Bow {
    let phase = notes.phase(at).unwrap_or_default();
    let beat = notes.beat(at);
    let next_down = notes.phase(at + 1).is_some_and(Quarters::is_zero);
    let event = ctx.event(note);
    let technical = event.into_iter().flat_map(|event| {
        let of_heads = event.heads().iter().flat_map(|head| &head.technical);
        event.technical.iter().chain(of_heads)
    });
    let printed = technical
        .filter_map(|mark| match mark.name.as_str() {
            "down-bow" => Some(Stroke::Down),
            "up-bow" => Some(Stroke::Up),
            _ => None,
        })
        .next();
    let before = at.checked_sub(1);
    let length = |at: usize| ctx.line.get(at).map_or(Quarters::ZERO, |note| note.duration);
    let own = note.duration;
    let after_rest = before.is_none() || notes.gap(at) > 0.0;
    Bow {
        first: at,
        last: at,
        downbeat: phase.is_zero(),
        pickup: next_down && !phase.is_zero() && own <= beat && (begins || after_rest),
        chord: event.is_some_and(|event| event.heads().len() >= 3),
        after_rest,
        short_of_pair: notes.gap(at) <= 0.0
            && before.is_some_and(|before| length(before) >= own * Quarters::whole(2))
            && own < beat
            && !phase.modulo(beat).is_zero(),
        printed,
    }
}

/// The cheapest strokes: two states, one pass.
fn cheapest(bows: &[Bow]) -> Vec<Stroke> {
    const BOTH: [Stroke; 2] = [Stroke::Down, Stroke::Up];
    let mut costs = [0.0, 0.0];
    let mut from: Vec<[Stroke; 2]> = Vec::with_capacity(bows.len());
    for (at, bow) in bows.iter().enumerate() {
        let mut next = [0.0, 0.0];
        let mut back = BOTH;
        for (slot, (way, stroke)) in next.iter_mut().zip(back.iter_mut().zip(BOTH)) {
            let reach = |before: Stroke| {
                let cost = if before == Stroke::Down {
                    costs[0]
                } else {
                    costs[1]
                };
                cost + if at == 0 { 0.0 } else { change(bow, before, stroke) }
            };
            // The usual change first, so that equals stay plain.
            let (plain, same) = (reach(stroke.other()), reach(stroke));
            *way = if plain <= same { stroke.other() } else { stroke };
            *slot = plain.min(same) + own(bow, stroke);
        }
        costs = next;
        from.push(back);
    }
    let mut stroke = if costs[0] <= costs[1] {
        Stroke::Down
    } else {
        Stroke::Up
    };
    let mut strokes = Vec::with_capacity(bows.len());
    for back in from.iter().rev() {
        strokes.push(stroke);
        stroke = if stroke == Stroke::Down { back[0] } else { back[1] };
    }
    strokes.reverse();
    strokes
}

fn own(bow: &Bow, stroke: Stroke) -> f64 {
    let when = |holds: bool, cost: f64| if holds { cost } else { 0.0 };
    let up = stroke == Stroke::Up;
    when(up && bow.downbeat, UP_ON_DOWNBEAT)
        // Setting out on a downbeat with an up-bow is odder still.
        + when(up && bow.downbeat && bow.after_rest, UP_ON_DOWNBEAT / 2.0)
        + when(!up && bow.pickup, DOWN_ON_PICKUP)
        + when(up && bow.chord, UP_ON_CHORD)
        + when(
            bow.printed.is_some_and(|printed| printed != stroke),
            AGAINST_PRINT,
        )
}

fn change(bow: &Bow, before: Stroke, stroke: Stroke) -> f64 {
    if before != stroke {
        0.0
    } else if bow.after_rest {
        RETAKE_AT_REST
    } else if bow.short_of_pair {
        HOOK
    } else {
        SAME_AGAIN
    }
}

/// Signs where the player would not know: the beginning, every bow that does not simply change, and after rests.
fn signs(ctx: &Context, bows: &[Bow], strokes: &[Stroke]) -> Vec<BowSign> {
    let mut signs = Vec::new();
    let mut before: Option<Stroke> = None;
    for (bow, stroke) in bows.iter().zip(strokes) {
        let same = before == Some(*stroke);
        let why = match (bow.printed, before) {
            (Some(printed), _) if printed == *stroke => None,
            (_, None) if bow.downbeat => Some("down on the downbeat"),
            (_, None) if *stroke == Stroke::Up => Some("the pickup is up, so that the downbeat comes down"),
            (_, None) => Some("the first bow"),
            (_, Some(_)) if same && bow.after_rest && bow.downbeat => {
                Some("set the bow anew in the rest, down on the downbeat")
            }
            (_, Some(_)) if same && bow.after_rest => Some("set the bow anew in the rest"),
            (_, Some(_)) if same && bow.short_of_pair => {
                Some("hooked: the short note goes on in the same bow")
            }
            (_, Some(_)) if same => Some("the same bow again"),
            _ => None,
        };
        before = Some(*stroke);
        let place = ctx
            .line
            .get(bow.first)
            .and_then(|note| ctx.event(note))
            .map(|event| event.place);
        if let (Some(why), Some(place)) = (why, place) {
            signs.push(BowSign {
                note: bow.first,
                place,
                stroke: *stroke,
                hooked: same && bow.short_of_pair,
                why,
            });
        }
    }
    signs
}

#[cfg(test)]
mod tests {
    use super::*;

    fn plan(text: &str) -> (Vec<Stroke>, Vec<(usize, Stroke, bool)>) {
        let piece = notation::sketch(text).expect("a sketch");
        let ctx = Context::new(&piece, 0).expect("a part");
        let phrases = survey::phrases::answer(&ctx, None);
        let answer = bowing_answer(&ctx, &phrases);
        let signs = answer
            .signs
            .iter()
            .map(|sign| (sign.note, sign.stroke, sign.hooked))
            .collect();
        (answer.strokes, signs)
    }

    use Stroke::{Down, Up};

    #[test]
    fn a_downbeat_is_down_and_a_pickup_up() {
        let (strokes, signs) = plan("metre:4/4 D4/q E4/q F4/q G4/q | A4/q B4/q C5/q D5/q");
        assert_eq!(strokes, [Down, Up, Down, Up, Down, Up, Down, Up]);
        assert_eq!(signs, [(0, Down, false)]);
        let (strokes, _) = plan("metre:4/4 D4/q | G4/q A4/q B4/q C5/q | D5/w");
        assert_eq!(strokes[..2], [Up, Down]);
    }

    #[test]
    fn a_slur_is_one_bow() {
        let (strokes, _) = plan("metre:3/4 ( D4/q E4/q ) F4/q | ( G4/q A4/q ) B4/q");
        assert_eq!(strokes, [Down, Down, Up, Down, Down, Up]);
    }

    #[test]
    fn the_bow_is_set_anew_in_a_rest() {
        let (strokes, signs) = plan("metre:3/4 D4/q E4/q F4/q | G4/q A4/q r/q | D4/q E4/q F4/q | G4/h.");
        assert_eq!(strokes[0], Down);
        assert!(signs.iter().all(|(_, _, hooked)| !hooked), "{signs:?}");
    }

    #[test]
    fn a_dotted_pair_is_hooked_so_that_downbeats_stay_down() {
        let (strokes, signs) = plan("metre:3/4 D4/h E4/e. F4/s | G4/h A4/e. B4/s | C5/h D5/e. E5/s | D5/h.");
        assert_eq!([strokes[0], strokes[3], strokes[6]], [Down, Down, Down]);
        let hooked = signs.iter().filter(|sign| sign.2).count();
        assert!(hooked >= 2, "{signs:?}");
    }

    #[test]
    fn printed_bowings_are_kept() {
        let mut piece = notation::sketch("metre:4/4 D4/q E4/q F4/q G4/q").expect("a sketch");
        piece.parts[0].events[0].technical.push(notation::Technical {
            name: "up-bow".to_owned(),
            text: String::new(),
            side: None,
        });
        let ctx = Context::new(&piece, 0).expect("a part");
        let answer = bowing_answer(&ctx, &survey::phrases::answer(&ctx, None));
        assert_eq!(answer.strokes[0], Up);
        assert!(answer.signs.is_empty(), "what is printed needs no pencil");
    }
}
