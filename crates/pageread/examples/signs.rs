//! What does the reader say of systems whose scores are given, after its rules? For `train/score.py`, which compares it with the truth.
//!
//! In (standard input): for each line of music the number of its systems, and for each system the number of its frames (both as four bytes,
//! little end first) and its scores (four bytes each). Out: a line of JSON for each line of music.

use pageread::{FRAME, Seen, System, taken};
use std::io::{self, Read, Write};

fn number(from: &mut impl Read) -> io::Result<Option<usize>> {
    let mut four = [0; 4];
    match from.read_exact(&mut four) {
        Ok(()) => Ok(Some(u32::from_le_bytes(four) as usize)),
        Err(error) if error.kind() == io::ErrorKind::UnexpectedEof => Ok(None),
        Err(error) => Err(error),
    }
}

fn main() -> io::Result<()> {
    let mut from = io::stdin().lock();
    let mut to = io::BufWriter::new(io::stdout().lock());
    while let Some(systems) = number(&mut from)? {
        let mut read = Vec::new();
        for _ in 0..systems {
            let frames = number(&mut from)?.unwrap_or(0);
            let mut bytes = vec![0; frames * FRAME * 4];
            from.read_exact(&mut bytes)?;
            let scores: Vec<f32> = bytes
                .chunks_exact(4)
                .map(|four| f32::from_le_bytes([four[0], four[1], four[2], four[3]]))
                .collect();
            read.push(System::of_scores(&scores));
        }
        let said: Vec<Seen> = taken(&read).into_iter().map(|system| system.seen).collect();
        serde_json::to_writer(&mut to, &said)?;
        writeln!(to)?;
    }
    Ok(())
}
