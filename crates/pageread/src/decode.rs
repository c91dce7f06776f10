//! What did the reader see, sign by sign? Its output made into signs in order of x, each with how sure it is.
//!
//! As `train/score.py`, `decode`: a run of frames with the same first answer is one sign, told by its surest frame; all further
//! answers come from that frame. The probability of a sign is the product over all its answers. What must go together is put together:
//! curves ([`curves`]), hairpins, ottavas and endings ([`beside`]).

mod beside;
mod curves;
mod ornaments;

use crate::signs::{Beside, Change, LEAST_LOG, LIKELY, MOST_OTHERS, Other, POSSIBLE_FIGURE, Seen, Sign};
use crate::vocabulary::{
    ASKS, ATTRIBUTES, Ask, DYNAMICS, FLAG_OF, FLAGS, FRAME, MAIN, Main, ROADS, STRIDE, main_of,
};
use beside::{Pair, beside};
use curves::{Said, curves};

/// Signs from the raw output: [`FRAME`] numbers for each frame.
#[must_use]
pub fn decode(scores: &[f32]) -> Seen {
    let frames: Vec<&[f32]> = scores.chunks_exact(FRAME).collect();
    let firsts: Vec<Vec<f32>> = frames.iter().map(|frame| log_softmax(&frame[..MAIN])).collect();
    let best: Vec<usize> = firsts.iter().map(|first| top(first)).collect();
    let mut places = Vec::new();
    let mut t = 0;
    while t < frames.len() {
        let answer = best[t];
        let end = t + best[t..].iter().take_while(|b| **b == answer).count();
        if let Some(main) = main_of(answer) {
            let surest = (t..end).max_by(|a, b| firsts[*a][answer].total_cmp(&firsts[*b][answer]));
            let at = surest.unwrap_or(t);
            places.push((at, main, answer));
        }
        t = end;
    }
    let mut said: Vec<Said> = places
        .iter()
        .map(|(at, main, _)| said(frames[*at], *main))
        .collect();
    curves(&mut said);
    let mut seen = Seen::default();
    for (number, ((at, main, answer), said)) in (0..).zip(places.iter().zip(&said)) {
        seen.signs
            .push(sign(frames[*at], &said.flags, number, *main, *answer, x_of(*at)));
    }
    let roads = MAIN + ATTRIBUTES.iter().sum::<usize>() + FLAGS.len();
    seen.roads = line(&frames, roads, &ROADS, &ROAD_PAIRS);
    seen.dynamics = line(&frames, roads + ROADS.len(), &DYNAMICS, &HAIRPINS);
    seen
}

#[expect(clippy::cast_precision_loss, reason = "a system has some hundred frames")]
fn x_of(frame: usize) -> f32 {
    (frame * STRIDE) as f32 + STRIDE as f32 / 2.0
}

/// What the reader says of a sign's curves.
fn said(frame: &[f32], main: Main) -> Said {
    let from = |ask: Ask| MAIN + ATTRIBUTES[..ask as usize].iter().sum::<usize>();
    let accidental = from(Ask::Accidental);
    let flags = MAIN + ATTRIBUTES.iter().sum::<usize>();
    let mut out = Said {
        main,
        accidental: top(&frame[accidental..accidental + ATTRIBUTES[Ask::Accidental as usize]]),
        flags: [0.0; 23],
    };
    out.flags.copy_from_slice(&frame[flags..flags + FLAGS.len()]);
    out
}

fn sign(frame: &[f32], flags: &[f32; 23], number: u32, main: Main, first: usize, x: f32) -> Sign {
    let firsts = log_softmax(&frame[..MAIN]);
    let mut out = Sign {
        log: firsts[first],
        ..Sign::plain(number, x, main)
    };
    for (answer, log) in firsts.iter().enumerate().filter(|(answer, _)| *answer != first) {
        out.others.push(Other {
            change: main_of(answer).map_or(Change::Nothing, Change::Becomes),
            sure: log.exp(),
        });
    }
    let mut from = MAIN;
    for (n, size) in ATTRIBUTES.iter().enumerate() {
        let mut logs = log_softmax(&frame[from..from + size]);
        if n == Ask::Ornament as usize {
            ornaments::as_printed(&mut logs);
        }
        out.answers[n] = top(&logs);
        out.log += logs[out.answers[n]];
        if n == Ask::Value as usize {
            out.values.copy_from_slice(&logs);
        } else if n == Ask::Dots as usize {
            out.dots.copy_from_slice(&logs);
        } else if asked_of(main).contains(&ASKS[n]) {
            for (answer, log) in logs
                .iter()
                .enumerate()
                .filter(|(answer, _)| *answer != out.answers[n])
            {
                let change = Change::Answer(ASKS[n], answer);
                out.others.push(Other {
                    change,
                    sure: log.exp(),
                });
            }
        }
        from += size;
    }
    for (n, flag) in out.flags.iter_mut().enumerate() {
        let score = flags[n];
        *flag = score > 0.0;
        // log(1 / (1 + e^-|score|))
        out.log -= (-score.abs()).exp().ln_1p();
        if matches!(main, Main::Note(_) | Main::Rest) {
            let change = Change::Flag(FLAG_OF[n], !*flag);
            let sure = 1.0 / (1.0 + score.abs().exp());
            out.others.push(Other { change, sure });
        }
    }
    if matches!(main, Main::Note(_) | Main::Rest) {
        other_values(&mut out);
    }
    out.log = out.log.max(LEAST_LOG);
    for log in out.values.iter_mut().chain(&mut out.dots) {
        // Nonsense is the least likely of all.
        *log = if log.is_nan() {
            LEAST_LOG
        } else {
            log.max(LEAST_LOG)
        };
    }
    // The bars that follow may tell what a metre's figure was, where the reader hardly thought of it.
    let least = if matches!(main, Main::Metre) {
        POSSIBLE_FIGURE
    } else {
        LIKELY
    };
    out.others.retain(|other| other.sure > least);
    out.others.sort_by(|a, b| b.sure.total_cmp(&a.sure));
    out.others.truncate(MOST_OTHERS);
    out
}

/// Other note values, with their dots.
fn other_values(sign: &mut Sign) {
    let read = (sign.answer(Ask::Value), sign.answer(Ask::Dots));
    for (value, a) in sign.values.iter().enumerate().skip(1) {
        for (dots, b) in sign.dots.iter().enumerate() {
            if (value, dots) != read {
                let change = Change::Value(value, dots);
                let sure = (a + b).exp();
                sign.others.push(Other { change, sure });
            }
        }
    }
}

/// Which of the further questions mean something of a sign; its value and dots apart.
const fn asked_of(main: Main) -> &'static [Ask] {
    match main {
        Main::Note(_) => &[
            Ask::Accidental,
            Ask::Ornament,
            Ask::OrnamentAccidental,
            Ask::Tuplet,
            Ask::Finger,
            Ask::Tremolo,
            Ask::Head,
        ],
        Main::Rest => &[Ask::Tuplet],
        Main::Metre => &[Ask::Numerator, Ask::Denominator],
        Main::BarsRest => &[Ask::Tens, Ask::Ones],
        _ => &[],
    }
}

/// Hairpins: kind 0.
const HAIRPINS: [(&str, &str, usize, bool); 2] =
    [("cresc", "cresc_end", 0, false), ("dim", "dim_end", 0, false)];
/// Ottavas and endings; a second or later ending may stay open.
const ROAD_PAIRS: [(&str, &str, usize, bool); 11] = [
    ("8va", "ott_end", 0, false),
    ("8vb", "ott_end", 0, false),
    ("15ma", "ott_end", 0, false),
    ("15mb", "ott_end", 0, false),
    ("v1", "vend", 1, false),
    ("v2", "vend", 1, true),
    ("v3", "vend", 1, true),
    ("v4", "vend", 1, true),
    ("v12", "vend", 1, false),
    ("v123", "vend", 1, false),
    ("v34", "vend", 1, true),
];

/// The signs of one line.
fn line(
    frames: &[&[f32]],
    from: usize,
    names: &'static [&'static str],
    pairs: &[(&str, &str, usize, bool)],
) -> Vec<Beside> {
    let logs: Vec<Vec<f32>> = frames
        .iter()
        .map(|frame| log_softmax(&frame[from..from + names.len()]))
        .collect();
    let number = |name: &str| names.iter().position(|known| *known == name).unwrap_or(0);
    let pairs: Vec<Pair> = pairs
        .iter()
        .map(|(begin, end, kind, may_stay_open)| Pair {
            begin: number(begin),
            end: number(end),
            kind: *kind,
            may_stay_open: *may_stay_open,
        })
        .collect();
    beside(&logs, names, &pairs)
}

fn log_softmax(scores: &[f32]) -> Vec<f32> {
    let top = scores.iter().copied().fold(f32::MIN, f32::max);
    let sum: f32 = scores.iter().map(|score| (score - top).exp()).sum();
    scores.iter().map(|score| score - top - sum.ln()).collect()
}

fn top(values: &[f32]) -> usize {
    (0..values.len())
        .max_by(|a, b| values[*a].total_cmp(&values[*b]).then(b.cmp(a)))
        .unwrap_or(0)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::vocabulary::Flag;

    #[test]
    fn a_run_of_one_answer_is_one_sign_and_its_surest_frame_tells_it() {
        let mut scores = vec![0.0_f32; 5 * FRAME];
        // Blank, then position 4 (answer 17) over two frames, blank, a rest.
        for (t, (answer, score)) in [(0, 9.0), (17, 5.0), (17, 9.0), (0, 9.0), (36, 9.0)]
            .iter()
            .enumerate()
        {
            scores[t * FRAME + answer] = *score;
        }
        let value = 2 * FRAME + MAIN + 4;
        scores[value] = 9.0; // a quarter
        let staccato = 2 * FRAME + MAIN + 129;
        scores[staccato] = 4.0;
        let seen = decode(&scores);
        assert_eq!(seen.signs.len(), 2);
        assert_eq!(seen.signs[0].main, Main::Note(4));
        assert_eq!(seen.signs[0].answer(Ask::Value), 4);
        assert!(seen.signs[0].is(Flag::Staccato) && !seen.signs[0].is(Flag::Tenuto));
        assert_eq!(seen.signs[1].main, Main::Rest);
        assert!((0.0..1.0).contains(&seen.signs[0].sure()));
    }
}
