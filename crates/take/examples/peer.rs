//! What does a well-kept crate hear in a sound file? Its YIN frame by frame, for comparing with our own.
//!
//!     peer FILE … [--hop SECONDS]      seconds, hertz (0: no pitch); a line `FILE` goes before the lines of each

use pitch_detection::detector::PitchDetector;
use pitch_detection::detector::yin::YINDetector;
use std::error::Error;
use std::fs::File;
use std::io::{BufReader, BufWriter, Write};
use take::decode_from;

/// Samples looked at: 4,096 at 44,100 a second, and as long a time at the rate to which a recording is thinned.
const WINDOW: usize = 2_048;

fn main() -> Result<(), Box<dyn Error>> {
    let (mut files, mut hop) = (Vec::new(), 0.01);
    let mut arguments = std::env::args().skip(1);
    while let Some(argument) = arguments.next() {
        if argument == "--hop" {
            hop = arguments.next().ok_or("a number is missing")?.parse::<f64>()?;
        } else {
            files.push(argument);
        }
    }
    let mut out = BufWriter::new(std::io::stdout().lock());
    let mut detector = YINDetector::<f32>::new(WINDOW, WINDOW / 2);
    for file in files {
        let (recording, _) = decode_from(|| Ok(BufReader::new(File::open(&file)?)), &file)?;
        writeln!(out, "FILE {file}")?;
        let rate = f64::from(recording.rate);
        let around = vec![0.0; WINDOW / 2];
        let padded: Vec<f32> = [&around[..], &recording.samples, &around[..]].concat();
        let mut secs = 0.0;
        while secs < recording.seconds() {
            // The frame around this instant, in the padded samples.
            let from = index(secs * rate);
            let Some(frame) = padded.get(from..from + WINDOW) else {
                break;
            };
            let rate = usize::try_from(recording.rate)?;
            // Power and clarity thresholds as in the crate's own examples.
            let pitch = detector.get_pitch(frame, rate, 0.1, 0.1);
            writeln!(out, "{secs:.6} {:.4}", pitch.map_or(0.0, |pitch| pitch.frequency))?;
            secs += hop;
        }
    }
    Ok(())
}

/// A place between samples as an index.
#[expect(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    reason = "within the recording"
)]
fn index(place: f64) -> usize {
    place.round().max(0.0) as usize
}
