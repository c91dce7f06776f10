//! Laws for any page: nothing panics, every sample is finite and within full scale, the files can be read.

use notation::Rational;
use notation::testing::{Palette, piece};
use performance::play::{PlayOptions, PlayTempo, perform};
use proptest::prelude::*;
use sound::{
    Click, Drone, DroneTonic, SampleRate, Sound, SoundRequest, Sounder, Subdivision, Timbre, Tuning,
    write_flac, write_midi,
};

proptest! {
    #![proptest_config(ProptestConfig::with_cases(48))]
    #[test]
    fn any_page_can_be_heard(
        bytes in proptest::collection::vec(any::<u8>(), 0..500),
        instrument in 0usize..40,
        click: bool,
        drone: bool,
        part: bool,
        level in -60.0f64..0.0,
        percent in 100i64..2_000,
    ) {
        let piece = piece(&bytes, &Palette::default());
        let options = PlayOptions {
            tempo: PlayTempo::Percent(Rational::whole(percent)),
            ..PlayOptions::default()
        };
        let Some(played) = perform(&piece, 0, &options) else { return Ok(()) };
        if played.seconds() > 60.0 {
            return Ok(());
        }
        let request = SoundRequest {
            rate: SampleRate::new(8_000).expect("a rate"),
            tuning: if part { Tuning::Just } else { Tuning::Equal },
            level,
            part,
            click: click.then_some(Click { subdivision: Subdivision::ByMetre, drop_out: Some((1, 1)), level: 6.0 }),
            drone: drone.then_some(Drone { tonic: DroneTonic::Follows, fifth: true, level: 3.0 }),
            ..SoundRequest::default()
        };
        let kind = instruments::all().nth(instrument);
        let sounder = Sounder::Own(Timbre::of(kind));
        let sound = Sound::measured(&played, &request, &sounder).expect("our own tone always plays");
        let stream = sound.stream().expect("a stream");
        for value in stream {
            prop_assert!(value.is_finite() && value.abs() <= 0.8911, "{value}");
        }
        let mut flac = Vec::new();
        write_flac(&sound, 8_000, &mut flac).expect("a file");
        let mut reader = claxon::FlacReader::new(flac.as_slice()).expect("a FLAC file");
        let read = reader.samples().filter(Result::is_ok).count();
        prop_assert_eq!(u64::try_from(read).expect("short"), sound.samples());
        let midi = write_midi(&played, "part", 1);
        prop_assert!(midly::Smf::parse(&midi).is_ok());
    }
}
