#![expect(
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    clippy::cast_precision_loss,
    reason = "short sounds"
)]

use super::*;

/// A WAV file of 16 bits (RIFF, format 1), as its specification says.
fn wav(rate: u32, channels: u16, samples: &[f32]) -> Vec<u8> {
    let data: Vec<u8> = samples
        .iter()
        .flat_map(|sample| ((sample * 32_767.0).round() as i16).to_le_bytes())
        .collect();
    let length = u32::try_from(data.len()).unwrap();
    let mut file = b"RIFF".to_vec();
    file.extend((36 + length).to_le_bytes());
    file.extend(b"WAVEfmt \x10\0\0\0\x01\0");
    file.extend(channels.to_le_bytes());
    file.extend(rate.to_le_bytes());
    file.extend((rate * u32::from(channels) * 2).to_le_bytes());
    file.extend((channels * 2).to_le_bytes());
    file.extend(b"\x10\0data");
    file.extend(length.to_le_bytes());
    file.extend(data);
    file
}

fn sine(rate: u32, hertz: f64, seconds: f64, level: f64) -> Vec<f32> {
    let count = (f64::from(rate) * seconds) as usize;
    (0..count)
        .map(|n| (level * (2.0 * std::f64::consts::PI * hertz * n as f64 / f64::from(rate)).sin()) as f32)
        .collect()
}

fn kinds(findings: &[Finding]) -> Vec<&'static str> {
    findings.iter().map(|finding| finding.kind).collect()
}

#[test]
fn a_low_rate_is_kept_and_a_high_one_halved_without_delay() {
    let tone = sine(22_050, 440.0, 0.5, 0.5);
    let (same, findings) = decode(&wav(22_050, 1, &tone), "a.wav").unwrap();
    assert_eq!((same.rate, same.samples.len()), (22_050, tone.len()));
    assert_eq!(kinds(&findings), [""; 0]);
    let (half, _) = decode(&wav(44_100, 1, &sine(44_100, 440.0, 0.5, 0.5)), "a.wav").unwrap();
    assert_eq!(half.rate, 22_050);
    assert!((half.seconds() - 0.5).abs() < 0.001);
    let off = (1_000..10_000)
        .map(|n| (half.samples[n] - same.samples[n]).abs())
        .fold(0.0, f32::max);
    assert!(off < 1e-3, "{off}");
}

#[test]
fn what_cannot_be_kept_is_filtered_out() {
    // 15 kHz would come down as 7,050 Hz.
    let (half, _) = decode(&wav(44_100, 1, &sine(44_100, 15_000.0, 0.5, 0.5)), "a.wav").unwrap();
    let loudest = half.samples[100..10_000]
        .iter()
        .fold(0.0, |most: f32, sample| most.max(sample.abs()));
    assert!(loudest < 1e-3, "{loudest}");
}

#[test]
fn channels_that_cancel_are_said_and_one_is_taken() {
    let tone = sine(22_050, 440.0, 0.2, 0.5);
    let both: Vec<f32> = tone.iter().flat_map(|sample| [*sample, -*sample]).collect();
    let (got, findings) = decode(&wav(22_050, 2, &both), "a.wav").unwrap();
    assert_eq!(kinds(&findings), ["channels-cancel"]);
    assert!((got.samples[25] - tone[25]).abs() < 1e-3);
}

#[test]
fn silence_softness_and_overdrive_are_said() {
    let said = |samples: Vec<f32>| kinds(&decode(&wav(22_050, 1, &samples), "a.wav").unwrap().1);
    assert_eq!(said(vec![0.0; 2_000]), ["recording-silent"]);
    assert_eq!(said(sine(22_050, 440.0, 0.2, 0.01)), ["recording-soft"]);
    let cut = sine(22_050, 440.0, 0.2, 3.0)
        .iter()
        .map(|sample| sample.clamp(-1.0, 1.0))
        .collect();
    assert_eq!(said(cut), ["recording-overdriven"]);
}

#[test]
fn what_is_no_sound_is_an_error() {
    assert!(matches!(decode(b"", "a.wav"), Err(TakeError::Empty { .. })));
    assert!(matches!(
        decode(b"hello, this is a text and no sound at all", "a.wav"),
        Err(TakeError::Unknown { .. })
    ));
    assert!(matches!(
        decode(&wav(22_050, 1, &[]), "a.wav"),
        Err(TakeError::Empty { .. })
    ));
    assert!(matches!(
        decode(&wav(1_000, 1, &[0.0; 100]), "a.wav"),
        Err(TakeError::Rate { rate: 1_000, .. })
    ));
}

#[test]
fn a_file_cut_off_gives_what_is_there() {
    let whole = wav(22_050, 1, &sine(22_050, 440.0, 0.5, 0.5));
    let (got, _) = decode(&whole[..whole.len() / 2], "a.wav").unwrap();
    assert!(got.seconds() > 0.2);
}

/// The same sound as each kind of file: a tenth of a second of silence, then A4.
#[test]
fn each_kind_of_file_gives_the_same_sound() {
    let files: [(&str, &[u8]); 5] = [
        ("tone.flac", include_bytes!("../../fixtures/tone.flac")),
        ("tone.ogg", include_bytes!("../../fixtures/tone.ogg")),
        ("tone.mp3", include_bytes!("../../fixtures/tone.mp3")),
        (
            "tone-lossless.m4a",
            include_bytes!("../../fixtures/tone-lossless.m4a"),
        ),
        // Its encoder's run-in of 1,024 samples is cut off.
        ("tone.m4a", include_bytes!("../../fixtures/tone.m4a")),
    ];
    for (name, bytes) in files {
        for name in [name, "no-ending"] {
            let (recording, findings) = decode(bytes, name).unwrap();
            assert_eq!((recording.rate, kinds(&findings)), (22_050, Vec::new()), "{name}");
            assert!(
                (recording.seconds() - 0.4).abs() < 0.06,
                "{name}: {}",
                recording.seconds()
            );
            let track = crate::listen(&recording, &crate::Ear::default());
            let begins = crate::onsets(&track);
            assert_eq!(begins.len(), 1, "{name}");
            assert!((begins[0].secs - 0.1).abs() < 0.006, "{name}: {}", begins[0].secs);
            assert!((begins[0].key.unwrap() - 69.0).abs() < 0.02, "{name}");
        }
    }
}

#[test]
fn files_with_any_byte_changed_or_cut_off_never_panic() {
    let bytes: &[u8] = include_bytes!("../../fixtures/tone.m4a");
    for at in (0..bytes.len()).step_by(61) {
        let mut hostile = bytes.to_vec();
        hostile[at] ^= 0xFF;
        let _ = decode(&hostile, "a.m4a");
        let _ = decode(&bytes[..at], "a.m4a");
    }
}
