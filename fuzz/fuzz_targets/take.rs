//! Can any bytes make the reader of recordings panic, hang, or give samples that break its promises, or make listening to them panic?
#![no_main]

use libfuzzer_sys::fuzz_target;
use take::{Ear, decode, listen, onsets};

fuzz_target!(
    // The decoders are others' work: a panic inside them is caught and reported as a damaged file, so it need not be said here.
    init: std::panic::set_hook(Box::new(|_| {})),
    |bytes: &[u8]| {
        let Ok((mut recording, _findings)) = decode(bytes, "fuzz") else { return };
        assert!((8_000..=48_000).contains(&recording.rate) && !recording.samples.is_empty());
        assert!(recording.samples.iter().all(|sample| sample.is_finite() && sample.abs() <= 8.0));
        assert!(recording.seconds() < 1_900.0);
        recording.samples.truncate(20_000);
        let track = listen(&recording, &Ear::default());
        assert!(track.frames.is_sorted_by(|a, b| a.secs < b.secs));
        for frame in &track.frames {
            assert!(frame.level_db.is_finite() && frame.flux.is_finite() && frame.voicing() <= 1.001);
            assert!(frame.key.is_none_or(|key| (15.0..115.0).contains(&key)));
        }
        assert!(track.a4 > 400.0 && track.a4 < 480.0);
        let found = onsets(&track);
        assert!(found.is_sorted_by(|a, b| a.secs <= b.secs));
        assert!(found.iter().all(|onset| onset.secs.is_finite() && (0.0..=1.0).contains(&onset.strength)));
    }
);
