//! How does a teacher pencil the notes of an ornament? On a bit of staff, with stems, beams, dots and ties: by hand.

use super::glyphs::{self, LINE};
use super::hand::Hand;
use super::letters;
use super::sketch::Sketch;
use notation::{NoteValue, SmallNote, Written};

/// A stem's length, in staff spaces.
const STEM: f64 = 3.0;
/// From one beam to the next, in staff spaces.
const BEAM_APART: f64 = 0.78;

/// A head on the bit of staff.
struct Head {
    x: f64,
    y: f64,
    /// Beams or flags; 0 for a quarter and longer.
    beams: u8,
    stem: bool,
    hollow: bool,
    dots: u8,
    tuplet: Option<u16>,
    /// Tied to the head before.
    tied: bool,
}

/// The notes on five lines; the bottom line lies at y = 0, the first note stands a little right of x = 0.
pub(super) fn drawn(notes: &[SmallNote], space: f64, hand: &mut Hand) -> Sketch {
    let mut sketch = Sketch::default();
    let mut runs: Vec<Vec<Head>> = vec![Vec::new()];
    let mut x = 1.0 * space;
    for note in notes {
        match note {
            SmallNote::AndSoOn => {
                for dot in 0..3 {
                    let at = (x + f64::from(dot) * 0.6 * space, -2.0 * space);
                    dab(&mut sketch, hand, at, 0.34 * space);
                }
                x += 2.4 * space;
                runs.push(Vec::new());
            }
            SmallNote::Note {
                position,
                accidental,
                values,
            } => {
                let y = -f64::from(*position) * space / 2.0;
                if let Some(signs) = accidental {
                    for sign in signs.chars() {
                        let wide = glyphs::accidental_width(&sign.to_string()) * space;
                        glyphs::accidental(
                            &mut sketch,
                            hand,
                            sign,
                            (x + wide / 2.0 - 0.35 * space, y),
                            space,
                            0.14 * space,
                        );
                        x += wide;
                    }
                    x += 0.35 * space;
                }
                ledger_lines(&mut sketch, hand, x, *position, space);
                let mut tied = false;
                for head in heads(values) {
                    let dots = f64::from(head.dots);
                    if let Some(run) = runs.last_mut() {
                        run.push(Head { x, y, tied, ..head });
                    }
                    tied = true;
                    x += (1.75 + 0.7 * dots) * space;
                }
            }
        }
    }
    let up = goes_up(&runs, space);
    for run in &runs {
        for head in run {
            draw_head(&mut sketch, hand, head, space);
        }
        for group in groups(run) {
            stems(&mut sketch, hand, group, up, space);
        }
        ties(&mut sketch, hand, run, up, space);
        tuplets(&mut sketch, hand, run, up, space);
    }
    for line in 0..5 {
        let y = -f64::from(line) * space;
        sketch.line(hand, &[(0.0, y), (x, y)], 0.1 * space, 0.0);
    }
    sketch
}

fn heads(values: &[Written]) -> Vec<Head> {
    let head = |written: &Written| Head {
        x: 0.0,
        y: 0.0,
        beams: beams(written.value),
        stem: written.value < NoteValue::Whole,
        hollow: written.value >= NoteValue::Half,
        dots: written.dots,
        tuplet: written.tuplets.first().map(|ratio| ratio.actual),
        tied: false,
    };
    if values.is_empty() {
        // A length that no usual value says: only its pitch.
        return vec![Head {
            x: 0.0,
            y: 0.0,
            beams: 0,
            stem: false,
            hollow: false,
            dots: 0,
            tuplet: None,
            tied: false,
        }];
    }
    values.iter().map(head).collect()
}

fn beams(value: NoteValue) -> u8 {
    match value {
        NoteValue::Eighth => 1,
        NoteValue::N16th => 2,
        NoteValue::N32nd => 3,
        NoteValue::N64th => 4,
        NoteValue::N128th => 5,
        value if value < NoteValue::N128th => 6,
        _ => 0,
    }
}

/// Stems go up where most heads lie below the middle line.
fn goes_up(runs: &[Vec<Head>], space: f64) -> bool {
    let low = |head: &&Head| head.y > -2.0 * space;
    let all = runs.iter().flatten().count();
    2 * runs.iter().flatten().filter(low).count() >= all
}

fn dab(sketch: &mut Sketch, hand: &mut Hand, (x, y): (f64, f64), wide: f64) {
    sketch.line(hand, &[(x - 0.15 * wide, y), (x + 0.15 * wide, y)], wide, 0.0);
}

fn draw_head(sketch: &mut Sketch, hand: &mut Hand, head: &Head, space: f64) {
    if head.hollow {
        let radii = (0.5 * space, 0.4 * space);
        glyphs::ring(sketch, hand, (head.x, head.y), radii, 0.17 * space, -1.0);
    } else {
        let points = [
            (head.x - 0.22 * space, head.y + 0.07 * space),
            (head.x + 0.22 * space, head.y - 0.07 * space),
        ];
        sketch.line(hand, &points, 1.25 * space, 0.0);
    }
    for dot in 0..head.dots {
        // Dots stand in spaces.
        let on_line = (head.y / space).fract().abs() < 0.1;
        let y = if on_line { head.y - 0.5 * space } else { head.y };
        let at = (head.x + (1.0 + 0.6 * f64::from(dot)) * space, y);
        dab(sketch, hand, at, 0.36 * space);
    }
}

fn ledger_lines(sketch: &mut Sketch, hand: &mut Hand, x: f64, position: i32, space: f64) {
    let mut line = |position: i32| {
        let y = -f64::from(position) * space / 2.0;
        sketch.line(
            hand,
            &[(x - 0.8 * space, y), (x + 0.8 * space, y)],
            0.1 * space,
            0.0,
        );
    };
    (1..)
        .map(|n| -2 * n)
        .take_while(|at| *at >= position.max(-16))
        .for_each(&mut line);
    (5..)
        .map(|n| 2 * n)
        .take_while(|at| *at <= position.min(24))
        .for_each(&mut line);
}

/// Heads under one beam: neighbours shorter than a quarter.
fn groups(run: &[Head]) -> impl Iterator<Item = &[Head]> {
    run.chunk_by(|a, b| a.beams > 0 && b.beams > 0)
}

fn stems(sketch: &mut Sketch, hand: &mut Hand, group: &[Head], up: bool, space: f64) {
    let way = if up { -1.0 } else { 1.0 };
    let stem_x = |head: &Head| head.x - way * 0.52 * space;
    let most = group.iter().map(|head| head.beams).max().unwrap_or(0);
    // The farthest head has the shortest stem; more beams need more room.
    let long = STEM + f64::from(most.saturating_sub(2)) * BEAM_APART * 0.8;
    let tips = group.iter().map(|head| head.y + way * long * space);
    let tip = if up {
        tips.fold(f64::INFINITY, f64::min)
    } else {
        tips.fold(f64::NEG_INFINITY, f64::max)
    };
    for head in group.iter().filter(|head| head.stem) {
        let x = stem_x(head);
        sketch.line(
            hand,
            &[(x, head.y + way * 0.1 * space), (x, tip)],
            0.13 * space,
            0.0,
        );
    }
    let level_y = |level: u8| tip - way * f64::from(level) * BEAM_APART * space;
    for level in 0..most {
        let y = level_y(level);
        let mut beam = |from: f64, to: f64| sketch.line(hand, &[(from, y), (to, y)], 0.5 * space, 0.0);
        match group {
            [head] => {
                // A flag: down from the tip, to the right.
                let x = stem_x(head);
                let points = [
                    (x, y),
                    (x + 0.55 * space, y - way * 0.6 * space),
                    (x + 0.7 * space, y - way * 1.1 * space),
                ];
                sketch.line(hand, &points, 0.22 * space, 0.4);
            }
            heads => {
                for (at, pair) in heads.windows(2).enumerate() {
                    if pair.iter().all(|head| head.beams > level) {
                        beam(stem_x(&pair[0]), stem_x(&pair[1]));
                    }
                    // A beam that has no neighbour is a stub, towards its group.
                    let alone = |n: usize| {
                        let has =
                            |m: Option<usize>| m.and_then(|m| heads.get(m)).is_some_and(|h| h.beams > level);
                        has(Some(n)) && !has(n.checked_sub(1)) && !has(Some(n + 1))
                    };
                    if alone(at) && at == 0 {
                        beam(stem_x(&pair[0]), stem_x(&pair[0]) + 0.7 * space);
                    }
                    if alone(at + 1) {
                        beam(stem_x(&pair[1]) - 0.7 * space, stem_x(&pair[1]));
                    }
                }
            }
        }
    }
}

fn ties(sketch: &mut Sketch, hand: &mut Hand, run: &[Head], up: bool, space: f64) {
    let way = if up { 1.0 } else { -1.0 };
    for pair in run.windows(2).filter(|pair| pair[1].tied) {
        let y = pair[0].y + way * 0.7 * space;
        let middle = f64::midpoint(pair[0].x, pair[1].x);
        let points = [
            (pair[0].x + 0.2 * space, y),
            (middle, y + way * 0.35 * space),
            (pair[1].x - 0.2 * space, y),
        ];
        sketch.line(hand, &points, LINE * space, 0.0);
    }
}

/// The number of each tuplet, on the side of the stems beyond all ink.
fn tuplets(sketch: &mut Sketch, hand: &mut Hand, run: &[Head], up: bool, space: f64) {
    for group in run.chunk_by(|a, b| a.tuplet == b.tuplet) {
        let (Some(first), Some(last)) = (group.first(), group.last()) else {
            continue;
        };
        let Some(number) = first.tuplet else { continue };
        let Some(ink) = sketch.bounds() else { continue };
        let x = f64::midpoint(first.x, last.x) + if up { 0.5 * space } else { -0.5 * space };
        let size = 1.9 * space;
        let line = if up {
            ink.y.min(-4.0 * space) - 0.5 * space
        } else {
            ink.bottom().max(0.0) + 0.5 * space + 0.72 * size
        };
        sketch.add(letters::centred(&number.to_string(), x, line, size, hand));
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use notation::TupletRatio;

    fn note(position: i32, value: NoteValue, dots: u8) -> SmallNote {
        SmallNote::Note {
            position,
            accidental: None,
            values: vec![Written {
                value,
                dots,
                tuplets: Vec::new(),
            }],
        }
    }

    #[test]
    fn more_notes_take_more_room_and_all_keeps_to_the_right_of_the_start() {
        let two = drawn(&vec![note(4, NoteValue::Eighth, 0); 2], 100.0, &mut Hand::new(1));
        let four = drawn(&vec![note(4, NoteValue::Eighth, 0); 4], 100.0, &mut Hand::new(1));
        let (two, four) = (two.bounds().expect("ink"), four.bounds().expect("ink"));
        assert!(four.w > two.w + 250.0);
        assert!(two.x > -20.0 && four.x > -20.0);
    }

    #[test]
    fn high_and_low_notes_have_ledger_lines_and_turned_stems() {
        let high = drawn(&[note(14, NoteValue::Quarter, 0)], 100.0, &mut Hand::new(1));
        let low = drawn(&[note(-5, NoteValue::Quarter, 0)], 100.0, &mut Hand::new(1));
        assert!(high.bounds().expect("ink").y < -690.0);
        assert!(low.bounds().expect("ink").bottom() > 240.0);
        assert!(
            low.bounds().expect("ink").y > -420.0,
            "the stem of a low note stays in the staff"
        );
    }

    #[test]
    fn whatever_is_asked_for_is_drawn() {
        let odd = SmallNote::Note {
            position: 99,
            accidental: Some("♯♯♮?".to_owned()),
            values: vec![
                Written {
                    value: NoteValue::N1024th,
                    dots: 3,
                    tuplets: vec![TupletRatio { actual: 7, normal: 4 }],
                };
                3
            ],
        };
        let unsaid = SmallNote::Note {
            position: 0,
            accidental: None,
            values: Vec::new(),
        };
        let sketch = drawn(&[odd, SmallNote::AndSoOn, unsaid], 100.0, &mut Hand::new(2));
        assert!(sketch.svg().contains('7'));
        assert!(drawn(&[], 100.0, &mut Hand::new(2)).bounds().is_some());
    }
}
