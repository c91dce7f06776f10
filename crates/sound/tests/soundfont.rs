//! Does a SoundFont play in tune and in time? On the smallest one there can be, made here: one sine wave, looped.
//!
//! Source: SoundFont Technical Specification 2.04 (chunks and records of sfbk).
#![expect(
    clippy::expect_used,
    clippy::cast_precision_loss,
    clippy::cast_possible_truncation,
    reason = "tests: helpers outside of test functions, and counts as numbers"
)]

use notation::{Rational, sketch};
use performance::play::{PlayOptions, perform};
use sound::{Font, Sound, SoundRequest, Sounder};
use std::f64::consts::TAU;

fn chunk(name: &[u8; 4], data: &[u8]) -> Vec<u8> {
    let mut bytes = name.to_vec();
    bytes.extend(u32::try_from(data.len()).expect("short").to_le_bytes());
    bytes.extend(data);
    if data.len() % 2 == 1 {
        bytes.push(0);
    }
    bytes
}

fn list(kind: &[u8; 4], chunks: &[Vec<u8>]) -> Vec<u8> {
    let mut data = kind.to_vec();
    data.extend(chunks.concat());
    chunk(b"LIST", &data)
}

fn name(text: &str) -> Vec<u8> {
    let mut bytes = text.as_bytes().to_vec();
    bytes.resize(20, 0);
    bytes
}

fn words(values: &[u16]) -> Vec<u8> {
    values.iter().flat_map(|value| value.to_le_bytes()).collect()
}

fn longs(values: &[u32]) -> Vec<u8> {
    values.iter().flat_map(|value| value.to_le_bytes()).collect()
}

/// One preset (program 1), one instrument, one sample: 441 Hz, brought down to A4 by its correction of −4 cents.
fn font() -> Vec<u8> {
    let samples: Vec<i16> = (0..1_000)
        .map(|n| ((TAU * f64::from(n) / 100.0).sin() * 12_000.0) as i16)
        .collect();
    let mut data: Vec<u8> = samples.iter().flat_map(|value| value.to_le_bytes()).collect();
    data.extend([0; 92]);
    let preset = |text: &str, bag: u16| [name(text), words(&[0, 0, bag]), longs(&[0, 0, 0])].concat();
    let header = [
        name("sine"),
        longs(&[0, 1_000, 100, 900, 44_100]),
        // A4, and what must be added to be in tune: 441 Hz is 3.93 cents high.
        vec![69, 4_i8.wrapping_neg().to_le_bytes()[0]],
        words(&[0, 1]),
    ]
    .concat();
    let last = [name("EOS"), longs(&[0; 5]), vec![0, 0], words(&[0, 0])].concat();
    let info = list(
        b"INFO",
        &[
            chunk(b"ifil", &words(&[2, 4])),
            chunk(b"isng", b"EMU8000\0"),
            chunk(b"INAM", b"sine\0\0"),
        ],
    );
    let sdta = list(b"sdta", &[chunk(b"smpl", &data)]);
    let pdta = list(
        b"pdta",
        &[
            chunk(b"phdr", &[preset("sine", 0), preset("EOP", 1)].concat()),
            chunk(b"pbag", &words(&[0, 0, 1, 0])),
            chunk(b"pmod", &[0; 10]),
            // Generator 41: the instrument.
            chunk(b"pgen", &words(&[41, 0, 0, 0])),
            chunk(
                b"inst",
                &[name("sine"), words(&[0]), name("EOI"), words(&[1])].concat(),
            ),
            chunk(b"ibag", &words(&[0, 0, 2, 0])),
            chunk(b"imod", &[0; 10]),
            // Generator 54: looped; 53: the sample.
            chunk(b"igen", &words(&[54, 1, 53, 0, 0, 0])),
            chunk(b"shdr", &[header, last].concat()),
        ],
    );
    let mut bytes = b"sfbk".to_vec();
    bytes.extend([info, sdta, pdta].concat());
    chunk(b"RIFF", &bytes)
}

/// Frequency by counting how often a clean tone rises through zero.
fn counted(samples: &[f32]) -> f64 {
    let mut rises = Vec::new();
    for (n, pair) in samples.windows(2).enumerate() {
        if pair[0] < 0.0 && pair[1] >= 0.0 {
            rises.push(n as f64 + f64::from(pair[0] / (pair[0] - pair[1])));
        }
    }
    let last = rises.len() - 1;
    44_100.0 * last as f64 / (rises[last] - rises[0])
}

#[test]
fn it_plays_in_tune_and_in_time() {
    let sounder = Sounder::Font(Font::read(&font()).expect("a SoundFont"), 1);
    // Quarter-tones, too: each note is bent to its pitch.
    for (above, wanted) in [
        (Rational::ZERO, 440.0),
        (Rational::new(1, 2), 440.0 * (0.5_f64 / 12.0).exp2()),
        (Rational::whole(7), 659.2551),
    ] {
        let piece = sketch("metre:4/4 mm:q=60 r/q A4/h.!tenuto |").expect("a sketch");
        let options = PlayOptions {
            transpose: above,
            ..PlayOptions::default()
        };
        let played = perform(&piece, 0, &options).expect("played");
        let request = SoundRequest::default();
        let sound = Sound::measured(&played, &request, &sounder).expect("a sound");
        let out: Vec<f32> = sound.stream().expect("a stream").collect();
        let first = out.iter().position(|value| value.abs() > 0.01).expect("a tone");
        assert!(first.abs_diff(44_100) < 221, "begins at sample {first}");
        let heard = counted(&out[60_000..150_000]);
        let off = 1200.0 * (heard / wanted).log2();
        assert!(off.abs() < 2.0, "{off} cents");
        assert!(out.iter().all(|value| value.abs() < 0.9));
    }
}
