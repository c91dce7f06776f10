//! What did the reader see, sign by sign? Its output made into signs in order of x, each with how sure it is.
//!
//! As `train/score.py`, `decode`: a run of frames with the same first answer is one sign, told by its surest frame; all further
//! answers come from that frame. The probability of a sign is the product over all its answers.

use crate::vocabulary::{
    ASKS, ATTRIBUTES, Ask, DYNAMICS, FLAG_OF, FLAGS, FRAME, Flag, MAIN, Main, ROADS, STRIDE, main_of,
};
use serde::{Deserialize, Deserializer, Serialize};

/// One way in which a sign can be another than it was taken for.
#[derive(Clone, Copy, PartialEq, Eq, Debug, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Change {
    /// Something else stands here.
    Becomes(Main),
    /// Nothing stands here.
    Nothing,
    /// Another answer to a further question, by its number in the vocabulary.
    Answer(Ask, usize),
    /// Yes instead of no, or the reverse.
    Flag(Flag, bool),
    /// Another note value (by its number in the vocabulary) and so many dots.
    Value(usize, usize),
}

/// A likely other reading.
#[derive(Clone, Copy, PartialEq, Debug, Serialize, Deserialize)]
pub struct Other {
    /// What would be different.
    pub change: Change,
    /// How likely it is, from 0 to 1.
    pub sure: f32,
}

/// Other readings of a sign that are kept.
const MOST_OTHERS: usize = 8;
/// Less likely ones are not.
const LIKELY: f32 = 0.01;
/// Logarithms of probabilities are kept from here up.
const LEAST_LOG: f32 = -60.0;

/// One thing on the staff.
#[derive(Clone, PartialEq, Debug, Serialize, Deserialize)]
pub struct Sign {
    /// Its number among the signs of its system as they were read; it stays when others go.
    pub number: u32,
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
    /// What else it may be, the likeliest first.
    pub others: Vec<Other>,
}

impl Sign {
    /// A sign of which nothing more is known than what and where.
    #[must_use]
    pub const fn plain(number: u32, x: f32, main: Main) -> Self {
        Self {
            number,
            x,
            main,
            answers: [0; 14],
            flags: [false; 23],
            log: 0.0,
            values: [0.0; 10],
            dots: [0.0; 3],
            others: Vec::new(),
        }
    }

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
#[derive(Clone, PartialEq, Debug, Serialize)]
pub struct Beside {
    /// Its number among those of its line as they were read; it stays when others go.
    pub number: u32,
    /// Where, in pixels of the system's picture.
    pub x: f32,
    /// What, by the name in the vocabulary.
    pub name: &'static str,
    /// From 0 to 1.
    pub sure: f32,
}

/// The same as it is kept.
#[derive(Deserialize)]
struct KeptBeside {
    #[serde(default)]
    number: u32,
    x: f32,
    name: String,
    sure: f32,
}

impl<'de> Deserialize<'de> for Beside {
    fn deserialize<D: Deserializer<'de>>(from: D) -> Result<Self, D::Error> {
        let kept = KeptBeside::deserialize(from)?;
        let name = beside_name(&kept.name)
            .ok_or_else(|| serde::de::Error::custom(format!("“{}” is no known sign", kept.name)))?;
        Ok(Self {
            number: kept.number,
            x: kept.x,
            name,
            sure: kept.sure,
        })
    }
}

/// The name in the vocabulary of a sign of the lines above and below.
#[must_use]
pub fn beside_name(name: &str) -> Option<&'static str> {
    ROADS[1..]
        .iter()
        .chain(&DYNAMICS[1..])
        .copied()
        .find(|known| *known == name)
}

/// What the reader saw of one system.
#[derive(Clone, PartialEq, Debug, Default, Serialize, Deserialize)]
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
            let number = u32::try_from(seen.signs.len()).unwrap_or(u32::MAX);
            seen.signs.push(sign(frames[at], number, main, answer, x_of(at)));
        }
        t = end;
    }
    let roads = MAIN + ATTRIBUTES.iter().sum::<usize>() + FLAGS.len();
    seen.roads = paired(&frames, roads, &ROADS, &ROAD_ENDS);
    seen.dynamics = paired(&frames, roads + ROADS.len(), &DYNAMICS, &HAIRPIN_ENDS);
    seen
}

#[expect(clippy::cast_precision_loss, reason = "a system has some hundred frames")]
fn x_of(frame: usize) -> f32 {
    (frame * STRIDE) as f32 + STRIDE as f32 / 2.0
}

fn sign(frame: &[f32], number: u32, main: Main, first: usize, x: f32) -> Sign {
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
        let logs = log_softmax(&frame[from..from + size]);
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
        let score = frame[from + n];
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
    out.others.retain(|other| other.sure > LIKELY);
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

/// What begins, and what ends it.
const HAIRPIN_ENDS: [(&str, &str); 2] = [("cresc", "cresc_end"), ("dim", "dim_end")];
/// The same of the line above.
const ROAD_ENDS: [(&str, &str); 11] = [
    ("8va", "ott_end"),
    ("8vb", "ott_end"),
    ("15ma", "ott_end"),
    ("15mb", "ott_end"),
    ("v1", "vend"),
    ("v2", "vend"),
    ("v3", "vend"),
    ("v4", "vend"),
    ("v12", "vend"),
    ("v123", "vend"),
    ("v34", "vend"),
];
/// The other end of what has one end is taken from this probability on, though blank be likelier.
const OTHER_END: f32 = 0.03;

/// The signs of one line; where something begins and nothing ends it (or the reverse), the likeliest place for the other end in
/// between is taken, if it is likely at all.
fn paired(
    frames: &[&[f32]],
    from: usize,
    names: &'static [&'static str],
    ends: &[(&str, &str)],
) -> Vec<Beside> {
    let logs: Vec<Vec<f32>> = frames
        .iter()
        .map(|frame| log_softmax(&frame[from..from + names.len()]))
        .collect();
    let mut found = beside(&logs, names);
    let mut more = Vec::new();
    let is_end = |name: &str| ends.iter().any(|(_, end)| *end == name);
    let starts = |name: &str| ends.iter().any(|(start, _)| *start == name);
    for (at, (frame, sign)) in found.iter().enumerate() {
        if let Some((_, end)) = ends.iter().find(|(start, _)| *start == sign.name) {
            let next = found[at + 1..]
                .iter()
                .find(|(_, other)| starts(other.name) || is_end(other.name));
            if next.is_some_and(|(_, other)| other.name == *end) {
                continue;
            }
            let until = next.map_or(logs.len(), |(frame, _)| *frame);
            more.extend(likeliest(&logs, names, end, frame + 2, until));
        } else if is_end(sign.name) {
            let before = found[..at]
                .iter()
                .rev()
                .find(|(_, other)| starts(other.name) || is_end(other.name));
            if before.is_some_and(|(_, other)| starts(other.name)) {
                continue;
            }
            let since = before.map_or(0, |(frame, _)| frame + 1);
            let starts = ends.iter().filter(|(_, end)| *end == sign.name);
            let best = starts
                .filter_map(|(start, _)| likeliest(&logs, names, start, since, frame.saturating_sub(1)));
            more.extend(best.max_by(|a, b| a.1.sure.total_cmp(&b.1.sure)));
        }
    }
    found.append(&mut more);
    found.sort_by_key(|(frame, _)| *frame);
    let numbered = (0_u32..).zip(found);
    numbered
        .map(|(number, (_, sign))| Beside { number, ..sign })
        .collect()
}

/// The likeliest frame for a sign in a stretch, if it is likely at all.
fn likeliest(
    logs: &[Vec<f32>],
    names: &'static [&'static str],
    name: &str,
    from: usize,
    to: usize,
) -> Option<(usize, Beside)> {
    let answer = names.iter().position(|known| *known == name)?;
    let frame = (from..to.min(logs.len())).max_by(|a, b| logs[*a][answer].total_cmp(&logs[*b][answer]))?;
    let sure = logs[frame][answer].exp();
    (sure > OTHER_END).then(|| {
        let sign = Beside {
            number: 0,
            x: x_of(frame),
            name: names[answer],
            sure,
        };
        (frame, sign)
    })
}

fn beside(logs: &[Vec<f32>], names: &'static [&'static str]) -> Vec<(usize, Beside)> {
    let mut out: Vec<(usize, Beside)> = Vec::new();
    let mut last = 0;
    for (t, logs) in logs.iter().enumerate() {
        let answer = top(logs);
        let sure = logs[answer].exp();
        let sign = Beside {
            number: 0,
            x: x_of(t),
            name: names[answer],
            sure,
        };
        if answer != 0 && answer != last {
            out.push((t, sign));
        } else if answer != 0
            && let Some(open) = out.last_mut()
            && sure > open.1.sure
        {
            *open = (t, sign);
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
