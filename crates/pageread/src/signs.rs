//! What did the reader see, sign by sign? Its output made into signs in order of x, each with how sure it is.
//!
//! As `train/score.py`, `decode`: a run of frames with the same first answer is one sign, told by its surest frame; all further
//! answers come from that frame. The probability of a sign is the product over all its answers.

use crate::vocabulary::{ATTRIBUTES, Ask, DYNAMICS, FLAGS, FRAME, Flag, MAIN, Main, ROADS, STRIDE, main_of};

/// One thing on the staff.
#[derive(Clone, PartialEq, Debug)]
pub struct Sign {
    /// Where, in pixels of the system's picture.
    pub x: f32,
    /// What.
    pub main: Main,
    /// The likeliest answer to each further question.
    pub answers: [usize; 14],
    /// Yes or no to each of the flags.
    pub flags: [bool; 23],
    /// Natural logarithm of the probability that every answer is right.
    pub log: f32,
    /// Log-probabilities of the note values and of the dots, for bars that don't add up.
    pub values: [f32; 10],
    /// Of none, one and two dots.
    pub dots: [f32; 3],
}

impl Sign {
    /// The answer to a further question.
    #[must_use]
    pub const fn answer(&self, ask: Ask) -> usize {
        self.answers[ask as usize]
    }

    /// Yes or no.
    #[must_use]
    pub const fn is(&self, flag: Flag) -> bool {
        self.flags[flag as usize]
    }

    /// How sure it is, from 0 to 1.
    #[must_use]
    pub fn sure(&self) -> f32 {
        self.log.exp()
    }
}

/// A sign of the line above or below: what (by its name), where, how sure.
#[derive(Clone, PartialEq, Debug)]
pub struct Beside {
    /// Where, in pixels of the system's picture.
    pub x: f32,
    /// What, by the name in the vocabulary.
    pub name: &'static str,
    /// From 0 to 1.
    pub sure: f32,
}

/// What the reader saw of one system.
#[derive(Clone, PartialEq, Debug, Default)]
pub struct Seen {
    /// On the staff.
    pub signs: Vec<Sign>,
    /// Segno, coda, endings, ottavas, breath marks.
    pub roads: Vec<Beside>,
    /// Dynamics and ends of hairpins.
    pub dynamics: Vec<Beside>,
}

/// Signs from the raw output: [`FRAME`] numbers for each frame.
#[must_use]
pub fn decode(scores: &[f32]) -> Seen {
    let frames: Vec<&[f32]> = scores.chunks_exact(FRAME).collect();
    let firsts: Vec<Vec<f32>> = frames.iter().map(|frame| log_softmax(&frame[..MAIN])).collect();
    let best: Vec<usize> = firsts.iter().map(|first| top(first)).collect();
    let mut seen = Seen::default();
    let mut t = 0;
    while t < frames.len() {
        let answer = best[t];
        let end = t + best[t..].iter().take_while(|b| **b == answer).count();
        if let Some(main) = main_of(answer) {
            let surest = (t..end).max_by(|a, b| firsts[*a][answer].total_cmp(&firsts[*b][answer]));
            let at = surest.unwrap_or(t);
            seen.signs
                .push(sign(frames[at], main, firsts[at][answer], x_of(at)));
        }
        t = end;
    }
    let roads = MAIN + ATTRIBUTES.iter().sum::<usize>() + FLAGS.len();
    seen.roads = beside(&frames, roads, &ROADS);
    seen.dynamics = beside(&frames, roads + ROADS.len(), &DYNAMICS);
    seen
}

#[expect(clippy::cast_precision_loss, reason = "a system has some hundred frames")]
fn x_of(frame: usize) -> f32 {
    (frame * STRIDE) as f32 + STRIDE as f32 / 2.0
}

fn sign(frame: &[f32], main: Main, first: f32, x: f32) -> Sign {
    let mut out = Sign {
        x,
        main,
        answers: [0; 14],
        flags: [false; 23],
        log: first,
        values: [0.0; 10],
        dots: [0.0; 3],
    };
    let mut from = MAIN;
    for (n, size) in ATTRIBUTES.iter().enumerate() {
        let logs = log_softmax(&frame[from..from + size]);
        out.answers[n] = top(&logs);
        out.log += logs[out.answers[n]];
        if n == Ask::Value as usize {
            out.values.copy_from_slice(&logs);
        } else if n == Ask::Dots as usize {
            out.dots.copy_from_slice(&logs);
        }
        from += size;
    }
    for (n, flag) in out.flags.iter_mut().enumerate() {
        let score = frame[from + n];
        *flag = score > 0.0;
        // log(1 / (1 + e^-|score|))
        out.log -= (-score.abs()).exp().ln_1p();
    }
    out
}

fn beside(frames: &[&[f32]], from: usize, names: &'static [&'static str]) -> Vec<Beside> {
    let mut out: Vec<Beside> = Vec::new();
    let mut last = 0;
    for (t, frame) in frames.iter().enumerate() {
        let logs = log_softmax(&frame[from..from + names.len()]);
        let answer = top(&logs);
        let sure = logs[answer].exp();
        if answer != 0 && answer != last {
            out.push(Beside {
                x: x_of(t),
                name: names[answer],
                sure,
            });
        } else if answer != 0
            && let Some(open) = out.last_mut()
            && sure > open.sure
        {
            open.sure = sure;
            open.x = x_of(t);
        }
        last = answer;
    }
    out
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
