//! What does a line of text say? Brought to 32 rows and read letter by letter by the trained speller.
//!
//! The same as `train/words/train.py`, `cut`, with the middle of what is drawn by chance there; the numbers are those of
//! `train/model/words.vocabulary.json`.

#![expect(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    clippy::cast_precision_loss,
    reason = "pixels of a picture of some thousand pixels"
)]

use super::crop::Crop;
use super::finder::Bounds;
use super::net::Net;
use super::together;
use job::Refusal;

/// The trained speller: `train/model/speller.onnx`, described in `train/model/words.json`.
static MODEL: &[u8] = include_bytes!("../../../train/model/speller.onnx");
/// Its letters, in the order of its answers from 1 on; 0 is none.
static VOCABULARY: &str = include_str!("../../../train/model/words.letters.txt");

/// Rows of what it reads.
const ROWS: usize = 32;
/// Widths of what it reads: the shortest that will do is taken.
const WIDTHS: [usize; 3] = [128, 320, 640];
/// Small print is brought up by no more than this.
const MOST_ZOOM: f32 = 2.6;
/// Shown above and below, and left and right of a line, in its heights.
const OVER: f32 = 0.12;
const BESIDE: f32 = 0.2;

/// Reads lines of text.
#[derive(Clone, Debug, Default)]
pub struct Speller {
    nets: Vec<Net>,
}

impl Speller {
    /// Makes ready what lines of such bounds need.
    ///
    /// # Errors
    /// If the network does not run on this machine.
    pub fn prepare<'a>(&mut self, lines: impl Iterator<Item = &'a Bounds>) -> Result<(), Refusal> {
        let mut wanted: Vec<usize> = lines.map(width_for).collect();
        wanted.sort_unstable();
        wanted.dedup();
        wanted.retain(|width| !self.nets.iter().any(|net| net.width == *width));
        let nets = together(wanted.len(), |at| Net::new(MODEL, ROWS, wanted[at]))?;
        self.nets.extend(nets);
        Ok(())
    }

    /// What a line says and how sure that is, from 0 to 1. Nothing if it was not prepared for.
    ///
    /// # Errors
    /// If the network does not run.
    pub fn read(&self, crop: &Crop, line: &Bounds) -> Result<(String, f32), Refusal> {
        let width = width_for(line);
        let Some(net) = self.nets.iter().find(|net| net.width == width) else {
            return Ok((String::new(), 0.0));
        };
        let scores = net.run(&cut(crop, line, width))?;
        Ok(spell(&scores))
    }
}

/// Top, height, left and width of what is shown, its zoom, and how much it is pressed together to fit.
fn shown(line: &Bounds) -> (f32, f32, f32, f32, f32, f32) {
    let (left, top, right, bottom) = *line;
    let height = bottom - top;
    let middle = f32::midpoint(top, bottom);
    let tall = (height * (1.0 + 2.0 * OVER)).max(ROWS as f32 / MOST_ZOOM);
    let zoom = ROWS as f32 / tall;
    let (from, across) = (left - BESIDE * height, right - left + 2.0 * BESIDE * height);
    let widest = WIDTHS[WIDTHS.len() - 1] as f32;
    let pressed = (across * zoom / widest).max(1.0);
    (middle, tall, from, across, zoom, pressed)
}

fn width_for(line: &Bounds) -> usize {
    let (.., across, zoom, pressed) = shown(line);
    let wide = (across * zoom / pressed) as usize;
    WIDTHS
        .into_iter()
        .find(|width| *width >= wide)
        .unwrap_or(WIDTHS[WIDTHS.len() - 1])
}

/// The line brought to size.
fn cut(crop: &Crop, line: &Bounds, width: usize) -> Vec<f32> {
    let (middle, _, from, across, zoom, pressed) = shown(line);
    let wide = across * zoom / pressed;
    let mut ink = vec![0.0; ROWS * width];
    for row in 0..ROWS {
        let y = middle + (row as f32 + 0.5 - ROWS as f32 / 2.0) / zoom - 0.5;
        for column in 0..width {
            let c = column as f32 + 0.5;
            if c > wide {
                break;
            }
            ink[row * width + column] = crop.grey.between(from + c / zoom * pressed - 0.5, y);
        }
    }
    ink
}

/// The likeliest letter of every frame; runs of one are one, and what is no letter parts them.
fn spell(scores: &[f32]) -> (String, f32) {
    let letters: Vec<char> = VOCABULARY.trim_end_matches('\n').chars().collect();
    let mut text = String::new();
    let (mut last, mut logs, mut count) = (0, 0.0_f32, 0_usize);
    for frame in scores.chunks_exact(letters.len() + 1) {
        let best = (0..frame.len())
            .max_by(|a, b| frame[*a].total_cmp(&frame[*b]))
            .unwrap_or(0);
        if best != 0 {
            let sum: f32 = frame.iter().map(|score| (score - frame[best]).exp()).sum();
            logs -= sum.ln();
            count += 1;
            if best != last {
                text.extend(letters.get(best - 1));
            }
        }
        last = best;
    }
    let sure = if count == 0 {
        0.0
    } else {
        (logs / count as f32).exp()
    };
    (text.trim().to_owned(), sure)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn letters_are_told_by_frames_and_doubled_only_across_a_pause() {
        let letters: Vec<char> = VOCABULARY.trim_end_matches('\n').chars().collect();
        let of = |c: char| letters.iter().position(|letter| *letter == c).unwrap_or(0) + 1;
        let frames = [of('a'), of('a'), 0, of('l'), 0, of('l'), of('e'), 0];
        let mut scores = vec![0.0; frames.len() * (letters.len() + 1)];
        for (t, answer) in frames.iter().enumerate() {
            scores[t * (letters.len() + 1) + answer] = 30.0;
        }
        let (text, sure) = spell(&scores);
        assert_eq!(text, "alle");
        assert!(sure > 0.99);
    }

    #[test]
    fn a_line_takes_the_shortest_width_that_holds_it() {
        assert_eq!(width_for(&(0.0, 0.0, 20.0, 20.0)), 128);
        assert_eq!(width_for(&(0.0, 0.0, 2000.0, 20.0)), 640);
    }
}
